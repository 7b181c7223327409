"""The reading of zero attack and the tune by the aims that need no flight, and by flight."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.equipment.readings import READING, both_units
from archerysim.errors import ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.shoot import shoot
from archerysim.show.tuning.table import tune_table, two_table
from archerysim.study.tuning.aims import AIMS, aim_of
from archerysim.study.tuning.tune import today, tune
from archerysim.study.tuning.tune_two import tune_two
from archerysim.study.tuning.tuned import Tuned
from archerysim.study.tuning.zero_attack import zero_attack_reading
from tests.support.shot.example_bows import built, measured

MESH = "coarse"
PLAIN = {"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0}


def test_reading_of_zero_attack_leaves_no_angle_of_attack() -> None:
    found = zero_attack_reading(built("club-outdoor", MESH), MESH)
    assert abs(found.launch.clear.angle_of_attack) < 1e-4
    assert found.launch.reading == pytest.approx(found.reading, abs=1e-3)
    assert found.shots <= 5
    high = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading((1e-3 * found.reading + 0.001, "m"))
    assert high.clear.angle_of_attack == pytest.approx(found.slope, rel=0.02)


def test_tune_by_the_angle_is_the_reading_of_zero_attack() -> None:
    tuned = tune(measured("club-outdoor"), "no angle of attack", others=False, mesh=MESH)
    found = zero_attack_reading(built("club-outdoor", MESH), MESH)
    assert tuned.value == pytest.approx(found.reading, abs=0.002)
    assert tuned.slope == pytest.approx(found.slope, rel=0.02)
    assert tuned.reading == pytest.approx(tuned.value, abs=1e-6)
    assert tuned.reading_top - tuned.reading == pytest.approx(5.8)
    low, high = tuned.window
    assert low < tuned.value < high
    for edge in (low, high):
        launch = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading((1e-3 * edge, "m"))
        assert abs(launch.clear.angle_of_attack) == pytest.approx(tuned.size, abs=0.005)


def test_bare_and_fletched_together() -> None:
    tuned = tune(measured("club-outdoor"), distance="18 m", mesh=MESH)
    assert tuned.distance == 18.0
    apart = bare_difference(tuned.launch, "18 m")
    assert abs(apart.height - apart.drag_and_mass) < 2e-4
    assert set(tuned.others) == set(AIMS) - {tuned.aim}
    # a bare shaft lands lower for a higher locator: slightly low is a higher reading
    assert tuned.slope < 0.0
    assert tuned.others["bare slightly low"] > tuned.value
    assert tuned.measure_unit == "mm"
    assert tuned.size == pytest.approx(30.0)  # a club archer's scatter at 18 m, one standard deviation [mm]
    for edge in tuned.window:
        launch = FittedBow.of(built("club-outdoor", MESH), MESH).at_reading((1e-3 * edge, "m"))
        assert abs(bare_difference(launch, "18 m").swing) == pytest.approx(0.030, abs=5e-4)
    assert tune(measured("club-outdoor"), distance="30 m", others=False, mesh=MESH).size == pytest.approx(50.0)


def told(tuned: Tuned, today: float = 8.0) -> str:
    """The printed table on one line."""
    return " ".join(tune_table(tuned, today).split())


def test_a_range_that_was_given_and_has_no_answer() -> None:
    found = tune(measured("club-outdoor"), "no angle of attack", within=("15 mm", "20 mm"), others=False, mesh=MESH)
    assert (found.met, found.way, found.value, found.asked) == (False, "lower", 15.0, True)
    assert found.searched == pytest.approx((15.0, 20.0))
    assert found.measure == pytest.approx(found.launch.clear.angle_of_attack)
    assert np.isnan(found.window).all()
    text = told(found)
    assert "NO ANSWER in your range, 15.0 to 20.0 mm by the underside: the answer lies LOWER" in text
    assert "The nearest is 15.0 mm (9/16 in) by the underside, 7.0 mm over today's: " in text
    assert f"the angle of attack at clear is {found.measure:+.2f} deg" in text
    assert "A range that reaches farther down may hold it" in text


def test_a_crawl_wants_locators_higher() -> None:
    """What string-walkers do [common practice]."""
    bows = (measured("barebow").replace(**{"archer.crawl": f"{crawl} mm"}) for crawl in (0, 30, 60))
    assert (np.diff([tune(bow, others=False, mesh=MESH).value for bow in bows]) > 0.3).all()


@pytest.mark.parametrize("aim", AIMS)
def test_a_long_crawl_wants_locators_higher_than_the_range(aim: str) -> None:
    """No value of the usual range is best, and nobody gave a range: with straight limbs a crawl moves it farthest."""
    setup = measured("barebow").replace(**{"archer.crawl": "60 mm", "limbs.shape": "straight"})
    size = "5 mm" if aim.startswith("bare") else None  # nearer than a club archer's groups can tell
    found = tune(setup, aim, size=size, others=False, mesh=MESH)
    if aim == "no angle of attack":  # this alone has one
        assert found.met
        assert found.unusual == ()
        return
    assert (found.met, found.way, found.value, found.asked) == (False, "higher", 25.0, False)
    assert found.reading == pytest.approx(25.0, abs=1e-6)
    assert found.unusual == ("reading by the underside 25 mm is outside 6 to 15 mm, typical for barebow",)
    text = told(found, 10.0)
    assert "NO ANSWER in the range searched, 0.0 to 25.0 mm by the underside: the answer lies HIGHER" in text
    assert "iden the range" not in text
    assert "Reading by the underside 25 mm is outside 6 to 15 mm" in text
    higher = tune(setup, aim, within=("25 mm", "40 mm"), others=False, mesh=MESH)
    assert higher.met
    assert higher.value > 25.0


def test_a_stiff_shaft_wants_them_lower_and_the_nearest_is_told_with_what_it_does() -> None:
    found = tune(measured("club-outdoor").replace(**{"arrow.spine": "0.35 in"}), mesh=MESH)
    assert (found.met, found.way, found.value) == (False, "lower", 0.0)
    apart = bare_difference(found.launch, "18 m")
    assert found.measure == pytest.approx(1e3 * apart.swing)
    text = told(found)
    low = f"{-found.measure:.0f} mm ({-found.measure / 25.4:.1f} in)"
    assert f"the bare shaft lands {low} below where it should at 18 m" in text
    assert np.isnan(found.others["no pitch rate"])
    assert found.others_way["no pitch rate"] == "lower"
    assert "no pitch rate nothing in range: it lies lower" in text
    assert np.isfinite(found.others["no angle of attack"])


def test_a_found_reading_outside_the_usual_range_is_cautioned() -> None:
    """A nock glued on askew."""
    found = tune(measured("club-outdoor").replace(**{"nock.slope": "-3 deg"}), others=False, mesh=MESH)
    assert found.met
    assert found.value < 3.0
    assert "is outside 3 to 10 mm, typical for club: look for the cause first" in told(found)


def test_ends_of_a_default_range_that_fail_are_left_out() -> None:
    """Strings from 70 cm to 2.6 m: the ends are no bow at all."""
    found = tune(measured("club-outdoor"), "no angle of attack", path="string.length", others=False, mesh=MESH)
    assert found.met
    assert abs(found.launch.clear.angle_of_attack) < 1e-3
    values = [value for value, _ in found.failed]
    assert values[0] == pytest.approx(700.0)
    assert values[-1] == pytest.approx(2600.0)
    assert "is too short" in found.failed[0][1]
    text = told(found, 1626.0)
    assert "Left out, because there is no shot" in text
    slack = [value for value, reason in found.failed if "the string is slack" in reason]
    assert len(slack) == 2
    assert f"(string.length = {slack[0]:.0f} to {slack[1]:.0f} mm)" in text  # those of one kind together
    lines = found.looked
    assert np.isnan(lines[0, 1])
    assert np.isfinite(lines[:, 1]).any()


def test_near_enough_is_not_called_no_answer() -> None:
    setup = measured("club-outdoor").replace(**PLAIN, **{READING: "7 mm"})
    found = tune(setup, "no angle of attack", path="lower_limb.bolt_turns", others=False, mesh=MESH)
    assert not found.met
    assert found.good_enough
    text = told(found, 0.0)
    assert "ONLY GOOD ENOUGH, in the range searched, -2 to 2 turn: the answer lies HIGHER" in text
    assert "do not turn bolts farther than their maker allows" in text


def test_the_nearest_value_keeps_the_limits_in_the_file() -> None:
    """A longer draw brings it nearer, but is over the maker's longest from 28 in on."""
    setup = measured("club-outdoor").replace(**{READING: "14 mm", "limits.longest_draw": "28 in"})
    path = "archer.draw_length"
    found = tune(setup, "no angle of attack", path=path, within=("26 in", "29 in"), others=False, mesh=MESH)
    assert not found.met
    assert found.way == "higher"
    assert found.launch.limits_passed == ()
    assert 27.8 < found.value <= 28.0
    assert max(value for value, measure in found.looked if abs(measure) < abs(found.measure)) == pytest.approx(29.0)


