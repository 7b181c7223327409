"""Integrating a flight: start, equations, the target plane as an event."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.errors import LOST_FLIGHT, ShotError
from archerysim.mechanics.flight import STATE, Flyer
from archerysim.mechanics.flight_course import POWERS, REACHED, STAGES, TOO_MANY_STEPS, fly_course

RELATIVE, ABSOLUTE = 1e-8, 1e-10  # of a step: under a micrometre at the target
LONGEST = 15.0  # [s] no arrow flies longer
MOST_STEPS = 4000


@dataclass(frozen=True)
class Course:
    """An integrated flight.

    Attributes
    ----------
    times : (n,) array
        Ends of the integrator's steps [s].
    states : (n, 10) array
        State at each: x, y, velocity x, velocity y, pitch, pitch rate, z, velocity z, yaw, yaw rate; SI, angles in
        radians.
    curves : (n - 1, 10, 4) array
        The curve within each step.
    reached : bool
        Whether the point reached the target plane.
    """

    times: np.ndarray
    states: np.ndarray
    curves: np.ndarray
    reached: bool

    @property
    def end(self) -> float:
        """Time at its end [s]."""
        return float(self.times[-1])

    @property
    def last(self) -> np.ndarray:
        """State at its end (10,)."""
        return np.asarray(self.states[-1])

    def state(self, time: Any) -> np.ndarray:
        """State at an instant (10,), or at some (10, k)."""
        t = np.asarray(time, dtype=float)
        at = np.clip(np.searchsorted(self.times, t, side="right") - 1, 0, len(self.curves) - 1)
        step = self.times[at + 1] - self.times[at]
        part = (t - self.times[at]) / step
        powers = part[..., None] ** np.arange(1, POWERS + 1)
        change = step[..., None] * np.einsum("...jp,...p->...j", self.curves[at], powers)
        return np.moveaxis(self.states[at] + change, -1, 0)


def course(
    start: np.ndarray,
    body: Flyer,
    *,
    nose: float,
    distance: float,
    lift: bool = True,
    ground: float | None = None,
    longest: float = LONGEST,
) -> Course:
    """Integrate until the point is in the target plane or on the ground, or the time is over.

    Parameters
    ----------
    start : (10,) array
        State, world axes.
    body : Flyer
    nose : float
        Place of the point's tip ahead of the mass centre [m].
    distance : float
        Of the target plane from the axes' origin [m].
    lift : bool
        False keeps the arrow on its path: drag and mass alone.
    ground : float, optional
        Height of the ground [m].
    longest : float
        Time after which the flight ends in any case [s].

    Raises
    ------
    ShotError
        If the integrator's steps become too small or too many.
    """
    times, states, curves = np.empty(MOST_STEPS), np.empty((MOST_STEPS, STATE)), np.empty((MOST_STEPS, STATE, POWERS))
    status, count = fly_course(
        np.ascontiguousarray(start, dtype=float), body, float(nose), float(distance),
        -np.inf if ground is None else float(ground), float(longest), lift, RELATIVE, ABSOLUTE, times, states, curves,
        np.empty((STAGES, STATE)), np.empty(STATE),
    )  # fmt: skip
    if status == TOO_MANY_STEPS:
        raise ShotError("flight", LOST_FLIGHT, f"{times[count - 1]:.3g} s after clear")
    return Course(times[:count].copy(), states[:count].copy(), curves[: count - 1].copy(), status == REACHED)
