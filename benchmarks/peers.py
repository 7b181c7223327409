"""Other integrators on the same problem, each brought to our error by its tolerance."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import numpy as np
from curves import least
from problem import Miss, PeerError, Problem, Rates
from scipy.integrate import solve_ivp

TIGHT = 1e-10
DECADES = range(3, 12)  # relative tolerances tried, as powers of a tenth
PATIENCE = 10.0  # with one run on the way to the right tolerance [s]
LONGEST = 40.0  # of a run that is timed [s]
TIGHTER = tuple(0.75**k for k in range(6))  # shares of a tolerance tried where other rounding misses the aim
ROUNDS = 3

# (problem, rates, from, to, state, relative tolerance) -> time, state, the event that stopped it or ""
Advance = Callable[[Problem, Rates, float, float, np.ndarray, float], tuple[float, np.ndarray, str]]


def scipy_advance(method: str) -> Advance:
    """One of `scipy.integrate.solve_ivp`'s methods; LSODA differences its band itself, Radau is handed the Jacobian.

    Left to itself Radau takes differences so wide at tight tolerances that they reach over contacts, and stalls.
    """

    def advance(
        problem: Problem, rates: Rates, begin: float, end: float, state: np.ndarray, rtol: float
    ) -> tuple[float, np.ndarray, str]:
        more: dict[str, Any] = {}
        if method == "LSODA":
            more = {"lband": problem.band, "uband": problem.band}
        elif method == "Radau":
            more = {"jac": problem.jacobian(rates)}
        watched = problem.watched()
        events = [lambda _, y, fall=fall: fall(y) for fall in watched.values()]
        for event in events:
            event.terminal, event.direction = True, -1.0  # type: ignore[attr-defined]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            run = solve_ivp(
                rates, (begin, end), state, method=method, rtol=rtol, atol=rtol * problem.scale, events=events, **more
            )
        if run.status < 0:
            raise PeerError(run.message)
        stopped = [name for name, times in zip(watched, run.t_events, strict=True) if times.size]
        return float(run.t[-1]), run.y[:, -1], stopped[0] if run.status == 1 else ""

    return advance


def cvode_advance(method: str) -> Advance:
    """CVODE of SUNDIALS by scikit-sundae, its Jacobian a band."""

    def advance(
        problem: Problem, rates: Rates, begin: float, end: float, state: np.ndarray, rtol: float
    ) -> tuple[float, np.ndarray, str]:
        from sksundae.cvode import CVODE

        watched = problem.watched()

        def fill(t: float, y: np.ndarray, out: np.ndarray) -> None:
            out[:] = rates(t, y)

        def fall(_: float, y: np.ndarray, out: np.ndarray) -> None:
            for k, event in enumerate(watched.values()):
                out[k] = event(y)

        fall.terminal, fall.direction = [True] * len(watched), [-1] * len(watched)  # type: ignore[attr-defined]
        more: dict[str, Any] = {"eventsfn": fall, "num_events": len(watched)} if watched else {}
        solver = CVODE(
            fill, method=method, rtol=rtol, atol=rtol * problem.scale, linsolver="band", lband=problem.band,
            uband=problem.band, max_num_steps=1_000_000, **more,
        )  # fmt: skip
        try:
            solver.init_step(begin, state)
            run = solver.step(end, tstop=end)
        except RuntimeError as error:
            raise PeerError(str(error)) from None
        if run.status < 0:
            raise PeerError(run.message)
        stopped = "" if run.i_events is None else list(watched)[int(np.flatnonzero(np.ravel(run.i_events))[0])]
        return float(np.ravel(run.t)[-1]), np.array(np.atleast_2d(run.y)[-1]), stopped

    return advance


@dataclass(frozen=True)
class Peer:
    """An integrator.

    Attributes
    ----------
    name, package, jacobian : str
        As the table says them; the package as installed.
    advance : Advance
    """

    name: str
    package: str
    jacobian: str
    advance: Advance


PEERS = (
    Peer("SciPy DOP853", "scipy", "none, explicit", scipy_advance("DOP853")),
    Peer("SciPy LSODA", "scipy", "banded", scipy_advance("LSODA")),
    Peer("SciPy Radau", "scipy", "sparse, handed", scipy_advance("Radau")),
    Peer("SUNDIALS CVODE, BDF", "scikit-sundae", "banded", cvode_advance("BDF")),
    Peer("SUNDIALS CVODE, Adams", "scikit-sundae", "banded", cvode_advance("Adams")),
)


def integrate(problem: Problem, peer: Peer, rates: Rates, rtol: float, patience: float = np.inf) -> np.ndarray:
    """The state at the end.

    Raises
    ------
    PeerError
    """
    problem.begin(patience)
    now, state = 0.0, problem.start.copy()
    for stop in problem.stops:
        while now < stop:
            now, state, event = peer.advance(problem, rates, now, stop, state, rtol)
            if event:
                problem.passed(event, state)
            if not np.isfinite(state).all():
                raise PeerError("not finite")
    return state


def exact(problem: Problem) -> np.ndarray:
    """The arrow by DOP853 at TIGHT."""
    return problem.arrow(integrate(problem, PEERS[0], problem.by_compiled, TIGHT))


def tolerance(problem: Problem, peer: Peer, right: np.ndarray, aim: float) -> float:
    """The loosest tolerance tried, by half decades, with which the arrow's nodes are off by ``aim`` [um] or less.

    Raises
    ------
    PeerError
    """

    def off(rtol: float) -> float:
        state = integrate(problem, peer, problem.by_compiled, rtol, PATIENCE)
        return problem.miss(problem.arrow(state), right).node

    found: list[str] = []
    for decade in DECADES:
        rtol = 10.0**-decade
        try:
            there = off(rtol)
        except PeerError as error:
            found.append(f"rtol {rtol:.0e}: {error}")
            continue
        if there <= aim:
            looser = 10.0 ** (0.5 - decade)
            try:
                return looser if off(looser) <= aim else rtol
            except PeerError:
                return rtol
        found.append(f"rtol {rtol:.0e}: {there:.2g} um")
    raise PeerError(f"does not come to our error ({found[-1]})")


@dataclass(frozen=True)
class Run:
    """A peer at its tolerance: the least time on the core [s], evaluations of the rates, how far it is off."""

    rtol: float
    seconds: float
    evaluations: int
    miss: Miss


def timed(problem: Problem, peer: Peer, rates: Rates, rtol: float, right: np.ndarray) -> Run:
    """The best of ROUNDS runs, or the first if it is long.

    Raises
    ------
    PeerError
    """
    states: list[np.ndarray] = []
    seconds = least(lambda: states.append(integrate(problem, peer, rates, rtol, LONGEST)), ROUNDS)
    return Run(rtol, seconds, problem.evaluations, problem.miss(problem.arrow(states[-1]), right))


def at_equal_error(problem: Problem, peer: Peer, rates: Rates, rtol: float, right: np.ndarray, aim: float) -> Run:
    """`timed` at ``rtol``, or a tighter one where other rounding takes another way and misses the aim.

    Raises
    ------
    PeerError
    """
    for share in TIGHTER:
        run = timed(problem, peer, rates, share * rtol, right)
        if run.miss.node <= aim:
            return run
    raise PeerError(f"does not come to our error (rtol {run.rtol:.0e}: {run.miss.node:.2g} um)")


def installed(package: str) -> str:
    """Name and version.

    Raises
    ------
    PeerError
    """
    try:
        return f"{package} {version(package)}"
    except PackageNotFoundError:
        raise PeerError(f"{package} is not installed") from None
