"""What an archer does next with the locators, and how sure that is: with it `tune` and `bare-shaft` begin."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.show.style import MM

if TYPE_CHECKING:
    from archerysim.equipment.readings import ReadBy
    from archerysim.study.tuning.at_the_butt import AtTheButt
    from archerysim.study.tuning.first_move import FirstMove
    from archerysim.study.tuning.honest_range import HonestRange

NAMED = 3  # kinds of inputs that are said to decide
ONE_LINE = 85  # letters beside a name
LITTLE = 0.05  # [mm] differences that are printed as none
HARDLY = 3.0  # [mm] a group that tells no less than the longest move says hardly anything
CUT = {"square": ", told no lower than square", "end": ", cut at the end of the readings searched"}
SURER = "the move that your own groups call for, not this height: archerysim read-group"
CONTACT = (
    "Clear the contact first: near there the shaft touches rest or riser on its way out, and a bare shaft can then "
    "mislead about the locators. Start high, come down, and check the clearance with powder or paint before you "
    "believe groups."
)


def answer_rows(
    found: HonestRange, move: FirstMove, butt: AtTheButt | None, distance: str, met: bool
) -> list[tuple[str, str]]:  # fmt: skip
    """The move to make now, where a first tie goes, the range and what decides it, and what a move does at the butt.

    Parameters
    ----------
    distance : str
        Of the target, as the user said it.
    met : bool
        Whether the bow as given has an answer, or nearly; else its cause is to be found first, and no move is told.
    """
    rows = [("now", _now(found, move)), ("first tie", _tie(found, move))] if met else []
    rows.append(("range", _range(found, move)))
    if found.deciding:
        rows.append(("decided by", _named(found)))
    if butt is not None and met:
        rows += _butt(butt, distance)
    rows.append(("surer", SURER))
    if met:
        rows.append(("next", _next(move)))
    return rows


def _named(found: HonestRange) -> str:
    """The kinds of inputs that decide most; two where three are too long for a line."""
    three, two = (", ".join(one.words for one in found.deciding[:count]) for count in (NAMED, NAMED - 1))
    return three if len(three) <= ONE_LINE else two


def move_words(reading: float, to: float, by: ReadBy) -> str:
    """A move of the locators between two readings by the underside [mm]."""
    from archerysim.equipment.readings import SIXTEENTH, both_units

    if abs(to - reading) < LITTLE:
        return f"locators STAY at {at(reading, by)}"
    size = abs(to - reading)
    told_size = f"{size:.1f} mm" if size * MM < 0.5 * SIXTEENTH else both_units(size * MM)
    return f"locators {'UP' if to > reading else 'DOWN'} {told_size}: from {at(reading, by)} to {at(to, by)}"


def at(underside: float, by: ReadBy) -> str:
    """A reading by the underside [mm] as it is told."""
    from archerysim.equipment.readings import both_units

    return both_units(by.reading(underside * MM))


def _now(found: HonestRange, move: FirstMove) -> str:
    count = found.draws - found.failed
    lower = round(move.agree * count)
    bows = f"of {count} bows that fit this file want them"
    if move.way == "hold":
        return f"locators STAY at {at(move.reading, found.by)} until groups are shot: {lower} {bows} lower"
    agree = f"{lower} {bows} lower" if move.way == "down" else f"{count - lower} {bows} higher"
    return f"{move_words(move.reading, move.to, found.by)}; then shoot again ({agree})"


def _tie(found: HonestRange, move: FirstMove) -> str:
    return f"on a new string at {at(move.tie, found.by)}, the top of the range; then down, as groups show"


def span_words(move: FirstMove, by: ReadBy) -> str:
    """A range as it is told, cut to where locators may go."""
    low, high = (by.reading(end * MM) / MM for end in (move.low, move.high))
    return f"{low:.1f} to {high:.1f} mm"


def _range(found: HonestRange, move: FirstMove) -> str:
    cut = "".join(dict.fromkeys(CUT[one] for one in move.cut if one))
    lost = f" ({found.failed} of {found.draws} bows: no answer)" if found.failed else ""
    best = "below square" if found.best < move.low - LITTLE and move.cut[0] else at(found.best, found.by)
    return f"{span_words(move, found.by)}, 90 % sure{cut}; best estimate {best}{lost}"


def _butt(butt: AtTheButt, distance: str) -> list[tuple[str, str]]:
    """How much 1 mm is worth at a distance, and what two ends tell there."""
    if not math.isfinite(butt.least):
        return [("at the butt", f"a higher reading does not bring a bare shaft down at {distance}: no guidance there")]
    worth = 1e2 * butt.per_mm
    size = f"{worth:.1f} cm" if worth >= 0.95 else f"{10.0 * worth:.0f} mm"
    hardly = "only " if butt.least > HARDLY else ""
    one = f"from {butt.tells_from:.0f} m" if math.isfinite(butt.tells_from) else "nowhere up to 70 m"
    scatter = f"{1e2 * butt.scatter:.1f} cm"
    here = f"1 mm moves a bare shaft {hardly}{size} at {distance}"
    ends = f"three bare, six fletched each; a club archer's standard deviation is {scatter} at {distance}"
    shown = f"two ends show {butt.least:.1f} mm there, 1 mm {one}"
    return [("at the butt", f"{here}; {shown}"), ("two ends", ends)]


def _next(move: FirstMove) -> str:
    return f"{'' if move.way == 'hold' else 'that move, then '}two ends at 10 m, and if all hit the butt two at 18 m"
