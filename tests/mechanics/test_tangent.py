"""Tangent matrices of chain, throat and rest against energies differentiated twice by SymPy."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.throat import throat_state
from archerysim.mechanics.statics.tangent import chain_tangent, rest_tangent, throat_block, throat_tangent
from tests.support.mechanics.contact_laws import edge_law, locator_law
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix, free_part
from tests.support.mechanics.derived_elements import bend_at_node, cell_length, rest_press, throat_offset
from tests.support.mechanics.random_rows import Row, random_row

SEEDS = range(20)
CASES = [(0.0, 0.0), (0.08, 0.0), (-0.15, 4e-4)]


def spread(matrix: np.ndarray, nodes: list[int], block: np.ndarray) -> None:
    """Add a block over the nodes' coordinates to a matrix over all coordinates."""
    places = [2 * i + k for i in nodes for k in (0, 1)]
    matrix[np.ix_(places, places)] += block


def derived_chain(row: Row, two_way: bool) -> np.ndarray:
    c, n = row.chain, row.x.size
    at = np.column_stack((row.x, row.y))
    matrix = np.zeros((2 * n, 2 * n))
    for j in range(n - 1):
        length, gradient, hessian = (f(*at[j : j + 2].ravel()) for f in cell_length())
        pull = c.stretch[j] * (length - c.rest_length[j])
        if pull >= c.least_force[j] or two_way:
            spread(matrix, [j, j + 1], c.stretch[j] * np.outer(gradient, gradient) + pull * hessian)
    for i in range(1, n - 1):
        bend, gradient, hessian = bend_at_node(at[i - 1 : i + 2].ravel())
        off = bend - c.natural[i]
        spread(matrix, [i - 1, i, i + 1], c.bend[i] * (np.outer(gradient, gradient) + off * hessian))
    return matrix


def derived_throat(row: Row) -> np.ndarray:
    """Hessian (10, 10) of the contacts' energies over the five nodes of the throat."""
    at = np.column_stack((row.x, row.y))[row.contact].ravel()
    slope = np.arctan2(row.throat.sin_slope, row.throat.cos_slope)
    block = np.zeros((10, 10))
    for name, law in (("upper", edge_law), ("lower", edge_law), ("along", locator_law)):
        offset, gradient, hessian = throat_offset(name, at, slope)
        force, stiffness = law(row.throat, offset)
        block += stiffness * np.outer(gradient, gradient) + force * hessian
    return block


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("two_way", [False, True])
def test_chain(seed: int, two_way: bool) -> None:
    row = random_row(np.random.default_rng(seed))
    parts = empty_matrix(row.grid)
    chain_tangent(row.chain, row.grid, row.x, row.y, two_way, parts, blocks_for(row.x.size))
    expected = free_part(row.grid, derived_chain(row, two_way))
    got = dense(row.grid, parts)
    assert np.abs(got - expected).max() <= 1e-12 * np.abs(expected).max()
    np.testing.assert_allclose(got, expected, rtol=1e-7, atol=1e-10 * np.abs(expected).max())


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("slope", "gap"), CASES)
def test_throat(seed: int, slope: float, gap: float) -> None:
    row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
    block = np.empty((10, 10))
    throat_block(row.throat, row.x, row.y, row.marks.edge_u, row.marks.tail, block)
    expected = derived_throat(row)
    assert np.abs(block - expected).max() <= 1e-11 * np.abs(expected).max()
    parts = empty_matrix(row.grid)
    throat_tangent(row.throat, row.marks, row.grid, row.x, row.y, parts)
    whole = np.zeros((2 * row.x.size, 2 * row.x.size))
    spread(whole, list(row.contact), expected)
    got = dense(row.grid, parts)
    assert np.abs(got - free_part(row.grid, whole)).max() <= 1e-11 * np.abs(expected).max()


def test_the_random_states_visit_every_branch_of_the_contacts() -> None:
    """Pushing, held by the whole grip, by less and not at all; each locator, and neither."""
    seen = set()
    for slope, gap in CASES:
        for seed in SEEDS:
            row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
            still = 0.0 * row.x
            du, dl, s, *_ = throat_state(row.throat, row.x, row.y, still, still, row.marks.edge_u, row.marks.tail)
            for d in (du, dl):
                f, _ = edge_law(row.throat, d)
                seen.add("push" if f > 0 else "whole" if f == -row.throat.grip else "gone" if f == 0 else "part")
            f, _ = locator_law(row.throat, s)
            seen.add("up" if f > 0 else "down" if f < 0 else "free")
    assert seen == {"push", "whole", "part", "gone", "up", "down", "free"}


@pytest.mark.parametrize("seed", SEEDS)
def test_rest(seed: int) -> None:
    """The rest pushes along y whatever the shaft's slope: the matrix is that of its forces, not symmetric."""
    row = random_row(np.random.default_rng(seed))
    su, a = row.support, row.marks.tail
    j = a + int(np.searchsorted(row.x[a:], su.x)) - 1
    given = (row.x[j], row.y[j], row.x[j + 1], row.y[j + 1], su.x, su.y, su.half_diameter)
    press, gradient, hessian = (f(*given) for f in rest_press())
    assert press > 0.0
    # the force f on the shaft acts at the place xi of the cell: shares -f dg/dy of each node
    shares = -gradient[[1, 3]]
    assert shares.sum() == pytest.approx(1.0)
    block = np.zeros((4, 4))
    for node, line in ((0, 1), (1, 3)):
        block[line] = -su.stiffness * (gradient * shares[node] - press * hessian[line])
    parts = empty_matrix(row.grid)
    rest_tangent(su, row.marks, row.grid, row.x, row.y, parts)
    whole = np.zeros((2 * row.x.size, 2 * row.x.size))
    spread(whole, [j, j + 1], block)
    expected = free_part(row.grid, whole)
    np.testing.assert_allclose(dense(row.grid, parts), expected, atol=1e-11 * np.abs(expected).max())
