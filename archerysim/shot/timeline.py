"""One shot's timeline: when the fingers, the rest and the string let go; all that tells or draws a shot reads it here.

Every time is in seconds after the release begins. What did not happen is nan; what only a trace tells is None without
one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.shot.trace import Trace


@dataclass(frozen=True)
class Opening:
    """How one finger, or all of them together, let go.

    Attributes
    ----------
    begins, half_open, off : float
        Its force begins to fall, is half of that at full draw, is zero [s]; nan for a finger that holds nothing.
    """

    begins: float
    half_open: float
    off: float


@dataclass(frozen=True)
class Timeline:
    """When things happened, in [s] after the release begins; see the module for nan and None.

    Attributes
    ----------
    index, middle, ring : Opening
        Of each finger.
    fingers : Opening
        Of all of them: the first begins to open, half of their force together is gone, the last is off.
    rest_left : float
        The shaft last left the rest while that supported it; nan if it still lay there when the support ended.
    support_ends : float or None
        The throat has travelled so far along the riser's x that the rest supports no longer, whether the shaft still
        lay on it or not; nan if it supports until the arrow is clear.
    on_rest_again : float
        The shaft last came down on the supporting rest again, a second strike; nan if it did not.
    greatest_push : float or None
        The string pushes hardest on both ends of the nock's floor together, of the trace's rows.
    string_straight : float or None
        The string's points at the nock pass the line between the limbs' tips; nan if they do not.
    separation, clear : float
        See `archerysim.shot.launch.Launch`.
    """

    index: Opening
    middle: Opening
    ring: Opening
    fingers: Opening
    rest_left: float
    support_ends: float | None
    on_rest_again: float
    greatest_push: float | None
    string_straight: float | None
    separation: float
    clear: float

    @property
    def left_again(self) -> bool:
        """Whether the shaft left the rest after it had come down on it again."""
        return self.rest_left > self.on_rest_again

    def supported(self, time: np.ndarray | float) -> np.ndarray:
        """Whether the rest supports at times [s], of a shot with a trace: (...) of bool.

        Raises
        ------
        ValueError
            Without a trace.
        """
        if self.support_ends is None:
            raise ValueError("timeline: only a trace tells when the rest's support ends; shoot with trace=True")
        return np.logical_not(np.asarray(time) > self.support_ends)


def timeline_of(launch: Launch) -> Timeline:
    """When things happened in a shot; `Launch.timeline` keeps it."""
    index, middle, ring, fingers = _openings(launch)
    trace = launch.trace
    return Timeline(
        index=index, middle=middle, ring=ring, fingers=fingers,
        rest_left=launch.rest_left_at, support_ends=_support_ends(launch), on_rest_again=launch.second_strike_at,
        greatest_push=None if trace is None else float(trace.time[np.argmax(trace.edge_upper + trace.edge_lower)]),
        string_straight=None if trace is None else _string_straight(launch, trace),
        separation=launch.separation.time, clear=launch.clear.time,
    )  # fmt: skip


def fading(time: np.ndarray | float, lasting: np.ndarray, delay: np.ndarray) -> np.ndarray:
    """Share of its force at full draw that each finger still has: a half cosine from 1 to 0 after its delay.

    For what is told and drawn of a shot; the release itself has it in its kernels.

    Parameters
    ----------
    time : (...) array
        After the release begins [s].
    lasting, delay : (3,) arrays
        Of each finger's release [s].

    Returns
    -------
    (..., 3) array
    """
    since = np.clip((np.asarray(time)[..., None] - delay) / lasting, 0.0, 1.0)
    return np.asarray(0.5 * (1.0 + np.cos(np.pi * since)))


def rest_force(launch: Launch, time: np.ndarray | float) -> np.ndarray:
    """Force of the rest on the shaft at times [s] of a traced shot: (...) [N].

    Between rows of the trace on a straight line; until the support ends the last row before it holds, after it none.
    """
    trace, at = launch.traced(), launch.timeline
    full = at.supported(trace.time + launch.step)  # in the step about its end only a share of the force acts
    return np.where(at.supported(time), np.interp(time, trace.time[full], trace.rest[full]), 0.0)


def _openings(launch: Launch) -> list[Opening]:
    """Of index, middle, ring and of all; a finger without a share of the load has no force to lose."""
    from scipy.optimize import brentq

    shares = np.asarray(launch.drawing.setup.archer.finger_shares, dtype=float)
    lasting, delay = launch.drawing.fingers.time, launch.drawing.fingers.delay
    loaded = np.flatnonzero(shares > 0.0)
    each = [Opening(math.nan, math.nan, math.nan)] * shares.size
    for k in loaded:
        each[k] = Opening(float(delay[k]), float(delay[k] + 0.5 * lasting[k]), float(delay[k] + lasting[k]))
    off = max(each[k].off for k in loaded)
    half = float(brentq(lambda time: float(shares @ fading(time, lasting, delay)) - 0.5, 0.0, off))
    return [*each, Opening(min(each[k].begins for k in loaded), half, off)]


def _support_ends(launch: Launch) -> float | None:
    limit = launch.drawing.support.travel
    trace = launch.trace
    if not math.isfinite(limit):
        return math.nan
    if trace is None:
        return None
    angle = np.radians(launch.aim_angle)  # the support's travel is counted along the riser's x, as in the release
    x = np.cos(angle) * trace.nock_x - np.sin(angle) * trace.nock_y
    travel = x - x[0]
    if travel[-1] < limit:
        return math.nan
    return float(np.interp(limit, np.maximum.accumulate(travel), trace.time))


def _string_straight(launch: Launch, trace: Trace) -> float:
    m = launch.braced.marks
    tips = [np.column_stack((trace.frame_x[:, k], trace.frame_y[:, k])) for k in (m.tip_u, m.tip_l)]
    points = [np.column_stack((trace.frame_x[:, k], trace.frame_y[:, k])) for k in (m.edge_u, m.edge_l)]
    along = tips[0] - tips[1]
    way = 0.5 * (points[0] + points[1]) - tips[1]
    ahead = along[:, 1] * way[:, 0] - along[:, 0] * way[:, 1]
    past = np.flatnonzero(ahead >= 0.0)
    if past.size == 0 or past[0] == 0:
        return math.nan
    k = int(past[0])
    share = -ahead[k - 1] / (ahead[k] - ahead[k - 1])
    return float(trace.frame_time[k - 1] + share * (trace.frame_time[k] - trace.frame_time[k - 1]))
