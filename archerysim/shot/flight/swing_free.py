"""The path of an arrow without swing: the curve against which swing is seen once the drop is taken away."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from archerysim.mechanics.flight import AT_X, AT_Y, AT_Z, STATE
from archerysim.shot.flight.fly import Flight
from archerysim.shot.flight.sight import Aim, find_aim, tip_of
from archerysim.shot.flight.start import Start
from archerysim.shot.flight.trajectory import course

BEFORE, BEYOND = 2.0, 0.1  # [m] how far the curve goes on behind the start and behind the target
ROWS = 2001


@dataclass(frozen=True)
class QuietPath:
    """Heights of a smooth path from the bow to the target's centre.

    Attributes
    ----------
    x, y, z : (k,) arrays
        World axes [m], x rising; seen from above it is straight.
    """

    x: np.ndarray
    y: np.ndarray
    z: np.ndarray

    def height(self, x: np.ndarray | float) -> np.ndarray:
        """Height of the path at places x [m]."""
        return np.asarray(np.interp(x, self.x, self.y))

    def side(self, x: np.ndarray | float) -> np.ndarray:
        """Place of the path sideways at places x [m], positive away from the window."""
        return np.asarray(np.interp(x, self.x, self.z))

    def above(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 2) with their heights counted from the path [m]."""
        out = points.copy()
        out[..., 1] -= self.height(points[..., 0])
        return out


def quiet_path(flight: Flight, *, turned: bool = True) -> QuietPath:
    """The path on which the arrow of a flight would reach the target's centre if it kept to its path.

    It starts at the place and with the speed of the flight; drag and weight act, lift does not, so that it bends
    down smoothly, straight as seen from above, and nothing of the swing is in it. Its direction at the start is the one
    that leads it to the target's centre. Heights above it are therefore, at the target, heights above the centre, and
    so are the places beside it.

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
    last = flight.state(flight.time_of_flight)
    centre = tip_of(last, flight.nose_ahead)[0] - flight.impact_height
    state = flight.state(0.0)
    here = np.zeros(STATE)
    here[[AT_X, AT_Y, AT_Z]] = state[[AT_X, AT_Y, AT_Z]]
    x0, y0, z0 = (float(state[one]) for one in (AT_X, AT_Y, AT_Z))
    start = Start(state - here, flight.body, 0.0, 0.0)
    way = flight.distance - x0
    aim = Aim(0.0)
    if turned:  # from beside the target's line to its centre
        aim = find_aim(start, way, centre - y0, lift=False)
        aim = aim._replace(windage=aim.windage - math.atan2(z0, way))
    flown = course(start.at(*aim), start.body, nose=0.0, distance=way + BEYOND, lift=False)
    x, y, vx, vy, _, _, z, vz, _, _ = flown.state(np.linspace(0.0, flown.end, ROWS))
    x, y, z = x + x0, y + y0, z + z0
    back = np.linspace(-BEFORE, 0.0, 51)[:-1]
    bend = -start.body.gravity / (2.0 * vx[0] ** 2)
    behind = y[0] + vy[0] / vx[0] * back + bend * back**2
    beside = z[0] + vz[0] / vx[0] * back
    return QuietPath(np.concatenate((x[0] + back, x)), np.concatenate((behind, y)), np.concatenate((beside, z)))
