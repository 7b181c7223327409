"""A shaft that is pushed from its tail buckles sideways under its own inertia, at the loads of a heavy column.

In the shaft's own frame its acceleration a is a weight m a along it. A uniform column of length L, bending stiffness EI
and mass m, clamped at its foot and free at its head, buckles at m a L^2 / EI = 7.837 (A. G. Greenhill, Proc.
Cambridge Phil. Soc. 4 (1881) 65-73; S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 1961, section 2.12
[memory]), where the Bessel function J of order -1/3 has its first zero, for (2/3) sqrt(m a L^2 / EI).

The string holds an arrow's tail in its place and lets it turn: a pinned foot. Such a column falls over at any load,
slowly, and bends as it does so at the first zero of J of order 2/3, at 25.64 (from the same equation EI t'' + q u t = 0
of the slope t, u from the free head, with no moment at the foot: t' = 0).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.optimize import brentq
from scipy.special import jv

from archerysim.mechanics.arrays import Chain
from tests.support.mechanics.beams_and_strings import assert_order_2, make_chain
from tests.support.mechanics.shaft_in_space import X, Z, shaft_forces, stiffness

LENGTH, MASS, BEND, AXIAL = 0.7, 0.02, 2.0, 1e6  # [m], [kg], [N m2], [N]
CLAMPED = 7.837


def zero_of(order: float, near: float) -> float:
    """m a L^2 / EI at the zero of a Bessel function near a place."""
    return (1.5 * float(brentq(lambda b: jv(order, b), near - 0.3, near + 0.3, xtol=1e-14))) ** 2


def shaft(cells: int, load: float, clamped: bool) -> tuple[Chain, np.ndarray]:
    """A uniform shaft, and its nodes' places while its tail is pushed along x so that m a L^2 = ``load`` EI.

    Clamped as a limb is: a cell stands behind the tail, and the tail's bend is that of half a cell.
    """
    size, extra = LENGTH / cells, int(clamped)
    mass = np.full(cells + 1, MASS / cells)
    mass[[0, -1]] *= 0.5
    bend = np.full(cells + 1, BEND / size)
    bend[[0, -1]] = 2.0 * BEND / size if clamped else 0.0, 0.0
    gain = load * BEND / (MASS * LENGTH**2)
    pushed = gain * np.cumsum(mass[::-1])[::-1][1:]  # by the nodes in front of each cell [N]
    x = np.concatenate(([-size] * extra, [0.0], np.cumsum(size * (1.0 - pushed / AXIAL))))
    behind = np.zeros(extra)
    chain = make_chain(
        np.concatenate((1.0 + behind, mass)), np.full(cells + extra, AXIAL / size), np.full(cells + extra, size),
        np.concatenate((behind, bend)),
    )  # fmt: skip
    place = np.array([x, *np.zeros((2, x.size))])
    balance = shaft_forces(chain, place)[X][1 + extra :] - gain * mass[1:]
    np.testing.assert_allclose(balance, 0.0, atol=1e-8)
    return chain, place


def squares(cells: int, load: float, clamped: bool) -> np.ndarray:
    """Squares of the two lowest frequencies sideways [1/s2], the tail held sideways."""
    chain, place = shaft(cells, load, clamped)
    free = slice(1 + int(clamped), None)
    matrix = stiffness(chain, place, Z, 3e-8)[free, free]
    return np.asarray(eigh(matrix, np.diag(chain.mass[free]), eigvals_only=True)[:2])


def buckles(cells: int, clamped: bool, mode: int, low: float, high: float) -> float:
    """Load at which a mode has no stiffness left."""
    return float(brentq(lambda load: squares(cells, load, clamped)[mode], low, high, xtol=1e-5))


def test_the_clamped_load_is_greenhill_s() -> None:
    assert zero_of(-1.0 / 3.0, 1.87) == pytest.approx(CLAMPED, abs=5e-4)


def test_clamped_at_its_tail_it_buckles_sideways_at_greenhill_s_load() -> None:
    found = [buckles(cells, True, 0, 5.0, 12.0) for cells in (6, 12, 24)]
    assert_order_2(found, zero_of(-1.0 / 3.0, 1.87))
    assert found[-1] == pytest.approx(CLAMPED, rel=2e-3)


def test_pinned_at_its_tail_it_falls_at_any_load_and_bends_at_another() -> None:
    for load in (0.1, 5.0):
        falls, bends = squares(24, load, False)
        assert falls < 0.0 < bends
    found = [buckles(cells, False, 1, 15.0, 30.0) for cells in (6, 12, 24)]
    assert_order_2(found, zero_of(2.0 / 3.0, 3.37))
    assert found[-1] == pytest.approx(25.64, rel=5e-3)
