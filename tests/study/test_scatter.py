"""What is drawn from shot to shot: keyed by seed and index, within the fields' ranges."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import SetupError, field_info, filled
from archerysim.study.groups.scatter import NO_SCATTER, SPREADS, Scatter, shots
from archerysim.study.groups.spread import ratio_of, spread_of
from tests.support.shot.example_bows import built

FORCE = 150.0  # [N]


def columns(scatter: Scatter, n: int = 400, seed: int = 1, **changes: Any) -> dict[str, np.ndarray]:
    setup = built("club-outdoor", "coarse").with_si(**{k.replace("__", "."): v for k, v in changes.items()})
    points = shots(scatter, filled(setup), n, seed, FORCE)
    return {axis.path: np.array(axis.values) for axis in points.axes}


def test_scatter_is_read_with_units() -> None:
    scatter = Scatter(
        draw_length="1/8 in", finger_shares=0.02, release_time="0.5 ms", hand_torque="0.1 N m", nock_fit="1 N"
    )
    assert scatter.size("draw_length") == pytest.approx(0.0254 / 8)
    assert scatter.size("release_time") == pytest.approx(0.5e-3)
    assert scatter.times(2.0).size("hand_torque") == pytest.approx(0.2)
    for name in SPREADS:
        with pytest.raises(SetupError, match=f"scatter.{name}"):
            Scatter(**{name: -1.0})


def test_standard_deviations_are_those_asked_for() -> None:
    found = columns(Scatter(), 4000)
    wanted = {
        "archer.draw_length": 3e-3, "archer.release_time": 1e-3, "archer.grip_torque": 0.3, "nock.grip": 1.0,
        "archer.finger_shares": 0.03,
    }  # fmt: skip
    assert set(found) == set(wanted)
    for path, size in wanted.items():
        # five standard errors, size / sqrt(2 n)
        assert np.abs(found[path].std(axis=0, ddof=1) - size).max() < 5.0 * size / np.sqrt(8000), path
    middle = filled(built("club-outdoor", "coarse"))
    assert found["archer.draw_length"].mean() == pytest.approx(middle.archer.draw_length, abs=5 * 3e-3 / np.sqrt(4000))
    together = found["archer.release_time"]
    assert np.ptp(together - together[:, :1], axis=0).max() < 1e-15


def test_shots_are_keyed_by_seed_and_index() -> None:
    few, many, other = columns(Scatter(), 5), columns(Scatter(), 9), columns(Scatter(), 5, seed=2)
    for path, values in few.items():
        np.testing.assert_array_equal(values, many[path][:5])
        assert (values != other[path]).any(axis=-1).all() if values.ndim > 1 else (values != other[path]).all()


def test_the_same_hand_moves_as_far_in_standard_deviations() -> None:
    small, large = columns(Scatter().times(0.01)), columns(Scatter().times(0.02))
    middle = columns(NO_SCATTER)
    for path in small:
        np.testing.assert_allclose(
            large[path] - middle[path], 2.0 * (small[path] - middle[path]), rtol=1e-6, atol=1e-12
        )


def test_cut_off_at_the_allowed_ranges() -> None:
    wide = Scatter("50 mm", 0.3, "20 ms", "5 N m", "20 N")
    found = columns(wide, archer__draw_length="35.9 in", nock__grip="0 N", archer__finger_shares=(0.0, 0.9, 0.1))
    for path in ("archer.draw_length", "archer.release_time", "archer.grip_torque", "nock.grip"):
        info = field_info(path)
        assert found[path].min() >= info.low
        assert found[path].max() <= info.high
    shares = found["archer.finger_shares"]
    assert shares.min() >= 0.0
    np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    # half a normal distribution: its mean is size sqrt(2 / pi), less what is cut off at 50 N (1.2 %)
    assert found["nock.grip"].mean() == pytest.approx(20.0 * np.sqrt(2.0 / np.pi), rel=0.1)


def test_a_pressure_point_moves_by_the_torque_over_the_draw_force() -> None:
    torque = columns(Scatter())["archer.grip_torque"]
    point = columns(Scatter(), archer__pressure_point="5 mm")
    assert "archer.grip_torque" not in point
    np.testing.assert_allclose(point["archer.pressure_point"], 0.005 + torque / FORCE, rtol=1e-9)


def test_interval_of_a_standard_deviation_against_scipy() -> None:
    """A general-purpose library's interval, from the distribution itself."""
    from scipy.stats import chi2

    values = np.random.default_rng(3).normal(4.0, 2.0, 17)
    found = spread_of(np.append(values, np.nan))
    assert found.count == 17
    assert found.deviation == pytest.approx(np.std(values, ddof=1))
    assert found.full == pytest.approx(values.max() - values.min())
    squares = 16 * found.deviation**2
    assert chi2.cdf(squares / found.high**2, 16) == pytest.approx(0.025)
    assert chi2.sf(squares / found.low**2, 16) == pytest.approx(0.025)
    low, high = chi2(16).interval(0.95)
    assert (found.low, found.high) == pytest.approx((np.sqrt(squares / high), np.sqrt(squares / low)))


def test_interval_covers_the_truth_as_often_as_it_says() -> None:
    random = np.random.default_rng(5)
    covered = [one.low <= 1.0 <= one.high for one in (spread_of(random.normal(size=8)) for _ in range(2000))]
    assert np.mean(covered) == pytest.approx(0.95, abs=5 * np.sqrt(0.95 * 0.05 / 2000))


def test_spread_of_too_little() -> None:
    assert np.isnan(spread_of(np.array([np.nan, 1.0])).deviation)
    assert spread_of(np.array([2.0, 2.0])).high == 0.0


def test_ratio_of_paired_groups() -> None:
    """At the ends of the interval scaled sum and difference correlate just so far that Pearson's test says 5 %."""
    from scipy.stats import pearsonr

    random = np.random.default_rng(11)
    x = random.normal(size=25)
    y = 0.6 * x + 0.5 * random.normal(size=25)
    found = ratio_of(x, y)
    assert found.value == pytest.approx(x.std() / y.std())
    for end in (found.low, found.high):
        assert pearsonr(x + end * y, x - end * y).pvalue == pytest.approx(0.05, rel=1e-6)
    back = ratio_of(y, x)
    assert (back.low, back.high) == pytest.approx((1.0 / found.high, 1.0 / found.low))
    assert np.isnan(ratio_of(x, np.zeros(25)).value)
    assert ratio_of(3.0 * x, x).told_apart
    assert not ratio_of(x, random.permutation(x)).told_apart


def test_shares_that_never_make_sense() -> None:
    class Never(np.random.Generator):
        def standard_normal(self, *_: Any) -> Any:
            return np.array([9.0, -9.0, 0.0])

    from archerysim.study.groups.scatter import _shares

    with pytest.raises(SetupError, match="hardly any draw"):
        _shares((0.3, 0.5, 0.2), 0.3, Never(np.random.PCG64(0)))
