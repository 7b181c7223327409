"""The longest stable step of the release, from the assembled stiffness and loss at full draw."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.throat import add_throat_forces, throat_state
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.statics.envelope import clear
from archerysim.mechanics.statics.room import divided
from archerysim.mechanics.statics.tangent import chain_tangent, throat_tangent

LOOK = 10  # rounds of power iteration between two looks
SETTLED = 3e-4  # change of the step between them, of itself, at which it has settled
MOST = 400  # rounds


class Swing(NamedTuple):
    """A way in which the bow may swing, and what acts against it; all of it is written."""

    vx: np.ndarray  #: (n,) velocities
    vy: np.ndarray
    still_x: np.ndarray  #: (n,) forces at rest [N]
    still_y: np.ndarray
    pull: np.ndarray  #: (m,) what the stiffness makes of the velocities


def size_of_swing(nodes: int, equations: int) -> int:
    """Numbers of a `Swing`."""
    return 4 * nodes + equations


@inlined
def swing_in(memory, n):
    """The memory as a `Swing`."""
    return Swing(memory[:n], memory[n : 2 * n], memory[2 * n : 3 * n], memory[3 * n : 4 * n], memory[4 * n :])


@inlined
def envelope_times(grid, matrix, v, out):
    """Product of an envelope matrix (not factored) and a vector."""
    low, up, diagonal, _ = matrix
    m = diagonal.shape[0]
    for i in range(m):
        out[i] = diagonal[i] * v[i]
    for i in range(m):
        f = grid.first[i]
        s = grid.start[i]
        total = 0.0
        for k in range(f, i):
            total += low[s + k - f] * v[k]
            out[k] += up[s + k - f] * v[i]
        out[i] += total


@kernel
def add_loss(standing, x, y, vx, vy, fx, fy, cells):
    """Write the forces of chain and throat that go with the velocities [N], the contacts held closed.

    Elastic forces are written too; they are those of no velocity at all.
    """
    c, marks, closed, _, _ = standing
    chain_forces(c, x, y, vx, vy, fx, fy, cells)
    a = marks.tail
    if a < x.shape[0]:
        u = marks.edge_u
        _, _, _, ru, rl, rs, nx, ny = throat_state(closed, x, y, vx, vy, u, a)
        add_throat_forces(x, y, u, a, nx, ny, closed.loss * ru, closed.loss * rl, closed.locator_loss * rs, fx, fy)


@kernel
def longest_step(standing, inertia, x, y, memory):
    """The longest stable step dt, and the frequency and rate of loss of the mode that sets it.

    With stiffness K, loss C and masses M the scheme of the release is stable where dt^2 K + 4 dt C is below 4 M.
    Power iteration on that sum from a fixed alternating start, dt following the Rayleigh quotients k of K and r of C:
    dt^2 k + 4 dt r = 4. The answer is the same on every call and comes from above; rounds end once dt has settled.

    Parameters
    ----------
    standing : Standing
        Its throat with a grip that never opens and no gap; the rest is not asked.
    inertia : float
        Against the stretching of the cell on the nock's floor, see `floor_inertia` [kg].
    x, y : (n,) arrays
        Positions [m].
    memory : array
        See `room.size_of` and `size_of_swing`, together.

    Returns
    -------
    dt : float
        [s]
    frequency, loss : float
        sqrt(k) [rad/s] and r [1/s].
    """
    n = x.shape[0]
    c, marks, closed, _, grid = standing
    room = divided(memory, grid)
    vx, vy, still_x, still_y, pull = swing_in(room.spare, n)
    matrix, cells, fx, fy, v = room.matrix, room.cells, room.fx, room.fy, room.step
    clear(matrix)
    chain_tangent(c, grid, x, y, 0.0, matrix, room.blocks)
    if marks.tail < n:
        throat_tangent(closed, marks, grid, x, y, matrix)
    for i in range(n):
        vx[i] = 0.0
        vy[i] = 0.0
        if grid.place[i] >= 0:
            vx[i] = 1.0 if i % 2 == 0 else -1.0
            vy[i] = 0.7 * vx[i]
    add_loss(standing, x, y, room.zero, room.zero, still_x, still_y, cells)
    dt = 0.0
    k = 0.0
    r = 0.0
    u = marks.edge_u
    settled = np.inf
    for done in range(1, MOST + 1):
        norm = 0.0
        for i in range(n):
            norm += c.mass[i] * (vx[i] * vx[i] + vy[i] * vy[i])
        parting = (vx[u + 1] - vx[u]) * cells.along_x[u] + (vy[u + 1] - vy[u]) * cells.along_y[u]
        norm = 1.0 / math.sqrt(norm + inertia * parting * parting)
        for i in range(n):
            vx[i] *= norm
            vy[i] *= norm
            p = grid.place[i]
            if p >= 0:
                v[p] = vx[i]
                v[p + 1] = vy[i]
        envelope_times(grid, matrix, v, pull)
        add_loss(standing, x, y, vx, vy, fx, fy, cells)
        k = 0.0
        r = 0.0
        for i in range(n):
            p = grid.place[i]
            if p >= 0:
                k += v[p] * pull[p] + v[p + 1] * pull[p + 1]
                r += vx[i] * (still_x[i] - fx[i]) + vy[i] * (still_y[i] - fy[i])
        dt = 2.0 / (r + math.sqrt(r * r + k))
        if done % LOOK == 0:
            if settled - dt < SETTLED * dt:
                break
            settled = dt
        for i in range(n):
            p = grid.place[i]
            fx[i] = dt * pull[p] + 4.0 * (still_x[i] - fx[i]) if p >= 0 else 0.0
            fy[i] = dt * pull[p + 1] + 4.0 * (still_y[i] - fy[i]) if p >= 0 else 0.0
        share_floor(c, u, inertia, cells, fx, fy)
        for i in range(n):
            vx[i] = fx[i] * c.inverse_mass[i]
            vy[i] = fy[i] * c.inverse_mass[i]
    return dt, math.sqrt(k), r
