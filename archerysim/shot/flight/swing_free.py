"""The path of an arrow without swing: the curve against which swing is seen once the drop is taken away."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from archerysim.shot.flight.fly import Flight, Start, find_elevation
from archerysim.shot.flight.trajectory import course

BEFORE, BEYOND = 2.0, 0.1  # [m] how far the curve goes on behind the start and behind the target
ROWS = 2001


@dataclass(frozen=True)
class QuietPath:
    """Heights of a smooth path from the bow to the target's centre.

    Attributes
    ----------
    x, y : (k,) arrays
        World axes [m], x rising.
    """

    x: np.ndarray
    y: np.ndarray

    def height(self, x: np.ndarray | float) -> np.ndarray:
        """Height of the path at places x [m]."""
        return np.asarray(np.interp(x, self.x, self.y))

    def above(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 2) with their heights counted from the path [m]."""
        out = points.copy()
        out[..., 1] -= self.height(points[..., 0])
        return out


def quiet_path(flight: Flight, *, turned: bool = True) -> QuietPath:
    """The path on which the arrow of a flight would reach the target's centre if it kept to its path.

    It starts at the place and with the speed of the flight; drag and weight act, lift does not, so that it bends
    down smoothly and nothing of the swing is in it. Its direction at the start is the one that leads it to the
    target's centre. Heights above it are therefore, at the target, heights above the centre.

    Parameters
    ----------
    flight : Flight
        Best the fletched one; the same curve then serves the bare one beside it.
    turned : bool
        False: it keeps the flight's own direction at the start.

    Returns
    -------
    QuietPath

    Raises
    ------
    SetupError
        If the arrow would not reach the target.
    """
    tip = flight.y[-1] + flight.nose_ahead * math.sin(math.radians(flight.pitch[-1]))
    centre = float(tip - flight.impact_height)
    state = flight.state(0.0)
    x0, y0 = float(state[0]), float(state[1])
    start = Start(state - np.array([x0, y0, 0.0, 0.0, 0.0, 0.0]), flight.body, 0.0, 0.0)
    way = flight.distance - x0
    angle = find_elevation(start, way, centre - y0, lift=False) if turned else 0.0
    flown = course(start.at(angle), start.body, nose=0.0, distance=way + BEYOND, lift=False)
    assert flown.state is not None
    x, y, vx, vy, _, _ = flown.state(np.linspace(0.0, flown.end, ROWS))
    x, y = x + x0, y + y0
    back = np.linspace(-BEFORE, 0.0, 51)[:-1]
    bend = -start.body.gravity / (2.0 * vx[0] ** 2)
    behind = y[0] + vy[0] / vx[0] * back + bend * back**2
    return QuietPath(np.concatenate((x[0] + back, x)), np.concatenate((behind, y)))
