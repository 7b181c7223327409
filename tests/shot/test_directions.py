"""The trade's directions (common practice, no source): the model must show each with its default setups.

Numbered as in the list of facts that the project checks against; 2 and 8 belong to flight and to the fingers.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.shot.launch import Launch
from archerysim.shot.shoot import brace
from tests.support.shot.example_bows import CLUB, NAMES, READING, built, changed, shot

AROUND = (4.0, 8.0, 12.0)  # [mm]


def zero_attack(shots: list[Launch], of: str = "reading") -> float:
    """Where the angle of attack at clear is zero, on a parabola through three shots [mm]."""
    at = [getattr(s, of) for s in shots]
    roots = np.roots(np.polyfit(at, [s.clear.angle_of_attack for s in shots], 2))
    return float(roots[np.abs(roots - np.mean(at)).argmin()].real)


@cache
def zero_attack_reading(name: str) -> float:
    return zero_attack([shot(name, h) for h in AROUND])


@pytest.mark.parametrize("name", NAMES)
def test_1_raising_the_locator_turns_the_arrow_nose_down(name: str) -> None:
    low, middle, high = (shot(name, h) for h in AROUND)
    for moment in ("separation", "clear"):
        pitches = [getattr(s, moment).pitch for s in (low, middle, high)]
        assert pitches[0] > pitches[1] > pitches[2]
        rates = [getattr(s, moment).pitch_rate for s in (low, middle, high)]
        assert rates[0] > rates[1] > rates[2]


@pytest.mark.parametrize("name", CLUB)
def test_3_a_finger_shot_recurve_wants_its_locator_well_above_square(name: str) -> None:
    assert 3.0 < zero_attack_reading(name) < 12.0


@pytest.mark.parametrize("name", NAMES)
def test_4_lowering_the_rest_raises_the_reading(name: str) -> None:
    setup = built(name)
    lowered = brace(setup.replace(**{"rest.height": "42 mm"}))
    assert 1e3 * lowered.reading == pytest.approx(shot(name).reading + 3.0, abs=0.1)


@pytest.mark.parametrize("name", NAMES)
def test_5_turning_the_lower_bolt_in_lowers_the_reading(name: str) -> None:
    """String kept: the split grows; the same place on the string reads lower."""
    before, after = brace(built(name)), brace(built(name).replace(**{"lower_limb.bolt_turns": "1 turn"}))
    assert after.string_length == before.string_length
    assert after.throat == before.throat
    assert after.upper_tiller - after.lower_tiller > before.upper_tiller - before.lower_tiller
    assert after.reading < before.reading - 1e-4


@pytest.mark.parametrize("name", NAMES)
def test_6_a_sloped_floor_wants_a_higher_locator(name: str) -> None:
    """Upper edge further towards the point."""
    zeros = [
        zero_attack([changed(built(name), **{READING: h * 1e-3, "nock.slope": np.radians(slope)}) for h in AROUND])
        for slope in (0.0, 4.0, 8.0)
    ]
    assert zeros[0] == pytest.approx(zero_attack_reading(name), abs=1e-6)
    assert zeros[0] < zeros[1] < zeros[2]


def fat_and_thin(of: str) -> float:
    """Zero of a 9.3 mm shaft less that of a 5.5 mm one of the same mass and spine, by ``of`` [mm]."""
    fat, thin = (
        zero_attack(
            [changed(built("club-outdoor"), **{READING: h * 1e-3, "arrow.diameter": d * 1e-3}) for h in AROUND], of
        )
        for d in (9.3, 5.5)
    )
    return fat - thin


def test_7_fat_shafts_want_another_reading_and_most_of_it_is_geometry() -> None:
    by_reading, by_axis = fat_and_thin("reading"), fat_and_thin("axis_above_square")
    assert by_reading > 0.5
    assert by_reading - by_axis == pytest.approx(0.5 * (9.3 - 5.5), abs=1e-6)
    assert abs(by_axis) < 0.5 * by_reading


@pytest.mark.parametrize("name", NAMES)
def test_9_heavier_locators_slow_the_arrow_and_shift_the_tune(name: str) -> None:
    heavy = {"nock.locators.upper_mass": 0.5e-3, "nock.locators.lower_mass": 0.5e-3}
    slower = changed(built(name), **heavy)
    assert slower.clear.speed < shot(name).clear.speed - 0.05
    moved = zero_attack([changed(built(name), **{READING: h * 1e-3, **heavy}) for h in AROUND])
    assert abs(moved - zero_attack_reading(name)) > 0.05


def test_heavier_arrows_are_slower_and_take_more_of_the_energy() -> None:
    light, heavy = (changed(built("club-outdoor"), arrow__point_mass=f"{gr} gr") for gr in (90, 150))
    assert heavy.clear.speed < light.clear.speed
    assert heavy.efficiency > light.efficiency
