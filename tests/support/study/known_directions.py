"""Facts that are a direction or a range: common practice."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from archerysim.equipment import Setup
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.shoot import brace
from archerysim.study.tuning.together import together_reading
from archerysim.study.tuning.zero_attack import zero_attack_reading
from tests.support.shot.example_bows import built, changed, shot

CLUB = "club-outdoor"
PRACTICE = "common practice"
UP, DOWN = (0.0, math.inf), (-math.inf, 0.0)


@dataclass(frozen=True)
class Range:
    """One fact: what, what is expected in words, its bounds, unit, source, our number, a key of `facts.KINDS`."""

    what: str
    expected: str
    low: float
    high: float
    unit: str
    source: str
    ours: Callable[[], float]
    kind: str


@cache
def together(name: str) -> float:
    """The reading that brings bare and fletched together at 18 m [mm]."""
    return together_reading(built(name)).reading


@cache
def zero_attack(name: str) -> float:
    """The reading without angle of attack at clear [mm]."""
    return zero_attack_reading(built(name)).reading


def moved_by(bow: Setup) -> float:
    """How much higher the locators of a changed outdoor bow are wanted [mm]."""
    return together_reading(bow).reading - together(CLUB)


def pitch_of_a_rise() -> float:
    """Pitch at clear with the locators 8 mm higher, less that before [deg]."""
    return shot(CLUB, 12.0).clear.pitch - shot(CLUB, 4.0).clear.pitch


def bare_off_by(off: float) -> float:
    """Height of a taped bare shaft beside the fletched ones at 18 m, locators off the best by so much [mm]."""
    return 1e3 * bare_difference(shot(CLUB, together(CLUB) + off), "18 m").height


def reading_after(**changes: float | str) -> float:
    """Change of the reading of locators that stay tied [mm]."""
    bow = built(CLUB)
    after = bow.with_si(**{path.replace("__", "."): value for path, value in changes.items()})
    return 1e3 * (brace(after).reading - brace(bow).reading)


def slower_with_heavy_locators() -> float:
    """Speed at clear with 0.5 g a locator, less that before [m/s]."""
    heavy = {"nock__locators__upper_mass": 0.5e-3, "nock__locators__lower_mass": 0.5e-3}
    return changed(built(CLUB), **heavy).clear.speed - shot(CLUB).clear.speed


def practice() -> list[Range]:
    """What the trade knows."""

    def one(what: str, expected: str, bounds: tuple[float, float], unit: str, ours: Callable[[], float]) -> Range:
        return Range(what, expected, *bounds, unit, PRACTICE, ours, "practice")

    usual = (3.0, 12.0)
    return [
        one("locators raised from 4 to 12 mm: pitch at clear", "nose down", DOWN, "deg", pitch_of_a_rise),
        one("bare taped shaft at 18 m, locators 4 mm too low", "high", UP, "mm", lambda: bare_off_by(-4.0)),
        one("bare taped shaft at 18 m, locators 4 mm too high", "low", DOWN, "mm", lambda: bare_off_by(4.0)),
        one("bare and fletched together at 18 m, slim shaft", "3 to 12", usual, "mm", lambda: together(CLUB)),
        one("bare and fletched together at 18 m, fat shaft", "3 to 12", usual, "mm", lambda: together("club-indoor")),
        one("no angle of attack at clear, slim shaft", "3 to 12", usual, "mm", lambda: zero_attack(CLUB)),
        one("no angle of attack at clear, fat shaft", "3 to 12", usual, "mm", lambda: zero_attack("club-indoor")),
        one("rest 3 mm lower: reading of the same locators", "higher", UP, "mm",
            lambda: reading_after(rest__height="42 mm")),
        one("lower bolt a turn in, string kept: reading of the same locators", "lower", DOWN, "mm",
            lambda: reading_after(lower_limb__bolt_turns=1.0)),
        one("throat's floor sloped by 4 deg, upper edge forward: best reading", "higher", UP, "mm",
            lambda: moved_by(built(CLUB).with_si(**{"nock.slope": np.radians(4.0)}))),
        one("shaft of 9.3 mm instead of 5.5 mm: best reading", "higher", UP, "mm",
            lambda: moved_by(built(CLUB).replace(**{"arrow.diameter": "9.3 mm"}))),
        one("locators of 0.5 g each: speed", "lower", DOWN, "m/s", slower_with_heavy_locators),
    ]  # fmt: skip
