"""Smooth answers: readings 4 to 14 mm in steps of 0.25 mm stay near cubics, kinks only where an event says so.

One event puts small kinks into a sweep throughout which it happens: a shaft that comes down on the rest again gently,
while it quivers, does so unevenly early from one reading to the next. `Launch.second_strike_at` tells it. So does the
junior's; with a rest whose support has ended by then nothing is left of them.
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import STRUCK, Launch
from tests.support.shot.example_bows import NAMES, READING, fitted, shot

READINGS = np.arange(4.0, 14.01, 0.25)  # [mm]
QUANTITIES = ("pitch", "pitch_rate", "angle_of_attack", "vertical_velocity")
NEAR = 0.005  # of the range
KINKED = 0.01  # of the range, where the shaft comes down again unevenly early
NEARER = 0.001  # of the range, where the shaft comes down on nothing
EVEN = 1e-5  # [s] by which the second strike may stay away from a cubic: some steps, to which it is told
ENDS = 0.11  # [m] of travel at which the rest supports no longer: left by all of the four, and not yet met again
FEW = 8  # readings between two events, or fewer: too few to tell a curve by


def table_of(shots: list[Launch]) -> np.ndarray:
    """(readings, moments, quantities)."""
    return np.array([[[getattr(m, q) for q in QUANTITIES] for m in (s.separation, s.clear)] for s in shots])


def uneven(readings: np.ndarray, found: np.ndarray) -> float:
    """How far from a cubic."""
    fit = np.polynomial.Polynomial.fit(readings, found, 3)
    return float(np.abs(found - fit(readings)).max())


@cache
def values(name: str) -> tuple[np.ndarray, list[np.ndarray]]:
    """`table_of`, and, from event to event, the readings whose neighbours have the same events.

    A strike of the arm puts no kink into a sweep: it begins as a graze, and the arm folds away without force.
    """
    shots = [shot(name, float(reading)) for reading in READINGS]
    events = [tuple(one for one in shot.events if one != STRUCK) for shot in shots]
    same = np.array([a == b for a, b in itertools.pairwise(events)])
    quiet = np.ones(READINGS.size, dtype=bool)
    quiet[:-1] &= same
    quiet[1:] &= same
    stretches = np.split(np.arange(READINGS.size), np.flatnonzero(~same) + 1)
    return table_of(shots), [one[quiet[one]] for one in stretches]


@cache
def strikes(name: str) -> np.ndarray:
    """When the shaft comes down on the rest again [s]."""
    return np.array([shot(name, float(reading)).second_strike_at for reading in READINGS])


@cache
def untouched(name: str) -> np.ndarray:
    """`table_of` with a rest that has ended its support when the shaft comes down again."""
    bow = FittedBow.of(fitted(name), planes=1).with_changes({"rest.support_travel": (ENDS, "m")})
    shots = [bow.launch({READING: (float(reading), "mm")}) for reading in READINGS]
    assert all(np.isnan(one.second_strike_at) for one in shots)
    return table_of(shots)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("moment", [0, 1], ids=["separation", "clear"])
@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_near_a_cubic(name: str, moment: int, quantity: int) -> None:
    table, stretches = values(name)
    found = table[:, moment, quantity]
    long = [one for one in stretches if one.size > FEW]
    assert sum(one.size for one in long) >= 0.75 * READINGS.size
    for one in long:
        share = uneven(READINGS[one], found[one]) / np.ptp(found)
        when = strikes(name)[one]
        if np.isfinite(when).all() and uneven(READINGS[one], when) > EVEN:
            assert share <= KINKED
        else:
            assert share <= NEAR


@pytest.mark.parametrize("name", NAMES)
def test_nearer_where_the_rest_is_not_met_again(name: str) -> None:
    table = untouched(name).reshape(READINGS.size, -1)
    for found in table.T:
        assert uneven(READINGS, found) <= NEARER * np.ptp(found)


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
