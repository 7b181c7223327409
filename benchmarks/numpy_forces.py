"""The chain's forces in plain NumPy: what a right-hand side looks like without compiling."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.riser import carried_node, point_of
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import finger_fade
from archerysim.shot.release.scipy_check import RightHandSide


def chain_forces(c, x, y, vx, vy):
    """As `archerysim.mechanics.forces.chain.chain_forces`."""
    ex, ey = np.diff(x), np.diff(y)
    length = np.hypot(ex, ey)
    ux, uy = ex / length, ey / length
    wx, wy = np.diff(vx), np.diff(vy)
    pull = np.maximum(c.stretch * (length - c.rest_length), c.least_force) + c.axial_loss * (wx * ux + wy * uy)
    gx, gy = pull * ux + c.loss * wx, pull * uy + c.loss * wy
    turn = (ux * wy - uy * wx) / length
    cross = ux[:-1] * uy[1:] - uy[:-1] * ux[1:]
    bend = 2.0 * cross / (1.0 + ux[:-1] * ux[1:] + uy[:-1] * uy[1:])
    slope = 1.0 + 0.25 * bend * bend
    moment = np.zeros(x.size)
    moment[1:-1] = slope * (c.bend[1:-1] * (bend - c.natural[1:-1]) + c.bend_loss[1:-1] * slope * np.diff(turn))
    shear = -np.diff(moment) / length
    gx, gy = gx - shear * uy, gy + shear * ux
    return np.diff(gx, prepend=0.0, append=0.0), np.diff(gy, prepend=0.0, append=0.0)


class NumpyRightHandSide(RightHandSide):
    """The shot's rates with the chain in NumPy and the few contacts evaluated one by one."""

    def __call__(self, time, state):
        self.count += 1
        self.spread(state)
        pose, rate, _ = self.riser
        d, m, fr, c = self.drawing, self.marks, self.frame, self.chain
        x, y, vx, vy, _, _, cells = self.nodes
        a, u, n = m.tail, m.edge_u, x.size
        for k in range(4):
            i = carried_node(m, k)
            x[i], y[i], vx[i], vy[i] = point_of(fr, pose, rate, fr.carried[k, 0], fr.carried[k, 1])
        with np.errstate(all="ignore"):  # an integrator may try a wild state and take it back
            fx, fy = chain_forces(c, x, y, vx, vy)
        for k in range(3):
            left = finger_fade(d.fingers, k, time)
            if left > 0.0:
                touched = slice(d.fingers.first, d.fingers.first + d.fingers.weight.shape[1])
                fx[touched] += left * d.fingers.weight[k] * self.drawn.force[0]
                fy[touched] += left * d.fingers.weight[k] * self.drawn.force[1]
        if self.inside:
            du, dl, s, ru, rl, rs, nx, ny = throat_state(d.throat, x, y, vx, vy, u, a)
            fu, _ = edge_force(d.throat, du, ru)
            fl, _ = edge_force(d.throat, dl, rl)
            fs, _ = locator_force(d.throat, s, rs)
            add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
        apart = np.array([x[u + 1] - x[u], y[u + 1] - y[u]])
        cells.along_x[u], cells.along_y[u] = apart / np.hypot(*apart)
        su = d.support
        at_x, at_y, _, at_vy = point_of(fr, pose, rate, su.x, su.y)
        f = 0.0
        cell = cell_over(x, a, n, at_x, a)
        if cell >= 0 and self.supported:
            press, pressing, xi, _ = rest_gap(su, x, y, vy, cell, at_x, at_y, at_vy)
            f = rest_force(su, press, pressing)
            fy[cell] += (1.0 - xi) * f
            fy[cell + 1] += xi * f
        px, py, pvx, pvy = point_of(fr, pose, rate, 0.0, 0.0)
        hx = self.hand[0] - fr.hand_stiffness * px - fr.hand_damping * pvx
        hy = self.hand[1] - fr.hand_stiffness * py - fr.hand_damping * pvy
        ht = self.hand[2] - fr.hand_turn_stiffness * pose[2] - fr.hand_turn_damping * rate[2]
        nodes = [carried_node(m, k) for k in range(4)]
        st = ht + (px - pose[0]) * hy - (py - pose[1]) * hx - (at_x - pose[0]) * f
        st += ((x[nodes] - pose[0]) * fy[nodes] - (y[nodes] - pose[1]) * fx[nodes]).sum()
        turn = np.array([
            (hx + fx[nodes].sum()) / fr.mass + self.gravity[0],
            (hy - f + fy[nodes].sum()) / fr.mass + self.gravity[1],
            st / fr.inertia,
        ])  # fmt: skip
        share_floor(c, u, self.model.floor_inertia, cells, fx, fy)
        k = self.free.size
        inverse = c.inverse_mass[self.free]
        return np.concatenate((
            state[2 * k : 4 * k], fx[self.free] * inverse + self.gravity[0], fy[self.free] * inverse + self.gravity[1],
            rate, turn,
        ))  # fmt: skip
