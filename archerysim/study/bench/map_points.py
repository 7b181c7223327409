"""What a map runs over: tiller splits one way, and readings, a finger's share or crawls the other way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from archerysim.equipment import InSi, SetupError, field_info, filled
from archerysim.equipment.readings import READING, by_underside, read_by
from archerysim.fields.given import listed, spelled
from archerysim.fields.quantity import in_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.bench.opposite_bolts import OppositeBolts
from archerysim.study.run.points import spread

Against = Literal["reading", "finger share", "crawl"]
CRAWL = "archer.crawl"
ROWS, COLUMNS = 41, 21
ABOUT_SPLIT, ABOUT_READING = 8e-3, 6e-3  # either way, where nobody says [m]
FARTHEST_CRAWL = {"split": 20e-3, "three under": 60e-3}  # [m]
LEAST_SHARE = 0.02  # of the ring finger, and of the index finger
SMALLEST = 3  # values each way
MOST = 20_000  # points


@dataclass(frozen=True)
class Across:
    """The axis of a map beside the split.

    Attributes
    ----------
    kind : {"reading", "finger share", "crawl"}
    name, unit : str
        As it is shown.
    values : tuple of float
        In SI; readings by the underside.
    size : float
        Of a shown unit [SI].
    """

    kind: Against
    name: str
    unit: str
    values: tuple[float, ...]
    size: float

    @property
    def shown(self) -> np.ndarray:
        """The values in the unit shown."""
        return np.array(self.values) / self.size

    def change(self, bow: FittedBow, value: float) -> InSi:
        """What is changed on a bow for a value."""
        if self.kind == "reading":
            return by_underside(bow.setup, value)
        if self.kind == "crawl":
            return InSi({CRAWL: value})
        _, middle, ring = filled(bow.setup).archer.finger_shares
        index = filled(bow.setup).archer.finger_shares[0]
        return InSi({"archer.finger_shares": (value, middle, ring + index - value)})

    def today(self, bow: FittedBow) -> float:
        """Where the bow stands, in the unit shown."""
        archer = filled(bow.setup).archer
        now = {"reading": bow.reading, "crawl": archer.crawl, "finger share": archer.finger_shares[0]}
        return float(now[self.kind]) / self.size


def across(bow: FittedBow, against: str, values: Any) -> Across:
    """The axis that is asked for.

    Raises
    ------
    SetupError
    """
    plain = against.replace("-", " ").replace("_", " ").strip()
    if plain == "reading":
        by = read_by(bow.setup)
        here = bow.reading
        usual = np.linspace(max(here - ABOUT_READING, 0.0), max(here + ABOUT_READING, 2.0 * ABOUT_READING), COLUMNS)
        given = usual if values is None else [float(by.underside(one)) for one in _values(READING, values, "mm")]
        return Across("reading", "reading by the underside", "mm", _checked("values", given), 1e-3)
    archer = filled(bow.setup).archer
    if plain == "crawl":
        usual = np.linspace(0.0, FARTHEST_CRAWL[archer.hold], COLUMNS)
        given = usual if values is None else _values(CRAWL, values, "mm")
        return Across("crawl", "crawl", "mm", _checked("values", given), 1e-3)
    if plain != "finger share":
        raise SetupError("against", f"{against!r} is not known", 'Use "reading", "finger share" or "crawl"')
    index, _, ring = archer.finger_shares
    usual = np.linspace(LEAST_SHARE, index + ring - LEAST_SHARE, COLUMNS)
    given = usual if values is None else _values("archer.finger_shares.0", values, "")
    for one in given:
        if not 0.0 <= one <= index + ring:
            raise SetupError(
                "values", f"an index finger's share of {one:g} leaves the ring finger {index + ring - one:g}",
                f"The middle finger keeps its share: give 0 to {index + ring:g}",
            )  # fmt: skip
    return Across(
        "finger share", "index finger's share, the ring finger bears the less", "", _checked("values", given), 1
    )


def splits_of(bolts: OppositeBolts, values: Any) -> tuple[float, ...]:
    """The tiller splits that are asked for [m].

    Raises
    ------
    SetupError
    """
    low, high = bolts.splits
    here = bolts.bow.braced.upper_tiller - bolts.bow.braced.lower_tiller
    if values is None:
        return tuple(np.linspace(max(low, here - ABOUT_SPLIT), min(high, here + ABOUT_SPLIT), ROWS))
    given = _checked("splits", _values("bow.upper_tiller", values, "mm"))
    for one in given:
        bolts.turns_for(one)
    return given


def _values(path: str, values: Any, unit: str) -> list[float]:
    """Numbers in SI from a range in words, or from values with their unit."""
    if isinstance(values, str):
        if ":" in values:
            return spread(path, values)
        values = listed(path, values)
    texts = spelled(path, values, field_info(path).unit)
    return [in_si(path, one, unit) if unit else float(in_si(path, one, "", "in SI")) for one in texts]


def _checked(name: str, values: Any) -> tuple[float, ...]:
    found = tuple(float(one) for one in values)
    if len(found) < SMALLEST or (np.diff(found) <= 0.0).any():
        raise SetupError(
            name, f"{len(found)} values that do not all rise are no axis", f"Give {SMALLEST} or more, rising"
        )
    return found
