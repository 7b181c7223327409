"""Sensitivity and uncertainty: each the other's check."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
import xarray

from archerysim.equipment import SetupError, filled
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.tuning.together import together_reading
from archerysim.study.tuning.zero_attack import zero_attack_reading
from archerysim.study.uncertainty.inputs import USUAL, Input, inputs_from, usual_inputs, with_reading_given
from archerysim.study.uncertainty.sensitivity import answers, answers_in, sensitivity
from archerysim.study.uncertainty.uncertainty import Uncertainty, uncertainty
from tests.support.shot.example_bows import built, fitted, measured

MESH = "coarse"
UNSURE = {"nock.slope": "0.3 deg", "rest.height": "0.3 mm", "bow.upper_tiller": "0.5 mm"}


@cache
def found() -> xarray.Dataset:
    return sensitivity(measured("club-outdoor"), UNSURE, mesh=MESH, workers=1, progress=False)


@cache
def spread() -> Uncertainty:
    return uncertainty(measured("club-outdoor"), UNSURE, draws=32, mesh=MESH, workers=1, progress=False)


def test_slopes_are_those_of_the_answers() -> None:
    """Searched for from the same two readings, by which the sight is found too."""
    setup = measured("club-outdoor")
    row = found().sel(input="rest.height")
    first = answers(FittedBow.of(setup, MESH)).first()
    high, low = (
        answers(FittedBow.of(setup.replace(**{"rest.height": f"{h} mm"}), MESH), first).values for h in (45.3, 44.7)
    )
    for k, (name, _, _) in enumerate(answers_in(2)):
        assert float(row[f"{name}_per_spread"]) == pytest.approx(0.5 * (high - low)[k], rel=1e-6, abs=1e-9)
        assert float(row[f"{name}_per_unit"]) == pytest.approx(float(row[f"{name}_per_spread"]) / 0.3)
    assert str(row["unit"].values) == "mm"


def test_ranked_by_what_brings_bare_and_fletched_together() -> None:
    size = np.abs(found()["together_reading_per_spread"].values)
    assert np.all(np.diff(size) <= 0.0)
    assert str(found()["input"].values[0]) == "nock.slope"


def test_both_readings_are_those_of_the_searches() -> None:
    bow = built("club-outdoor", MESH)
    assert float(found()["together_reading"]) == pytest.approx(together_reading(bow, MESH).reading, abs=0.01)
    assert float(found()["zero_attack_reading"]) == pytest.approx(zero_attack_reading(bow, MESH).reading, abs=0.01)


def test_a_limb_stiffer_than_its_fellow_costs_more_in_bare_shafts_than_in_angle() -> None:
    """By the pitch rate that it brings along: the two readings do not move together."""
    one = sensitivity(measured("club-outdoor"), {"bow.stiffness_ratio": "5 %"}, mesh=MESH, progress=False)
    together, zero_attack = (
        float(one[f"{name}_per_spread"][0]) for name in ("together_reading", "zero_attack_reading")
    )
    assert together < 1.7 * zero_attack < 0.0
    assert together < -1.0
    # nose down, as a higher reading turns it
    assert float(one["pitch_rate_per_spread"][0]) < -0.2


def test_where_a_bow_has_no_best_reading_the_other_answers_are_told() -> None:
    """A rest that reaches so far out that the shaft never leaves it sideways, and a string that hardly rolls."""
    setup = measured("club-outdoor").replace(**{"rest.reach": "15 mm", "archer.side_roll": "4 deg"})
    told = sensitivity(setup, {"nock.slope": "1 deg"}, mesh=MESH, progress=False)
    assert np.isnan(float(told["together_reading"]))
    assert np.isnan(float(told["zero_attack_reading_per_spread"][0]))
    assert np.isfinite(float(told["pitch_per_spread"][0]))
    assert "no reading between 0 and 25 mm by the underside brings" in str(told["reason"].values[0])
    sure = uncertainty(setup, {"nock.slope": "1 deg"}, draws=2, mesh=MESH, progress=False)
    assert sure.failed == 2
    assert np.isnan(sure.spread[:2]).all()
    assert np.isfinite(sure.spread[2:]).all()


def test_sideways_answers_are_those_of_both_planes_alone() -> None:
    """What moves the arrow sideways leaves what is up and down nearly alone, and is not felt in one plane."""
    tips = {"limbs.side_stiffness": "40 %"}
    both, flat = (
        sensitivity(measured("club-outdoor"), tips, mesh=MESH, planes=planes, progress=False) for planes in (2, 1)
    )
    assert [name for name, _, _ in answers_in(1)] == [name for name, _, _ in answers_in(2)][:-1]
    assert "side_angle_of_attack" not in flat
    launch = fitted("club-outdoor", MESH).launch()
    assert float(both["side_angle_of_attack"]) == pytest.approx(launch.clear.side_angle_of_attack, abs=1e-6)
    assert abs(float(both["side_angle_of_attack_per_spread"][0])) > 0.05
    assert abs(float(both["angle_of_attack_per_spread"][0])) < 0.005
    assert float(flat["angle_of_attack_per_spread"][0]) == 0.0
    sure = uncertainty(measured("club-outdoor"), tips, draws=2, mesh=MESH, progress=False)
    assert sure.names[-1] == "side_angle_of_attack"
    assert sure.to_xarray()["side_angle_of_attack_slope"].attrs["units"] == "degree"


def test_linear_propagation_is_the_root_of_the_slopes_squares() -> None:
    for k, name in enumerate(("together_reading", "zero_attack_reading")):
        joined = np.sqrt((found()[f"{name}_per_spread"].values ** 2).sum())
        assert spread().names[k] == name
        assert spread().linear[k] == pytest.approx(joined, rel=1e-6)


def test_quasi_monte_carlo_agrees_where_the_answer_is_straight() -> None:
    result = spread()
    assert result.failed == 0
    assert result.spread == pytest.approx(result.linear, rel=0.15)
    assert np.all(np.abs(result.mean - result.value) < 0.15 * result.linear)
    assert np.all(result.low < result.value)
    assert np.all(result.value < result.high)


def test_the_same_seed_gives_the_same_sample() -> None:
    again = uncertainty(measured("club-outdoor"), {"nock.slope": "1 deg"}, draws=2, mesh=MESH, progress=False)
    twice = uncertainty(measured("club-outdoor"), {"nock.slope": "1 deg"}, draws=2, mesh=MESH, progress=False)
    np.testing.assert_array_equal(again.sample, twice.sample)


def test_total_indices_tell_the_slope_from_the_rest() -> None:
    result = uncertainty(
        measured("club-outdoor"), {"nock.slope": "1 deg", "rest.height": "0.2 mm"}, draws=8, indices=True,
        mesh=MESH, progress=False,
    )  # fmt: skip
    assert result.total is not None
    assert result.total.shape == (2, 8)
    assert np.all(result.total[0, :2] > 0.8)
    assert np.all(result.total[1, :2] < 0.2)


def test_usual_inputs_are_those_the_setup_has() -> None:
    setup = measured("club-outdoor")
    paths = [one.path for one in usual_inputs(setup, 1)]
    assert "string.construction_factor" in paths
    assert "string.axial_stiffness" not in paths
    assert not any(one.path.startswith("bow.") for one in usual_inputs(built("club-outdoor", MESH), 1))
    full = filled(setup)
    for one in usual_inputs(setup, 1):
        setup.replace(one.moved(full, one.size(full)))  # allowed values all
    assert len({one.path for one in USUAL}) == len(USUAL)


SIDEWAYS = {
    "archer.side_roll", "archer.side_hold", "archer.cant", "rest.reach", "side.offset", "side.stiffness",
    "side.preload", "limbs.side_stiffness",
}  # fmt: skip


def test_what_only_a_shot_in_both_planes_feels_is_none_of_the_flat_ones_usual_inputs() -> None:
    setup = measured("club-outdoor")
    flat, both = usual_inputs(setup, 1), usual_inputs(setup, 2)
    assert flat == tuple(one for one in both if one.path not in SIDEWAYS)
    assert {one.path for one in both} - {one.path for one in flat} == SIDEWAYS
    assert inputs_from(setup, None, 1) == flat
    assert inputs_from(setup, None, 2) == both
    full = filled(setup)
    sizes = {one.path: one.shown(full) for one in both if one.path in SIDEWAYS}
    assert sizes["archer.side_roll"] == (pytest.approx(3.0), "deg")
    assert sizes["side.stiffness"] == (pytest.approx(600.0), "N/m")
    assert sizes["limbs.side_stiffness"] == (pytest.approx(0.4 * full.upper_limb.side_stiffness), "N/m")
    for one in both:
        setup.replace(one.moved(full, one.size(full)))  # allowed values all


def test_sideways_inputs_are_those_the_setup_has() -> None:
    """A shelf has no reach, a plate no preload; limbs that differ are moved one by one."""
    setup = measured("longbow").replace(**{"upper_limb.side_stiffness": "900 N/m"})
    found = {one.path for one in usual_inputs(setup, 2)} - {one.path for one in usual_inputs(setup, 1)}
    limbs = {f"{limb}.side_stiffness" for limb in ("upper_limb", "lower_limb")}
    assert found == SIDEWAYS - {"rest.reach", "side.preload", "limbs.side_stiffness"} | limbs


def test_tips_changed_sideways_on_the_bow_as_built_go_into_its_file() -> None:
    """Nothing that was measured depends on them."""
    bow = with_reading_given(fitted("club-outdoor", MESH).with_changes({"limbs.side_stiffness": "700 N/m"}))
    assert bow.given.form == "measured"
    assert bow.given.upper_limb.side_stiffness == bow.setup.lower_limb.side_stiffness == 700.0
    with pytest.raises(SetupError, match="and nothing has been measured on it since"):
        with_reading_given(fitted("club-outdoor", MESH).with_changes({"limbs.tip_mass": "4 g"}))


def paths_of(**changes: Any) -> set[str]:
    """The usual inputs of the limbs' masses and of the arrow's speed, of the outdoor club bow with some changes."""
    setup = measured("club-outdoor").with_si(**{"limbs.butt": 0.08, **changes})
    paths = {one.path for one in usual_inputs(setup, 1)}
    return {path for path in paths if path.endswith(("butt_mass", "balance", "arrow_speed"))}


def test_what_is_unsure_of_the_limbs_masses_is_what_they_follow_from() -> None:
    """One butt for both limbs alike, unless they differ; none where a balance point or a speed says what moves."""
    assert paths_of() == {"limbs.butt_mass"}
    assert paths_of(**{"limbs.butt": 0.0}) == set()
    assert paths_of(**{"upper_limb.mass": 0.17}) == {"upper_limb.butt_mass", "lower_limb.butt_mass"}
    assert paths_of(**{"limbs.balance": 0.28}) == {"limbs.balance"}
    assert paths_of(**{"bow.arrow_speed": 50.0}) == {"bow.arrow_speed"}
    assert paths_of(**{"bow.arrow_speed": 50.0, "limbs.mass": None}) == {"bow.arrow_speed", "limbs.butt_mass"}


def test_shares_stay_shares() -> None:
    full = filled(measured("club-outdoor"))
    moved = Input("archer.finger_shares.0", 0.1, False, "").moved(full, 0.1)["archer.finger_shares"]
    assert sum(moved) == pytest.approx(1.0, abs=1e-12)
    assert moved[0] == pytest.approx(full.archer.finger_shares[0] + 0.1)


def test_bad_uncertainties() -> None:
    setup = measured("club-outdoor")
    assert inputs_from(setup, {"arrow.spine": "10 %"}, 1)[0].relative
    with pytest.raises(SetupError, match="not positive"):
        inputs_from(setup, {"arrow.spine": "0 in"}, 1)
    with pytest.raises(SetupError, match="no single number"):
        inputs_from(setup, {"archer.hold": "1"}, 1)
    with pytest.raises(SetupError, match="power of two"):
        uncertainty(setup, UNSURE, draws=10, mesh=MESH)