def test_a_range_that_leaves_what_is_allowed_is_refused() -> None:
    with pytest.raises(SetupError, match=r"within: -100 mm to 25 mm goes outside what .*reading may be, -30 mm to"):
        tune(measured("club-outdoor"), within=("-100 mm", "25 mm"), others=False, mesh=MESH)


def test_a_bow_that_gives_no_shot_today_can_be_tuned() -> None:
    """Drawn to 36 in the shaft is off the rest."""
    path, setup = "archer.draw_length", built("club-outdoor", MESH).replace(**{"archer.draw_length": "36 in"})
    with pytest.raises(ShotError, match="does not reach the rest"):
        shoot(setup, MESH, trace=False)
    found = tune(setup, "no angle of attack", path=path, within=("25 in", "36 in"), others=False, mesh=MESH)
    assert found.value < 31.0
    assert all("does not reach the rest" in reason for _, reason in found.failed)
    assert found.failed[-1][0] == pytest.approx(36.0)


def test_two_settings_that_cannot_meet_both() -> None:
    found = tune_two(
        measured("club-outdoor"), (READING, "nock.slope"), within=(("0 mm", "25 mm"), ("-5 deg", "0 deg")), mesh=MESH
    )
    assert not found.met
    assert "higher" in found.ways.values() or "lower" in found.ways.values()
    assert set(found.left) == {"no angle of attack", "no pitch rate"}
    text = " ".join(two_table(found, {READING: 8.0, "nock.slope": 0.0}).split())
    assert "NO ANSWER: nothing in range meets both aims." in text
    assert "your range: -5 to 0 deg; at its upper end, still more may help" in text
    assert "e-1" not in text  # no rounding noise beside an end
    assert "iden the range" not in text


