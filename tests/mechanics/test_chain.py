"""Forces, energy and loss of the chain against energies differentiated by SymPy, and what must be kept."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.chain import chain_energy, chain_forces
from archerysim.mechanics.release.chain_loss import chain_loss
from archerysim.shot.arrays.build import make_cells
from tests.support.mechanics.derived_elements import bend_at_node, cell_length
from tests.support.mechanics.random_rows import Row, forces, random_row

SEEDS = range(20)


def derived_forces(row: Row, vx: np.ndarray, vy: np.ndarray) -> np.ndarray:
    """The chain's forces (2, n) from SymPy's gradients: elastic, and from half the lost power."""
    c, n = row.chain, row.x.size
    at, velocity = np.column_stack((row.x, row.y)), np.column_stack((vx, vy))
    out = np.zeros((n, 2))
    length, direction, _ = cell_length()
    for j in range(n - 1):
        nodes = slice(j, j + 2)
        gradient = direction(*at[nodes].ravel())
        pull = max(c.stretch[j] * (length(*at[nodes].ravel()) - c.rest_length[j]), c.least_force[j])
        pull += c.axial_loss[j] * (gradient @ velocity[nodes].ravel())
        out[nodes] -= (pull * gradient).reshape(2, 2)
        out[j] += c.loss[j] * (velocity[j + 1] - velocity[j])
        out[j + 1] -= c.loss[j] * (velocity[j + 1] - velocity[j])
    for i in range(1, n - 1):
        nodes = slice(i - 1, i + 2)
        bend, gradient, _ = bend_at_node(at[nodes].ravel())
        moment = c.bend[i] * (bend - c.natural[i])
        moment += c.bend_loss[i] * (gradient @ velocity[nodes].ravel())
        out[nodes] -= (moment * gradient).reshape(3, 2)
    return out.T


@pytest.mark.parametrize("seed", SEEDS)
def test_forces_are_the_energy_gradient_and_the_loss_function(seed: int) -> None:
    row = random_row(np.random.default_rng(seed))
    for vx, vy in ((0.0 * row.x, 0.0 * row.x), (row.vx, row.vy)):
        expected = derived_forces(row, vx, vy)
        got = forces(row, vx, vy, throat=False)
        assert np.abs(got - expected).max() <= 1e-11 * np.abs(expected).max()


@pytest.mark.parametrize("seed", SEEDS)
def test_energy_of_a_range_of_cells(seed: int) -> None:
    row = random_row(np.random.default_rng(seed))
    c, at = row.chain, np.column_stack((row.x, row.y))
    for first, last in ((0, row.marks.tail - 1), (row.marks.tail, row.x.size - 1), (5, 9)):
        longer = [float(cell_length()[0](*at[j : j + 2].ravel())) - c.rest_length[j] for j in range(first, last)]
        two_way = c.least_force[first:last] < 0.0
        stretch = np.where(two_way, longer, np.maximum(longer, 0.0)) ** 2 @ c.stretch[first:last] / 2.0
        bends = [bend_at_node(at[i - 1 : i + 2].ravel())[0] for i in range(first + 1, last)]
        bend = (np.array(bends) - c.natural[first + 1 : last]) ** 2 @ c.bend[first + 1 : last] / 2.0
        got = chain_energy(c, row.x, row.y, first, last)
        assert got == pytest.approx((stretch, bend), rel=1e-9)


def test_slack_cell_carries_nothing_and_the_tension_starts_without_a_jump() -> None:
    row = random_row(np.random.default_rng(0))
    c = row.chain
    x, y, still = c.rest_length.cumsum(), np.zeros(row.x.size - 1), np.zeros(row.x.size - 1)
    x, y, still = np.append(0.0, x), np.append(y, 0.0), np.append(still, 0.0)
    c.natural[:] = 0.0
    fx, fy, cells = np.empty(x.size), np.empty(x.size), make_cells(x.size)
    k = row.marks.tip_u + 1
    pulls = []
    for longer in (-1e-3, -1e-12, 0.0, 1e-12, 1e-3):
        apart = x.copy()
        apart[k + 1 :] += longer
        chain_forces(c, apart, y, still, still, fx, fy, cells)
        pulls.append(fx[k])
    assert pulls[:3] == pytest.approx([0.0, 0.0, 0.0], abs=1e-6)
    assert pulls[3] == pytest.approx(0.0, abs=1e-4)
    assert pulls[4] == pytest.approx(1e-3 * c.stretch[k], rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("slope", "gap"), [(0.0, 0.0), (0.05, 0.0), (-0.1, 3e-4)])
def test_chain_and_throat_keep_both_momenta(seed: int, slope: float, gap: float) -> None:
    """Forces of chain and throat have no sum and no moment at any state and velocity.

    But for one part that the model has on purpose: the loss on the whole difference of two nodes' velocities
    resists a cell's turning too, and has the moment of that.
    """
    row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
    f = forces(row, row.vx, row.vy)
    rounding = 1e-13 * np.abs(f).max() * row.x.size
    assert np.abs(f.sum(axis=1)).max() <= rounding
    cells = np.diff(row.x) * np.diff(row.vy) - np.diff(row.y) * np.diff(row.vx)
    reach = np.hypot(row.x, row.y).max()
    moment = np.sum(row.x * f[1] - row.y * f[0])
    assert moment == pytest.approx(-row.chain.loss @ cells, abs=rounding * reach)


@pytest.mark.parametrize("seed", SEEDS)
def test_lost_power_is_what_the_loss_forces_take(seed: int) -> None:
    row = random_row(np.random.default_rng(seed))
    n = row.x.size
    fx, fy, cells = np.empty(n), np.empty(n), make_cells(n)
    moving, still = forces(row, row.vx, row.vy, throat=False), forces(row, 0.0 * row.x, 0.0 * row.x, throat=False)
    chain_forces(row.chain, row.x, row.y, row.vx, row.vy, fx, fy, cells)
    parts = chain_loss(row.chain, row.marks, row.vx, row.vy, cells)
    assert min(parts) > 0.0
    taken = -np.sum((moving - still) * np.array([row.vx, row.vy]))
    # `chain_loss` counts the string's cells and every bend; limb and shaft cells have no loss of their own
    row.chain.loss[row.chain.least_force < 0.0] = 0.0
    row.chain.axial_loss[row.chain.least_force < 0.0] = 0.0
    bends_and_string = -np.sum((forces(row, row.vx, row.vy, throat=False) - still) * np.array([row.vx, row.vy]))
    assert sum(parts) == pytest.approx(bends_and_string, rel=1e-10)
    assert taken > bends_and_string


def test_turning_as_a_rigid_body_loses_no_bend_energy() -> None:
    row = random_row(np.random.default_rng(1))
    c = row.chain._replace(loss=0.0 * row.chain.loss, axial_loss=0.0 * row.chain.axial_loss)
    n = row.x.size
    fx, fy, hx, hy, cells = np.empty(n), np.empty(n), np.empty(n), np.empty(n), make_cells(n)
    chain_forces(c, row.x, row.y, 0.0 * row.x, 0.0 * row.x, hx, hy, cells)
    chain_forces(c, row.x, row.y, -3.0 * row.y + 1.0, 3.0 * row.x + 2.0, fx, fy, cells)
    assert np.abs(fx - hx).max() + np.abs(fy - hy).max() <= 1e-9 * np.abs(hx).max()
