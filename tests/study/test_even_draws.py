"""Few draws of many inputs: every margin evenly, no two columns alike."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from archerysim.equipment import SetupError
from archerysim.study.uncertainty.even_draws import even_normal


def test_every_margin_is_the_normal_one_in_even_steps() -> None:
    normal = even_normal(53, 64, 3)
    steps = norm.ppf((np.arange(64) + 0.5) / 64)
    np.testing.assert_allclose(np.sort(normal, axis=0), np.tile(steps[:, None], 53))


def test_columns_have_nothing_to_do_with_one_another() -> None:
    """By chance 64 draws of 53 numbers have correlations of an eighth, the largest near one half."""
    normal = even_normal(53, 64, 0)
    apart = np.corrcoef(normal, rowvar=False) - np.eye(53)
    assert np.abs(apart).max() < 0.06
    assert apart.std() < 0.015


def test_a_sum_of_many_effects_is_met_with_few_draws() -> None:
    """Its standard deviation within 4 % for every seed, where draws by chance miss it by 9 % in one of three cases."""
    effects = np.random.default_rng(1).normal(size=53)
    whole = np.sqrt((effects**2).sum())
    for seed in range(10):
        assert (even_normal(53, 64, seed) @ effects).std() == pytest.approx(whole, rel=0.04)


def test_seeds_and_bad_requests() -> None:
    np.testing.assert_array_equal(even_normal(5, 16, 7), even_normal(5, 16, 7))
    assert not np.array_equal(even_normal(5, 16, 7), even_normal(5, 16, 8))
    assert even_normal(9, 4, 0).shape == (4, 9)  # fewer draws than numbers
    with pytest.raises(SetupError, match="draws: 1 is not a number of draws"):
        even_normal(3, 1, 0)
    with pytest.raises(SetupError, match="seed: -1 is not a seed"):
        even_normal(3, 8, -1)
