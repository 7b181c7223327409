"""Bare against fletched over the reading, and how sure it is: a draw is a bow that the measuring leaves possible."""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping
from concurrent.futures import BrokenExecutor
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError, filled
from archerysim.equipment.readings import by_underside, read_by
from archerysim.errors import ShotError
from archerysim.fields.quantity import several
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import direction_at_clear, height_apart
from archerysim.shot.flight.fly import check_distance, sight_elevation
from archerysim.study.bare_shaft.flights import readings_of
from archerysim.study.bare_shaft.result import BareAgainstFletched, Missing
from archerysim.study.run.progress import watched
from archerysim.study.run.workers import WorkerPool, cores, how_many
from archerysim.study.uncertainty.inputs import inputs_from, moved_together, quasi_normal, usual_inputs

STEPS = (-6e-3, -4e-3, -2e-3, 0.0, 2e-3, 4e-3)  # [m] from today's reading to those shot by default
DISTANCES = ("18 m", "30 m", "50 m")


@dataclass(frozen=True)
class _Bow:
    """One bow to shoot: the setup, what its draw changes on it, and how."""

    setup: Setup
    changes: InSi
    today: float  # reading of the setup as given, by the underside [m]
    readings: tuple[float, ...]
    distances: tuple[float, ...]
    sights: tuple[float, ...]  # direction in which the arrow is to leave for each distance [deg]
    taped: bool
    mesh: Mesh


@dataclass(frozen=True)
class _Answer:
    height: np.ndarray  # (readings, distances) [m]
    plain: np.ndarray  # (distances,) [m]
    missing: tuple[tuple[float, float, str], ...]


def bare_against_fletched(
    bow: Setup | FittedBow,
    readings: Any = None,
    distances: Any = DISTANCES,
    *,
    draws: int = 64,
    uncertainty: Mapping[str, Any] | None = None,
    seed: int = 0,
    taped: bool = True,
    mesh: str | Mesh = "default",
    workers: int | None = None,
    progress: bool | Callable[[int, int], None] | None = None,
) -> BareAgainstFletched:
    """Height of the bare shaft above the fletched one over the reading, with a band of what the measuring leaves open.

    Every draw moves all inputs together by what an archer can know of them, as `archerysim.uncertainty` does: a
    measured bow is fitted anew, a built one is changed. It is shot once at each reading; all distances are flown
    from that launch. Near the bow the difference is nearly straight in the reading, so that a few readings do.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup is measured or built.
    readings : str or sequence, optional
        As the square shows them, by the setup's convention: a range in words ("4 mm:12 mm:4 mm"), texts with units,
        or ``([4, 8], "mm")``. Default: every 2 mm from 6 mm under today's to 4 mm above. How far the square can be off
        is one of the uncertain inputs.
    distances : sequence
        Texts with units, or ``([18, 30], "m")``.
    draws : int
        A power of two (Sobol sequence, scrambled with ``seed``).
    uncertainty : dict of dotted path to standard deviation, optional
        As for `archerysim.sensitivity`.
    seed : int
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    mesh : str or Mesh
    workers : int, optional
        Processes. Default: all cores where there are eight draws or more. The numbers do not depend on it.
    progress
        As for `sweep`.

    Returns
    -------
    BareAgainstFletched
        What failed stands in ``missing`` with its reason; nothing else is lost for it.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, readings, distances, draws or inputs are wrong.

    Notes
    -----
    The sight is found once for each distance, with the bow as given; every other arrow leaves in the same
    direction. Where it hits moves bare and fletched together: their difference is that with a sight of its own
    within a thousandth.
    """
    far = tuple(check_distance(one, "distances") for one in several("distances", distances, "m"))
    if not far or len(set(far)) < len(far):
        raise SetupError("distances", "none is given, or one twice", 'Give for example ("18 m", "30 m")')
    how_many(workers, 1)
    fitted = FittedBow.of(bow, mesh)
    setup = fitted.given
    if setup.nock.locators.reading is None:  # tied at a place: what the square shows there
        setup = setup.replace(by_underside(fitted.setup, fitted.reading))
    inputs = inputs_from(setup, uncertainty) if uncertainty else usual_inputs(setup)
    normal = quasi_normal(len(inputs), draws, seed)
    rows = tuple(sorted(readings_of(setup, readings, fitted.reading, STEPS)))
    if len(rows) < 2:
        raise SetupError("readings", "a single one says nothing of the slope", "Give two or more")
    sights = _sights(fitted, rows, far)
    bows = [
        _Bow(setup, changes, fitted.reading, rows, far, sights, taped, fitted.mesh)
        for changes in (InSi({}), *(moved_together(setup, inputs, row) for row in normal))
    ]
    count = workers or (cores() if draws >= 8 else 1)
    answers: list[_Answer] = []
    with closing(_answers(bows, count)) as flow:
        for answer in watched(flow, len(bows), progress):
            answers.append(answer)
    missing = tuple(
        Missing(k - 1, 1e3 * reading, distance, reason)
        for k, answer in enumerate(answers)
        for reading, distance, reason in answer.missing
    )
    return BareAgainstFletched(
        setup=setup, readings=1e3 * np.array(rows), distances=np.array(far), today=1e3 * fitted.reading,
        nock_height=1e3 * filled(fitted.setup).number("nock.height"), taped=taped, inputs=inputs, seed=seed,
        value=answers[0].height, drag_and_mass=answers[0].plain, sample=np.array([a.height for a in answers[1:]]),
        sample_drag_and_mass=np.array([a.plain for a in answers[1:]]), missing=missing,
    )  # fmt: skip


