"""Where something seems to touch: by the computed clearance, and by groups that go against the model."""

from __future__ import annotations

import math

import numpy as np

from archerysim.study.notes.contact import DEEP
from archerysim.study.notes.group_means import Noted
from archerysim.study.notes.posterior import FLIGHT, SQUARE
from archerysim.study.notes.response_surface import Expected, Place, Setting

TURNED = 1.645  # standard deviations beyond which groups go against the model's direction
FAR_LOW = -3.0  # standard deviations below everything the priors allow


def place_of(group: Noted) -> Place:
    """Where a group was shot."""
    return Place(group.reading, group.distance, group.state)


def setting_of(group: Noted) -> Setting:
    """With what it was shot."""
    return place_of(group).setting


def suspects(expected: Expected, groups: tuple[Noted, ...]) -> dict[Setting, str]:
    """Settings with which the tail seems to strike the rest, and why.

    Three signs: the model has the shaft deep in the rest; groups of one distance go up with the reading, where
    a bare shaft ought to go down; a bare shaft lands lower than any usual bow hand explains.
    """
    found: dict[Setting, str] = {}
    for group in groups:
        if expected.strikes[setting_of(group)] > DEEP:
            found.setdefault(setting_of(group), expected.contact[setting_of(group)])
    for lower in groups:
        for upper in groups:
            if (lower.distance, lower.state) != (upper.distance, upper.state):
                continue
            if not lower.reading < upper.reading - SQUARE:
                continue
            slope = max(abs(expected.per_reading[row_of(expected, one)]) for one in (lower, upper))
            size = math.hypot(math.hypot(lower.sigma, upper.sigma), math.sqrt(2.0) * SQUARE * slope)
            if upper.difference - lower.difference > TURNED * size:
                words = "bare shafts go up with the locators, where they ought to go down"
                found.setdefault(setting_of(lower), words)
    for group in groups:
        if surprise(expected, group) < FAR_LOW:
            found.setdefault(setting_of(group), "the bare shafts lie lower than this setup explains")
    return found


def surprise(expected: Expected, group: Noted) -> float:
    """Difference less the one expected beforehand, in standard deviations of everything that is uncertain."""
    off, spread = off_and_spread(expected, group)
    return off / spread


def off_and_spread(expected: Expected, group: Noted) -> tuple[float, float]:
    """Difference less the one expected beforehand, and the standard deviation of everything that is uncertain [m]."""
    k = row_of(expected, group)
    heights = expected.heights
    swing = heights.value[k] - expected.wanted[k]
    variance = (
        group.sigma**2 + heights.error[k] ** 2 + (SQUARE * expected.per_reading[k]) ** 2 + (FLIGHT * swing) ** 2
        + float((heights.slope[k] ** 2).sum())
    )  # fmt: skip
    return float(group.difference - heights.value[k]), math.sqrt(variance)


def off_and_spread_aside(expected: Expected, group: Noted) -> tuple[float, float]:
    """The same sideways, positive away from the window [m]; zero where that is not noted."""
    if not math.isfinite(group.beside) or not expected.sides.value.size:
        return 0.0, 0.0
    k, sides = row_of(expected, group), expected.sides
    spread = np.array([group.beside_sigma, sides.error[k], FLIGHT * sides.value[k], *sides.slope[k]])
    return float(group.beside - sides.value[k]), float(np.linalg.norm(spread))


def row_of(expected: Expected, group: Noted) -> int:
    """Which of the expected places a group was shot at."""
    return expected.places.index(place_of(group))
