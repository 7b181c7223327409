"""The ways of a shot: how far each limb's tip has still to come home, and how the nock rises and falls on its way."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.shot.launch import Launch
from archerysim.shot.limbs_compared import ahead_of_root


class WaysHome(NamedTuple):
    """How far each tip stands behind its place at brace, seen from its own root, along the time."""

    time: np.ndarray  #: (f,) after the release begins [s]
    upper: np.ndarray  #: (f,) zero: home; negative once it is past [m]
    lower: np.ndarray


class NockWay(NamedTuple):
    """The nock's way from full draw to separation, or as far as brace."""

    along: np.ndarray  #: (k,) along the arrow's line at full draw, from the pivot's place then [m]
    rise: np.ndarray  #: (k,) above where it was at full draw, square to that line [m]


def ways_home(launch: Launch) -> WaysHome:
    """How far each tip has still to come.

    Parameters
    ----------
    launch : Launch
        Shot with ``trace=True``.

    Raises
    ------
    UsageError
        If it has no trace.
    """
    trace, braced = launch.traced(), launch.braced
    behind = [
        float(ahead_of_root(braced.marks, braced.x[None], braced.y[None], name)[0])
        - ahead_of_root(braced.marks, trace.frame_x, trace.frame_y, name)
        for name in ("upper", "lower")
    ]
    return WaysHome(trace.frame_time, *behind)


def nock_way(launch: Launch) -> NockWay:
    """The nock's way in a shot, to separation.

    Parameters
    ----------
    launch : Launch
        Shot with ``trace=True``.

    Raises
    ------
    UsageError
        If it has no trace.
    """
    trace = launch.traced()
    until = launch.separation.time
    time = np.append(trace.time[trace.time < until], until)
    along, up = (np.interp(time, trace.time, one) for one in (trace.nock_x, trace.nock_y))
    return NockWay(along, up - up[0])


def end_slope(launch: Launch) -> float:
    """Direction in which the nock moves at separation, to the arrow's line at full draw, positive up [rad].

    Raises
    ------
    UsageError
        If it has no trace.
    """
    trace = launch.traced()
    ahead, up = (np.gradient(one, trace.time) for one in (trace.nock_x, trace.nock_y))
    return float(np.interp(launch.separation.time, trace.time, np.arctan2(up, ahead)))


def slow_rise(launch: Launch) -> float:
    """How far above the arrow's line at full draw the string's middle stands at brace: let down slowly [m].

    Of the middle between the throat's edges, which is the nock's while the arrow is on the string; the riser stands.
    """
    angle, braced, drawn = np.radians(launch.aim_angle), launch.braced, launch.drawn
    places = [
        (0.5 * (one.x[u] + one.x[u + 1]), 0.5 * (one.y[u] + one.y[u + 1]))
        for one in (drawn, braced)
        for u in (braced.marks.edge_u,)
    ]
    (x0, y0), (x1, y1) = places
    return float(np.cos(angle) * (y1 - y0) - np.sin(angle) * (x1 - x0))
