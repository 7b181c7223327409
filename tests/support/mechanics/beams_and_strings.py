"""Single beams, strings and chains of the library's own elements, and a plain Newton's method for them."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import eigh

from archerysim.mechanics.arrays import Chain, Grid, Wrap
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.statics.envelope import factor, solve
from archerysim.mechanics.statics.room import Matrix
from archerysim.mechanics.statics.tangent import chain_tangent
from archerysim.shot.arrays.build import limb_cells, make_cells
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix

TWO_WAY = -1e30
NOWHERE = Wrap(0, 1, 0, 1.0, 0, np.zeros(2), 0, np.ones(1))  # a limb that no string can lie on
Load = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]


def make_chain(
    mass: np.ndarray,
    stretch: np.ndarray,
    rest_length: np.ndarray,
    bend: np.ndarray | None = None,
    fixed: tuple[int, ...] = (),
    slack: bool = False,
) -> Chain:
    """A lossless chain; ``fixed`` nodes do not move, ``slack`` cells only pull."""
    n = mass.size
    inverse = 1.0 / mass
    inverse[list(fixed)] = 0.0
    zero, none = np.zeros(n - 1), np.zeros(n)
    least = np.full(n - 1, 0.0 if slack else TWO_WAY)
    bend = none.copy() if bend is None else bend
    return Chain(
        mass, inverse, stretch, rest_length, least, zero, zero.copy(), bend, none, none.copy(), NOWHERE, NOWHERE
    )


def plain_grid(chain: Chain) -> Grid:
    """Nodes numbered along the chain, each meeting the next two."""
    free = np.flatnonzero(chain.inverse_mass > 0.0)
    place = np.full(chain.mass.size, -1, dtype=np.int64)
    place[free] = 2 * np.arange(free.size)
    first = np.repeat(2 * np.maximum(np.arange(free.size) - 2, 0), 2).astype(np.int64)
    start = np.concatenate(([0], np.cumsum(np.arange(first.size) - first))).astype(np.int64)
    return Grid(place, start, first)


def matrix_of(chain: Chain, grid: Grid, x: np.ndarray, y: np.ndarray) -> Matrix:
    """The tangent matrix in its envelope."""
    matrix = empty_matrix(grid)
    chain_tangent(chain, grid, x, y, False, matrix, blocks_for(x.size))
    return matrix


def residual(chain: Chain, x: np.ndarray, y: np.ndarray, load: Load) -> np.ndarray:
    """Forces of chain and load on the nodes (2, n)."""
    n = x.size
    fx, fy, still = np.empty(n), np.empty(n), np.zeros(n)
    chain_forces(chain, x, y, still, still, fx, fy, make_cells(n))
    px, py = load(x, y)
    return np.array([fx + px, fy + py])


def settle(
    chain: Chain, x: np.ndarray, y: np.ndarray, load: Load, tolerance: float = 1e-9
) -> tuple[np.ndarray, np.ndarray]:
    """Equilibrium under dead loads, by Newton's method; the longest move of a node in one step is a tenth
    of the chain's size."""
    grid = plain_grid(chain)
    free = grid.place >= 0
    x, y = x.copy(), y.copy()
    size = np.ptp(x) + np.ptp(y)
    for _ in range(200):
        f = residual(chain, x, y, load)[:, free]
        if np.abs(f).max() < tolerance:
            return x, y
        parts = matrix_of(chain, grid, x, y)
        assert factor(grid, parts) == 0
        step = f.T.ravel().copy()
        solve(grid, parts, step)
        step *= min(1.0, 0.1 * size / np.abs(step).max())
        x[free] += step[0::2]
        y[free] += step[1::2]
    raise AssertionError("no equilibrium")


def tip_load(chain: Chain, fx: float, fy: float) -> Load:
    """A dead force on the last node."""
    px, py = np.zeros(chain.mass.size), np.zeros(chain.mass.size)
    px[-1], py[-1] = fx, fy
    return lambda x, y: (px, py)


