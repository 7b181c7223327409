"""What the strips show: a reading or an entry each, its words, and its flights with what tells them apart."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from archerysim.errors import UsageError
from archerysim.show.bare_shaft.plot import shown
from archerysim.show.flights.looks import kind_of, looks_of, names_of
from archerysim.show.style import MM, Look

if TYPE_CHECKING:
    from archerysim.shot.flight.fly import Flight
    from archerysim.study.bare_shaft.flights import Flights

SAME = 0.05  # of two readings [mm]


@dataclass(frozen=True)
class Strip:
    """One strip: its words and its flights, the first of them the one whose drop is taken away from all.

    Attributes
    ----------
    words : str
        Title of the strip from the side.
    flights : tuple of Flight
    name : str
        What it is a strip of, without what comes of it.
    wanted : float
        Height of the bare shaft by drag and mass alone [m].
    reason : str
        Why there is no flight.
    from_above : bool
        Whether it is shown from above too.
    """

    words: str
    flights: tuple[Flight, ...]
    name: str = ""
    wanted: float = math.nan
    reason: str = ""
    from_above: bool = True


@dataclass(frozen=True)
class Told:
    """How a flight is named and drawn."""

    name: str
    look: Look


def strips_of(flown: Any, labels: Sequence[str] | None) -> list[Strip]:
    """The strips to draw, the fletched flight first in each.

    Of several readings of one bow only the one nearest to today's is shown from above: all look nearly the same there.
    """
    if hasattr(flown, "rows"):
        rows = [
            Strip(
                landing_words(flown, row), tuple(one for one in (row.fletched, row.bare) if one),
                reading_words(flown, row), row.wanted, row.reason, False,
            )
            for row in flown.rows
        ]  # fmt: skip
        some = [k for k, row in enumerate(rows) if row.flights]
        for k in sorted(some, key=lambda k: abs(flown.rows[k].reading - flown.today))[:1]:
            rows[k] = replace(rows[k], from_above=True)
    else:
        sets = [tuple(one) if isinstance(one, Sequence) else (one,) for one in flown]
        top = convention_of(flight for one in sets for flight in one) == "top"
        rows = [Strip(_own_words(one, top), tuple(sorted(one, key=lambda flight: not flight.fletched))) for one in sets]
        rows = [replace(row, name=row.words) for row in rows]
    if labels is None:
        return rows
    if len(labels) != len(rows):
        raise UsageError("labels", f"{len(labels)} given, {len(rows)} wanted", "give one for each strip")
    return [replace(row, words=words, name=words) for words, row in zip(labels, rows, strict=True)]


def told_apart(rows: Iterable[Strip]) -> dict[int, Told]:
    """Name and look of each flight, by its id: "fletched" and "bare" where no strip has two of a kind.

    Raises
    ------
    UsageError
        If there are more than can be told apart.
    """
    rows = list(rows)
    every = list({id(one): one for row in rows for one in row.flights}.values())
    alone = all(max(Counter(map(kind_of, row.flights)).values(), default=0) <= 1 for row in rows)
    first = {kind_of(one): one for one in reversed(every)}
    differ = list(first.values()) if alone else every
    names = list(first) if alone else names_of(every)
    looks = dict(zip(names, looks_of(differ), strict=True))
    called = map(kind_of, every) if alone else names
    return {id(one): Told(name, looks[name]) for one, name in zip(every, called, strict=True)}


def convention_of(flights: Iterable[Flight]) -> str:
    """The convention by which all the flights' setups tell their readings; by the underside where they differ."""
    conventions = {one.by.convention for one in flights}
    return conventions.pop() if len(conventions) == 1 else "underside"


def _own_words(flights: tuple[Flight, ...], top: bool) -> str:
    """The reading of flights that have the same one."""
    from archerysim.equipment.readings import both_units

    readings = {float(shown(one.by, one.reading)) if top else one.reading for one in flights}
    return f"reading {both_units(readings.pop() * MM)}" if len(readings) == 1 and math.isfinite(min(readings)) else ""


def reading_words(flown: Flights, row: Any) -> str:
    """A reading, and whether it is today's."""
    from archerysim.equipment.readings import both_units

    words = f"reading {both_units(shown(flown.by, row.reading) * MM)}"
    return f"{words}, ▲ today" if abs(row.reading - flown.today) < SAME else words


def landing_words(flown: Flights, row: Any) -> str:
    """A reading, and where the bare shaft lands."""
    words = reading_words(flown, row)
    if row.reason:
        return f"{words}: no flight"
    size = round(row.apart / MM)
    if size == 0:
        return f"{words}: bare lands with fletched"
    return f"{words}: bare lands {abs(size)} mm {'high' if size > 0 else 'low'}"
