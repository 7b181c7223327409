"""What can be moved in a lesson, and how far: settings and parts, but neither draw weight nor the fingers' load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from archerysim.equipment import InSi, field_info, filled
from archerysim.equipment.filled_setup import FilledSetup, MeasuredSetup
from archerysim.equipment.readings import by_underside
from archerysim.equipment.typical import tiller_split
from archerysim.shot.fitted_bow import FittedBow

READING, SPLIT, SLOPE, SPINE, REST, PRELOAD = "reading", "split", "slope", "spine", "rest", "preload"
PATHS = {SLOPE: "nock.slope", SPINE: "arrow.spine", REST: "rest.stiffness", PRELOAD: "side.preload"}
UPPER, LOWER = "bow.upper_tiller", "bow.lower_tiller"
BEYOND = 5e-3  # how far the readings go beyond today's and that at which bare and fletched come together [m]
SPLIT_BY = 3e-3  # [m]
SLOPE_BY = float(np.radians(4.0))
SPINE_TIMES = 0.1
REST_TIMES = 2.0
PRELOAD_BY = 0.5  # of it
SAME = 1e-9
SPLIT_LEVELS = 5  # the bow is fitted anew for each


class Range(NamedTuple):
    """A value's range, by a factor or by a difference [SI]."""

    low: float
    high: float
    times: bool = False


@dataclass(frozen=True)
class Slider:
    """One thing that can be moved.

    Attributes
    ----------
    name : str
        "reading" (by the underside), "split" (upper less lower tiller), "slope" (of the nock's throat), "spine", "rest"
        (its stiffness) or "preload" (of the side support).
    low, high, today : float
        In SI.
    times : bool
        Whether it is spaced by factors.
    """

    name: str
    low: float
    high: float
    today: float
    times: bool = False

    def value(self, part: float) -> float:
        """The value [SI] at a place from -1, the low end, to 1."""
        share = 0.5 * (part + 1.0)
        if self.times:
            return float(self.low * (self.high / self.low) ** share)
        return float(self.low + (self.high - self.low) * share)

    def part(self, value: float) -> float:
        """The place of a value [SI], -1 to 1 within the range."""
        if self.times:
            return float(2.0 * np.log(value / self.low) / np.log(self.high / self.low) - 1.0)
        return 2.0 * (value - self.low) / (self.high - self.low) - 1.0


def sliders_of(bow: FittedBow, still: float | None) -> tuple[Slider, ...]:
    """What can be moved on a bow.

    Parameters
    ----------
    bow : FittedBow
    still : float or None
        Its reading at which bare and fletched come together, by the underside [m]; None if it has none.

    Notes
    -----
    A tiller split only where it was measured and can be set, on a take-down bow; a preload only where the side support
    has a spring.
    """
    full, given = filled(bow.setup), filled(bow.given)
    today = bow.reading
    ends = (today, today if still is None else still)
    found = [_kept(READING, Range(min(ends) - BEYOND, max(ends) + BEYOND), today)]
    split = tiller_split(given)
    if isinstance(given, MeasuredSetup) and split is not None and given.bow.kind == "take-down":
        found.append(Slider(SPLIT, split - SPLIT_BY, split + SPLIT_BY, split))
    slope, spine, rest = (full.number(PATHS[name]) for name in (SLOPE, SPINE, REST))
    found += [
        _kept(SLOPE, Range(slope - SLOPE_BY, slope + SLOPE_BY), slope),
        _kept(SPINE, Range((1.0 - SPINE_TIMES) * spine, (1.0 + SPINE_TIMES) * spine), spine),
        _kept(REST, Range(rest / REST_TIMES, rest * REST_TIMES, True), rest),
    ]
    if _sprung(full):
        force = full.number(PATHS[PRELOAD])
        found.append(_kept(PRELOAD, Range((1.0 - PRELOAD_BY) * force, (1.0 + PRELOAD_BY) * force), force))
    return tuple(found)


def _sprung(full: FilledSetup) -> bool:
    return bool(full.side.kind == "sprung") and full.number(PATHS[PRELOAD]) > 0.0


def _kept(name: str, wanted: Range, today: float) -> Slider:
    """A slider within what a setup may have."""
    info = field_info(PATHS.get(name, "nock.locators.reading"))
    low = wanted.low if info.low is None else max(wanted.low, float(info.low))
    high = wanted.high if info.high is None else min(wanted.high, float(info.high))
    return Slider(name, low, high, today, wanted.times)


def level(part: float) -> int:
    """The nearest of the levels at which the tiller split is shot, 0 to 4."""
    return int(np.clip(round(0.5 * (part + 1.0) * (SPLIT_LEVELS - 1)), 0, SPLIT_LEVELS - 1))


def level_part(number: int) -> float:
    """The place of a level, -1 to 1."""
    return 2.0 * number / (SPLIT_LEVELS - 1) - 1.0


def with_split(bow: FittedBow, split: float) -> FittedBow:
    """The bow with another tiller split [m], half of the change on either limb, weight and brace height as measured."""
    given = filled(bow.given)
    by = 0.5 * (split - float(tiller_split(given) or 0.0))
    if abs(by) < SAME:
        return bow
    return bow.with_changes(InSi({UPPER: given.number(UPPER) + by, LOWER: given.number(LOWER) - by}))


def changes_of(bow: FittedBow, sliders: tuple[Slider, ...], values: dict[str, float]) -> InSi:
    """The changes but for the tiller split that set a bow to some values [SI]."""
    changes = by_underside(bow.setup, values[READING])
    return changes | InSi({PATHS[one.name]: values[one.name] for one in sliders if one.name in PATHS})
