"""The longest stable step of the release, from the assembled stiffness and loss at full draw."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.throat import add_throat_forces, throat_state
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.statics.tangent import chain_tangent, throat_tangent

LOOK = 10  # rounds of power iteration between two looks
SETTLED = 3e-4  # change of the step between them, of itself, at which it has settled
MOST = 400  # rounds


@kernel
def envelope_times(grid, low, up, diagonal, v, out):
    """Product of an envelope matrix (not factored) and a vector."""
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
def add_loss(c, marks, closed, x, y, vx, vy, fx, fy, work):
    """Write the forces of chain and throat that go with the velocities [N], the contacts held closed.

    Elastic forces are written too; they are those of no velocity at all.
    """
    chain_forces(c, x, y, vx, vy, fx, fy, work)
    a = marks.tail
    if a < x.shape[0]:
        u = marks.edge_u
        _, _, _, ru, rl, rs, nx, ny = throat_state(closed, x, y, vx, vy, u, a)
        add_throat_forces(x, y, u, a, nx, ny, closed.loss * ru, closed.loss * rl, closed.locator_loss * rs, fx, fy)


@kernel
def longest_step(c, marks, closed, inertia, grid, x, y):
    """The longest stable step dt, and the frequency and rate of loss of the mode that sets it.

    With stiffness K, loss C and masses M the scheme of the release is stable where dt^2 K + 4 dt C is below 4 M.
    Power iteration on that sum from a fixed alternating start, dt following the Rayleigh quotients k of K and r of C:
    dt^2 k + 4 dt r = 4. The answer is the same on every call and comes from above; rounds end once dt has settled.

    Parameters
    ----------
    c, marks, grid : Chain, Marks, Grid
    closed : Throat
        The throat with a grip that never opens and no gap.
    inertia : float
        Against the stretching of the cell on the nock's floor, see `floor` [kg].
    x, y : (n,) arrays
        Positions [m].

    Returns
    -------
    dt : float
        [s]
    frequency, loss : float
        sqrt(k) [rad/s] and r [1/s].
    """
    n = x.shape[0]
    m = grid.first.shape[0]
    size = grid.start[m]
    low = np.zeros(size)
    up = np.zeros(size)
    diagonal = np.zeros(m)
    chain_tangent(c, grid, x, y, 0.0, low, up, diagonal)
    if marks.tail < n:
        throat_tangent(closed, marks, grid, x, y, low, up, diagonal)
    work = np.empty((7, n))
    zero = np.zeros(n)
    still_x = np.empty(n)
    still_y = np.empty(n)
    fx = np.empty(n)
    fy = np.empty(n)
    vx = np.zeros(n)
    vy = np.zeros(n)
    v = np.zeros(m)
    pull = np.zeros(m)
    for i in range(n):
        if grid.place[i] >= 0:
            vx[i] = 1.0 if i % 2 == 0 else -1.0
            vy[i] = 0.7 * vx[i]
    add_loss(c, marks, closed, x, y, zero, zero, still_x, still_y, work)
    dt = 0.0
    k = 0.0
    r = 0.0
    u = marks.edge_u
    settled = np.inf
    for done in range(1, MOST + 1):
        norm = 0.0
        for i in range(n):
            norm += c.mass[i] * (vx[i] * vx[i] + vy[i] * vy[i])
        parting = (vx[u + 1] - vx[u]) * work[0, u] + (vy[u + 1] - vy[u]) * work[1, u]
        norm = 1.0 / np.sqrt(norm + inertia * parting * parting)
        for i in range(n):
            vx[i] *= norm
            vy[i] *= norm
            p = grid.place[i]
            if p >= 0:
                v[p] = vx[i]
                v[p + 1] = vy[i]
        envelope_times(grid, low, up, diagonal, v, pull)
        add_loss(c, marks, closed, x, y, vx, vy, fx, fy, work)
        k = 0.0
        r = 0.0
        for i in range(n):
            p = grid.place[i]
            if p >= 0:
                k += v[p] * pull[p] + v[p + 1] * pull[p + 1]
                r += vx[i] * (still_x[i] - fx[i]) + vy[i] * (still_y[i] - fy[i])
        dt = 2.0 / (r + np.sqrt(r * r + k))
        if done % LOOK == 0:
            if settled - dt < SETTLED * dt:
                break
            settled = dt
        for i in range(n):
            p = grid.place[i]
            fx[i] = dt * pull[p] + 4.0 * (still_x[i] - fx[i]) if p >= 0 else 0.0
            fy[i] = dt * pull[p + 1] + 4.0 * (still_y[i] - fy[i]) if p >= 0 else 0.0
        share_floor(c, u, inertia, work, fx, fy)
        for i in range(n):
            vx[i] = fx[i] * c.inverse_mass[i]
            vy[i] = fy[i] * c.inverse_mass[i]
    return dt, np.sqrt(k), r
