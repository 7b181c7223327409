"""Integrating a flight: start, equations, the target plane as an event."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.mechanics.flight import AT_X, AT_Y, PITCH, STATE, Flyer, flight_rates, path_rates

RELATIVE, ABSOLUTE = 1e-7, 1e-9  # of the integration: under a micrometre at the target
LONGEST = 15.0  # [s] no arrow flies longer


@dataclass(frozen=True)
class Course:
    """An integrated flight.

    Attributes
    ----------
    end : float
        Time at its end [s].
    last : (6,) array
        State there: place [m] and velocity [m/s] of the mass centre, pitch [rad], pitch rate [rad/s].
    reached : bool
        Whether the point reached the target plane.
    state : callable or None
        ``state(t)`` gives (6,) or (6, k); kept when asked for.
    """

    end: float
    last: np.ndarray
    reached: bool
    state: Callable[[Any], np.ndarray] | None


def course(
    start: np.ndarray,
    body: Flyer,
    *,
    nose: float,
    distance: float,
    lift: bool = True,
    ground: float | None = None,
    longest: float = LONGEST,
    dense: bool = True,
) -> Course:
    """Integrate until the point is in the target plane or on the ground, or the time is over.

    Parameters
    ----------
    start : (6,) array
        State: place and velocity of the mass centre in world axes, pitch [rad], pitch rate [rad/s].
    body : Flyer
    nose : float
        Place of the point's tip before the mass centre [m].
    distance : float
        Of the target plane from the axes' origin [m].
    lift : bool
        False keeps the arrow on its path: drag and mass alone.
    ground : float, optional
        Height of the ground [m].
    longest : float
        Time after which the flight ends in any case [s].
    """
    from scipy.integrate import solve_ivp

    write = flight_rates if lift else path_rates

    def rates(t: float, s: np.ndarray) -> np.ndarray:
        out = np.empty(STATE)
        write(s, body, out)
        return out

    def target(t: float, s: np.ndarray) -> float:
        return float(s[AT_X]) + nose * float(np.cos(s[PITCH])) - distance

    def below(t: float, s: np.ndarray) -> float:
        return float(s[AT_Y]) + nose * float(np.sin(s[PITCH])) - (ground or 0.0)

    events: list[Any] = [target] if ground is None else [target, below]
    target.terminal = True  # type: ignore[attr-defined]
    target.direction = 1.0  # type: ignore[attr-defined]
    below.terminal = True  # type: ignore[attr-defined]
    below.direction = -1.0  # type: ignore[attr-defined]
    done = solve_ivp(
        rates, (0.0, longest), start, method="DOP853", events=events, dense_output=dense,
        rtol=RELATIVE, atol=ABSOLUTE,
    )  # fmt: skip
    return Course(float(done.t[-1]), done.y[:, -1], bool(done.t_events[0].size), done.sol if dense else None)
