"""Where an arrow's points are in flight, and the path with the drop that is taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing_free import QuietPath


def drop_path(flight: Flight) -> QuietPath:
    """The path that is subtracted: `quiet_path`, not turned where the target was not reached."""
    from archerysim.shot.flight.swing_free import quiet_path

    return quiet_path(flight, turned=flight.reached)


def state_of(flight: Flight, time: np.ndarray) -> np.ndarray:
    """The states at some instants (10, f); at rest in the target after the flight's end."""
    state: np.ndarray = flight.state(np.minimum(time, flight.time_of_flight))
    return state


def placed(flight: Flight, time: np.ndarray, body: np.ndarray) -> np.ndarray:
    """Points of the arrow, given along and across it from the throat (k, 2), in world axes: (f, k, 2) [m]."""
    x, y, _, _, pitch, _, _, _, yaw, _ = state_of(flight, time)[..., None]
    along, across = (body[:, 0] - flight.tail_behind) * np.cos(yaw), body[:, 1]
    c, s = np.cos(pitch), np.sin(pitch)
    return np.stack((x + along * c - across * s, y + along * s + across * c), axis=-1)


def ends_of(flight: Flight, time: np.ndarray) -> np.ndarray:
    """Throat and point's tip in world axes: (f, 2, 2) [m]."""
    return placed(flight, time, np.array([(0.0, 0.0), (flight.tail_behind + flight.nose_ahead, 0.0)]))
