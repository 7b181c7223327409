"""The move of the locators that groups ask for, and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from archerysim.equipment.readings import BY_UNDERSIDE, READING, SIXTEENTH, ReadBy, both_units
from archerysim.fields.units import to_si
from archerysim.study.notes.group_means import LEAST, REPEATED, Noted
from archerysim.study.notes.posterior import FLIGHT, RISE, SQUARE
from archerysim.study.notes.response_surface import Expected, allowed
from archerysim.study.notes.suspicion import row_of
from archerysim.study.tuning.aims import BARE_LOW
from archerysim.study.tuning.limits import WITHIN

Way = Literal["up", "down", "hold"]
LIKELY = 0.85  # how sure the direction must be for a move [judgement]
FARTHEST = 0.003  # one move at most, then groups are shot again [m] [judgement]
LOW_AT = 18.0  # distance at which `BARE_LOW` counts [m]
CONTACT = (0.002, 0.003)  # up, where contact is suspected [m]; common practice
CLEAR = CONTACT[0]  # above a reading at which contact is suspected: no move down ends lower [m] [judgement]


@dataclass(frozen=True)
class Move:
    """A move of the locators.

    Attributes
    ----------
    way : {"up", "down", "hold"}
    size : float
        How far to move now, positive up [m]; 0 for "hold".
    wanted : float
        The best estimate, uncut [m].
    low, high : float
        Ends of its 90 % interval [m].
    probability : float
        That ``wanted`` has the right sign.
    reading, to : float
        Locator height by the underside before and after [m].
    repeated : bool
        Whether enough was shot with this reading to act on.
    words : str
    """

    way: Way
    size: float
    wanted: float
    low: float
    high: float
    probability: float
    reading: float
    to: float
    repeated: bool
    words: str


def move_of(
    expected: Expected, groups: tuple[Noted, ...], now: float, suspected: float = -math.inf, by: ReadBy = BY_UNDERSIDE
) -> Move | None:
    """The move that some groups ask for together, from the reading ``now`` [m]; None where it would do nothing.

    ``suspected`` is the highest reading at which contact is suspected [m]: a move down stops `CLEAR` above it. ``by``
    is how readings are told in words.

    Notes
    -----
    A group whose bare shafts land e above where drag and mass alone put them wants the reading that is e / s
    higher, s being what a higher reading takes off the height. Each such estimate is told from ``now``; they are
    joined by generalised least squares. Its covariance: the hits' scatter over s; the square's error for groups
    shot with another reading than ``now``, shared by those of one reading. All of the e / s are wrong by one
    factor, the model's: `FLIGHT` of what they come to together is added once, after they are joined.
    """
    rows = [row_of(expected, group) for group in groups]
    slope = expected.per_reading[rows]
    if not np.all(slope < 0.0):
        return None
    readings = np.array([group.reading for group in groups])
    own = -(np.array([group.difference for group in groups]) - expected.wanted[rows]) / slope
    cover = np.diag((np.array([group.sigma for group in groups]) / slope) ** 2)
    away = np.abs(readings - now) > 1e-9
    cover += SQUARE**2 * np.outer(away, away) * (1.0 + (readings[:, None] == readings[None, :]))
    weights = np.linalg.solve(cover, np.ones(len(groups)))
    variance = 1.0 / weights.sum()
    wanted = float(variance * (weights @ (readings - now + own)))
    far = np.array([group.distance for group in groups])
    slack = float(variance * (weights @ (BARE_LOW * far / LOW_AT / np.abs(slope))))
    sigma = math.hypot(math.sqrt(variance), FLIGHT * variance * float(weights @ own))
    probability = 0.5 * (1.0 + math.erf(abs(wanted) / sigma / math.sqrt(2.0)))
    way: Way = "hold"
    if probability >= LIKELY and (wanted > 0.0 or wanted < -slack):
        way = "up" if wanted > 0.0 else "down"
    hits = sum(group.bare.size for group in groups if abs(group.reading - now) < 1e-9)
    half = math.sqrt(RISE) * sigma
    size = 0.0 if way == "hold" else kept_in(now, wanted, suspected)
    span = wanted - half, wanted + half
    return move_with_words(way, size, wanted, span, probability, now, hits >= REPEATED, slack, suspected, by)


def kept_in(reading: float, wanted: float, suspected: float = -math.inf) -> float:
    """The part of a move that is made at once.

    No farther than `FARTHEST`, not out of the reading's range, and not down to where contact is ``suspected`` [m].
    """
    least, most = (to_si(text, "mm") for text in WITHIN[READING])
    low = allowed(min(max(least, suspected + CLEAR), reading))
    high = allowed(max(most, reading))
    return min(max(reading + math.copysign(min(abs(wanted), FARTHEST), wanted), low), high) - reading


def up_and_test(reading: float) -> Move:
    """The move where contact is suspected."""
    middle = 0.5 * sum(CONTACT)
    size = kept_in(reading, middle)
    words = "contact suspected: go up 2 to 3 mm and test again"
    if size < 1e-6:
        words = "contact suspected, no room upward"
    elif kept_in(reading, CONTACT[1]) < CONTACT[1] - 1e-6:
        words = f"contact suspected: go up {_size(size)}, no farther, and test again"
    nan = math.nan
    return Move("up" if size >= 1e-6 else "hold", size, middle, *CONTACT, nan, reading, reading + size, False, words)


def move_with_words(
    way: Way, size: float, wanted: float, span: tuple[float, float], probability: float, reading: float, repeated: bool,
    slack: float, suspected: float = -math.inf, by: ReadBy = BY_UNDERSIDE,
) -> Move:  # fmt: skip
    """A move with its words."""
    at = f"contact is suspected at {1e3 * by.reading(suspected):.1f} mm"
    if way == "hold":
        near = "bare shafts level or slightly low" if -slack <= wanted <= 0.0 else "within the scatter of the hits"
        words = f"hold: {near}"
    elif abs(size) < 1e-6 and way == "down" and reading < suspected + CLEAR + 1e-6:
        words = f"hold: it should go down, but {at}: check clearance with powder or paint first"
        way, size = "hold", 0.0
    elif abs(size) < 1e-6:
        words = f"it should go {way}, but the reading is at its limit: change shaft, rest or finger shares first"
        way, size = "hold", 0.0
    else:
        words = f"locators {way.upper()} {_size(abs(size))}, {percent(probability)} sure that it is {way}"
        if way == "down" and reading + size < suspected + CLEAR + 1e-6:
            words += f"; no lower: {at}"
        elif abs(size) < abs(wanted) - 5e-5:
            words += "; this much at once, then shoot again"
        if way == "down":
            words += "; check clearance"
    if way != "hold" and not repeated:
        words = f"repeat before acting; if it stays so: {words}"
    return Move(way, size, wanted, *span, probability, reading, reading + size, repeated, words)


def _size(length: float) -> str:
    """A length [m] in mm and sixteenths of an inch."""
    return f"{1e3 * length:.1f} mm (< 1/16 in)" if length < 0.5 * SIXTEENTH else both_units(length)


def percent(probability: float) -> str:
    """A probability in words; nothing is certain."""
    return "over 99 %" if probability > 0.99 else f"{100 * probability:.0f} %"


def few(count: int) -> str:
    """What is said where nothing can be."""
    return f"too few good bare shafts: {count} in the best group, {LEAST} are needed; no advice"
