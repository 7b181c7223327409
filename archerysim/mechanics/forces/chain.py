"""Forces of the chain: stretch, bend and loss."""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.compiling import inlined, with_memory
from archerysim.mechanics.forces.wrap import wrap_force, wrap_pull


@inlined
def chain_forces(c, x, y, vx, vy, fx, fy, cells):
    """Write the chain's forces on its nodes.

    A cell of length L pulls with k (L - L0), never under its least force, and resists the difference of
    its nodes' velocities. A node with bend b = 2 tan(angle / 2) carries the energy B (b - b0)^2 / 2. Where the chain
    has a loop, the moment that goes with b is less by what hysteresis takes, see `Loop`.

    Parameters
    ----------
    c : Chain
    x, y, vx, vy : (n,) arrays
        Positions [m] and velocities [m/s].
    fx, fy : (n,) arrays
        Overwritten with the forces on the nodes [N].
    cells : Cells
        Written.
    """
    n = x.shape[0]
    tx, ty, per, turn, moment, gx, gy = cells
    for j in range(n - 1):
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        length = math.sqrt(ex * ex + ey * ey)
        inverse = 1.0 / length
        ux = ex * inverse
        uy = ey * inverse
        wx = vx[j + 1] - vx[j]
        wy = vy[j + 1] - vy[j]
        pull = max(c.stretch[j] * (length - c.rest_length[j]), c.least_force[j])
        pull += c.axial_loss[j] * (wx * ux + wy * uy)
        tx[j] = ux
        ty[j] = uy
        per[j] = inverse
        turn[j] = (ux * wy - uy * wx) * inverse
        gx[j] = pull * ux + c.loss[j] * wx
        gy[j] = pull * uy + c.loss[j] * wy
    moment[0] = 0.0
    moment[n - 1] = 0.0
    if c.loop.size.shape[0] == 0:
        for i in range(1, n - 1):
            cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i]
            bend = 2.0 * cross / (1.0 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i])
            slope = 1.0 + 0.25 * bend * bend
            rate = slope * (turn[i] - turn[i - 1])
            moment[i] = slope * (c.bend[i] * (bend - c.natural[i]) + c.bend_loss[i] * rate)
    else:
        loop = c.loop
        for i in range(1, n - 1):
            cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i]
            bend = 2.0 * cross / (1.0 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i])
            slope = 1.0 + 0.25 * bend * bend
            rate = slope * (turn[i] - turn[i - 1])
            away = bend - loop.centre[i]
            kept = loop.size[i] * max(loop.square[i] - away * away, 0.0)
            moment[i] = slope * (c.bend[i] * (bend - c.natural[i]) + c.bend_loss[i] * rate - kept)
    for j in range(n - 1):
        shear = (moment[j] - moment[j + 1]) * per[j]
        gx[j] -= shear * ty[j]
        gy[j] += shear * tx[j]
    fx[0] = gx[0]
    fy[0] = gy[0]
    for i in range(1, n - 1):
        fx[i] = gx[i] - gx[i - 1]
        fy[i] = gy[i] - gy[i - 1]
    fx[n - 1] = -gx[n - 2]
    fy[n - 1] = -gy[n - 2]
    if c.above.reach > 0:
        wrap_force(c.above, c.rest_length, c.least_force, x, y, gx, gy, fx, fy)
    if c.below.reach > 0:
        wrap_force(c.below, c.rest_length, c.least_force, x, y, gx, gy, fx, fy)


@with_memory
def chain_energy(c, x, y, first, last):
    """Elastic energy of the cells first..last-1 and of the bends strictly inside them [J].

    Returns
    -------
    stretch, bend : float
    """
    stretch = 0.0
    bend_energy = 0.0
    for j in range(first, last):
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        length = math.sqrt(ex * ex + ey * ey)
        longer = length - c.rest_length[j]
        if longer > 0.0 or c.least_force[j] < 0.0:
            stretch += 0.5 * c.stretch[j] * longer * longer
        if j > first:
            px = x[j] - x[j - 1]
            py = y[j] - y[j - 1]
            before = math.sqrt(px * px + py * py)
            bend = 2.0 * (px * ey - py * ex) / (before * length + px * ex + py * ey) - c.natural[j]
            bend_energy += 0.5 * c.bend[j] * bend * bend
    for w in (c.above, c.below):
        if w.reach > 0 and first <= w.cell < last:
            pull = wrap_pull(w, c.rest_length, x, y, np.empty(w.reach + 2), np.empty(w.reach + 2))
            stretch += 0.5 * pull * pull / w.stretch[0]
    return stretch, bend_energy
