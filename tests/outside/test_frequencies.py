"""Natural frequencies of beams, strings and chains from the assembled matrices.

Beams: handbook (Thomson, Theory of Vibration), with end masses computed here from the boundary conditions.
Strings: textbook closed forms. Hanging chain: Bernoulli; zeros of the Bessel function J0.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.optimize import brentq
from scipy.special import jn_zeros

from archerysim.equipment.arrow import bending_stiffness
from archerysim.shot.arrays.build import arrow_cells
from tests.support.mechanics.beams_and_strings import (
    across,
    assert_order_2,
    cantilever,
    frequencies,
    make_chain,
    plain_grid,
    richardson,
)

Values = tuple[float, ...]


def beam_number(guess: float, clamped: bool, end_mass: float) -> float:
    """beta L of a uniform beam, one end clamped or free, the other free with a mass (in beam masses).

    The shape is a sum of cos, sin, cosh, sinh; the determinant of the four end conditions is zero.
    """

    def determinant(b: float) -> float:
        c, s, ch, sh = np.cos(b), np.sin(b), np.cosh(b), np.sinh(b)
        if clamped:
            near = [[1.0, 0.0, 1.0, 0.0], [0.0, 1.0, 0.0, 1.0]]  # no deflection, no slope
        else:
            near = [[-1.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 1.0]]  # no moment, no shear
        moment = [-c, -s, ch, sh]
        # the shear w''' carries the mass: EI w''' = -M omega^2 w
        shear = np.array([s, -c, sh, ch]) + end_mass * b * np.array([c, s, ch, sh])
        return float(np.linalg.det(np.array([*near, moment, shear])) / ch)

    return float(brentq(determinant, guess - 0.02, guess + 0.02, xtol=1e-14))


def clamped_numbers(cells: int, tip_mass: float, count: int) -> np.ndarray:
    """beta L of the chain's cantilever."""
    chain, x, y = cantilever(cells, tip_mass, axial=1e4)
    return np.sqrt(frequencies(chain, x, y, count))


def free_numbers(cells: int, end_mass: float, count: int) -> np.ndarray:
    """beta L of a free shaft with a point mass (in shaft masses) at its front end."""
    arrow = SimpleNamespace(
        length=0.7, spine=0.0125, mass_per_length=0.02, nock_mass=0.0, nock_at=0.0, fletching_mass=0.0,
        fletching_at=0.0, insert_mass=0.0, insert_at=0.0, point_mass=end_mass * 0.014, point_at=0.0,
        axial_stiffness=1e4,
    )  # fmt: skip
    parts = arrow_cells(arrow, cells)
    chain = make_chain(parts["mass"], parts["stretch"], parts["rest_length"], parts["bend"])
    x = np.linspace(0.0, arrow.length, cells + 1)
    omega = frequencies(chain, x, 0.0 * x, count + 2)[2:]  # the first two are the rigid motions
    scale = np.sqrt(arrow.mass_per_length * arrow.length**4 / bending_stiffness(arrow.spine))
    return np.sqrt(omega * scale)


@pytest.mark.parametrize(
    ("tip_mass", "handbook"),
    [(0.0, (1.875104, 4.694091, 7.854757)), (0.5, (1.419964,)), (1.0, (1.247917,))],
)
def test_clamped_free_beam(tip_mass: float, handbook: Values) -> None:
    exact = np.array([beam_number(value, True, tip_mass) for value in handbook])
    assert exact == pytest.approx(np.array(handbook), abs=1e-6)
    found = [clamped_numbers(cells, tip_mass, len(handbook)) for cells in (24, 48, 96)]
    assert richardson(found[1], found[2]) == pytest.approx(exact, rel=1e-5)
    assert_order_2(found, exact)


@pytest.mark.parametrize(
    ("end_mass", "handbook"),
    [
        (0.0, (4.730041, 7.853205, 10.995608)),
        (0.25, (4.248967,)),
        (0.5, (4.128137,)),
        (1.0, (4.041832,)),
    ],
)
def test_free_free_beam(end_mass: float, handbook: Values) -> None:
    exact = np.array([beam_number(value, False, end_mass) for value in handbook])
    assert exact == pytest.approx(np.array(handbook), abs=1e-6)
    found = [free_numbers(cells, end_mass, len(handbook)) for cells in (24, 48, 96)]
    assert richardson(found[1], found[2]) == pytest.approx(exact, rel=1e-5)
    assert_order_2(found, exact)


