"""A shaft alone, out of the bow's plane, under the chain's forces of the release."""

from __future__ import annotations

import numpy as np
from scipy.linalg import eigh

from archerysim.mechanics.arrays import Arm, Chain, SideSupport, Sideways
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.shot.arrays.build import make_cells
from archerysim.shot.release.room import make_side

X, Y, Z = 0, 1, 2


def shaft_of(chain: Chain, tail: int) -> Chain:
    """The arrow's part of a bow's chain."""
    nodes, cells = slice(tail, None), slice(tail, None)
    of_nodes = ("mass", "inverse_mass", "bend", "natural", "bend_loss")
    of_cells = ("stretch", "rest_length", "least_force", "loss", "axial_loss")
    return chain._replace(
        **{name: getattr(chain, name)[nodes].copy() for name in of_nodes},
        **{name: getattr(chain, name)[cells].copy() for name in of_cells},
        above=chain.above._replace(reach=0), below=chain.below._replace(reach=0),
    )  # fmt: skip


def shaft_forces(chain: Chain, place: np.ndarray, velocity: np.ndarray | None = None) -> np.ndarray:
    """Forces (3, n) on a shaft's nodes at places and velocities (3, n); at rest unless they are given."""
    n = chain.mass.size
    own = Sideways(
        0, 0, 0, np.ones(n - 1), chain.inverse_mass, np.zeros(n), np.zeros(2), np.zeros(2), 0.0, 0.0,
        SideSupport(*np.zeros(8)), Arm(np.inf, 0.0), 0.0, 0.0,
    )  # fmt: skip
    side = make_side(own, place[Z])
    velocity = np.zeros((3, n)) if velocity is None else velocity
    side.motion.vz[:] = velocity[Z]
    fx, fy = np.empty((2, n))
    x, y = (place[k].copy() for k in (X, Y))
    chain_forces(chain, x, y, velocity[X].copy(), velocity[Y].copy(), fx, fy, make_cells(n), side)
    return np.array([fx, fy, side.motion.fz])


def stiffness(chain: Chain, place: np.ndarray, axis: int, step: float = 1e-6) -> np.ndarray:
    """Stiffness of all nodes along an axis (n, n) [N/m], by central differences."""
    n = chain.mass.size
    matrix = np.empty((n, n))
    for i in range(n):
        away = np.zeros((3, n))
        away[axis, i] = step
        matrix[:, i] = (shaft_forces(chain, place - away)[axis] - shaft_forces(chain, place + away)[axis]) / (
            2.0 * step
        )
    return 0.5 * (matrix + matrix.T)


def frequencies(chain: Chain, place: np.ndarray, axis: int, count: int) -> np.ndarray:
    """Lowest angular frequencies across a free straight shaft, its two rigid motions left out [rad/s]."""
    values = eigh(stiffness(chain, place, axis), np.diag(chain.mass), eigvals_only=True)
    return np.asarray(np.sqrt(values[2 : 2 + count]))
