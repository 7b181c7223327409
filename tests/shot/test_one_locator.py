"""One locator in place of two: there is no friction in the throat, so the nock slides; at brace its grip holds it."""

from __future__ import annotations

import pytest

from archerysim.shot.brace import Braced
from archerysim.shot.errors import ShotError
from archerysim.shot.shoot import brace, shoot
from tests.shot.examples import built

ONE = {"lower": "nock.locators.upper_present", "upper": "nock.locators.lower_present"}


def braced(**changes: bool) -> Braced:
    return brace(built("club-outdoor", "coarse").replace(**changes), "coarse")


@pytest.mark.parametrize("which", ONE)
def test_the_braced_bow_is_that_with_two(which: str) -> None:
    """All but the missing locator's 0.1 g."""
    one, two = braced(**{ONE[which]: False}), braced()
    assert one.reading == pytest.approx(two.reading, abs=1e-6)
    assert one.brace_height == pytest.approx(two.brace_height, abs=1e-6)


def test_the_nock_slides_up_off_the_lower_one() -> None:
    setup = built("club-outdoor", "coarse")
    one = shoot(setup.replace(**{ONE["lower"]: False}), "coarse").trace
    two = shoot(setup, "coarse").trace
    assert one is not None
    assert two is not None
    # positive: the string's middle above the throat's, down on the lower locator; negative: the nock slid up
    assert one.locator.min() >= 0.0
    assert one.locator_offset.min() < -1e-3
    assert abs(two.locator_offset).max() < 1e-4


def test_at_full_draw_the_nock_would_slide_down_from_the_upper_one() -> None:
    with pytest.raises(ShotError, match="draw: no equilibrium"):
        shoot(built("club-outdoor", "coarse").replace(**{ONE["upper"]: False}), "coarse")