def test_a_bolt_is_never_turned_past_the_file_s_limit() -> None:
    setup = measured("club-outdoor").replace(
        **{"limits.most_bolt_turns": "0.01 turn", "nock.locators.reading": "12 mm", "limbs.lean_per_turn": "0.6 deg"}
    )
    found = tune(setup, "no angle of attack", path="lower_limb.bolt_turns", hold="reading", others=False, mesh=MESH)
    assert not found.met
    assert abs(found.value) == pytest.approx(0.01)


def test_two_settings_meet_two_aims() -> None:
    found = tune_two(
        measured("club-outdoor"), ("nock.locators.reading", "nock.slope"),
        within=(None, ("-5 deg", "30 deg")), mesh=MESH,
    )  # fmt: skip
    values, launch = found
    assert found.met
    assert set(found.ways.values()) == {""}
    assert abs(launch.clear.angle_of_attack) < 0.01
    assert abs(launch.clear.pitch_rate) < 0.02
    assert launch.reading == pytest.approx(values["nock.locators.reading"], abs=1e-6)


def test_a_compromise_over_crawls_lies_between_the_single_ones() -> None:
    options = {"aim": "no angle of attack", "others": False, "mesh": MESH, "within": ("0 mm", "30 mm")}
    setup = measured("barebow")
    both = tune(setup, crawls=("0 mm", "20 mm"), **options).value  # type: ignore[arg-type]
    single = sorted(tune(setup, crawls=(crawl,), **options).value for crawl in ("0 mm", "20 mm"))  # type: ignore[arg-type]
    assert single[0] < both < single[1]


