"""Factor, solve and product of a matrix kept in its envelope, against NumPy's dense ones."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.arrays import Grid
from archerysim.mechanics.release.stable_step import envelope_times
from archerysim.mechanics.statics.envelope import add, factor, solve, solve_three
from archerysim.mechanics.statics.room import Matrix
from tests.support.mechanics.dense_matrices import dense, empty_matrix
from tests.support.mechanics.random_rows import random_row


def random_matrix(rng: np.random.Generator, m: int) -> tuple[Grid, Matrix]:
    """A random envelope of 2 x 2 blocks with random entries, not symmetric, strong enough on the diagonal."""
    first = np.repeat([2 * rng.integers(0, i + 1) for i in range(m // 2)], 2).astype(np.int64)
    start = np.concatenate(([0], np.cumsum(np.arange(m) - first))).astype(np.int64)
    grid = Grid(np.arange(0, m, 2, dtype=np.int64), start, first)
    matrix = empty_matrix(grid)
    matrix.low[:], matrix.up[:] = rng.normal(size=(2, matrix.low.size))
    matrix.diagonal[:] = rng.uniform(1.0, 2.0, m) * m
    return grid, matrix


@pytest.mark.parametrize("m", [2, 4, 6, 10, 18, 40])
@pytest.mark.parametrize("seed", range(5))
def test_solve(seed: int, m: int) -> None:
    rng = np.random.default_rng(seed)
    grid, parts = random_matrix(rng, m)
    matrix, b = dense(grid, parts), rng.normal(size=m)
    expected = np.linalg.solve(matrix, b)
    assert factor(grid, parts) == 0
    solve(grid, parts, b)
    np.testing.assert_allclose(b, expected, rtol=1e-11, atol=1e-13)


def test_three_at_once_are_three_in_turn() -> None:
    grid, parts = random_matrix(np.random.default_rng(7), 24)
    factor(grid, parts)
    together, apart = np.random.default_rng(8).normal(size=(2, 3, 24))
    apart[:] = together
    solve_three(grid, parts, *together)
    for b in apart:
        solve(grid, parts, b)
    np.testing.assert_allclose(together, apart, rtol=1e-12)


def test_factors_multiply_to_the_matrix() -> None:
    grid, parts = random_matrix(np.random.default_rng(3), 12)
    matrix = dense(grid, parts)
    factor(grid, parts)
    both = dense(grid, parts)
    np.testing.assert_allclose((np.tril(both, -1) + np.eye(12)) @ np.triu(both), matrix, atol=1e-12)


@pytest.mark.parametrize("m", [2, 6, 40])
def test_product(m: int) -> None:
    rng = np.random.default_rng(m)
    grid, parts = random_matrix(rng, m)
    v, out = rng.normal(size=m), np.empty(m)
    envelope_times(grid, parts, v, out)
    np.testing.assert_allclose(out, dense(grid, parts) @ v, rtol=1e-12, atol=1e-12)


def test_a_zero_pivot_is_told() -> None:
    grid, parts = random_matrix(np.random.default_rng(0), 6)
    for part in parts:
        part[:] = 0.0
    assert factor(grid, parts) == 1


@pytest.mark.parametrize(("last", "told"), [(1.0, 1), (2.0, 0)])
def test_a_zero_second_pivot_of_a_block_is_told(last: float, told: int) -> None:
    """A good matrix but for its last block, [[1, 1], [1, last]], alone in its rows and columns."""
    grid, kept = random_matrix(np.random.default_rng(0), 6)
    for part in (kept.low, kept.up):
        part[grid.start[4] :] = 0.0
        part[-1] = 1.0
    kept.diagonal[4:] = 1.0, last
    matrix = dense(grid, kept)
    np.testing.assert_array_equal(matrix[4:], [[0.0, 0.0, 0.0, 0.0, 1.0, 1.0], [0.0, 0.0, 0.0, 0.0, 1.0, last]])
    np.testing.assert_array_equal(matrix[:4, 4:], 0.0)
    assert np.linalg.matrix_rank(matrix[:4, :4]) == 4
    assert factor(grid, kept) == told


def test_add_puts_each_entry_in_its_place_and_drops_carried_nodes() -> None:
    rng = np.random.default_rng(7)
    grid, _ = random_matrix(rng, 10)
    parts = empty_matrix(grid)
    expected = np.zeros((10, 10))
    for i in range(10):
        for j in range(grid.first[i], i + 1):
            for p, q in {(i, j), (j, i)}:
                value = float(rng.normal())
                add(grid, *parts[:3], p, q, value)
                add(grid, *parts[:3], p, q, 1.0)
                expected[p, q] += value + 1.0
    add(grid, *parts[:3], -1, 3, 5.0)
    add(grid, *parts[:3], 3, -1, 5.0)
    np.testing.assert_array_equal(dense(grid, parts), expected)


def test_the_bow_s_numbering_holds_every_pair_that_meets() -> None:
    """Neighbours, neighbours but one where there is a bend, and the five nodes of the throat."""
    row = random_row(np.random.default_rng(0))
    grid, n = row.grid, row.x.size
    free = np.flatnonzero(grid.place >= 0)
    assert (grid.first % 2 == 0).all()  # whole blocks
    assert (grid.first[::2] == grid.first[1::2]).all()
    assert sorted(grid.place[free]) == list(range(0, 2 * free.size, 2))
    assert set(range(n)) - set(free) == {row.marks.root_u - 1, row.marks.root_u, row.marks.root_l, n - 6}
    meeting = [(j, j + 1) for j in range(n - 1) if row.chain.stretch[j] > 0.0]
    meeting += [(i - 1, i + 1) for i in range(1, n - 1) if row.chain.bend[i] > 0.0]
    meeting += [(p, q) for p in row.contact for q in row.contact]
    for i, j in meeting:
        p, q = grid.place[i], grid.place[j]
        if p >= 0 and q >= 0:
            late, early = max(p, q), min(p, q)
            assert grid.first[late] <= early
            assert grid.first[late + 1] <= early
