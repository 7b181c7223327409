"""One locator in place of two: without friction the nock slides, but only once the string moves; with it, it stays."""

from __future__ import annotations

import pytest

from archerysim.equipment import Setup
from archerysim.shot.shoot import brace, shoot
from archerysim.shot.statics.brace import Braced
from tests.support.shot.example_bows import built

ONE = {"lower": "nock.locators.upper_present", "upper": "nock.locators.lower_present"}


def braced(**changes: bool) -> Braced:
    return brace(built("club-outdoor", "coarse").replace(**changes), "coarse")


@pytest.mark.parametrize("which", ONE)
def test_the_braced_bow_is_that_with_two(which: str) -> None:
    """All but the missing locator's 0.1 g."""
    one, two = braced(**{ONE[which]: False}), braced()
    assert one.reading == pytest.approx(two.reading, abs=1e-6)
    assert one.brace_height == pytest.approx(two.brace_height, abs=1e-6)


def without_friction() -> Setup:
    return built("club-outdoor", "coarse").replace({"nock.friction": 0.0})


def test_the_nock_slides_up_off_the_lower_one() -> None:
    setup = without_friction()
    one = shoot(setup.replace(**{ONE["lower"]: False}), "coarse").trace
    two = shoot(setup, "coarse").trace
    assert one is not None
    assert two is not None
    # positive: the string's middle above the throat's, down on the lower locator; negative: the nock slid up
    assert one.locator.min() >= 0.0
    assert one.locator.max() > 0.3 * two.locator.max() > 0.5  # [N]: it really pushes
    assert abs(one.locator_offset[0]) < 1e-4
    assert one.locator_offset.min() < -1e-3
    assert abs(two.locator_offset).max() < 1e-4


def test_the_nock_slides_down_off_the_upper_one() -> None:
    """At full draw it is held as by two: what would slide it is a part of the arrow's weight."""
    setup = without_friction()
    one, two = (shoot(setup.replace(**change), "coarse") for change in ({ONE["upper"]: False}, {}))
    assert one.draw_force == pytest.approx(two.draw_force, rel=1e-4)
    assert one.trace is not None
    assert two.trace is not None
    assert one.trace.locator.max() <= 0.0
    assert one.trace.locator.min() < 0.7 * two.trace.locator.min() < -1.0  # [N]: it really pushes
    assert abs(one.trace.locator_offset[0]) < 1e-4
    assert one.trace.locator_offset.max() > 1e-3
    # its tail is then low: nose up (common practice)
    assert one.clear.pitch > two.clear.pitch


@pytest.mark.parametrize("which", ONE)
def test_friction_keeps_the_nock_from_sliding(which: str) -> None:
    """As long as the string presses on it; and at separation the arrow flies nearly as from two.

    On its way out of the throat the string then pushes the upper one, where there is one.
    """
    setup = built("club-outdoor", "coarse")
    two = shoot(setup, "coarse").separation.angle_of_attack
    one = shoot(setup.replace(**{ONE[which]: False}), "coarse")
    free = shoot(without_friction().replace(**{ONE[which]: False}), "coarse").separation.angle_of_attack
    assert one.trace is not None
    pressed = one.trace.edge_upper + one.trace.edge_lower > 20.0
    assert abs(one.trace.locator_offset[pressed]).max() < 1e-4
    assert abs(one.separation.angle_of_attack - two) < 0.05 * abs(free - two)
