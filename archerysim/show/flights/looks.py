"""What tells flights apart in one picture: a colour and a line each, and words that no two share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.bare_shaft.plot import shown
from archerysim.show.style import LOOKS, MM, Look
from archerysim.show.text_widths import fold

if TYPE_CHECKING:
    from archerysim.shot.flight.fly import Flight

# of further flights; any two of all stay apart for readers who see no red or no green, as a test computes
FURTHER = (
    "#660033", "#8cb2d8", "#8c0000", "#38548c", "#b2747e", "#1d0f66", "#0000d8", "#d89000", "#5682d8", "#b25900",
)  # fmt: skip
LINES: tuple[Any, ...] = ((0, (6.0, 1.5)), (0, (6.0, 1.5, 1.2, 1.5)), (0, (2.5, 1.2)))
MOST = len(FURTHER) + 2  # flights that can be told apart
LEGEND = 13.8  # room for the words of a legend of one column [cm]


def kind_of(flight: Flight) -> str:
    """ "fletched" or "bare"."""
    return "fletched" if flight.fletched else "bare"


def looks_of(flights: Sequence[Flight]) -> list[Look]:
    """A look for each flight: the first of a kind has the kind's own, each further one another colour.

    Raises
    ------
    UsageError
        If there are more than can be told apart.
    """
    found: list[Look] = []
    further = 0
    for one in flights:
        own = LOOKS[kind_of(one)]
        if own in found:
            if further == len(FURTHER):
                raise UsageError(
                    "flown", f"{len(flights)} flights differ", f"draw at most {MOST} in one picture, more in several"
                )
            own = Look(FURTHER[further], LINES[further % len(LINES)], own.width, own.marker)
            further += 1
        found.append(own)
    return found


def names_of(flights: Sequence[Flight]) -> list[str]:
    """Words for each flight: its kind, and the reading and the bow's name where these differ; never the same twice."""
    about = [[kind_of(one) for one in flights]]
    if len(set(about[0])) < len(flights):
        about += [one for one in (_readings(flights), [one.name for one in flights]) if len(set(one)) > 1]
    return numbered([", ".join(filter(None, parts)) for parts in zip(*about, strict=True)])


def _readings(flights: Sequence[Flight]) -> list[str]:
    from archerysim.equipment.readings import both_units

    return [f"reading {both_units(float(shown(one.by, one.reading)) * MM)}" for one in flights]


def numbered(names: Iterable[str]) -> list[str]:
    """Names with a number behind each that is there more than once."""
    names = list(names)
    counted: dict[str, int] = {}
    out = []
    for name in names:
        counted[name] = counted.get(name, 0) + 1
        out.append(f"{name} ({counted[name]})" if names.count(name) > 1 else name)
    return out if len(set(out)) == len(out) else [f"{name} ({k})" for k, name in enumerate(names, 1)]


def folded(words: str) -> str:
    """A name for a legend of one column, in as many lines as it takes."""
    return style.literal(fold(words, LEGEND, style.SMALL))


def legend_room(labels: Sequence[str], columns: int) -> float:
    """What a legend with folded names takes more than one of a line each [cm]."""
    rows = [labels[k :: -(-len(labels) // columns)] for k in range(-(-len(labels) // columns))] if labels else []
    return style.LINE * sum(max(one.count("\n") for one in row) for row in rows)
