"""What is warned of where the shaft does not pass rest and side support, and that grazes are not warned of."""

from __future__ import annotations

import math

import numpy as np
import pytest

from archerysim.equipment.arrow import total_mass
from archerysim.shot.launch import STRUCK, TAIL, Launch
from archerysim.shot.warnings import DEEP, GRAZE, touches_hard
from tests.support.shot.example_bows import fitted

NEVER = "The shaft never goes beyond the arm of the rest"
STRIKES = "The shaft strikes the arm of the rest from the side"
TOUCHES = "The tail touches the side support"


def shot(name: str, **changes: str) -> Launch:
    """Of an example, ``__`` in a name standing for a dot."""
    return fitted(name).launch({path.replace("__", "."): value for path, value in changes.items()})


def told(launch: Launch) -> set[str]:
    """Which of the three are said."""
    return {one for one in (NEVER, STRIKES, TOUCHES) if any(said.startswith(one) for said in launch.warnings)}


def only(launch: Launch, begins: str) -> str:
    (found,) = [one for one in launch.warnings if one.startswith(begins)]
    return found


LOW = {"nock__locators__reading": "8 mm"}  # the indoor club bow's is 10 mm


def test_a_deep_strike_is_told_with_its_place_and_depth_and_a_graze_is_not() -> None:
    deep, graze = shot("club-indoor", **LOW), shot("club-indoor")
    assert deep.passage.arm_strike_depth > 1e3 * DEEP > graze.passage.arm_strike_depth > 0.0
    assert STRUCK in deep.events
    assert STRUCK in graze.events
    assert told(deep) == {STRIKES}
    assert told(graze) == set()
    said = only(deep, STRIKES)
    assert (
        f"{deep.passage.arm_strike_place:.0f} mm from the nock, {deep.passage.arm_strike_depth:.1f} mm deep at most"
        in said
    )


@pytest.mark.parametrize(
    "clear", [{"nock__locators__reading": "12 mm"}, {"rest__reach": "5 mm"}, {"side__offset": "0 mm"}]
)
def test_what_is_advised_against_a_strike_ends_it(clear: dict[str, str]) -> None:
    assert STRIKES[:40] in only(shot("club-indoor", **LOW), STRIKES)
    assert not shot("club-indoor", **{**LOW, **clear}).passage.arm_strikes


def test_a_tail_that_touches_is_told_with_its_place_and_force_and_a_graze_is_not() -> None:
    hard, graze = shot("longbow", side__offset="3 mm"), shot("longbow", archer__side_roll="4 deg")
    assert TAIL in hard.events
    assert TAIL in graze.events
    assert told(hard) == {TOUCHES}
    assert told(graze) == set()
    said = only(hard, TOUCHES)
    assert (
        f"{hard.passage.tail_touch_place:.0f} mm from the nock, with up to {hard.passage.tail_touch_force:.1f} N"
        in said
    )
    assert "may be reversed" in said


def test_what_is_advised_against_a_touch_ends_it() -> None:
    for clear in ({"side__offset": "1 mm"}, {"side__offset": "3 mm", "archer__side_roll": "15 deg"}):
        assert TAIL not in shot("longbow", **clear).events


def test_a_touch_is_weighed_by_what_it_could_do_to_the_arrow() -> None:
    arrow = shot("longbow").drawing.setup.arrow
    lasted = GRAZE * total_mass(arrow) / 10.0
    assert touches_hard(arrow, 10.1, lasted)
    assert not touches_hard(arrow, 9.9, lasted)
    assert not touches_hard(arrow, math.nan, math.nan)


def test_an_arm_that_is_never_left_is_told_and_a_shelf_is_not() -> None:
    for change in ({"archer__side_roll": "0 deg"}, {"rest__reach": "20 mm"}):
        held = shot("junior", **change)
        assert np.isnan(held.passage.arm_left_travel)
        assert NEVER in told(held)
    shelf = shot("longbow")
    assert np.isnan(shelf.passage.arm_left_travel)
    assert told(shelf) == set()


@pytest.mark.parametrize("name", ["club-outdoor", "club-indoor", "barebow", "junior", "longbow"])
def test_no_example_is_warned_of(name: str) -> None:
    assert told(shot(name)) == set()


def test_the_flat_shot_knows_nothing_of_it() -> None:
    flat = fitted("junior").of(fitted("junior"), planes=1).launch({"archer.side_roll": "0 deg", "rest.reach": "20 mm"})
    assert told(flat) == set()
