"""A double pendulum of two stiff cells against the textbook equations.

Unit masses and rods, both level and at rest at the start. The expected state after 1 s was computed with
two integrators; it is computed here again.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from archerysim.mechanics.forces.chain import chain_forces
from tests.support.mechanics.beams_and_strings import make_chain

GRAVITY = 9.81
EXPECTED = (-0.62508770, -1.03458509, -3.92227957, -1.30309925)  # both angles [rad], both rates [rad/s]


def textbook() -> np.ndarray:
    """Lagrange's equations in the two angles from the vertical."""

    def slope(_: float, state: np.ndarray) -> np.ndarray:
        one, two, v, w = state
        c, s = np.cos(one - two), np.sin(one - two)
        matrix = np.array([[2.0, c], [c, 1.0]])
        right = [-w * w * s - 2.0 * GRAVITY * np.sin(one), v * v * s - GRAVITY * np.sin(two)]
        return np.array([v, w, *np.linalg.solve(matrix, right)])

    start = [0.5 * np.pi, 0.5 * np.pi, 0.0, 0.0]
    return solve_ivp(slope, (0.0, 1.0), start, method="DOP853", rtol=1e-12, atol=1e-13).y[:, -1]


def of_cells(stiffness: float) -> np.ndarray:
    """The same state of two springs that stiff [N/m], lightly damped along themselves."""
    chain = make_chain(np.ones(3), np.full(2, stiffness), np.ones(2), fixed=(0,))
    chain = chain._replace(axial_loss=np.full(2, 20.0))
    fx, fy, work = np.empty(3), np.empty(3), np.empty((7, 3))

    def slope(_: float, state: np.ndarray) -> np.ndarray:
        x, y, vx, vy = (line.copy() for line in state.reshape(4, 3))
        chain_forces(chain, x, y, vx, vy, fx, fy, work)
        free = chain.inverse_mass
        return np.concatenate((vx, vy, fx * free, (fy - GRAVITY) * free))

    start = np.concatenate(([0.0, 1.0, 2.0], np.zeros(9)))
    end = solve_ivp(slope, (0.0, 1.0), start, method="DOP853", rtol=1e-9, atol=1e-11).y[:, -1]
    ex, ey, wx, wy = np.diff(end.reshape(4, 3), axis=1)
    return np.concatenate((np.arctan2(ex, -ey), (ex * wy - ey * wx) / (ex**2 + ey**2)))


def test_double_pendulum() -> None:
    exact = textbook()
    assert exact == pytest.approx(EXPECTED, abs=1e-8)
    # the springs' give falls as one over their stiffness: extrapolate it away
    soft, stiff = of_cells(5e5), of_cells(1e6)
    assert stiff == pytest.approx(exact, abs=1e-3)
    assert 2.0 * stiff - soft == pytest.approx(exact, abs=3e-6)
