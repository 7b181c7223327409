"""The unstrung limb's shape: usual ones, and one that has a given tip and given angles.

A shape is a table of places along the limb, 0 = root to 1 = tip, and of the curvature there times the limb's length,
positive = forward, straight between the places; so it is the same for a long limb and a short one. The limb's angle
against its root is the integral of the curvature, how far the tip stands forward that of the angle's sine.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from archerysim.equipment.filled_records import FilledLimb
from archerysim.equipment.limbs.limb import Limb, LimbShape
from archerysim.errors import SetupError
from archerysim.fields.units import show
from archerysim.fields.zero import zero_between

# A modern recurve's limb is straight to BEGIN of its length; then the curvature rises over RISE and stays [judgement].
BEGIN, RISE = 0.60, 0.08
RECURVE_TURN = math.radians(70.0)  # angle of its tip against its root [judgement]
REFLEX_TURN = math.radians(8.0)  # the same of a gently reflexed limb, which is curved evenly [judgement]
FIRST_BEGIN, LAST_BEGIN = 0.50, 0.90  # where the curve of a limb may begin whose tip and its angle are both given
INNER = 0.42  # to here the curvature of the inner half is even, where the angle at half length is given
MOST_TURN = 2.2  # of the outer part, either way [rad]; beyond, the tip no longer comes forward
TAPER = 0.765  # by which the usual stiffness falls from root to tip
GRID = 401  # places along a limb by which its length is found

ZERO = 1e-15  # how near a root is to be: shares of a length or radians

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


class NaturalShape(NamedTuple):
    """An unstrung limb's shape.

    Attributes
    ----------
    at : tuple of float
        Places from 0 (root) to 1 (tip).
    bent : tuple of float
        Curvature there times the limb's length, positive = forward [rad].
    """

    at: tuple[float, ...]
    bent: tuple[float, ...]

    def curvature(self, length: float) -> tuple[float, ...]:
        """Natural curvature [1/m] of a limb of some length [m]."""
        return tuple(one / length for one in self.bent)


def angle_at(shape: NaturalShape, place: np.ndarray) -> np.ndarray:
    """Angle against the root at places from 0 to 1, positive = turned forward [rad]: the integral of the curvature."""
    at, bent = np.asarray(shape.at), np.asarray(shape.bent)
    before = np.concatenate(([0.0], np.cumsum(0.5 * (bent[1:] + bent[:-1]) * np.diff(at))))
    part = np.clip(np.searchsorted(at, place, side="right") - 1, 0, at.size - 2)
    along = place - at[part]
    slope = (bent[part + 1] - bent[part]) / (at[part + 1] - at[part])
    return np.asarray(before[part] + along * (bent[part] + 0.5 * slope * along))


def tip_of(shape: NaturalShape) -> tuple[float, float]:
    """Where the tip stands forward of the line on from the root, and along it, as shares of the length."""
    at = np.asarray(shape.at)
    half = 0.5 * np.diff(at)[:, None]
    angle = angle_at(shape, (0.5 * (at[1:] + at[:-1])[:, None] + half * _NODES).ravel())
    weight = (half * _WEIGHTS).ravel()
    return float(weight @ np.sin(angle)), float(weight @ np.cos(angle))


def usual_shape(name: LimbShape) -> NaturalShape | None:
    """The shape of that name; None for a straight one."""
    if name == "straight":
        return None
    if name == "reflexed":
        return NaturalShape((0.0, 1.0), (REFLEX_TURN, REFLEX_TURN))
    return _curved(0.0, RECURVE_TURN, BEGIN)


class LimbLine(NamedTuple):
    """An unstrung limb, in its root's axes.

    Attributes
    ----------
    place : (k,) array
        Along the limb from the root [m].
    forward, along : (k,) arrays
        Of the straight line on from the root, towards the target, and along it [m].
    angle : (k,) array
        Against the root, positive = turned forward [rad].
    curvature : (k,) array
        Positive = forward [1/m].
    """

    place: np.ndarray
    forward: np.ndarray
    along: np.ndarray
    angle: np.ndarray
    curvature: np.ndarray


def limb_line(limb: FilledLimb) -> LimbLine:
    """How a limb stands when it is unstrung."""
    at = limb.curvature_at or limb.at
    natural = np.broadcast_to(limb.natural_curvature, len(at))
    place = np.union1d(np.linspace(0.0, 1.0, GRID), at)
    angle = angle_at(NaturalShape(tuple(at), tuple(natural * limb.length)), place)
    step = np.diff(place) * limb.length
    forward, along = (
        np.concatenate(([0.0], np.cumsum(0.5 * step * (f[1:] + f[:-1])))) for f in (np.sin(angle), np.cos(angle))
    )
    return LimbLine(place * limb.length, forward, along, angle, np.interp(place, at, natural))


def turned_forward(shape: NaturalShape | None) -> float:
    """Angle of a shape's tip against its root [rad]."""
    return 0.0 if shape is None else float(angle_at(shape, np.ones(1))[0])


