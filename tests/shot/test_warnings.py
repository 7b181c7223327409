"""Each warning in words, provoked by a setup; and what is said where there is none."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.shot.draw_weight import COACH
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.shoot import draw
from archerysim.shot.warnings import BOLTS, NONE, NOT_TO_SHOOT, kind_of, not_to_shoot, of_contact_at, ranged
from tests.support.shot.example_bows import NAMES, built, changed, fitted, shot

# setup, changes, what the warning says
CASES: dict[str, tuple[str, dict[str, Any], str]] = {
    "nock leaves early": (
        "club-outdoor", {"archer__release_delays": (0.0, 0.05, 0.0)}, "The nock loses the string early",
    ),
    "light": ("club-outdoor", {"arrow__point_mass": "10 gr", "arrow__mass_per_length": "5 gr/in"},
        "Light arrow: 5.1 grains per pound of draw weight; 6 is the usual minimum. Ask the maker"),
    "light, traditional": (
        "club-outdoor", {"category": "traditional", "arrow__point_mass": "60 gr"}, "8 is the usual minimum",
    ),
    "far too light": (
        "club-outdoor", {"arrow__point_mass": "1 g", "arrow__mass_per_length": "4 gr/in"}, "DO NOT SHOOT",
    ),
    "lighter than the maker's mass": ("club-outdoor", {"limits__lightest_arrow": "20 g"},
        "DO NOT SHOOT: the arrow's 19.0 g is under the maker's 20.0 g"),
    "lighter than the maker's mass per weight": (
        "club-outdoor", {"limits__lightest_arrow_per_weight": "9 gr/lbf"},
        "DO NOT SHOOT: the arrow's 8.6 grains per pound of draw weight are under the maker's 9.0",
    ),
    "brace low": ("club-outdoor", {"limits__brace_height_low": "225 mm"}, "220 mm is under the maker's 225 mm"),
    "brace high": ("club-outdoor", {"limits__brace_height_high": "215 mm"}, "220 mm is over the maker's 215 mm"),
    "long draw": ("club-outdoor", {"limits__longest_draw": "27 in"}, "28.00 in is over the maker's 27.00 in"),
    "heavy draw": ("club-outdoor", {"limits__highest_draw_weight": "30 lbf"}, "34.0 lbf is over the maker's 30.0 lbf"),
    "bolt": (
        "club-outdoor", {"limits__most_bolt_turns": 1.0, "lower_limb__bolt_turns": -1.5},
        "The lower limb bolt is turned -1.50 turns, past the maker's 1.00",
    ),
    "many bolt turns": (
        "club-outdoor", {"upper_limb__bolt_turns": 2.5},
        "The upper limb bolt is turned +2.50 turns from where the bow was measured; more than 2 is much, and",
    ),
    "string": ("club-outdoor", {"string__strand_strength": "40 N"},
        "above a quarter of its strength (720 N): do not draw it; take a string with more strands, as"),
    "serving": ("club-outdoor", {"string__serving_length": "50 mm"}, "upper locator sits outside the serving"),
    "serving below": ("club-outdoor", {"string__serving_length": "50 mm"}, "lower locator sits outside the serving"),
    "short shaft": ("club-outdoor", {"arrow__length": "27 in"}, "reaches 19 mm past the rest at full draw; 25 mm"),
    "short shaft, learner": ("junior", {"arrow__length": "24 in"}, "reaches 44 mm past the rest at full draw; 50 mm"),
    "riser turns": (
        "junior",
        {
            "archer__grip_torque": "-20 N m", "archer__hand_rotational_stiffness": 0.0,
            "archer__hand_rotational_damping": 0.0, "riser__rods": [], "riser__mass": "0.3 kg",
            "riser__inertia": 3e-4,
            "limbs__shape": "straight", "limbs__pocket_angle": "10 deg", "arrow__point_mass": "600 gr",
            "arrow__mass_per_length": "40 gr/in",
        },
        "The riser turns more than 5 degrees before the arrow leaves, outside what the model is made for: check the "
        "riser's",
    ),
    "shaft bends": (
        "club-outdoor",
        {
            "arrow__spine": 3 * 0.0254, "archer__finger_shares": (1.0, 0.0, 0.0), "nock__slope": "30 deg",
            "arrow__point_mass": "600 gr",
        },
        "of its length up and down, outside what the model is made for: check spine",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_warned_in_words(case: str) -> None:
    name, changes, said = CASES[case]
    done = changed(built(name), **changes)
    assert sum(said in warning for warning in done.warnings) == 1
    assert (NONE in done.warnings) == (not done.limits_passed)
    for warning in done.warnings:
        assert warning.endswith(".")
        assert "\n" not in warning


@pytest.mark.parametrize("case", CASES)
def test_not_warned_without_cause(case: str) -> None:
    name, _, said = CASES[case]
    assert not any(said.split(":")[0] in warning for warning in shot(name).warnings)


def test_no_limit_known_here_was_passed() -> None:
    """Also beside what happened on the way, which is no warning: nearly every bow has it."""
    done = shot("club-outdoor")
    assert done.warnings == (NONE,)
    assert done.events
    assert NONE.startswith("No limit known here was passed")
    assert "safe" in NONE
    assert "not a promise" in NONE


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("reading", [None, 4.0, 12.0])
def test_the_examples_carry_no_warning(name: str, reading: float | None) -> None:
    """A junior's names the coach; with low locators the others strike the arm of the rest."""
    wanted = (COACH, NONE) if name == "junior" else (NONE,)
    told = shot(name, reading).warnings
    if reading == 4.0 and name != "junior":
        assert told[0].startswith("The shaft strikes the arm of the rest")
        told = told[1:]
    assert told == wanted
    assert draw(built(name), 3).warnings == wanted