def test_a_jump_where_the_arm_is_just_missed_is_told_and_kept_off() -> None:
    """Fingers that roll the string little: an arm that reaches further carries the shaft to the end, nose down."""
    bow = measured("club-outdoor").replace(**{READING: "4 mm", "archer.side_roll": "4 deg"})
    found = tune(bow, "no angle of attack", path="rest.reach", within=("4 mm", "12 mm"), others=False, mesh=MESH)
    assert not found.met
    (jump,) = found.jumps
    for ahead, attack, leaves in ((-0.01, jump.below, True), (0.01, jump.above, False)):
        launch = shoot(bow.replace(**{"rest.reach": f"{jump.value + ahead} mm"}), MESH, trace=False)
        assert launch.clear.angle_of_attack == pytest.approx(attack, abs=0.02)
        assert np.isfinite(launch.passage.arm_left_at) == leaves
    assert jump.below - jump.above > 0.2
    assert jump.value - found.value > 0.15  # not the nearest to zero, right beside the jump
    text = told(found, 4.75)
    assert f"At {jump.value:.4g} mm the angle of attack at clear jumps from +0.02 to -0.25 deg" in text
    assert "no setting to tune by" in text


def test_unknown_aim() -> None:
    assert aim_of("no-pitch-rate").name == "no pitch rate"
    with pytest.raises(SetupError, match="is not known"):
        aim_of("best")


def test_a_window_that_is_open_within_the_range() -> None:
    found = tune(measured("club-outdoor"), "no angle of attack", within=("5 mm", "8 mm"), size="0.5 deg",
                 others=False, mesh=MESH)  # fmt: skip
    assert all(np.isnan(found.window))


@pytest.mark.parametrize(
    ("path", "within", "limit"),
    [
        ("archer.draw_length", ("26.5 in", "28.9 in"), {"limits.longest_draw": "27 in"}),
        ("arrow.point_mass", None, {"limits.longest_draw": "27.9 in"}),
        ("upper_limb.bolt_turns", ("0.6 turn", "3 turn"), {"limits.most_bolt_turns": "0.3 turn"}),
    ],
)
def test_no_advice_leaves_the_limits_in_the_file(path: str, within: tuple[str, str] | None, limit: dict) -> None:
    reading = {} if path == "arrow.point_mass" else {READING: "5.5 mm"}
    setup = measured("club-outdoor").replace(**limit, **reading, **PLAIN)
    with pytest.raises(SetupError, match=r"passes a limit|lies past limits"):
        tune(setup, "no angle of attack", path=path, within=within, others=False, mesh=MESH)


def test_no_advice_passes_the_limbs_strain_limit() -> None:
    tables = {
        "limbs.width": ("42 mm", "16 mm"), "limbs.thickness": ("8 mm", "5 mm"), "limbs.modulus": "30 GPa",
        "limbs.strain_limit": 0.005, READING: "6.6 mm",
    }  # fmt: skip
    with pytest.raises(SetupError, match=r"passes a limit: The .* limb's belly is strained"):
        tune(measured("club-outdoor").replace(**tables), "no angle of attack", path="rest.height",
             within=("40 mm", "55 mm"), others=False, mesh=MESH)  # fmt: skip