def shape_to(limb: Limb, path: str, length: float, usual: NaturalShape | None) -> NaturalShape:
    """The shape of a limb of which `tip_forward`, `tip_angle` and `middle_angle`, or some of them, are given.

    The inner half is straight, or turns evenly by the angle at half length. The outer part is curved as a recurve's;
    what is given of the tip says how much, and where both of it are given, from where on.

    Parameters
    ----------
    limb : Limb
    path : str
        The limb's, for messages.
    length : float
        [m]
    usual : NaturalShape or None
        What the tip turns by, where nothing is given of it.

    Raises
    ------
    SetupError
        Where no such shape has that tip.
    """
    middle = limb.middle_angle or 0.0
    forward = None if limb.tip_forward is None else limb.tip_forward / length
    if forward is None:
        turn = turned_forward(usual) if limb.tip_angle is None else limb.tip_angle - middle
        return _curved(middle, turn, BEGIN)

    def stands(turn: float, begin: float) -> float:
        return tip_of(_curved(middle, turn, begin))[0]

    if limb.tip_angle is None:
        low, high = stands(-MOST_TURN, BEGIN), stands(MOST_TURN, BEGIN)
        if not low <= forward <= high:
            raise _no_tip(path, limb.tip_forward, (low * length, high * length), "")
        return _curved(middle, _root(lambda turn: stands(turn, BEGIN) - forward, -MOST_TURN, MOST_TURN), BEGIN)
    turn = limb.tip_angle - middle
    ends = stands(turn, FIRST_BEGIN), stands(turn, LAST_BEGIN)
    if not min(ends) <= forward <= max(ends):
        words = f" with its tip at {show(limb.tip_angle, 'deg')}"
        raise _no_tip(path, limb.tip_forward, (min(ends) * length, max(ends) * length), words)
    sign = 1.0 if ends[1] > ends[0] else -1.0
    begin = _root(lambda begin: sign * (stands(turn, begin) - forward), FIRST_BEGIN, LAST_BEGIN)
    return _curved(middle, turn, begin)


def _no_tip(path: str, forward: float | None, span: tuple[float, float], words: str) -> SetupError:
    low, high = (show(round(one, 3), "mm") for one in span)
    return SetupError(
        f"{path}.tip_forward",
        f"{show(forward or 0.0, 'mm')}: the tip of such a limb{words} is from {low} to {high} forward",
        "Measure from the straight line continued from the root, and the angles against it; or give a traced profile",
    )


def _curved(middle: float, turn: float, begin: float) -> NaturalShape:
    """A limb that turns by ``middle`` to half its length and by ``turn`` from ``begin`` on [rad]."""
    end = round(begin + RISE, 12)
    outer = turn / (1.0 - 0.5 * (begin + end))
    if not middle:
        return NaturalShape((0.0, begin, end, 1.0), (0.0, 0.0, outer, outer))
    inner = middle / (0.5 * (INNER + 0.5))
    table = {0.0: inner, INNER: inner, 0.5: 0.0, begin: 0.0, end: outer, 1.0: outer}
    return NaturalShape(tuple(table), tuple(table.values()))


@lru_cache(64)
def braced_length(shape: NaturalShape, up: float, back: float, lean: float) -> float | None:
    """Length of a limb of that shape which, bent from its root on, reaches a braced string [m].

    The string stands behind the root and runs straight up, until it lies on the limb from where the limb is parallel to
    it to the tip; how far the limb is bent is what makes both meet. It is bent as by a pull along the string, whose
    lever falls evenly from root to tip, over the usual stiffness: in proportion to (1 - s) / (1 - TAPER s).

    Parameters
    ----------
    up : float
        Half the string's length less half the distance of the roots [m].
    back : float
        Distance of the string behind the root [m].
    lean : float
        Forward lean at the root, unstrung [rad].

    Returns
    -------
    float or None
        None where no such bend does it.
    """
    place = np.linspace(0.0, 1.0, GRID)
    natural = lean + angle_at(shape, place)
    step = place[1]
    share = (1.0 - place) / (1.0 - TAPER * place)
    yields = np.concatenate(([0.0], np.cumsum(0.5 * (share[1:] + share[:-1]))))
    yields /= yields[-1]

    def touches(bend: float) -> tuple[float, float]:
        """How far behind the root, and how far up along string and limb, as shares of the length."""
        angle = natural - bend * yields
        sums = (np.cumsum(0.5 * step * (f[1:] + f[:-1])) for f in (np.sin(angle), np.cos(angle)))
        x, y = (np.concatenate(([0.0], one)) for one in sums)
        last = GRID - 1
        turning = np.flatnonzero((angle[:-1] < 0.0) & (angle[1:] >= 0.0))
        if not turning.size:
            return -float(x[last]), float(y[last])
        k = int(turning[-1])
        share = float(angle[k] / (angle[k] - angle[k + 1]))
        at = place[k] + share * step
        return -float(x[k] + 0.5 * share * step * np.sin(angle[k])), float(y[k] + share * step + 1.0 - at)

    def short(bend: float) -> float:
        behind, along = touches(bend)
        return along * back - up * behind

    low, high = max(float(natural[0]), 0.0), math.pi
    if not (short(low) > 0.0 > short(high)):
        return None
    return back / touches(_root(lambda bend: -short(bend), low, high))[0]


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function of one number is zero; the end of the range that is nearest, where it is not inside."""
    if function(low) >= 0.0:
        return low
    if function(high) <= 0.0:
        return high
    return zero_between(function, low, high, ZERO)
