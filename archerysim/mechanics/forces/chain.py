"""Forces of the chain: stretch, bend and loss.

In the shot in both planes string and shaft move sideways too, along z; the limbs' cells do not know of it. A shaft's
node with the directions e and f of its cells holds 2 B (1 - e . f) / (1 + e . f), which is B b^2 / 2 in space; it has
neither a bend at rest nor a loss. What a kernel does for z alone stands behind ``side is None``, which is decided when
it is compiled.
"""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.compiling import inlined, with_memory
from archerysim.mechanics.forces.wrap import wrap_force, wrap_pull


@inlined
def chain_forces(c, x, y, vx, vy, fx, fy, cells, side=None):
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
    side : Side or None
        None in the shot in one plane; its motion's forces are overwritten.
    """
    n = x.shape[0]
    tx, ty, per, turn, moment, gx, gy = cells
    bent = n - 1  # nodes before this one bend in their plane
    if side is not None:
        span, z, vz = side.model.span, side.motion.z, side.motion.vz
        tz, gz = side.motion.along, side.motion.pull
        bent = side.model.tail
    for j in range(n - 1):
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        if side is None:
            length = math.sqrt(ex * ex + ey * ey)
        else:
            ez = span[j] * (z[j + 1] - z[j])
            length = math.sqrt(ex * ex + ey * ey + ez * ez)
        inverse = 1.0 / length
        ux = ex * inverse
        uy = ey * inverse
        wx = vx[j + 1] - vx[j]
        wy = vy[j + 1] - vy[j]
        pull = max(c.stretch[j] * (length - c.rest_length[j]), c.least_force[j])
        if side is None:
            pull += c.axial_loss[j] * (wx * ux + wy * uy)
        else:
            uz = ez * inverse
            wz = span[j] * (vz[j + 1] - vz[j])
            pull += c.axial_loss[j] * (wx * ux + wy * uy + wz * uz)
            tz[j] = uz
            gz[j] = pull * uz + c.loss[j] * wz
        tx[j] = ux
        ty[j] = uy
        per[j] = inverse
        turn[j] = (ux * wy - uy * wx) * inverse
        gx[j] = pull * ux + c.loss[j] * wx
        gy[j] = pull * uy + c.loss[j] * wy
    moment[0] = 0.0
    moment[bent] = 0.0
    if c.loop.size.shape[0] == 0:
        for i in range(1, bent):
            cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i]
            bend = 2.0 * cross / (1.0 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i])
            slope = 1.0 + 0.25 * bend * bend
            rate = slope * (turn[i] - turn[i - 1])
            moment[i] = slope * (c.bend[i] * (bend - c.natural[i]) + c.bend_loss[i] * rate)
    else:
        loop = c.loop
        for i in range(1, bent):
            cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i]
            bend = 2.0 * cross / (1.0 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i])
            slope = 1.0 + 0.25 * bend * bend
            rate = slope * (turn[i] - turn[i - 1])
            away = bend - loop.centre[i]
            kept = loop.size[i] * max(loop.square[i] - away * away, 0.0)
            moment[i] = slope * (c.bend[i] * (bend - c.natural[i]) + c.bend_loss[i] * rate - kept)
    if side is not None:
        bend_in_space(c, bent, cells, side.motion)
    for j in range(bent):
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
    if side is not None:
        fz = side.motion.fz
        fz[0] = gz[0]
        for i in range(1, n - 1):
            fz[i] = gz[i] - gz[i - 1]
        fz[n - 1] = -gz[n - 2]
    if c.above.reach > 0:
        wrap_force(c.above, c.rest_length, c.least_force, x, y, gx, gy, fx, fy, side)
    if c.below.reach > 0:
        wrap_force(c.below, c.rest_length, c.least_force, x, y, gx, gy, fx, fy, side)


@inlined
def bend_in_space(c, a, cells, motion):
    """Add to the cells' pulls what the shaft's bends do, from node ``a`` on.

    With d = e . f at a node, the force is 4 B / (1 + d)^2 times the gradient of d with the node's neighbours. The loops
    are of few arrays each: with many, the compiler's vectors begin to pay for more cells only than a shaft has.
    """
    bend, per = c.bend[a:], cells.per[a:]
    tx, ty, tz = cells.along_x[a:], cells.along_y[a:], motion.along[a:]
    firm, cosine = motion.firm[a:], motion.cosine[a:]
    last = bend.shape[0] - 1
    for i in range(1, last):
        cosine[i] = tx[i - 1] * tx[i] + ty[i - 1] * ty[i] + tz[i - 1] * tz[i]
    for i in range(1, last):
        over = 1.0 / (1.0 + cosine[i])
        firm[i] = 4.0 * bend[i] * over * over
    pull_of_bends(per, firm, cosine, tx, cells.pull_x[a:])
    pull_of_bends(per, firm, cosine, ty, cells.pull_y[a:])
    pull_of_bends(per, firm, cosine, tz, motion.pull[a:])


@inlined
def pull_of_bends(per, firm, cosine, along, pull):
    """One component of what the bends add to a shaft's cells; the ends' `firm` is zero, nothing bends there."""
    own = per[0] * firm[1]
    pull[0] -= own * (along[1] - cosine[1] * along[0])
    for j in range(1, per.shape[0] - 1):
        one = per[j] * firm[j]
        two = per[j] * firm[j + 1]
        own = one * cosine[j] + two * cosine[j + 1]
        pull[j] -= one * along[j - 1] + two * along[j + 1] - own * along[j]


@with_memory
def chain_energy(c, x, y, first, last, z=None):
    """Elastic energy of the cells first..last-1 and of the bends strictly inside them [J].

    With ``z`` the cells are string or shaft of the shot in both planes.

    Returns
    -------
    stretch, bend : float
    """
    stretch = 0.0
    bend_energy = 0.0
    for j in range(first, last):
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        if z is None:
            length = math.sqrt(ex * ex + ey * ey)
        else:
            ez = z[j + 1] - z[j]
            length = math.sqrt(ex * ex + ey * ey + ez * ez)
        longer = length - c.rest_length[j]
        if longer > 0.0 or c.least_force[j] < 0.0:
            stretch += 0.5 * c.stretch[j] * longer * longer
        if j > first:
            px = x[j] - x[j - 1]
            py = y[j] - y[j - 1]
            if z is None:
                before = math.sqrt(px * px + py * py)
                bend = 2.0 * (px * ey - py * ex) / (before * length + px * ex + py * ey) - c.natural[j]
                bend_energy += 0.5 * c.bend[j] * bend * bend
            else:
                pz = z[j] - z[j - 1]
                before = math.sqrt(px * px + py * py + pz * pz)
                cx = py * ez - pz * ey
                cy = pz * ex - px * ez
                cz = px * ey - py * ex
                along = before * length + px * ex + py * ey + pz * ez
                bend_energy += 2.0 * c.bend[j] * (cx * cx + cy * cy + cz * cz) / (along * along)
    for w in (c.above, c.below):
        if w.reach > 0 and first <= w.cell < last:
            pull = wrap_pull(w, c.rest_length, x, y, np.empty(w.reach + 2), np.empty(w.reach + 2), z)
            stretch += 0.5 * pull * pull / w.stretch[0]
    return stretch, bend_energy
