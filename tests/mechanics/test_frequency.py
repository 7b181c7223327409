"""The longest stable step against the scheme itself: the step matrix of the whole bow at full draw."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.linalg import eigh

from archerysim.mechanics.arrays import Standing
from archerysim.mechanics.release.stable_step import longest_step
from archerysim.mechanics.statics.tangent import chain_tangent, throat_tangent
from archerysim.shot.arrays.build import make_throat
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.release.release import LONGEST, SAFE, floor_inertia, shortest_of_the_way
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix
from tests.support.mechanics.random_rows import Row, forces
from tests.support.shot.reference_case import Shot, shot

CELLS = [12, 24, 36]


def over_root_of_mass(done: Shot) -> np.ndarray:
    """Inverse square root of the mass matrix, the floor's inertia in it (m, m)."""
    b, grid, x, y = done.braced, done.drawing.grid, done.drawn.x, done.drawn.y
    matrix = np.zeros((grid.first.size, grid.first.size))
    for i, place in enumerate(grid.place):
        if place >= 0:
            matrix[place, place] = matrix[place + 1, place + 1] = b.chain.mass[i]
    u = b.marks.edge_u
    along = np.array([x[u + 1] - x[u], y[u + 1] - y[u]])
    along /= np.hypot(*along)
    row = np.zeros(grid.first.size)
    row[grid.place[u] : grid.place[u] + 2] = -along
    row[grid.place[u + 1] : grid.place[u + 1] + 2] = along
    matrix += floor_inertia(b.chain, b.marks) * np.outer(row, row)
    values, shapes = eigh(matrix)
    return (shapes / np.sqrt(values)) @ shapes.T  # type: ignore[no-any-return]


def found(done: Shot) -> tuple[float, float, float]:
    """The kernel's step, frequency and rate of loss."""
    b, closed = done.braced, make_throat(done.setup.nock, closed=True)
    inertia = floor_inertia(b.chain, b.marks)
    x, y = done.drawn.x, done.drawn.y
    grid = done.drawing.grid
    standing = Standing(b.chain, b.marks, closed, done.drawing.support, grid)
    return longest_step(standing, inertia, x, y, memory_for(grid))  # type: ignore[no-any-return]


@cache
def scaled(cells: int) -> tuple[np.ndarray, np.ndarray]:
    """Stiffness and loss over the masses at full draw, contacts held closed: (m, m) [1/s2], [1/s]."""
    done = shot(0.009, cells)
    b, grid, x, y = done.braced, done.drawing.grid, done.drawn.x, done.drawn.y
    closed = make_throat(done.setup.nock, closed=True)
    parts = empty_matrix(grid)
    chain_tangent(b.chain, grid, x, y, 0.0, parts, blocks_for(x.size))
    throat_tangent(closed, b.marks, grid, x, y, parts)
    stiffness = dense(grid, parts)
    row = Row(b.chain, b.marks, grid, b.frame, closed, None, x, y, x, y)  # type: ignore[arg-type]
    still = forces(row, 0.0 * x, 0.0 * x)
    loss = np.empty_like(stiffness)
    for i, place in enumerate(grid.place):
        if place < 0:
            continue
        for k in range(2):
            v = np.zeros((2, x.size))
            v[k, i] = 1.0
            change = (still - forces(row, v[0], v[1])).T
            for j, other in enumerate(grid.place):
                if other >= 0:
                    loss[other : other + 2, place + k] = change[j]
    root = over_root_of_mass(done)
    both = tuple(root @ matrix @ root for matrix in (stiffness, loss))
    for matrix in both:
        np.testing.assert_allclose(matrix, matrix.T, atol=1e-7 * np.abs(matrix).max())
    return both[0], both[1]


def without_falling(stiffness: np.ndarray) -> np.ndarray:
    """The stiffness without its one negative eigenvalue: the shaft, held by the nock alone, falls over slowly."""
    values, shapes = eigh(stiffness)
    assert values[0] < 0.0 < values[1]
    assert np.sqrt(-values[0]) < 2e-3 * np.sqrt(values[-1])
    return stiffness - values[0] * np.outer(shapes[:, 0], shapes[:, 0])


def growth(dt: float, stiffness: np.ndarray, loss: np.ndarray) -> float:
    """Spectral radius of one step of the release's scheme: (places, half-step velocities, last accelerations)."""
    m = stiffness.shape[0]
    one, zero = np.eye(m), np.zeros((m, m))
    a = np.hstack((-dt * dt * stiffness, -dt * loss, -0.5 * dt * loss))
    v = np.hstack((zero, one, zero)) + a
    x = np.hstack((one, zero, zero)) + v
    return float(np.abs(np.linalg.eigvals(np.vstack((x, v, a)))).max())


@pytest.mark.parametrize("cells", CELLS)
def test_longest_step_is_where_the_sum_reaches_four_masses(cells: int) -> None:
    stiffness, loss = scaled(cells)
    m = stiffness.shape[0]
    dt, frequency, rate = found(shot(0.009, cells))
    top = eigh(dt * dt * stiffness + 4.0 * dt * loss, eigvals_only=True, subset_by_index=[m - 1, m - 1])[0]
    assert 4.0 * (1.0 - 1e-9) <= top <= 4.0 * 1.02
    assert dt == pytest.approx(step_of_one(frequency, rate), rel=1e-12)
    assert frequency**2 <= eigh(stiffness, eigvals_only=True)[-1]
    assert rate <= eigh(loss, eigvals_only=True)[-1]


@pytest.mark.parametrize("cells", CELLS[:2])
def test_the_whole_bow_is_stable_to_that_step_and_not_beyond(cells: int) -> None:
    stiffness, loss = scaled(cells)
    stiffness = without_falling(stiffness)
    dt = found(shot(0.009, cells))[0]
    assert growth(SAFE * dt, stiffness, loss) <= 1.0 + 1e-9
    assert growth(1.03 * dt, stiffness, loss) > 1.0 + 1e-2


def step_of_one(frequency: float, damping: float) -> float:
    """Longest stable step of one oscillator."""
    z = damping / frequency
    return float(2.0 / frequency * (np.sqrt(1.0 + z * z) - z))


@pytest.mark.parametrize("frequency", [1.0, 1e3, 1e6])
@pytest.mark.parametrize("ratio", [0.0, 1e-3, 0.05, 0.2, 1.0, 3.0])
def test_one_oscillator(frequency: float, ratio: float) -> None:
    """Stable to the step and not beyond, for any damping ratio: the formula that the whole bow is compared with."""
    stiffness, loss = np.array([[frequency**2]]), np.array([[2.0 * ratio * frequency]])
    step = step_of_one(frequency, 2.0 * ratio * frequency)
    for part in (0.1, 0.5, SAFE, 0.999):
        assert growth(part * step, stiffness, loss) <= 1.0 + 1e-9
    assert growth(1.001 * step, stiffness, loss) > 1.0 + 1e-5


def test_the_release_s_step_is_that_share_of_the_longest() -> None:
    done = shot(0.009, 24)
    assert SAFE == 0.95
    longest = shortest_of_the_way(done.drawing, done.drawn, floor_inertia(done.braced.chain, done.braced.marks))
    assert done.loosed.dt == pytest.approx(SAFE * longest, rel=1e-14)
    assert longest == pytest.approx(found(done)[0], rel=2e-3)  # here the shaft's place does not matter
    assert shot(0.009, 12).loosed.dt == LONGEST < SAFE * found(shot(0.009, 12))[0]
