"""Sensitivity and uncertainty: each the other's check."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import xarray

from archerysim.equipment import SetupError, filled
from archerysim.study.inputs import USUAL, Input, inputs_from, usual_inputs
from archerysim.study.sensitivity import answers, sensitivity
from archerysim.study.uncertainty import Uncertainty, uncertainty
from tests.shot.examples import built, measured

MESH = "coarse"
UNSURE = {"nock.slope": "0.5 deg", "rest.height": "0.3 mm", "bow.upper_tiller": "0.5 mm"}


@cache
def found() -> xarray.Dataset:
    return sensitivity(measured("club-outdoor"), UNSURE, mesh=MESH, progress=False)


@cache
def spread() -> Uncertainty:
    return uncertainty(measured("club-outdoor"), UNSURE, draws=64, mesh=MESH, progress=False)


def test_slopes_are_those_of_the_answers() -> None:
    setup = measured("club-outdoor")
    row = found().sel(input="rest.height")
    high, low = (answers(setup.replace(**{"rest.height": f"{h} mm"}), MESH) for h in (45.5, 44.5))
    assert float(row["nil_reading_per_spread"]) == pytest.approx(0.3 * (high - low)[0], rel=1e-2)
    assert float(row["nil_reading_per_unit"]) == pytest.approx(float(row["nil_reading_per_spread"]) / 0.3)
    assert str(row["unit"].values) == "mm"


def test_ranked_by_what_they_do_to_the_nil_reading() -> None:
    size = np.abs(found()["nil_reading_per_spread"].values)
    assert np.all(np.diff(size) <= 0.0)
    assert str(found()["input"].values[0]) == "nock.slope"


def test_linear_propagation_is_the_root_of_the_slopes_squares() -> None:
    together = np.sqrt((found()["nil_reading_per_spread"].values ** 2).sum())
    assert spread().linear[0] == pytest.approx(together, rel=1e-6)


def test_quasi_monte_carlo_agrees_where_the_answer_is_straight() -> None:
    result = spread()
    assert result.failed == 0
    assert result.spread == pytest.approx(result.linear, rel=0.15)
    assert np.all(np.abs(result.mean - result.value) < 0.15 * result.linear)
    assert np.all(result.low < result.value)
    assert np.all(result.value < result.high)


def test_the_same_seed_gives_the_same_sample() -> None:
    again = uncertainty(measured("club-outdoor"), {"nock.slope": "1 deg"}, draws=4, mesh=MESH, progress=False)
    twice = uncertainty(measured("club-outdoor"), {"nock.slope": "1 deg"}, draws=4, mesh=MESH, progress=False)
    np.testing.assert_array_equal(again.sample, twice.sample)


def test_total_indices_tell_the_slope_from_the_rest() -> None:
    result = uncertainty(
        measured("club-outdoor"), {"nock.slope": "1 deg", "rest.height": "0.2 mm"}, draws=8, indices=True,
        mesh=MESH, progress=False,
    )  # fmt: skip
    assert result.total is not None
    assert result.total.shape == (2, 6)
    assert result.total[0, 0] > 0.8
    assert result.total[1, 0] < 0.2


def test_usual_inputs_are_those_the_setup_has() -> None:
    setup = measured("club-outdoor")
    paths = [one.path for one in usual_inputs(setup)]
    assert "string.construction_factor" in paths
    assert "string.axial_stiffness" not in paths
    assert not any(one.path.startswith("bow.") for one in usual_inputs(built("club-outdoor", MESH)))
    full = filled(setup)
    for one in usual_inputs(setup):
        setup.replace(**one.moved(full, one.size(full)))  # allowed values all
    assert len({one.path for one in USUAL}) == len(USUAL)


def test_shares_stay_shares() -> None:
    full = filled(measured("club-outdoor"))
    moved = Input("archer.finger_shares.0", 0.1, False, "").moved(full, 0.1)["archer.finger_shares"]
    assert sum(moved) == pytest.approx(1.0, abs=1e-12)
    assert moved[0] == pytest.approx(full.archer.finger_shares[0] + 0.1)


def test_bad_uncertainties() -> None:
    setup = measured("club-outdoor")
    assert inputs_from(setup, {"arrow.spine": "10 %"})[0].relative
    with pytest.raises(SetupError, match="not positive"):
        inputs_from(setup, {"arrow.spine": 0.0})
    with pytest.raises(SetupError, match="no single number"):
        inputs_from(setup, {"archer.hold": "1"})
    with pytest.raises(SetupError, match="power of two"):
        uncertainty(setup, UNSURE, draws=10, mesh=MESH)
