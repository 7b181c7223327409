"""What to do with the locators now: where a first tie goes, and the move from where they stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from archerysim.equipment import SetupError, filled
from archerysim.equipment.readings import READING
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.units import to_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.notes.move import FARTHEST, LIKELY, Way
from archerysim.study.tuning.crossing import allowed_readings
from archerysim.study.tuning.drawn_reading import touches
from archerysim.study.tuning.honest_range import HonestRange
from archerysim.study.tuning.limits import WITHIN

LITTLE = 0.25  # [mm] half of what a square can tell; smaller moves are none


@dataclass(frozen=True)
class FirstMove:
    """Where locators go, by an honest range. Readings are by the underside.

    Attributes
    ----------
    low, high : float
        The range, cut to where locators may go [mm].
    cut : (str, str)
        At what its lower and its upper end were cut: "square" or "end", that of the readings searched or allowed; empty
        where it was not.
    tie : float
        Where a first tie goes: the top of the range [mm].
    way : {"up", "down", "hold"}
    reading, to : float
        Where they stand, and where the move to make now leads [mm].
    agree : float
        Share of the draws that want them lower than they stand, 0 to 1.
    touches_today, touches_there : bool
        Whether the shaft of the bow as given meets rest or riser on its way out by more than a graze.
    """

    low: Annotated[float, Reported("mm")]
    high: Annotated[float, Reported("mm")]
    cut: tuple[str, str]
    tie: Annotated[float, Reported("mm")]
    way: Way
    reading: Annotated[float, Reported("mm")]
    to: Annotated[float, Reported("mm")]
    agree: float
    touches_today: bool
    touches_there: bool


def first_move(bow: FittedBow, found: HonestRange) -> FirstMove:
    """What an honest range has an archer do.

    A first tie goes to the top of the range: too low, the tail strikes the rest, and the bare shaft lies. From above it
    the locators come down to it. Within it they move towards the best estimate where the draws agree on the way as
    groups must (`LIKELY`), and else stay until groups have been shot. No move is longer than `FARTHEST`, and none leads
    below square.
    """
    least, most, ends = ends_of(bow)
    today = 1e3 * bow.reading
    low, high = (min(max(end, least), most) for end in (found.low, found.high))
    best = min(max(found.best, least), most)
    lower = found.sure_of(today)
    to = today
    if today > high + LITTLE:
        to = high
    elif (lower >= LIKELY and best < today) or (1.0 - lower >= LIKELY and best > today):
        to = best
    farthest = 1e3 * FARTHEST
    to = min(max(to, today - farthest), today + farthest)
    way: Way = "hold" if abs(to - today) < LITTLE else "up" if to > today else "down"
    to = today if way == "hold" else to
    cut = (ends[0] if found.low < least else "", ends[1] if found.high > most else "")
    return FirstMove(
        low=low, high=high, cut=cut, tie=high, way=way, reading=today, to=to, agree=lower,
        touches_today=_touches(bow, today), touches_there=_touches(bow, to),
    )  # fmt: skip


def ends_of(bow: FittedBow) -> tuple[float, float, tuple[str, str]]:
    """Lowest and highest reading by the underside that is advised [mm], and what is there."""
    full = filled(bow.setup)
    square = 0.5 * (full.arrow.diameter - full.nock.height)
    searched = [to_si(text, "mm") for text in WITHIN[READING]]
    low, high = allowed_readings(bow.setup)
    least, most = max(low, searched[0], square), min(high, searched[1])
    return 1e3 * least, 1e3 * most, ("square" if math.isclose(least, max(square, 0.0)) else "end", "end")


def _touches(bow: FittedBow, reading: float) -> bool:
    """At a reading [mm]; False where there is no shot."""
    try:
        return touches(bow.at_reading((reading, "mm")))
    except (SetupError, ShotError):
        return False
