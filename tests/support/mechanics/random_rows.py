"""Rows of nodes for the tests of the kernels: small bows in random states."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.mechanics.arrays import Chain, Frame, Grid, Marks, Support, Throat
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.shot.arrays.build import (
    assemble,
    make_cells,
    make_frame,
    make_grid,
    make_limbs_and_arrow,
    make_support,
    make_throat,
)
from archerysim.shot.arrays.mesh import Mesh
from tests.support.shot.reference_case import reference, set_locators


@dataclass
class Row:
    """A bow with an arrow in some state, at rest or moving."""

    chain: Chain
    marks: Marks
    grid: Grid
    frame: Frame
    throat: Throat
    support: Support
    x: np.ndarray
    y: np.ndarray
    vx: np.ndarray
    vy: np.ndarray

    @property
    def contact(self) -> np.ndarray:
        """Nodes that meet in the throat: both string points and the shaft's first three."""
        a, u = self.marks.tail, self.marks.edge_u
        return np.array([u, u + 1, a, a + 1, a + 2])


def random_row(rng: np.random.Generator, *, slope: float = 0.0, gap: float = 0.0) -> Row:
    """A reference bow of few cells thrown into a random shape.

    Cells are stretched by up to 0.5 % (string cells shortened too, so that some are slack), neighbours turn
    by up to 0.5 rad against each other, every bend has a natural value and a loss, the string is anywhere in
    the throat within half a millimetre, and the shaft lies across the rest.
    """
    setup = reference()
    setup.nock.slope = slope
    set_locators(setup.nock, gap=gap)
    setup.upper_limb.loss_time = setup.lower_limb.loss_time = 1e-4
    leans = (setup.upper_limb.pocket_angle, setup.lower_limb.pocket_angle)
    mesh = Mesh(4, 4, 4, 0.036)
    limbs_and_arrow = make_limbs_and_arrow(setup, mesh)
    chain, marks, _ = assemble(setup, 1.4857, 0.01, mesh, limbs_and_arrow)
    frame = make_frame(setup, limbs_and_arrow, leans)
    n, a = chain.mass.size, marks.tail
    chain.natural[1:-1] = rng.uniform(-0.3, 0.3, n - 2) * (chain.bend[1:-1] > 0.0)
    chain.bend_loss[1:-1] = rng.uniform(0.5, 1.0, n - 2) * 1e-4 * chain.bend[1:-1]
    chain.loss[chain.stretch > 0.0] = rng.uniform(0.01, 0.5, np.count_nonzero(chain.stretch))
    chain.axial_loss[chain.stretch > 0.0] = rng.uniform(0.01, 0.5, np.count_nonzero(chain.stretch))

    length = chain.rest_length * (1.0 + rng.uniform(-0.002, 0.005, n - 1))
    heading = np.cumsum(rng.uniform(-0.5, 0.5, n - 1))
    x = np.concatenate(([0.0], np.cumsum(length * np.cos(heading))))
    y = np.concatenate(([0.0], np.cumsum(length * np.sin(heading))))
    u = marks.edge_u
    # turn the bow so that the string at the throat runs down, then lay the shaft
    turn = -0.5 * np.pi + rng.uniform(-0.1, 0.1) - heading[u]
    x[:a], y[:a] = np.cos(turn) * x[:a] - np.sin(turn) * y[:a], np.sin(turn) * x[:a] + np.cos(turn) * y[:a]
    shaft = heading[a:] - heading[a] + rng.uniform(-0.1, 0.1)
    x[a] = 0.5 * (x[u] + x[u + 1]) + rng.uniform(-4e-4, 4e-4)
    y[a] = 0.5 * (y[u] + y[u + 1]) + rng.uniform(-4e-4, 4e-4)
    x[a + 1 :] = x[a] + np.cumsum(length[a:] * np.cos(shaft))
    y[a + 1 :] = y[a] + np.cumsum(length[a:] * np.sin(shaft))
    support = make_support(setup)
    under = x[a] + rng.uniform(0.1, 0.4)
    support = support._replace(
        x=under, y=float(np.interp(under, x[a:], y[a:])) - support.half_diameter + rng.uniform(0.0, 1e-3)
    )
    vx, vy = rng.uniform(-50.0, 50.0, (2, n))
    # neither edge comes or goes faster than a few metres a second: the throat's laws stay in reach
    vx[[u, u + 1, a, a + 1, a + 2]] = rng.uniform(-1.0, 1.0, 5)
    vy[[u, u + 1, a, a + 1, a + 2]] = rng.uniform(-1.0, 1.0, 5)
    return Row(chain, marks, make_grid(marks, n), frame, make_throat(setup.nock), support, x, y, vx, vy)


def forces(row: Row, vx: np.ndarray, vy: np.ndarray, throat: bool = True) -> np.ndarray:
    """Forces of chain and throat on the nodes (2, n)."""
    n = row.x.size
    fx, fy = np.empty((2, n))
    chain_forces(row.chain, row.x, row.y, vx, vy, fx, fy, make_cells(n))
    if throat:
        u, a = row.marks.edge_u, row.marks.tail
        du, dl, s, ru, rl, rs, nx, ny = throat_state(row.throat, row.x, row.y, vx, vy, u, a)
        fu, _ = edge_force(row.throat, du, ru)
        fl, _ = edge_force(row.throat, dl, rl)
        fs, _ = locator_force(row.throat, s, rs)
        add_throat_forces(row.x, row.y, u, a, nx, ny, fu, fl, fs, fx, fy)
    return np.array([fx, fy])


def seen_from_riser(row: Row, pose: np.ndarray) -> tuple[float, float]:
    """Place in the riser's axes of where the row's rest stands, the riser in a pose [m]."""
    right, up = row.support.x - pose[0], row.support.y - pose[1]
    cosine, sine = np.cos(pose[2]), np.sin(pose[2])
    return float(row.frame.cx + cosine * right + sine * up), float(row.frame.cy + cosine * up - sine * right)
