"""Derivatives, designs and indices of a problem: against wider shots, the priors, and what is known by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

import archerysim
from archerysim import SetupError
from archerysim.equipment import filled
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from tests.support.shot.example_bows import READING, measured


@pytest.fixture(scope="module")
def bow() -> FittedBow:
    return FittedBow.of(measured("club-outdoor"), "coarse", planes=1)


# derivatives


def test_derivatives_are_checked_differences(bow: FittedBow) -> None:
    """Against a polynomial through more and wider shots; of a number that is known, the reading itself, it is one."""
    asked = archerysim.problem(bow, {READING: "0.5 mm", "arrow.point_mass": "5 gr"}, ("pitch", "speed", "reading"))
    found = asked.derivatives()
    assert found.reasons == ("", "")
    assert found.values[0, 2] == pytest.approx(1.0, abs=1e-6)
    for k, wide in enumerate((0.2, 2.0)):
        by = wide * np.linspace(-1.0, 1.0, 7)
        x = np.tile(asked.today, (7, 1))
        x[:, k] += by
        for m, values in enumerate(asked(x).T[:2]):
            slope = np.polynomial.Polynomial.fit(by, values, 4).deriv()(0.0)
            assert found.values[k, m] == pytest.approx(slope, abs=max(5.0 * found.errors[k, m], 0.01 * abs(slope)))
    assert (found.errors[:, :2] < 0.05 * abs(found.values[:, :2])).all()


def test_a_contact_that_switches_is_told_instead() -> None:
    """Between 5 and 8 mm club-outdoor ceases to strike its arm: where it just does there is no derivative."""
    bow = FittedBow.of(measured("club-outdoor"), "coarse")
    asked = archerysim.problem(bow, {READING: "4 mm to 9 mm", "arrow.point_mass": "5 gr"}, "pitch")

    def strikes(reading: float) -> bool:
        return bow.launch({READING: (reading, "mm")}).passage.arm_strikes > 0.0

    low, high = 5.0, 8.0
    assert strikes(low)
    assert not strikes(high)
    while high - low > 0.002:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if strikes(middle) else (low, middle)
    found = asked.derivatives([0.5 * (low + high), 90.0])
    assert "a contact switches within 0.005 mm" in found.reasons[0]
    assert "arm" in found.reasons[0]
    assert np.isnan(found.values[0]).all()
    assert asked.derivatives([8.0, 90.0]).reasons == ("", "")


def test_derivatives_at_the_end_of_a_range_and_without_a_shot(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {READING: "4 mm to 12 mm", "archer.draw_length": "20 in to 36 in"}, "pitch")
    assert asked.derivatives([4.0, 28.0]).reasons[0].startswith("nearer to the end of its range than 0.008 mm")
    with pytest.raises(SetupError, match="has no shot"):
        asked.derivatives([8.0, 35.9])
    with pytest.raises(SetupError, match="not all positive"):
        asked.derivatives(steps=0.0)


# designs and indices


def test_draws_have_the_priors_and_the_rank_correlation(bow: FittedBow) -> None:
    known = {READING: "0.5 mm", "arrow.point_mass": "60 gr to 130 gr", "nock.slope": (stats.gumbel_r(0.0, 1.0), "deg")}
    asked = archerysim.problem(bow, known, "pitch")
    wanted = np.array([[1.0, 0.7, -0.4], [0.7, 1.0, 0.0], [-0.4, 0.0, 1.0]])
    for way in ("sobol", "latin", "chance"):
        x = asked.draw(2048, way=way, seed=5, correlation=wanted)
        assert stats.spearmanr(x).statistic == pytest.approx(wanted, abs=0.06)
        assert stats.kstest(x[:, 1], stats.uniform(60.0, 70.0).cdf).pvalue > 1e-3
        assert stats.kstest(x[:, 2], stats.gumbel_r(0.0, 1.0).cdf).pvalue > 1e-3
        alone = asked.draw(2048, way=way, seed=5)
        assert abs(stats.spearmanr(alone).statistic - np.eye(3)).max() < 0.06
    with pytest.raises(SetupError, match="no symmetric matrix"):
        asked.draw(8, correlation=[[1.0, 0.2], [0.2, 1.0]])
    with pytest.raises(SetupError, match="no symmetric matrix"):
        asked.draw(8, correlation=[["a"]])
    with pytest.raises(SetupError, match="not positive definite"):
        asked.draw(8, correlation=[[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]])
    with pytest.raises(SetupError, match="not a power of two"):
        asked.draw(10)
    with pytest.raises(SetupError, match="is not known"):
        asked.draw(8, way="wide")


def of_a_textbook(launch: Launch) -> float:
    """Reading and mass as x and y: x + y + x y, each evenly within 0 and 1; a function whose indices are known."""
    x = (launch.reading - 6.0) / 2.0
    y = (1e6 * filled(launch.setup).arrow.point_mass / 64.79891 - 85.0) / 10.0
    return x + y + x * y


def test_indices_are_those_of_a_textbook(bow: FittedBow) -> None:
    """Var: x and y alone 9/48 each, together 1/144, by hand."""
    known = {READING: "6 mm to 8 mm", "arrow.point_mass": "85 gr to 95 gr"}
    asked = archerysim.problem(bow, known, {"own": of_a_textbook})
    found = asked.indices(64, seed=2)
    alone, more = (9.0 / 48.0), 1.0 / 144.0
    whole = 2.0 * alone + more
    assert found.shots == 4 * 64
    assert found.failed == 0
    assert found.first[:, 0] == pytest.approx([alone / whole] * 2, abs=0.02)
    assert found.total[:, 0] == pytest.approx([(alone + more) / whole] * 2, abs=0.02)
    for told, range_ in ((found.first, found.first_range), (found.total, found.total_range)):
        assert (range_[..., 0] < told).all()
        assert (told < range_[..., 1]).all()
    assert found.regression[:, 0] == pytest.approx([math.sqrt(alone / whole)] * 2, abs=0.02)
    assert found.rank[:, 0] == pytest.approx(found.regression[:, 0], abs=0.05)
    assert found.explained[0] == pytest.approx(1.0 - more / whole, abs=0.01)
    again = asked.indices(64, seed=2)
    assert again.first_range.tolist() == found.first_range.tolist()
    table = found.to_xarray()
    assert table["first"].sel(input=READING, output="own") == found.first[0, 0]
    assert table.sizes["point"] == 64


def test_indices_of_one_input_and_with_lost_shots(bow: FittedBow) -> None:
    """One input has all of the variance; base vectors with a lost shot are left out and counted."""
    found = archerysim.problem(bow, {READING: "6 mm to 10 mm"}, "pitch").indices(16)
    assert found.first[0, 0] == pytest.approx(1.0, abs=0.15)
    assert found.total[0, 0] == pytest.approx(1.0, abs=0.15)
    asked = archerysim.problem(bow, {"archer.draw_length": "25 in to 31 in"}, "speed")
    lost = asked.evaluate(np.linspace(25.0, 31.0, 12)[:, None]).failed
    assert 0 < lost < 6  # the shaft comes off its rest
    part = asked.indices(16)
    assert 0 < part.failed < 8
    assert len(part.x) == 16 - part.failed
    assert np.isfinite(part.first).all()


def test_indices_without_shots_or_variance_are_refused(bow: FittedBow) -> None:
    asked = archerysim.problem(bow, {"archer.draw_length": "29 in to 36 in"}, "pitch")
    with pytest.raises(SetupError, match="base vectors give a shot"):
        asked.indices(8)
    with pytest.raises(SetupError, match="the same at every vector"):
        archerysim.problem(bow, {READING: "0.5 mm"}, {"own": one_everywhere}).indices(4)


def one_everywhere(launch: Launch) -> float:
    return 1.0
