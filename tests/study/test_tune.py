"""The nil reading and the tune by the aims that need no flight, and by flight."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.shot.bare import bare_difference
from archerysim.show.tuning import tune_table
from archerysim.study.aims import AIMS, aim_of
from archerysim.study.held import READING
from archerysim.study.tune import today, tune, tune_two
from archerysim.study.tuned import at_reading, nil_reading
from tests.shot.examples import built, measured

MESH = "coarse"


def test_nil_reading_leaves_no_angle_of_attack() -> None:
    found = nil_reading(built("club-outdoor", MESH), MESH)
    assert abs(found.launch.clear.angle_of_attack) < 1e-4
    assert found.launch.reading == pytest.approx(found.reading, abs=1e-3)
    assert found.shots <= 5
    high = at_reading(built("club-outdoor", MESH), 1e-3 * found.reading + 0.001, MESH)
    assert high.clear.angle_of_attack == pytest.approx(found.slope, rel=0.02)


def test_tune_by_the_angle_is_the_nil_reading() -> None:
    tuned = tune(measured("club-outdoor"), "no angle of attack", others=False, mesh=MESH)
    found = nil_reading(built("club-outdoor", MESH), MESH)
    assert tuned.value == pytest.approx(found.reading, abs=0.002)
    assert tuned.slope == pytest.approx(found.slope, rel=0.02)
    assert tuned.reading == pytest.approx(tuned.value, abs=1e-6)
    assert tuned.reading_top - tuned.reading == pytest.approx(5.8)
    low, high = tuned.window
    assert low < tuned.value < high
    for edge in (low, high):
        launch = at_reading(built("club-outdoor", MESH), 1e-3 * edge, MESH)
        assert abs(launch.clear.angle_of_attack) == pytest.approx(tuned.size, abs=0.005)


def test_bare_and_fletched_together() -> None:
    tuned = tune(measured("club-outdoor"), distance="18 m", mesh=MESH)
    assert tuned.distance == 18.0
    apart = bare_difference(tuned.launch, 18.0)
    assert abs(apart.height - apart.drag_and_mass) < 2e-4
    assert set(tuned.others) == set(AIMS) - {tuned.aim}
    # a bare shaft lands lower for a higher locator: slightly low is a higher reading
    assert tuned.slope < 0.0
    assert tuned.others["bare slightly low"] > tuned.value
    assert tuned.measure_unit == "mm"
    assert tuned.size == pytest.approx(5.5)


def test_no_answer_in_range_says_what_happens_at_its_ends() -> None:
    with pytest.raises(SetupError, match=r"no value in range.*deg at 15 mm and .*deg at 20 mm"):
        tune(measured("club-outdoor"), "no angle of attack", within=("15 mm", "20 mm"), others=False, mesh=MESH)


def test_a_bolt_is_never_turned_past_the_file_s_limit() -> None:
    setup = measured("club-outdoor").replace(
        **{"limits.most_bolt_turns": 0.01, "nock.locators.reading": "12 mm", "limbs.lean_per_turn": "0.6 deg"}
    )
    with pytest.raises(SetupError, match="no value in range"):
        tune(setup, "no angle of attack", path="lower_limb.bolt_turns", hold="reading", others=False, mesh=MESH)


def test_two_settings_meet_two_aims() -> None:
    values, launch = tune_two(
        measured("club-outdoor"), ("nock.locators.reading", "nock.slope"),
        within=(None, ("-5 deg", "30 deg")), mesh=MESH,
    )  # fmt: skip
    assert abs(launch.clear.angle_of_attack) < 0.01
    assert abs(launch.clear.pitch_rate) < 0.02
    assert launch.reading == pytest.approx(values["nock.locators.reading"], abs=1e-6)


def test_a_compromise_over_crawls_lies_between_the_single_ones() -> None:
    options = {"aim": "no angle of attack", "others": False, "mesh": MESH, "within": ("0 mm", "30 mm")}
    setup = measured("barebow")
    both = tune(setup, crawls=("0 mm", "20 mm"), **options).value  # type: ignore[arg-type]
    single = sorted(tune(setup, crawls=(crawl,), **options).value for crawl in ("0 mm", "20 mm"))  # type: ignore[arg-type]
    assert single[0] < both < single[1]


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
    reading = {} if path == "arrow.point_mass" else {READING: "6.6 mm"}
    setup = measured("club-outdoor").replace(**limit, **reading)
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


def test_a_range_that_cannot_be_tried_asks_for_another() -> None:
    with pytest.raises(SetupError, match=r"rest.droop: its whole range, .* cannot be tried.*--within"):
        tune(measured("club-outdoor"), "no angle of attack", path="rest.droop", others=False, mesh=MESH)


def test_a_long_move_is_made_in_steps() -> None:
    found = tune(measured("club-outdoor"), "no angle of attack", others=False, mesh=MESH)
    assert "3 mm at most at once" in tune_table(found, found.value + 3.4)
    assert "3 mm at most at once" not in tune_table(found, found.value + 2.6)
    assert "let bare shafts decide" in " ".join(tune_table(found, 8.0).split())
