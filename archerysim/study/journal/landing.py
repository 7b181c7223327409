"""Where bare shafts land beside fletched ones, as a journal says it in words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from archerysim.fields import units

PIECE = re.compile(
    r"(?<![\d.,/])(?P<size>\d+(?:\.\d+)?(?: \d+/\d+|/\d+)?)\s*(?P<unit>mm|cm|m|inches|inch|in|ft|feet|yd)\s+"
    r"(?P<more>further\s+|more\s+to\s+the\s+)?(?:to\s+the\s+)?(?P<way>higher|lower|high|low|above|below|right|left)\b",
    re.IGNORECASE,
)
SAME = re.compile(r"as (high|far aside) as before", re.IGNORECASE)
AT = re.compile(r"\bat\s+(\d+(?:\.\d+)?\s*(?:m|yd|ft))\b", re.IGNORECASE)
UP = {"higher": 1.0, "lower": -1.0, "high": 1.0, "low": -1.0, "above": 1.0, "below": -1.0}
RIGHT = {"right": 1.0, "left": -1.0}
LEAST = 0.0005  # less is told as none [m]


@dataclass(frozen=True)
class Told:
    """One number of where bare shafts land.

    Attributes
    ----------
    by : float
        Above the fletched ones, or to the right of them as the archer sees the target [m].
    change : bool
        Whether that is against where they landed before, not where they land.
    """

    by: float
    change: bool


@dataclass(frozen=True)
class Landing:
    """What words say of bare shafts; None where they do not say it, or say two things.

    Attributes
    ----------
    up, right : Told or None
    distance : float or None
        At which [m].
    """

    up: Told | None
    right: Told | None
    distance: float | None


def read_landing(words: str | None) -> Landing:
    """What of it stands in some words: "bare 3 cm low", "at 18 m bare 2.5 cm lower and 1 cm further left".

    "low" and "left" say where bare shafts lie, "lower" and "further left" how else than before.
    """
    up: list[Told] = []
    right: list[Told] = []
    for piece in PIECE.finditer(words or ""):
        way = piece["way"].lower()
        try:
            size = units.to_si(f"{piece['size']} {piece['unit']}", "cm")
        except units.UnitError:
            continue
        if way in UP:
            up.append(Told(UP[way] * size, way in ("higher", "lower")))
        else:
            right.append(Told(RIGHT[way] * size, piece["more"] is not None))
    for same in SAME.finditer(words or ""):
        (up if same[1].lower() == "high" else right).append(Told(0.0, True))
    at = AT.search(words or "")
    distance = units.to_si(at[1], "m") if at else None
    return Landing(up[0] if len(up) == 1 else None, right[0] if len(right) == 1 else None, distance)


def moved_words(up: float, right: float | None) -> str:
    """How else bare shafts land than before, for `read_landing` to read again, to a millimetre.

    Parameters
    ----------
    up : float
        Higher beside the fletched ones [m].
    right : float or None
        Further to the right [m]; None where it is not told.
    """
    high = f"{abs(100.0 * up):.1f} cm {'higher' if up > 0.0 else 'lower'}"
    words = [high if abs(up) >= LEAST else "as high as before"]
    if right is not None:
        far = f"{abs(100.0 * right):.1f} cm further {'right' if right > 0.0 else 'left'}"
        words.append(far if abs(right) >= LEAST else "as far aside as before")
    return ", ".join(words)
