"""What a target card says of one reading: where the bare shaft lands, and which way and how far the locators go now."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from archerysim.equipment import field_info, filled
from archerysim.show.bare_shaft.plot import bows, shown
from archerysim.show.style import MM

if TYPE_CHECKING:
    from archerysim.study.bare_shaft.result import Band, BareAgainstFletched
    from archerysim.study.tuning.first_move import FirstMove

SAME = 0.05  # of two readings [mm]
LITTLE = 0.25  # [mm] half of what a square can tell; smaller moves are none
PAST = "past the readings shot"
PATH = "nock.locators.reading"
CLOSE = 1.0  # [mm] how well a move must be known to say "leave", and how far it may lead past the readings [judgement]
TOLD = 5.0  # [mm] from which height on it is said in words where the bare shaft is wanted


@dataclass(frozen=True)
class Verdict:
    """What a card says of one reading.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    bare : Band
        Height above the fletched one [m].
    move : Band
        Of the locators [mm], positive up; it ends at square and at the ends of the allowed range.
    now : float
        The move to make now [mm]: no further than locators go at once; 0 where they are to be left, nan where none is
        advised.
    after : float
        Height of the bare shaft with it [m]; nan where that is not known.
    lines : tuple of str
        In words.
    """

    reading: float
    bare: Band
    move: Band
    now: float
    after: float
    lines: tuple[str, ...]


def readings_shown(result: BareAgainstFletched) -> list[float]:
    """The lowest reading shot, today's (else the middle one) and the highest, by the underside [mm]."""
    low, high = float(result.readings[0]), float(result.readings[-1])
    inner = result.today if low < result.today < high else float(result.readings[len(result.readings) // 2])
    return sorted({low, inner, high})


def verdict(result: BareAgainstFletched, reading: float, distance: float) -> Verdict:
    """What the draws say of one reading: where the bare shaft lands, which way and how far the locators go.

    Of today's reading it is the move that `archerysim.tune` tells.
    """
    here, far = (reading, "mm"), (distance, "m")
    bare, move = result.height_at(here, far), result.move(here, far)
    ends = _ends(result, reading)
    told = result.moves[result.place_of(far)] if is_today(result, reading) else None
    if told is not None and math.isfinite(bare.median):
        lines, now = _lines_now(result, distance, bare, told), told.to - told.reading
    else:
        lines, now = _lines(result, reading, distance, bare, move, ends)
    cut = replace(move, median=_cut(move.median, ends), low=_cut(move.low, ends), high=_cut(move.high, ends))
    to = reading + now
    known = math.isfinite(now) and result.readings[0] <= to <= result.readings[-1]
    after = result.height_at((to, "mm"), far).median if known else math.nan
    return Verdict(reading, bare, cut, now, after, tuple(lines))


def is_today(result: BareAgainstFletched, reading: float) -> bool:
    """Whether a reading by the underside [mm] is today's."""
    return abs(reading - result.today) < SAME


@dataclass(frozen=True)
class _Ends:
    """How far locators can go [mm], and what is there."""

    low: float
    high: float
    below: str
    above: str


def shaft_of(result: BareAgainstFletched) -> float:
    """Diameter of the shaft [mm]."""
    return filled(result.setup).number("arrow.diameter") / MM


def _ends(result: BareAgainstFletched, reading: float) -> _Ends:
    """Down to square (to the allowed range's end, where they stand below square), up to the allowed range's end."""
    info = field_info(PATH)
    low, high = float(info.low or 0.0) / MM - reading, float(info.high or 0.0) / MM - reading
    square, end = 0.5 * (shaft_of(result) - result.nock_height) - reading, "end of the range"
    if low < square < 0.5 * LITTLE:
        return _Ends(min(square, 0.0), high, "square", end)
    return _Ends(low, high, end, end)


def _cut(move: float, ends: _Ends) -> float:
    """A move [mm] that ends where the locators' way does; nan stays."""
    return min(max(move, ends.low), ends.high) if math.isfinite(move) else move


def _head(result: BareAgainstFletched, distance: float, bare: Band) -> list[str]:
    """Where the bare shaft lands, and where it should."""
    wanted = result.wanted((distance, "m")) / MM
    head = [f"bare about {_height(bare, bare.median / MM)}"]
    if abs(wanted) >= TOLD:
        head.append(f"(it should be {wanted:.0f} mm {'high' if wanted > 0.0 else 'low'})")
    return head


def _lines_now(result: BareAgainstFletched, distance: float, bare: Band, move: FirstMove) -> list[str]:
    """Of today's reading: the move to make now, the range of the best reading, how many bows agree."""
    from archerysim.equipment.readings import both_units

    found = result.ranges[result.place_of((distance, "m"))]
    count = found.draws - found.failed
    lower = round(move.agree * count)
    low, high = (float(shown(result.by, end)) for end in (move.low, move.high))
    sure = ["90 %: best reading", f"from {low:.1f} to {high:.1f} mm"]
    head = _head(result, distance, bare)
    if move.way == "hold":
        return [*head, "leave the locators", "until groups are shot", *sure, f"{lower} of {count} bows say DOWN"]
    way = move.way.upper()
    size = [_size(abs(move.to - move.reading)), f"to {both_units(float(shown(result.by, move.to)) * MM)}"]
    agree = lower if move.way == "down" else count - lower
    return [*head, f"locators {way}", *size, *sure, f"{agree} of {count} bows say {way}"]


def _lines(
    result: BareAgainstFletched, reading: float, distance: float, bare: Band, move: Band, ends: _Ends
) -> tuple[list[str], float]:
    """The lines, and the move to make now [mm]."""
    from archerysim.equipment.readings import both_units
    from archerysim.study.notes.move import FARTHEST

    if not math.isfinite(bare.median):
        return ["no result"], math.nan
    head = _head(result, distance, bare)
    if not math.isfinite(move.median):
        return [*head, "no advice: the locators", "do not bring them together"], math.nan
    if abs(move.median) < LITTLE:
        close = max(-move.low, move.high) < CLOSE
        advice = ["leave the locators"] if close else ["NOT SURE: SHOOT MORE", "better leave the locators"]
        return [*head, *advice, *_range(move, ends)], 0.0
    up = move.median > 0.0
    way = "UP" if up else "DOWN"
    there = result.crossings((distance, "m"))
    agree = f"{int((there > reading if up else there < reading).sum())} of {bows(result)} bows say {way}"
    unsure = move.low * move.high < 0.0
    to = reading + move.median
    past = to < result.readings[0] - CLOSE or to > result.readings[-1] + CLOSE
    now = math.copysign(min(abs(_cut(move.median, ends)), FARTHEST / MM), move.median)
    if abs(now) < LITTLE:
        return [*head, "no way to go:", f"they are at {ends.above if up else ends.below} already", agree], 0.0
    size = [_size(abs(now)), f"to {both_units(float(shown(result.by, reading + now)) * MM)}"]
    if reading + now < result.readings[0] - CLOSE or reading + now > result.readings[-1] + CLOSE:
        size = []  # where nothing was shot
    if unsure:
        size = [" ".join(("rather", way, *size[:1])), *size[1:]]
    sure = [PAST] if past else _range(move, ends)
    return [*head, "NOT SURE: SHOOT MORE" if unsure else f"locators {way}", *size, *sure, agree], now


def _height(bare: Band, value: float) -> str:
    """A height on the target in words, no finer than its band allows."""
    step = 5 if bare.high - bare.low > 20.0 * MM else 1
    size = step * round(abs(value) / step)
    if not size:
        return "level"
    return f"{size} mm {'high' if value > 0.0 else 'low'}"


def _size(move: float) -> str:
    """A move [mm] in mm and sixteenths of an inch."""
    from archerysim.equipment.readings import SIXTEENTH, both_units

    if move * MM < 0.5 * SIXTEENTH:
        return f"{move:.1f} mm (< 1/16 in)"
    return both_units(move * MM)


def _range(move: Band, ends: _Ends) -> list[str]:
    """Between which moves the best one lies, in two lines."""
    steps = [_cut(one, ends) for one in (move.low, move.high)]
    low, high = (
        f"{abs(one):.1f} mm {'up' if one > 0.0 else 'down'}" if round(abs(one), 1) else "0.0 mm" for one in steps
    )
    below = f"({ends.below}) " if move.low < ends.low else ""
    above = f" ({ends.above})" if move.high > ends.high else ""
    return [f"90 %: between {low}", f"{below}and {high}{above}"]
