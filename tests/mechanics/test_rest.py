"""The arrow rest: where it touches the shaft, how far, and how hard."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.shot.arrays.build import make_support
from tests.support.mechanics.derived_elements import rest_press
from tests.support.mechanics.random_rows import random_row
from tests.support.shot.reference_case import reference


def test_cell_over_finds_the_cell_from_any_guess() -> None:
    x = np.array([-9.0, -8.0, 0.0, 0.1, 0.25, 0.45, 0.7])
    n = x.size
    for at in (0.0, 0.05, 0.1, 0.3, 0.69, 0.7):
        for guess in range(n):
            j = cell_over(x, 2, n, at, guess)
            assert x[j] <= at <= x[j + 1]
            assert j >= 2
    for at in (-0.001, -8.5, 0.701):
        for guess in range(n):
            assert cell_over(x, 2, n, at, guess) == -1


@pytest.mark.parametrize("seed", range(12))
def test_gap_its_rate_and_place(seed: int) -> None:
    row = random_row(np.random.default_rng(seed))
    su, a, n = row.support, row.marks.tail, row.x.size
    j = cell_over(row.x, a, n, su.x, a)
    g, rate, xi, slope = rest_gap(su, row.x, row.y, row.vy, j, su.x, su.y, -0.2)
    given = (row.x[j], row.y[j], row.x[j + 1], row.y[j + 1], su.x, su.y, su.half_diameter)
    press, gradient, _ = (f(*given) for f in rest_press())
    assert g == pytest.approx(press, abs=1e-15)
    assert row.x[j] + xi * (row.x[j + 1] - row.x[j]) == pytest.approx(su.x, abs=1e-15)
    assert slope == pytest.approx((row.y[j + 1] - row.y[j]) / (row.x[j + 1] - row.x[j]))
    # the rate is that of the point of the shaft over the rest, along y: what the force along y works on
    shaft = gradient[[1, 3]] @ row.vy[[j, j + 1]]
    assert rate == pytest.approx(-0.2 + shaft, abs=1e-12)


def test_rest_pushes_only_while_it_touches() -> None:
    su = make_support(reference())
    assert rest_force(su, -1e-9, 100.0) == 0.0
    assert rest_force(su, 0.0, 100.0) == 0.0
    assert rest_force(su, 1e-4, -100.0) == 0.0
    assert rest_force(su, 1e-3, 0.0) == pytest.approx(0.8)
    assert rest_force(su, 1e-3, -0.2) == pytest.approx(0.7)
