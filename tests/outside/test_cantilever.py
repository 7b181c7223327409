"""Large deflections of a cantilever.

Dead tip load: Bisshopp and Drucker, Q. Appl. Math. 3 (1945); Mattiasson, Int. J. Numer. Meth. Eng. 17 (1981)
for the table; here the elliptic integrals are evaluated again. Tip moment: an exact circle (textbook).
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc, jv

from archerysim.mechanics.forces.chain import chain_energy
from tests.support.mechanics.beams_and_strings import (
    Load,
    across,
    assert_order_2,
    cantilever,
    make_chain,
    residual,
    richardson,
    settle,
    tip_load,
)

# P L^2 / EI: (w / L, u / L)
MATTIASSON = {1.0: (0.30172, 0.05643), 2.0: (0.49346, 0.16064), 5.0: (0.71379, 0.38763), 10.0: (0.81061, 0.55500)}


def elastica(load: float) -> tuple[float, float]:
    """Tip deflection across and shortening along, from the elastica."""

    def start(m: float) -> float:
        return float(np.arcsin(1.0 / np.sqrt(2.0 * m)))

    m = brentq(lambda m: ellipk(m) - ellipkinc(start(m), m) - np.sqrt(load), 0.5 + 1e-14, 1.0 - 1e-14, xtol=1e-15)
    root = np.sqrt(load)
    deflection = 1.0 - 2.0 / root * (ellipe(m) - ellipeinc(start(m), m))
    along = np.sqrt(2.0 * (2.0 * m - 1.0)) / root
    return deflection, 1.0 - along


@cache
def tip(load: float, cells: int) -> tuple[float, float]:
    """The same from the chain."""
    chain, x, y = cantilever(cells)
    x, y = settle(chain, x, y, tip_load(chain, 0.0, load), tolerance=5e-6)
    return float(y[-1]), float(1.0 - x[-1])


@pytest.mark.parametrize("load", MATTIASSON)
def test_dead_tip_load(load: float) -> None:
    assert elastica(load) == pytest.approx(MATTIASSON[load], abs=0.6e-5)
    assert richardson(tip(load, 48), tip(load, 96)) == pytest.approx(elastica(load), abs=5e-6)
    errors = [np.hypot(*np.subtract(tip(load, cells), elastica(load))) for cells in (48, 96)]
    assert_order_2(errors, 0.0)


def moment_load(moment: float, n: int) -> Load:
    """A moment on the last cell: two opposite forces square to it (they turn with it)."""

    def load(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        ex, ey = x[-1] - x[-2], y[-1] - y[-2]
        pull = moment / (ex**2 + ey**2)
        px, py = np.zeros(n), np.zeros(n)
        px[-1], py[-1], px[-2], py[-2] = -pull * ey, pull * ex, pull * ey, -pull * ex
        return px, py

    return load


def polygon(moment: float, cells: int) -> tuple[np.ndarray, np.ndarray]:
    """The chain's own answer: every inner bend carries the moment, B b (1 + b^2 / 4) = M, the root's bend
    has half a cell's compliance."""
    size = 1.0 / cells

    def angle(stiffness: float) -> float:
        b = brentq(lambda b: stiffness * b * (1.0 + 0.25 * b * b) - moment, 0.0, 10.0, xtol=1e-15)
        return float(2.0 * np.arctan(0.5 * b))

    heading = angle(2.0 / size) + angle(1.0 / size) * np.arange(cells)
    x = np.concatenate(([-size, 0.0], np.cumsum(size * np.cos(heading))))
    y = np.concatenate(([0.0, 0.0], np.cumsum(size * np.sin(heading))))
    return x, y


@pytest.mark.parametrize("moment", [0.5, 2.0, np.pi, 2.0 * np.pi])
def test_tip_moment(moment: float) -> None:
    """Up to a full circle: the polygon is in equilibrium, and its tip goes to the circle's at order 2."""
    circle = np.array([np.sin(moment), 1.0 - np.cos(moment)]) / moment
    tips = []
    for cells in (24, 48, 96):
        chain, *_ = cantilever(cells)
        x, y = polygon(moment, cells)
        force = residual(chain, x, y, moment_load(moment, x.size))[:, 2:]
        assert np.abs(force).max() < 1e-6 * moment * cells  # rounding of the axial stiffness
        tips.append(np.array([x[-1], y[-1]]))
    assert np.abs(richardson(tips[1], tips[2]) - circle).max() < 3e-5
    assert_order_2([np.hypot(*(place - circle)) for place in tips], 0.0, within=0.05)


def test_work_of_the_load_is_the_energy_stored() -> None:
    """Dead load raised in small steps: the trapezium of force over path is the chain's energy."""
    chain, x, y = cantilever(12, axial=1e4)
    path, work, loads = [0.0], 0.0, np.linspace(0.0, 5.0, 41)
    for before, load in pairwise(loads):
        x, y = settle(chain, x, y, tip_load(chain, 0.0, load), tolerance=1e-8)
        work += 0.5 * (before + load) * (y[-1] - path[-1])
        path.append(float(y[-1]))
    # the trapezium's own error falls with the square of the step, 0.125
    assert sum(chain_energy(chain, x, y, 0, chain.mass.size - 1)) == pytest.approx(work, rel=5e-4)


def stiffness_left(weight: float, cells: int) -> float:
    """Least eigenvalue of an upright column under its own weight: negative once it buckles."""
    size = 1.0 / cells
    chain, x, y = cantilever(cells, axial=1e6)
    # what stands above each cell presses it; shorten the cells by that so that the shape stays
    mass = chain.mass.copy()
    above = weight * np.array([mass[j + 1 :].sum() for j in range(mass.size - 1)])
    rest = chain.rest_length + np.where(
        chain.stretch > 0.0, above / np.where(chain.stretch > 0.0, chain.stretch, 1.0), 0.0
    )
    pressed = make_chain(mass, chain.stretch, rest, chain.bend, fixed=(0, 1))
    still = residual(pressed, x, y, lambda x, y: (-weight * mass, 0.0 * mass))[:, 2:]
    assert np.abs(still).max() < 1e-8 * max(weight, 1.0) / size
    return float(np.linalg.eigvalsh(across(pressed, x, y))[0])


def test_column_under_its_own_weight_buckles_where_greenhill_says() -> None:
    """q L^3 / EI = 7.8373 (Greenhill 1881): an arrow pushed at one end, in its own inertia."""
    loads = [brentq(lambda q, n=n: stiffness_left(q, n), 6.0, 9.0, xtol=1e-10) for n in (12, 24, 48)]
    assert richardson(loads[1], loads[2]) == pytest.approx(7.8373, abs=1e-4)
    exact = brentq(lambda q: jv(-1.0 / 3.0, 2.0 / 3.0 * np.sqrt(q)), 6.0, 9.0, xtol=1e-12)
    assert exact == pytest.approx(7.8373, abs=1e-4)
    assert_order_2(loads, exact)
