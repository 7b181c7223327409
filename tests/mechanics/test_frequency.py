"""Highest frequency and damping against dense eigenvalues; the stable step against the scheme itself."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh

from archerysim.mechanics.frequency import highest_damping, highest_frequency
from archerysim.mechanics.tangent import chain_tangent, throat_tangent
from archerysim.shot.arrays import make_throat
from archerysim.shot.loose import ROUNDS, SAFE, stable_step
from tests.mechanics.helpers import Row, dense, empty_matrix, forces
from tests.reference import Shot, shot

CELLS = [12, 24, 36]


def masses(done: Shot) -> np.ndarray:
    """Of every equation (m,)."""
    grid, mass = done.drawing.grid, done.braced.chain.mass
    out = np.empty(grid.first.size)
    for i, place in enumerate(grid.place):
        if place >= 0:
            out[place : place + 2] = mass[i]
    return out


@pytest.mark.parametrize("cells", CELLS)
def test_highest_frequency_at_full_draw(cells: int) -> None:
    done = shot(0.009, cells)
    b, grid, x, y = done.braced, done.drawing.grid, done.drawn.x, done.drawn.y
    closed = make_throat(done.setup.nock, closed=True)
    parts = empty_matrix(grid)
    chain_tangent(b.chain, grid, x, y, False, *parts)
    throat_tangent(closed, b.marks, grid, x, y, *parts)
    matrix = dense(grid, *parts)
    np.testing.assert_allclose(matrix, matrix.T, atol=1e-9 * np.abs(matrix).max())
    m = matrix.shape[0]
    root = 1.0 / np.sqrt(masses(done))
    top = np.sqrt(eigh(root[:, None] * matrix * root, eigvals_only=True, subset_by_index=[m - 1, m - 1])[0])
    found = highest_frequency(b.chain, b.marks, closed, grid, x, y, ROUNDS)
    assert 0.97 * top <= found <= top * (1.0 + 1e-9)


@pytest.mark.parametrize("cells", CELLS[:2])
def test_highest_damping_at_full_draw(cells: int) -> None:
    done = shot(0.009, cells)
    b, x, y = done.braced, done.drawn.x, done.drawn.y
    n, free = x.size, np.repeat(b.chain.inverse_mass > 0.0, 2)
    throat = make_throat(done.setup.nock, closed=True)
    row = Row(b.chain, b.marks, done.drawing.grid, b.frame, throat, None, x, y, x, y)  # type: ignore[arg-type]
    still = forces(row, 0.0 * x, 0.0 * x)
    matrix = np.empty((2 * n, 2 * n))
    for k in range(2 * n):
        v = np.zeros((n, 2))
        v.flat[k] = 1.0
        matrix[:, k] = (still - forces(row, v[:, 0].copy(), v[:, 1].copy())).T.ravel()
    root = np.repeat(np.sqrt(b.chain.inverse_mass), 2)
    scaled = (root[:, None] * matrix * root)[np.ix_(free, free)]
    np.testing.assert_allclose(scaled, scaled.T, atol=1e-7 * np.abs(scaled).max())
    top = eigh(scaled, eigvals_only=True)[-1]
    found = highest_damping(b.chain, b.marks, throat, x, y, ROUNDS)
    # a bound: never much below, and not so far above that it would cost steps
    assert 0.97 * top <= found <= 2.0 * top


def amplification(dt: float, frequency: float, damping: float) -> float:
    """Spectral radius of one step of the release's scheme for one oscillator: (x, half-step v, last a)."""
    a = np.array([-(frequency**2), -damping, -0.5 * damping * dt])
    v = np.array([0.0, 1.0, 0.0]) + dt * a
    x = np.array([1.0, 0.0, 0.0]) + dt * v
    return float(np.abs(np.linalg.eigvals(np.array([x, v, a]))).max())


@pytest.mark.parametrize("frequency", [1.0, 1e3, 1e6])
@pytest.mark.parametrize("ratio", [0.0, 1e-3, 0.05, 0.2, 1.0, 3.0])
def test_stable_step(frequency: float, ratio: float) -> None:
    """Stable to the step and not beyond, for any damping ratio at the top frequency."""
    damping = 2.0 * ratio * frequency
    step = stable_step(frequency, damping)
    z = damping / frequency
    assert step == pytest.approx(2.0 / frequency * (np.sqrt(1.0 + z * z) - z), rel=1e-12)
    for part in (0.1, 0.5, SAFE, 0.999):
        assert amplification(part * step, frequency, damping) <= 1.0 + 1e-9
    assert amplification(1.001 * step, frequency, damping) > 1.0 + 1e-5


def test_the_release_s_step_is_nine_tenths_of_the_stable_one() -> None:
    done = shot(0.009, 24)
    assert done.loosed.dt == pytest.approx(0.9 * stable_step(done.loosed.frequency, done.loosed.damping), rel=1e-14)