def _sights(bow: FittedBow, readings: tuple[float, ...], distances: tuple[float, ...]) -> tuple[float, ...]:
    """Direction in which the fletched arrow leaves to hit the centre, for each distance [deg]."""
    nearest = sorted(readings, key=lambda reading: abs(reading - bow.reading))
    for reading in nearest:
        try:
            launch = bow.at_reading((reading, "m"))
            break
        except (SetupError, ShotError):
            if reading == nearest[-1]:
                raise
    return tuple(sight_elevation(launch, distance) + direction_at_clear(launch) for distance in distances)


def _answers(bows: list[_Bow], workers: int) -> Generator[_Answer, None, None]:
    """Answers in the order of the bows."""
    yield _answer(bows[0])  # compiles here, so that workers find the kernels on disk
    if workers == 1:
        yield from map(_answer, bows[1:])
        return
    with WorkerPool(min(workers, len(bows) - 1)) as pool:
        running = [(bow, pool.submit(_answer, bow)) for bow in bows[1:]]
        for bow, future in running:
            try:
                yield future.result()
            except BrokenExecutor:  # a worker was killed; its bow is shot again
                yield pool.submit(_answer, bow).result()


def _answer(bow: _Bow) -> _Answer:
    """Shoot one bow at every reading and fly each arrow to every distance."""
    height = np.full((len(bow.readings), len(bow.distances)), np.nan)
    plain = np.full(len(bow.distances), np.nan)
    missing: list[tuple[float, float, str]] = []
    try:
        moved = bow.setup.replace(bow.changes)
        fitted = FittedBow.of(moved, bow.mesh)
    except (SetupError, ShotError) as error:
        return _Answer(height, plain, ((float("nan"), float("nan"), str(error)),))
    slip = _today(moved) - _today(bow.setup)
    for i, reading in enumerate(bow.readings):
        try:
            launch = fitted.at_reading((reading + slip, "m"))
        except (SetupError, ShotError) as error:
            missing.append((reading, float("nan"), str(error)))
            continue
        for j, (distance, sight) in enumerate(zip(bow.distances, bow.sights, strict=True)):
            try:
                height[i, j] = height_apart(launch, distance, sight, taped=bow.taped)
                if np.isnan(plain[j]):  # hardly depends on the reading: once for each bow
                    plain[j] = height_apart(launch, distance, sight, taped=bow.taped, lift=False)
            except (SetupError, ShotError) as error:
                missing.append((reading, distance, str(error)))
    return _Answer(height, plain, tuple(missing))


def _today(setup: Setup) -> float:
    """What the square shows by the underside [m]."""
    return float(read_by(setup).underside(setup.nock.locators.reading))
