"""With nothing said of the side every example leaves the arm and comes by clear, however the fingers roll off."""

from __future__ import annotations

import math

import numpy as np
import pytest

from archerysim.shot.passage import Passage
from archerysim.shot.warnings import DEEP
from tests.support.shot.example_bows import NAMES, fitted

ROLLS = (5.0, 6.5, 8.0, 9.5, 11.0, 12.0)  # [deg]


def passages(name: str) -> list[Passage]:
    return [fitted(name).launch({"archer.side_roll": f"{roll} deg"}).passage for roll in ROLLS]


@pytest.mark.parametrize("name", NAMES)
def test_off_the_arm_with_grazes_at_most_and_a_clear_tail(name: str) -> None:
    for way in passages(name):
        assert 50.0 < way.arm_left_travel < 250.0
        assert not way.arm_strike_depth > 1e3 * DEEP
        assert math.isnan(way.tail_touch_at)
        assert way.side_gap > 0.5


def test_a_longbow_s_tail_passes_its_handle() -> None:
    """Its shelf has no end; a small roll leaves little room."""
    for way in passages("longbow"):
        assert math.isnan(way.arm_left_at)
        assert math.isnan(way.tail_touch_at)
        assert way.side_gap > 0.0


@pytest.mark.parametrize("name", NAMES)
def test_the_more_the_fingers_roll_the_further_the_nock_goes_and_the_sooner_the_arm_is_left(name: str) -> None:
    ways = passages(name)
    out = np.diff([way.nock_furthest for way in ways]) / np.diff(ROLLS)
    assert ((out > 1.0) & (out < 1.8)).all()  # [mm] a degree
    assert (np.diff([way.arm_left_travel for way in ways]) < 0.0).all()
