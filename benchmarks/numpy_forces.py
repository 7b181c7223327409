"""The chain's forces in plain NumPy: what a right-hand side looks like without compiling."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.riser import carried_node, point_of
from archerysim.mechanics.forces.side_support import side_force, side_push
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import finger_fade, rolled_off
from archerysim.mechanics.release.side_layout import FOLDED, UP
from archerysim.shot.release.scipy_check import RightHandSide

GROOVE = np.array([1.0, -0.5, -0.5])  # on the tail and on the string's points at the nock


def chain_forces(c, x, y, vx, vy, side=None):
    """As `archerysim.mechanics.forces.chain.chain_forces`; forces and the cells' directions, a row a component."""
    apart, parting = np.diff([x, y]), np.diff([vx, vy])
    bent = x.size - 1
    if side is not None:
        span, bent = side.model.span, side.model.tail
        apart = np.concatenate((apart, [span * np.diff(side.motion.z)]))
        parting = np.concatenate((parting, [span * np.diff(side.motion.vz)]))
    length = np.sqrt((apart * apart).sum(axis=0))
    along = apart / length
    pull = np.maximum(c.stretch * (length - c.rest_length), c.least_force)
    pull += c.axial_loss * (parting * along).sum(axis=0)
    pulls = pull * along + c.loss * parting
    ux, uy = along[:2, : bent + 1]
    turn = (ux * parting[1, : bent + 1] - uy * parting[0, : bent + 1]) / length[: bent + 1]
    cross, cosine = ux[:-1] * uy[1:] - uy[:-1] * ux[1:], ux[:-1] * ux[1:] + uy[:-1] * uy[1:]
    bend = (2.0 * cross / (1.0 + cosine))[: bent - 1]
    slope = 1.0 + 0.25 * bend * bend
    moment, inner = np.zeros(bent + 1), slice(1, bent)
    rate = slope * np.diff(turn)[: bent - 1]
    moment[inner] = slope * (c.bend[inner] * (bend - c.natural[inner]) + c.bend_loss[inner] * rate)
    shear = -np.diff(moment) / length[:bent]
    pulls[0, :bent] -= shear * uy[:bent]
    pulls[1, :bent] += shear * ux[:bent]
    if side is not None:
        e = along[:, bent:]
        d = (e[:, :-1] * e[:, 1:]).sum(axis=0)
        firm = 4.0 * c.bend[bent + 1 : -1] / (1.0 + d) ** 2
        pulls[:, bent + 1 :] -= firm / length[bent + 1 :] * (e[:, :-1] - d * e[:, 1:])
        pulls[:, bent:-1] -= firm / length[bent:-1] * (e[:, 1:] - d * e[:, :-1])
    return np.diff(pulls, prepend=0.0, append=0.0), along


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
        side = self.side
        with np.errstate(all="ignore"):  # an integrator may try a wild state and take it back
            forces, along = chain_forces(c, x, y, vx, vy, side)
        fx, fy = forces[:2]
        fz = forces[2] if side is not None else None
        for k in range(3):
            left = finger_fade(d.fingers, k, time)
            if left > 0.0:
                touched = slice(d.fingers.first, d.fingers.first + d.fingers.weight.shape[1])
                fx[touched] += left * d.fingers.weight[k] * self.drawn.force[0]
                fy[touched] += left * d.fingers.weight[k] * self.drawn.force[1]
                if side is not None:
                    out = side.model.hold + side.model.roll * rolled_off(d.fingers, k, time)
                    fz[touched] += left * d.fingers.weight[k] * out
        if self.inside:
            du, dl, s, ru, rl, rs, nx, ny = throat_state(d.throat, x, y, vx, vy, u, a)
            fu, _ = edge_force(d.throat, du, ru)
            fl, _ = edge_force(d.throat, dl, rl)
            fs, _ = locator_force(d.throat, s, rs)
            add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
            if side is not None:
                z, vz = side.motion.z, side.motion.vz
                push = side.model.groove_stiffness * (0.5 * (z[u] + z[u + 1]) - z[a])
                push += side.model.groove_loss * (0.5 * (vz[u] + vz[u + 1]) - vz[a])
                fz[[a, u, u + 1]] += push * GROOVE
        cells.along_x[u], cells.along_y[u] = along[:2, u]
        su = d.support
        at_x, at_y, _, at_vy = point_of(fr, pose, rate, su.x, su.y)
        f = sx = st = 0.0
        cell = cell_over(x, a, n, at_x, a)
        if cell >= 0:
            press, pressing, xi, _ = rest_gap(su, x, y, vy, cell, at_x, at_y, at_vy)
            pair, shares = slice(cell, cell + 2), np.array([1.0 - xi, xi])
            if side is None:
                supported = self.supported
            else:
                arm = side.kept.notes.arm
                supported = arm == UP and shares @ side.motion.z[pair] <= side.model.arm.outer
                fz[pair] += shares * side.model.arm.fold_force * (arm == FOLDED)
            if supported:
                f = rest_force(su, press, pressing)
                fy[pair] += shares * f
        if side is not None:
            sx, st = self.sideways(side, x, vx, max(cell, a), fx, fz)
            side.motion.along[u] = along[2, u]
            side.motion.fz[:] = fz
        px, py, pvx, pvy = point_of(fr, pose, rate, 0.0, 0.0)
        hx = self.hand[0] - fr.hand_stiffness * px - fr.hand_damping * pvx
        hy = self.hand[1] - fr.hand_stiffness * py - fr.hand_damping * pvy
        ht = self.hand[2] - fr.hand_turn_stiffness * pose[2] - fr.hand_turn_damping * rate[2]
        nodes = [carried_node(m, k) for k in range(4)]
        st += ht + (px - pose[0]) * hy - (py - pose[1]) * hx - (at_x - pose[0]) * f
        st += ((x[nodes] - pose[0]) * fy[nodes] - (y[nodes] - pose[1]) * fx[nodes]).sum()
        turn = np.array([
            (sx + hx + fx[nodes].sum()) / fr.mass + self.gravity[0],
            (hy - f + fy[nodes].sum()) / fr.mass + self.gravity[1],
            st / fr.inertia,
        ])  # fmt: skip
        share_floor(c, u, self.model.floor_inertia, cells, fx, fy, *(() if side is None else (side,)))
        k = self.free.size
        inverse = c.inverse_mass[self.free]
        return np.concatenate((
            state[2 * k : 4 * k], fx[self.free] * inverse + self.gravity[0], fy[self.free] * inverse + self.gravity[1],
            rate, turn, *self.rates_aside(),
        ))  # fmt: skip

    def sideways(self, side, x, vx, guess, fx, fz):
        """Add side support, tips and weights; the force on the riser along x and its torque."""
        m, own, (pose, rate, _) = side.model, side.motion, self.riser
        fz += m.weight
        tips = [m.tip_u, m.tip_l]
        fz[tips] -= m.tip_stiffness * own.z[tips] + m.tip_loss * own.vz[tips]
        at_x, at_y, at_vx, _ = point_of(self.frame, pose, rate, m.support.x, m.support.y)
        cell = cell_over(x, m.tail, x.size, at_x, guess)
        if cell < 0:
            return 0.0, 0.0
        press, pressing, xi, slope = side_push(m.support, x, own.z, vx, own.vz, cell, at_x, at_vx)
        push = side_force(m.support, press, pressing)
        shares = np.array([1.0 - xi, xi])
        fz[cell : cell + 2] += push * shares
        fx[cell : cell + 2] -= slope * push * shares
        return slope * push, -(at_y - pose[1]) * slope * push