def cantilever(cells: int, tip_mass: float = 0.0, axial: float = 1e8) -> tuple[Chain, np.ndarray, np.ndarray]:
    """A limb of unit length, stiffness and mass along x, clamped at 0: chain and positions.

    Node 0 is the clamp behind the root, as in the bow's row.
    """
    limb = SimpleNamespace(
        length=1.0, at=(0.0, 1.0), bending_stiffness=(1.0, 1.0), mass_per_length=(1.0, 1.0), width=None,
        thickness=None, modulus=None, density=None, natural_curvature=(0.0,), curvature_at=(), axial_stiffness=axial,
        tip_mass=tip_mass, loss_time=0.0,
    )  # fmt: skip
    return clamped_limb(limb, cells)


def clamped_limb(limb: Any, cells: int) -> tuple[Chain, np.ndarray, np.ndarray]:
    """A limb of its own, unstrung, its root at 0 and along x there, curved towards y: chain and positions.

    Node 0 is the clamp behind the root, as in the bow's row.
    """
    parts = limb_cells(limb, cells)
    size = limb.length / cells
    chain = make_chain(
        np.concatenate(([1.0], parts["mass"])),
        np.concatenate(([0.0], parts["stretch"])),
        np.concatenate(([size], parts["rest_length"])),
        np.concatenate(([0.0], parts["bend"], [0.0])),
        fixed=(0, 1),
    )
    natural = np.concatenate(([0.0], parts["natural"], [0.0]))
    heading = np.cumsum(2.0 * np.arctan(0.5 * natural[1:-1]))
    x = np.concatenate(([-size, 0.0], size * np.cumsum(np.cos(heading))))
    y = np.concatenate(([0.0, 0.0], size * np.cumsum(np.sin(heading))))
    return chain._replace(natural=natural), x, y


def across(chain: Chain, x: np.ndarray, y: np.ndarray, axis: int = 1) -> np.ndarray:
    """Stiffness of the free nodes of a straight chain across itself (1: along y, 0: along x)."""
    grid = plain_grid(chain)
    matrix = dense(grid, matrix_of(chain, grid, x, y))
    return matrix[axis::2, axis::2]


def frequencies(chain: Chain, x: np.ndarray, y: np.ndarray, count: int, axis: int = 1) -> np.ndarray:
    """Lowest angular frequencies of a straight chain across itself (see `across`) [rad/s]."""
    root = np.sqrt(chain.inverse_mass[chain.inverse_mass > 0.0])
    values = eigh(root[:, None] * across(chain, x, y, axis) * root, eigvals_only=True)[:count]
    return np.sqrt(np.maximum(values, 0.0))


def frequencies_in_plane(chain: Chain, x: np.ndarray, y: np.ndarray, count: int) -> np.ndarray:
    """Lowest angular frequencies of a chain at rest, along x and y together [rad/s]."""
    grid = plain_grid(chain)
    root = np.repeat(np.sqrt(chain.inverse_mass[chain.inverse_mass > 0.0]), 2)
    values = eigh(root[:, None] * dense(grid, matrix_of(chain, grid, x, y)) * root, eigvals_only=True)[:count]
    return np.sqrt(np.maximum(values, 0.0))


def richardson(coarse: ArrayLike, fine: ArrayLike) -> np.ndarray:
    """Order 2 from a mesh and one twice as fine."""
    return (4.0 * np.asarray(fine) - coarse) / 3.0


def assert_order_2(values: ArrayLike, exact: ArrayLike, within: float = 0.1) -> None:
    """Errors of meshes each twice as fine as the one before fall with slope 2."""
    errors = np.abs(np.asarray(values) - exact)
    slopes = np.log2(errors[:-1] / errors[1:])
    np.testing.assert_allclose(slopes, 2.0, atol=within)
