"""Smooth answers: readings 4 to 14 mm in steps of 0.25 mm stay near a cubic, kinks only where an event says so."""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from tests.support.shot.example_bows import NAMES, shot

READINGS = np.arange(4.0, 14.01, 0.25)  # [mm]
QUANTITIES = ("pitch", "pitch_rate", "angle_of_attack", "vertical_velocity")
NEAR = 0.005  # of the range
ROW = 4  # readings: fewer beyond a kink say nothing of how it goes on there


@cache
def values(name: str) -> tuple[np.ndarray, np.ndarray]:
    """(readings, moments, quantities) and which readings stand inside a row of at least `ROW` with the same events."""
    shots = [shot(name, float(reading)) for reading in READINGS]
    table = np.array([[[getattr(m, q) for q in QUANTITIES] for m in (s.separation, s.clear)] for s in shots])
    changes = [k + 1 for k, (a, b) in enumerate(itertools.pairwise(shots)) if a.events != b.events]
    quiet = np.zeros(READINGS.size, dtype=bool)
    for begin, end in itertools.pairwise([0, *changes, READINGS.size]):
        if end - begin >= ROW:
            quiet[begin + (begin > 0) : end - (end < READINGS.size)] = True  # not the ends beside a kink
    return table, quiet


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("moment", [0, 1], ids=["separation", "clear"])
@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_near_a_cubic(name: str, moment: int, quantity: int) -> None:
    table, quiet = values(name)
    found = table[:, moment, quantity]
    assert quiet.sum() >= 0.8 * READINGS.size
    fit = np.polynomial.Polynomial.fit(READINGS[quiet], found[quiet], 3)
    assert np.abs(found - fit(READINGS))[quiet].max() <= NEAR * np.ptp(found)


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