def test_locators_are_tuned_on_a_bow_that_passes_a_limit() -> None:
    found = tune(measured("club-outdoor").replace(**{"limits.longest_draw": "27.9 in"}), "no angle of attack",
                 others=False, mesh=MESH)  # fmt: skip
    assert found.launch.limits_passed == ("limits.longest_draw",)
    assert tune_table(found, 8.0).splitlines()[1].startswith("  ! Draw length 28.00 in is over the maker's")


def test_two_that_are_the_same_are_refused() -> None:
    setup = measured("club-outdoor")
    with pytest.raises(SetupError, match="given twice"):
        tune_two(setup, (READING, READING), mesh=MESH)
    with pytest.raises(SetupError, match="given twice"):
        tune_two(setup, (READING, "archer.pressure_point"), ("no pitch rate", "no pitch rate"), mesh=MESH)


def test_today_of_what_is_measured_is_what_was_measured() -> None:
    assert today(measured("club-outdoor"), "bow.draw_weight", MESH) == pytest.approx(34.0)


@pytest.mark.parametrize(
    "light",
    [
        {"arrow.point_mass": "5 gr", "arrow.mass_per_length": "3 gr/in"},
        {"limits.lightest_arrow": "25 g"},
        {"limits.lightest_arrow_per_weight": "9 gr/lbf"},
    ],
)
def test_a_bow_that_must_not_be_shot_is_not_tuned(light: dict[str, str]) -> None:
    with pytest.raises(SetupError, match="DO NOT SHOOT"):
        tune(measured("club-outdoor").replace(**light), others=False, mesh=MESH)


def test_bolts_are_turned_no_farther_than_two_turns_where_no_limit_is_known() -> None:
    with pytest.raises(SetupError, match=r"goes past 2 turns.*most_bolt_turns"):
        tune(measured("club-outdoor"), "no angle of attack", path="lower_limb.bolt_turns",
             within=("-9 turn", "9 turn"), others=False, mesh=MESH)  # fmt: skip


def test_what_contradicts_the_file_at_some_values_is_left_out() -> None:
    found = tune(measured("club-outdoor"), "no angle of attack", path="rest.droop", others=False, mesh=MESH)
    values = [value for value, _ in found.failed]
    assert (values[0], values[-1]) == pytest.approx((0.0004, 30.0))
    assert all("rest.stiffness" in reason for _, reason in found.failed)
    assert np.isfinite(found.measure)


def test_a_range_in_which_nothing_can_be_shot_is_refused_with_the_reason() -> None:
    with pytest.raises(SetupError, match=r"nock.floor: 6 mm is more than nock.height"):
        tune(measured("club-outdoor"), "no angle of attack", path="nock.floor", within=("6 mm", "12 mm"), others=False,
             mesh=MESH)  # fmt: skip
    with pytest.raises(SetupError, match=r"archer.hold_ratio|unknown path"):
        tune(measured("club-outdoor"), "no angle of attack", path="archer.hold_ratio", others=False, mesh=MESH)


def test_a_long_move_is_made_in_steps() -> None:
    found = tune(measured("club-outdoor"), "no angle of attack", others=False, mesh=MESH)
    at, reading = found.value, both_units(1e-3 * found.value)
    far = tune_table(found, at + 3.4)
    halfway = both_units(1e-3 * (at + 0.4))
    there = f"locators DOWN 3.0 mm (1/8 in): from {both_units(1e-3 * (at + 3.4))} to {halfway}, by the underside"
    assert f"{there}; then shoot again, the best estimate is {reading}" in " ".join(far.split())
    assert max(len(line) for line in far.splitlines()) <= 100
    near = " ".join(tune_table(found, at + 2.6).split())
    assert f"locators DOWN 2.6 mm (1/8 in): from {both_units(1e-3 * (at + 2.6))} to {reading}" in near
    assert "then shoot again" not in near
    assert "let bare shafts decide" in " ".join(tune_table(found, 8.0).split())
