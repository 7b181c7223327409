"""Where an arrow's points are in flight, and the path with the drop that is taken out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from archerysim.shot.flight import Flight


@dataclass(frozen=True)
class Path:
    """The path of an arrow that gravity and drag alone bend, from clear to the target's centre: heights [m] over x."""

    x: np.ndarray
    y: np.ndarray

    def above(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 2) with their heights counted from the path."""
        out = points.copy()
        out[..., 1] -= np.interp(points[..., 0], self.x, self.y)
        return out


def drop_path(flight: Flight) -> Path:
    """The path that is subtracted: from the flight's clear, gravity and drag alone, turned to end at the centre.

    Where the target was not reached it is not turned.
    """
    from archerysim.shot.flight import Start, find_elevation
    from archerysim.shot.trajectory import course

    state = flight.state(0.0).copy()
    state[4], state[5] = math.atan2(state[3], state[2]), 0.0
    start = Start(state, flight.body, flight.nose_ahead, flight.tail_behind)
    turn = find_elevation(start, flight.distance, _centre(flight), lift=False) if flight.reached else 0.0
    flown = course(start.at(turn), start.body, nose=-1.0, distance=flight.distance, lift=False)
    assert flown.state is not None
    x, y, vx, vy, *_ = flown.state(np.linspace(0.0, flown.end, 801))
    before = x[0] - 1.5  # the shaft's tail starts behind the mass centre
    return Path(np.r_[before, x], np.r_[y[0] - 1.5 * vy[0] / vx[0], y])


def _centre(flight: Flight) -> float:
    """Height of the target's centre [m]."""
    pitch = math.radians(float(flight.pitch[-1]))
    return float(flight.y[-1]) + flight.nose_ahead * math.sin(pitch) - flight.impact_height


def state_of(flight: Flight, time: np.ndarray) -> np.ndarray:
    """The states at some instants (6, f); at rest in the target after the flight's end."""
    state: np.ndarray = flight.state(np.minimum(time, flight.time_of_flight))
    return state


def placed(flight: Flight, time: np.ndarray, body: np.ndarray) -> np.ndarray:
    """Points of the arrow, given along and across it from the throat (k, 2), in world axes: (f, k, 2) [m]."""
    x, y, _, _, pitch, _ = state_of(flight, time)[..., None]
    along, across = body[:, 0] - flight.tail_behind, body[:, 1]
    c, s = np.cos(pitch), np.sin(pitch)
    return np.stack((x + along * c - across * s, y + along * s + across * c), axis=-1)


def ends_of(flight: Flight, time: np.ndarray) -> np.ndarray:
    """Throat and point's tip in world axes: (f, 2, 2) [m]."""
    return placed(flight, time, np.array([(0.0, 0.0), (flight.tail_behind + flight.nose_ahead, 0.0)]))
