"""The unstrung limb's curvature out of points traced along it.

Points carry the pencil's error, and curvature is a second derivative: through points 30 mm apart that are 1 mm out it
would be out by several 1/m. So the line is found whose curvature changes least for what the points say. With theta the
line's angle from y towards x, the curvature kappa = d theta / ds straight between even knots, and r the points'
distances from it, that is the least of

    sum (r / ERROR)^2 + integral (d kappa / ds)^2 ds / CHANGE

(G. Wahba, Spline Models for Observational Data, SIAM 1990 [memory]), found by Gauss's and Newton's method. Its inverse
matrix says how well the curvature is known.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from archerysim.equipment.limbs.natural_shape import NaturalShape
from archerysim.errors import SetupError
from archerysim.fields.units import show

ERROR = 1e-3  # standard deviation of a traced point across the limb [m] [judgement]
CHANGE = 360.0  # square of the curvature's change for each metre along a limb: 6 1/m in 0.1 m [1/m3] [judgement]
INTERVALS = 20  # of the table of curvature
LEAST_POINTS = 6
FEWEST = 1e-3  # [m] between two points
WIDEST = 0.3  # of the length, between two points
SHARPEST = np.radians(60.0)  # between the lines to the point before and the point after
FAR_OFF = 5.0 * ERROR  # of a point from the smoothed line
MOST_CURVED = 30.0  # [1/m]
FROM_TIP = np.radians(25.0), 2.0  # half a limb that turns by more, and by so much more than the other, is the outer one
LEAST_LENGTH, MOST_LENGTH = 0.15, 1.1  # [m]
GRID = 20 * INTERVALS + 1
IN_ORDER = "Give them in order from the root to the tip"
ROUNDS, SETTLED = 100, 1e-8


class Traced(NamedTuple):
    """A smoothed profile.

    Attributes
    ----------
    shape : NaturalShape
    length : float
        Along the limb [m].
    known_to : (k,) array
        One standard deviation of the curvature at the shape's places, by the tracing's error [1/m].
    points : (m, 2) array
        The traced points in the root's axes: forward, along [m].
    misses : (m,) array
        Their distances from the smoothed line, positive = forward of it [m].
    """

    shape: NaturalShape
    length: float
    known_to: np.ndarray
    points: np.ndarray
    misses: np.ndarray


@lru_cache(16)
def traced(profile_x: tuple[float, ...], profile_y: tuple[float, ...], path: str) -> Traced:
    """Smooth a traced profile.

    Parameters
    ----------
    profile_x, profile_y : tuple of float
        Points from root to tip in any straight axes: x towards the target, y along the limb [m].
    path : str
        The limb's, for messages.

    Raises
    ------
    SetupError
        Where the points are too few or too far apart, double back, do not lie along a line, bend it too much, or begin
        at the tip.
    """
    points = np.column_stack((profile_x, profile_y))
    chords = _chords(points, f"{path}.profile_x")
    place = np.concatenate(([0.0], np.cumsum(np.hypot(*chords.T))))
    angles = np.unwrap(np.arctan2(*chords.T))
    knots = np.linspace(0.0, 1.0, INTERVALS + 1)
    middles = 0.5 * (place[1:] + place[:-1]) / place[-1]
    curvature = np.gradient(np.interp(knots, middles, angles), knots * place[-1])
    start = np.array([0.0, angles[0]])
    for _ in range(ROUNDS):
        line = _Line(points[0], start, curvature, float(place[-1]))
        miss, slip, slopes = line.against(points, place)
        rough = np.zeros((INTERVALS, slopes.shape[1]))
        rough[:, 2:] = np.diff(np.eye(INTERVALS + 1), axis=0) / np.sqrt(CHANGE * line.step)
        matrix = np.vstack((slopes / ERROR, rough))
        wanted = np.concatenate((miss / ERROR, -rough[:, 2:] @ curvature))
        move = np.linalg.lstsq(matrix, wanted, rcond=None)[0]
        start, curvature = start + move[:2], curvature + move[2:]
        place = place + slip
        if not np.isfinite(move).all() or (np.diff(place) <= 0.0).any():
            raise _not_a_limb(f"{path}.profile_x")
        if np.abs(move).max() < SETTLED:
            break
    else:
        raise _not_a_limb(f"{path}.profile_x")
    known_to = np.sqrt(np.diag(np.linalg.inv(matrix.T @ matrix)))[2:]
    length = float(place[-1])
    _check(f"{path}.profile_x", miss, curvature, length)
    cosine, sine = np.cos(start[1]), np.sin(start[1])
    in_axes = (points - (line.x[0], line.y[0])) @ np.array([[cosine, sine], [-sine, cosine]])
    shape = NaturalShape(tuple(map(float, knots)), tuple(map(float, curvature * length)))
    return Traced(shape, length, known_to, in_axes, miss)


def _chords(points: np.ndarray, path: str) -> np.ndarray:
    """From each point to the next (m - 1, 2) [m]."""
    if len(points) < LEAST_POINTS:
        raise SetupError(path, f"{len(points)} points", f"Trace at least {LEAST_POINTS}; a dozen or more are better")
    chords = np.diff(points, axis=0)
    long = np.hypot(*chords.T)
    if not LEAST_LENGTH <= long.sum() <= MOST_LENGTH:
        problem = f"the points run over {show(round(float(long.sum()), 4), 'mm')}"
        raise SetupError(path, problem, "A limb has 150 to 1100 mm: check the unit")
    if long.min() < FEWEST:
        k = int(long.argmin())
        raise SetupError(path, f"points {k + 1} and {k + 2} are the same", "Leave one out")
    turns = np.diff(np.unwrap(np.arctan2(*chords.T)))
    if np.abs(turns).max() > SHARPEST:
        k = int(np.abs(turns).argmax())
        raise SetupError(path, f"the points double back at point {k + 2}", IN_ORDER)
    if long.max() > WIDEST * long.sum():
        k = int(long.argmax())
        problem = f"points {k + 1} and {k + 2} are {show(float(long[k]), 'mm')} apart"
        raise SetupError(path, problem, "Trace points evenly along the whole limb")
    return chords


def _check(path: str, miss: np.ndarray, curvature: np.ndarray, length: float) -> None:
    if np.abs(miss).max() > FAR_OFF:
        k = int(np.abs(miss).argmax())
        problem = f"point {k + 1} lies {1e3 * abs(miss[k]):.1f} mm off a smooth line through the others"
        raise SetupError(path, problem, "Check it, and the unit")
    if np.abs(curvature).max() > MOST_CURVED:
        most = float(np.abs(curvature).max())
        raise SetupError(path, f"the limb is curved by {most:.0f} 1/m, over {MOST_CURVED:g}", "Check the points")
    even = 0.5 * (curvature[1:] + curvature[:-1]) * length / INTERVALS
    first, second = float(even[: INTERVALS // 2].sum()), float(even[INTERVALS // 2 :].sum())
    least, more = FROM_TIP
    if abs(first) > max(least, more * abs(second)):
        turns = f"{np.degrees(abs(first)):.0f} deg in their first half, by {np.degrees(abs(second)):.0f} in the second"
        raise SetupError(path, f"the points turn by {turns}", f"A limb curves towards its tip. {IN_ORDER}")


def _not_a_limb(path: str) -> SetupError:
    return SetupError(path, "no smooth line fits these points", IN_ORDER)


class _Line:
    """A line by its start, its curvature at even knots [1/m] and its length [m].

    It starts beside the first point: so far across [m], at an angle [rad].
    """

    def __init__(self, first: np.ndarray, start: np.ndarray, curvature: np.ndarray, length: float) -> None:
        self.length, self.step = length, length / INTERVALS
        self.grid = np.linspace(0.0, length, GRID)
        self.hats = self._summed(np.array([
            np.interp(self.grid, self.step * np.arange(INTERVALS + 1), one) for one in np.eye(INTERVALS + 1)
        ]))  # fmt: skip
        self.angle = start[1] + curvature @ self.hats
        self.start_out = float(start[0])
        self.x = first[0] + start[0] * np.cos(start[1]) + self._summed(np.sin(self.angle))
        self.y = first[1] - start[0] * np.sin(start[1]) + self._summed(np.cos(self.angle))

    def _summed(self, values: np.ndarray) -> np.ndarray:
        """Integral from the start on, along the last axis."""
        step = self.length / (GRID - 1)
        inner = np.cumsum(0.5 * step * (values[..., 1:] + values[..., :-1]), axis=-1)
        return np.concatenate((np.zeros((*values.shape[:-1], 1)), inner), axis=-1)

    def against(self, points: np.ndarray, place: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Distances of points from the line across and along it [m], and the former's slopes by start and curvature."""
        sine, cosine = np.sin(self.angle), np.cos(self.angle)
        s, c = np.interp(place, self.grid, sine), np.interp(place, self.grid, cosine)
        off_x = points[:, 0] - np.interp(place, self.grid, self.x)
        off_y = points[:, 1] - np.interp(place, self.grid, self.y)
        out = c * cosine[0] + s * sine[0]
        moves = []  # across, of the line for a turn of its start and for more curvature at each knot
        for turn in (np.ones(GRID), *self.hats):
            x, y = (np.interp(place, self.grid, self._summed(f * turn)) for f in (cosine, -sine))
            moves.append(c * x - s * y)
        moves[0] += self.start_out * (s * cosine[0] - c * sine[0])
        return c * off_x - s * off_y, s * off_x + c * off_y, np.column_stack((out, *moves))