def first_mode_nodes() -> np.ndarray:
    """Where a free uniform shaft of unit length stands still in its first mode."""
    cells = 96
    nodes = np.linspace(0.0, 1.0, cells + 1)
    mass = np.full(cells + 1, 1.0 / cells)
    mass[[0, -1]] *= 0.5
    bend = np.zeros(cells + 1)
    bend[1:-1] = cells
    chain = make_chain(mass, np.full(cells, 1e4 * cells), np.full(cells, 1.0 / cells), bend)
    root = 1.0 / np.sqrt(mass)
    _, shapes = eigh(root[:, None] * across(chain, nodes, 0.0 * nodes) * root)
    shape = root * shapes[:, 2]
    change = np.flatnonzero(shape[:-1] * shape[1:] < 0.0)
    return nodes[change] + shape[change] / (shape[change] - shape[change + 1]) / cells


def test_nodes_of_the_free_shaft_s_first_mode() -> None:
    """0.2242 and 0.7758 of the length."""
    assert first_mode_nodes() == pytest.approx([0.2242, 0.7758], abs=1e-4)


@pytest.mark.parametrize("beads", [1, 2, 7, 30])
def test_string_of_beads(beads: int) -> None:
    """omega_j = 2 sqrt(T / (m a)) sin(j pi / (2 (N + 1))), exact for the chain."""
    tension, mass, gap, stiffness = 180.0, 2e-3, 0.04, 1e5
    n = beads + 2
    chain = make_chain(
        np.full(n, mass),
        np.full(n - 1, stiffness),
        np.full(n - 1, gap - tension / stiffness),
        fixed=(0, n - 1),
        slack=True,
    )
    x = gap * np.arange(n)
    exact = 2.0 * np.sqrt(tension / (mass * gap)) * np.sin(np.arange(1, n - 1) * np.pi / (2 * (n - 1)))
    assert frequencies(chain, x, 0.0 * x, beads) == pytest.approx(exact, rel=1e-9)
    assert plain_grid(chain).first.size == 2 * beads


TENSION, DENSITY, LENGTH, STRETCH = 215.0, 4.2e-3, 1.48, 1e5


def taut_string(cells: int) -> np.ndarray:
    """First three frequencies of a taut string [Hz]."""
    size = LENGTH / cells
    loose = np.full(cells, size / (1.0 + TENSION / STRETCH))  # unloaded
    chain = make_chain(np.full(cells + 1, DENSITY * size), STRETCH / loose, loose, fixed=(0, cells), slack=True)
    x = np.linspace(0.0, LENGTH, cells + 1)
    return frequencies(chain, x, 0.0 * x, 3) / (2.0 * np.pi)


def test_taut_string() -> None:
    """f_n = n / (2 L) sqrt(T / mu)."""
    exact = np.arange(1, 4) / (2.0 * LENGTH) * np.sqrt(TENSION / DENSITY)
    found = [taut_string(cells) for cells in (16, 32, 64)]
    assert richardson(found[1], found[2]) == pytest.approx(exact, rel=1e-5)
    assert_order_2(found, exact, within=0.02)


def hanging_chain(cells: int) -> np.ndarray:
    """First three omega sqrt(L / g) of a hanging chain."""
    size = 1.0 / cells
    mass = np.full(cells + 1, size)
    mass[[0, -1]] *= 0.5
    pull = np.array([mass[j + 1 :].sum() for j in range(cells)])
    stiffness = np.full(cells, 1e6 * cells)
    chain = make_chain(mass, stiffness, size - pull / stiffness, fixed=(0,), slack=True)
    y = -np.linspace(0.0, 1.0, cells + 1)
    return frequencies(chain, 0.0 * y, y, 3, axis=0)


def test_hanging_chain() -> None:
    """omega sqrt(L / g) = 1.202413, 2.760039, 4.326864: half the zeros of J0."""
    exact = 0.5 * jn_zeros(0, 3)
    assert exact == pytest.approx([1.202413, 2.760039, 4.326864], abs=1e-6)
    found = [hanging_chain(cells) for cells in (24, 48, 96)]
    assert richardson(found[1], found[2]) == pytest.approx(exact, rel=5e-5)
    assert_order_2(found, exact)