def test_what_no_limit_passed_means_stands_beside_cautions_and_not_beside_a_limit() -> None:
    turned = changed(built("club-outdoor"), lower_limb__bolt_turns="-0.5 turn")
    assert turned.warnings == (BOLTS, NONE)
    far = changed(built("club-outdoor"), lower_limb__bolt_turns="-1.5 turn", limits__most_bolt_turns="1 turn")
    assert far.limits_passed == ("limits.most_bolt_turns (lower)",)
    assert NONE not in far.warnings


def test_many_bolt_turns_are_told_of_only_where_the_maker_s_limit_is_not_known() -> None:
    setup = built("club-outdoor", "coarse")
    for turns, limit, told in ((2.0, None, False), (2.1, None, True), (-2.1, None, True), (2.1, 3.0, False)):
        done = changed(setup, "coarse", lower_limb__bolt_turns=turns, limits__most_bolt_turns=limit)
        assert done.limits_passed == (("bolt turns, usual (lower)",) if told else ())


def test_contact_at_another_reading_says_where_and_does_not_send_locators_up_that_are_to_go_down() -> None:
    texts = shot("club-outdoor", 4.0).warnings
    assert texts[0].startswith("The shaft strikes the arm of the rest")
    assert "Raise the locators" in texts[0]
    for lower in (True, False):
        told = of_contact_at(texts, "At 4.0 mm (the estimate)", lower)
        assert told[0].startswith("At 4.0 mm (the estimate): the shaft strikes the arm of the rest")
        assert ("Raise the locators" in told[0]) != lower
        assert told[1:] == list(texts[1:])


@pytest.mark.parametrize(
    "changes",
    [
        {"limits__lightest_arrow": "20 g"},
        {"limits__lightest_arrow_per_weight": "9 gr/lbf"},
        {"arrow__point_mass": "1 g", "arrow__mass_per_length": "4 gr/in"},
    ],
)
def test_under_the_maker_s_least_or_five_grains_is_not_shot(changes: dict[str, Any]) -> None:
    done = changed(built("club-outdoor"), **changes)
    assert done.limits_passed[0] in NOT_TO_SHOOT
    assert not_to_shoot(done.limits_passed, done.warnings) == done.warnings[0]
    assert done.warnings[0].startswith("DO NOT SHOOT")
    assert "eavier one." in done.warnings[0]


def test_a_light_arrow_is_not_forbidden_but_sent_to_the_maker() -> None:
    done = changed(built("club-outdoor"), arrow__point_mass="10 gr", arrow__mass_per_length="5 gr/in")
    assert not_to_shoot(done.limits_passed, done.warnings) == ""
    assert done.warnings[0].startswith("Light arrow")
    assert "maker" in done.warnings[0]


def test_a_maker_s_figure_comes_before_the_usual_least() -> None:
    """8.6 grains per pound: light for a traditional bow without the maker's figure below it."""
    done = changed(
        built("club-outdoor"), category="traditional", arrow__point_mass="60 gr", limits__lightest_arrow="10 g"
    )
    assert not any("Light arrow" in warning for warning in done.warnings)


def test_do_not_shoot_is_not_softened_by_the_maker() -> None:
    done = changed(
        built("club-outdoor"), arrow__point_mass="1 g", arrow__mass_per_length="4 gr/in", limits__lightest_arrow="5 g"
    )
    assert any(warning.startswith("DO NOT SHOOT") for warning in done.warnings)


def test_what_happened_on_the_way_in_one_line() -> None:
    bow = FittedBow.of(fitted("club-indoor"), planes=1)
    done = bow.at_reading("7 mm")
    assert done.events == (
        "shaft touched the rest again", "support ended with the shaft on the rest", "second strike suppressed",
    )  # fmt: skip
    assert len("; ".join(done.events)) < 98
    assert done.suppressed_strike > 0.0
    assert done.least_gap == -done.suppressed_strike
    assert done.second_strike_at > 0.0
    in_both = fitted("club-indoor").at_reading("7 mm")
    assert in_both.events == ("shaft touched the rest again", "arm struck from the side")
    assert np.isnan(in_both.suppressed_strike)


@pytest.mark.parametrize("limb", ["upper_limb", "lower_limb"])
def test_turned_bolts_carry_their_caution(limb: str) -> None:
    turned = changed(built("club-outdoor"), **{f"{limb}__bolt_turns": 0.5})
    assert BOLTS in turned.warnings
    assert BOLTS not in shot("club-outdoor").warnings


def test_a_quiet_shot_has_nothing_on_the_way() -> None:
    done = changed(built("barebow"), rest__stiffness="300 N/m")
    assert done.events == ()


def test_many_of_one_kind_in_one_sentence() -> None:
    """Numbers that differ are told as a range, the others as they are."""
    told = [f"The shaft reaches {x} mm past the rest at full draw; 25 mm is the minimum." for x in
            ("2.7", "0.8", "10.1")]  # fmt: skip
    assert len({kind_of(one) for one in told}) == 1
    assert ranged(told) == "The shaft reaches 0.8 to 10.1 mm past the rest at full draw; 25 mm is the minimum."
    assert ranged(told[:1]) == told[0]
