"""Smooth answers: readings 4 to 14 mm in steps of 0.25 mm stay near cubics, kinks only where an event says so."""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from tests.support.shot.example_bows import NAMES, shot

READINGS = np.arange(4.0, 14.01, 0.25)  # [mm]
QUANTITIES = ("pitch", "pitch_rate", "angle_of_attack", "vertical_velocity")
NEAR = 0.005  # of the range
FEW = 8  # readings between two events, or fewer: too few to tell a curve by


@cache
def values(name: str) -> tuple[np.ndarray, list[np.ndarray]]:
    """(readings, moments, quantities) and, from event to event, the readings whose neighbours have the same events."""
    shots = [shot(name, float(reading)) for reading in READINGS]
    table = np.array([[[getattr(m, q) for q in QUANTITIES] for m in (s.separation, s.clear)] for s in shots])
    same = np.array([a.events == b.events for a, b in itertools.pairwise(shots)])
    quiet = np.ones(READINGS.size, dtype=bool)
    quiet[:-1] &= same
    quiet[1:] &= same
    stretches = np.split(np.arange(READINGS.size), np.flatnonzero(~same) + 1)
    return table, [one[quiet[one]] for one in stretches]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("moment", [0, 1], ids=["separation", "clear"])
@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_near_a_cubic(name: str, moment: int, quantity: int) -> None:
    table, stretches = values(name)
    found = table[:, moment, quantity]
    long = [one for one in stretches if one.size > FEW]
    assert sum(one.size for one in long) >= 0.75 * READINGS.size
    for one in long:
        fit = np.polynomial.Polynomial.fit(READINGS[one], found[one], 3)
        assert np.abs(found[one] - fit(READINGS[one])).max() <= NEAR * np.ptp(found)


@pytest.mark.parametrize("name", NAMES)
def test_the_reading_asked_for_is_the_reading_reported(name: str) -> None:
    np.testing.assert_allclose([shot(name, float(h)).reading for h in READINGS], READINGS, atol=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_angle_of_attack_falls_steadily(name: str) -> None:
    """Nearly straight, about a tenth of a degree a millimetre (the reference bow: 0.109)."""
    table, _ = values(name)
    slope = np.diff(table[:, 1, QUANTITIES.index("angle_of_attack")]) / np.diff(READINGS)
    assert (slope < -0.05).all()
    assert (slope > -0.25).all()
