"""One shot's timeline: when the fingers, the rest and the string let go; all that tells or draws a shot reads it here.

Every time is in seconds after the release begins. What did not happen is nan. The release notes all of it, so that it
is the same with and without a trace.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.zero import zero_between
from archerysim.shot.arrays.sideways import make_arm

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.shot.release.release import Loosed

SHALLOW = 1e-5  # [m] less than this under the rest's top is on it


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
    """When things happened, in [s] after the release begins; nan: it did not.

    Attributes
    ----------
    index, middle, ring : Opening
        Of each finger.
    fingers : Opening
        Of all of them: the first begins to open, half of their force together is gone, the last is off.
    rest_left : float
        The shaft last left the rest while that supported it; nan if it still lay there when the support ended.
    support_ends : float
        The throat has travelled so far along the riser's x that the rest supports no longer, whether the shaft still
        lay on it or not; nan if it supports until the arrow is clear.
    on_rest_again : float
        The shaft last came down on the supporting rest again, a second strike; nan if it did not.
    off_side_support : float
        The shaft last left the side support. This and what follows up to `tail_past` only the shot in both planes
        knows: nan in one plane.
    off_arm : float
        The shaft first went beyond the reach of the rest's arm, and the rest carries it no longer; nan for a shelf.
    nock_furthest : float
        The nock is furthest sideways.
    arm_struck : float
        The shaft last struck the arm from the side; nan if it did not.
    tail_touches : float
        The shaft's rear half first touches the side support; nan if it does not.
    tail_past : float
        The tail has passed both rest and side support.
    greatest_push : float
        The string pushes hardest on both ends of the nock's floor together, of the rows that a trace has.
    string_straight : float
        The string's points at the nock pass the line between the limbs' tips, or between its own first points off limbs
        that are curved forward; nan if they do not.
    string_on_upper, string_on_lower : float
        The string comes down on the belly of the upper and of the lower limb; nan where it does not.
    separation, clear : float
        See `archerysim.shot.launch.Launch`.
    """

    index: Opening
    middle: Opening
    ring: Opening
    fingers: Opening
    rest_left: float
    support_ends: float
    on_rest_again: float
    off_side_support: float
    off_arm: float
    nock_furthest: float
    arm_struck: float
    tail_touches: float
    tail_past: float
    greatest_push: float
    string_straight: float
    string_on_upper: float
    string_on_lower: float
    separation: float
    clear: float

    @property
    def left_again(self) -> bool:
        """Whether the shaft left the rest after it had come down on it again."""
        return self.rest_left > self.on_rest_again

    def supported(self, time: np.ndarray | float) -> np.ndarray:
        """Whether the rest's support has not ended at times [s]: (...) of bool; in both planes it never ends so."""
        return np.logical_not(np.asarray(time) > self.support_ends)


def timeline_of(launch: Launch) -> Timeline:
    """When things happened in a shot; `Launch.timeline` keeps it."""
    index, middle, ring, fingers = _openings(launch)
    passage = launch.passage
    return Timeline(
        index=index, middle=middle, ring=ring, fingers=fingers,
        rest_left=launch.rest_left_at, support_ends=launch.support_ends_at, on_rest_again=launch.second_strike_at,
        off_side_support=passage.side_left_at, off_arm=passage.arm_left_at, nock_furthest=passage.nock_furthest_at,
        arm_struck=passage.arm_strike_at, tail_touches=passage.tail_touch_at, tail_past=passage.tail_past_at,
        greatest_push=launch.greatest_push_at, string_straight=launch.string_straight_at,
        string_on_upper=launch.string_on_upper_at, string_on_lower=launch.string_on_lower_at,
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

    Between rows of the trace on a straight line, but not across the end of the support, which in both planes is where
    the shaft goes off the arm: until then the last row before it holds, from then on the first after it.
    """
    trace, at = launch.traced(), launch.timeline
    ends = at.support_ends if launch.planes == 1 else at.off_arm
    if math.isnan(ends):
        return np.asarray(np.interp(time, trace.time, trace.rest))
    before, after = (  # in the step about the end only a share of the force acts
        np.interp(time, trace.time[rows], trace.rest[rows]) if rows.any() else 0.0
        for rows in (trace.time <= ends - launch.step, trace.time > ends + launch.step)
    )
    return np.where(np.asarray(time) > ends, after, before)


def supporting(launch: Launch, time: np.ndarray | float) -> np.ndarray:
    """Whether the rest can carry the shaft at times [s] of a traced shot: (...) of bool.

    In both planes it can while the shaft is within its reach and has not folded it away.
    """
    if launch.planes == 1:
        return launch.timeline.supported(time)
    trace, setup = launch.traced(), launch.drawing.setup
    out, above, force = (
        np.interp(time, trace.time, row) for row in (trace.shaft_over_rest_z, trace.shaft_over_rest_y, trace.rest)
    )
    under = above < 0.5 * setup.arrow.diameter - SHALLOW
    return np.asarray((out <= make_arm(setup).outer) & ~(under & (force == 0.0)))


def _openings(launch: Launch) -> list[Opening]:
    """Of index, middle, ring and of all; a finger without a share of the load has no force to lose."""
    shares = np.asarray(launch.drawing.setup.archer.finger_shares, dtype=float)
    lasting, delay = launch.drawing.fingers.time, launch.drawing.fingers.delay
    loaded = np.flatnonzero(shares > 0.0)
    each = [Opening(math.nan, math.nan, math.nan)] * shares.size
    for k in loaded:
        each[k] = Opening(float(delay[k]), float(delay[k] + 0.5 * lasting[k]), float(delay[k] + lasting[k]))
    off = max(each[k].off for k in loaded)
    half = zero_between(lambda time: float(shares @ fading(time, lasting, delay)) - 0.5, 0.0, off)
    return [*each, Opening(min(each[k].begins for k in loaded), half, off)]


def support_ends_at(loosed: Loosed, limit: float, start: tuple[float, float], angle: float) -> float:
    """When the throat has travelled so far that the rest supports no longer [s].

    On a straight line between the looks before and after; nan if it supports until the arrow is clear.

    Parameters
    ----------
    loosed : Loosed
    limit : float
        The support's travel along the riser's x [m].
    start : (float, float)
        The throat's middle at full draw [m].
    angle : float
        Of the aim line [rad].
    """
    seen = loosed.support_end
    if not np.isfinite(seen.time).all():
        return math.nan
    x, y = (np.array([at, *row]) for at, row in zip(start, (seen.x, seen.y), strict=True))
    cosine, sine = np.cos(angle), np.sin(angle)
    along, up = cosine * x + sine * y, cosine * y - sine * x  # in the aim frame, as in the trace, and back
    angle = np.radians(np.degrees(angle))
    x = np.cos(angle) * along - np.sin(angle) * up
    return float(np.interp(limit, x[1:] - x[0], seen.time))


def string_straight_at(loosed: Loosed) -> float:
    """When the string's points at the nock pass the line between the limbs' tips [s]; nan if they do not.

    On a straight line between the looks before and after.
    """
    seen = loosed.straight
    if not np.isfinite(seen.time).all():
        return math.nan
    tip_u, tip_l, edge_u, edge_l = (
        np.column_stack((seen[f"{name}_x"], seen[f"{name}_y"])) for name in ("tip_u", "tip_l", "edge_u", "edge_l")
    )
    along = tip_u - tip_l
    way = 0.5 * (edge_u + edge_l) - tip_l
    before, after = along[:, 1] * way[:, 0] - along[:, 0] * way[:, 1]
    share = -before / (after - before)
    return float(seen.time[0] + share * (seen.time[1] - seen.time[0]))
