"""Everything that acts at one instant of the shot: forces on all nodes, on the riser, and their powers.

Both the compiled release and the check through SciPy's integrators call this one evaluation.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import TURN, X, Y
from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.forces.friction import friction_force
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.riser import CARRIED, carried_node, carry, point_of
from archerysim.mechanics.forces.rods import accelerate
from archerysim.mechanics.forces.side_support import side_force, side_push
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state
from archerysim.mechanics.release.side_forces import hold_tips, push_of_groove, reach_of_arm

FINGERS = 3


class Acting(NamedTuple):
    """What acts at one instant beside the forces; powers are energy taken out of the chain [W]."""

    edge_upper: float  #: force of the floor's edges on the shaft along the floor's normal [N]
    edge_lower: float
    locator: float  #: force of the locators on the shaft along the floor, positive up [N]
    friction: float  #: and of friction [N]
    stuck: float  #: offset at which the string now sticks to the floor [m]
    advance_upper: float  #: the string's advance past the floor at its edges [m]
    advance_lower: float
    offset: float  #: how far the string's middle stands above the throat's middle, along the floor [m]
    push_upper: float  #: k d + c d' of the edges, whatever the grip makes of it [N]
    push_lower: float
    out: float  #: share of the step for which the string is out of the throat
    cell: int  #: arrow cell over the rest, -1 where there is none
    press: float  #: how far the shaft presses the rest, whether it supports or not; minus infinity out of reach [m]
    rest: float  #: size of its force [N]
    pivot_x: float  #: place of the riser's pivot [m]
    pivot_y: float
    edge_power: float
    locator_power: float
    friction_power: float  #: what the string's spring on the floor takes up is in it
    rest_power: float
    hand_power: float
    finger_power: float
    rods_power: float
    # only in both planes
    supported: float  #: share of the step for which the arm supports
    arm_z: float  #: place z of the shaft's axis over the rest [m]
    at_arm: float  #: place on the shaft over the rest, in cells from the tail; nan where it does not reach
    support: float  #: size of the side support's force [N]
    side_cell: int  #: arrow cell beside it, -1 where there is none
    side_press: float  #: how far the shaft's side is past its face [m]
    at_side: float  #: place on the shaft beside it, alike
    groove: float  #: force of the string on the nock along z [N]
    support_power: float
    groove_power: float
    tips_power: float
    fold_power: float


@inlined
def finger_fade(fi, k, time):
    """Share of finger ``k``'s force left at ``time``: a half cosine from 1 to 0 after its delay."""
    since = time - fi.delay[k]
    if since <= 0.0:
        return 1.0
    if since >= fi.time[k]:
        return 0.0
    return 0.5 * (1.0 + math.cos(math.pi * since / fi.time[k]))


@inlined
def rolled_off(fi, k, time):
    """Share of its roll that finger ``k`` has made at ``time``: from 0 to 1 in its release time after its delay."""
    return min(max((time - fi.delay[k]) / fi.time[k], 0.0), 1.0)


@inlined
def pull_of_fingers(fi, held, tail, time, nodes, side):
    """Add the fingers' forces to the string's nodes and to the nock; what they take [W].

    In both planes a finger rolls off: its force turns away from the window as it lets go. What the fingers hold the
    nock out with fades with them.
    """
    fx, fy, vx, vy = nodes.fx, nodes.fy, nodes.vx, nodes.vy
    taken = 0.0
    holding = 0.0
    for k in range(FINGERS):
        left = finger_fade(fi, k, time)
        if left > 0.0:
            if side is not None:
                out = left * (side.model.hold + side.model.roll * rolled_off(fi, k, time))
                for m in range(fi.weight.shape[1]):
                    i = fi.first + m
                    side.motion.fz[i] += out * fi.weight[k, m]
                    taken -= out * fi.weight[k, m] * side.motion.vz[i]
            for m in range(fi.weight.shape[1]):
                i = fi.first + m
                w = left * fi.weight[k, m]
                holding += w
                fx[i] += w * held.finger_x
                fy[i] += w * held.finger_y
                taken -= w * (held.finger_x * vx[i] + held.finger_y * vy[i])
    if held.pinch_x != 0.0 or held.pinch_y != 0.0:
        fx[tail] += holding * held.pinch_x
        fy[tail] += holding * held.pinch_y
        taken -= holding * (held.pinch_x * vx[tail] + held.pinch_y * vy[tail])
    return taken


@inlined
def evaluate(model, held, nodes, riser, time, step, inside, stuck, supported, cell, side=None):
    """Forces on the nodes and the accelerations of the riser and its rods.

    Parameters
    ----------
    model, held : Model, Held
    nodes : Nodes
        Places and velocities; the carried nodes' are written from the riser's pose. Written: forces, cells.
    riser : Riser
        Pose and rates. Written: its accelerations.
    time, step : float
        [s]; what begins to touch within the step about now acts for its share of it, zero for the law itself.
    inside : bool
        Whether the string is in the throat.
    stuck : float
        Offset at which it stuck to the floor last time [m]; not read without friction.
    supported : float
        Share of the rest's force that acts: 1 while it supports, 0 after. In both planes the arm's state and its reach
        say so instead.
    cell : int
        Arrow cell over the rest last time.
    side : Side or None
        None in the shot in one plane; the forces of its motion are written, with the weights.

    Returns
    -------
    Acting
    """
    marks, th, su, fr = model.marks, model.throat, model.support, model.frame
    x, y, vx, vy, fx, fy = nodes.x, nodes.y, nodes.vx, nodes.vy, nodes.fx, nodes.fy
    pose, rate, gain = riser.pose, riser.rate, riser.gain
    n = x.shape[0]
    a = marks.tail
    u = marks.edge_u
    carry(fr, marks, pose, rate, x, y, vx, vy)
    chain_forces(model.chain, x, y, vx, vy, fx, fy, nodes.cells, side)
    finger_power = pull_of_fingers(model.fingers, held, a, time, nodes, side)
    fu = fl = fs = du = dl = s = push_upper = push_lower = out = edge_power = locator_power = 0.0
    rubbing = friction_power = 0.0
    if inside:
        du, dl, s, ru, rl, rs, nx, ny = throat_state(th, x, y, vx, vy, u, a)
        fu, _ = edge_force(th, du, ru)
        fl, _ = edge_force(th, dl, rl)
        fs, _ = locator_force(th, s, rs, step)
        out = share_after(-th.depth - max(du, dl), -step * (ru if du > dl else rl))
        fs *= 1.0 - out
        if th.friction > 0.0:
            rubbing, stuck = friction_force(th, s, stuck, max(fu, 0.0) + max(fl, 0.0))
            friction_power = rubbing * rs
        add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs + rubbing, fx, fy)
        push_upper = th.stiffness * du + th.loss * ru
        push_lower = th.stiffness * dl + th.loss * rl
        edge_power = fu * ru + fl * rl
        locator_power = fs * rs
    groove = groove_power = 0.0
    if side is not None and inside:
        groove, groove_power = push_of_groove(side, u, a, 1.0 - out)
    at_x, at_y, at_vx, at_vy = point_of(fr, pose, rate, su.x, su.y)
    press = -np.inf
    f = push = rest_power = fold_power = arm_z = 0.0
    at_arm = np.nan
    cell = cell_over(x, a, n, at_x, max(cell, a))
    if cell >= 0:
        press, pressing, xi, _ = rest_gap(su, x, y, vy, cell, at_x, at_y, at_vy)
        if side is not None:
            at_arm = xi + (cell - a)
            arm_z, supported, fold_power = reach_of_arm(side, x, vx, cell, xi, at_vx, step)
        if supported > 0.0:
            push = supported * rest_force(su, press, pressing, step)
            rest_power = push * pressing
            f = su.side * push
            fy[cell] += (1.0 - xi) * f
            fy[cell + 1] += xi * f
    sx = sy = st = 0.0
    support = side_press = support_power = tips_power = 0.0
    at_side = np.nan
    side_cell = -1
    if side is not None:
        ss = side.model.support
        beside_x, beside_y, beside_vx, _ = point_of(fr, pose, rate, ss.x, ss.y)
        side_cell = cell_over(x, a, n, beside_x, max(cell, a))
        if side_cell >= 0:
            z, vz, fz = side.motion.z, side.motion.vz, side.motion.fz
            side_press, pressing, xi, slope = side_push(ss, x, z, vx, vz, side_cell, beside_x, beside_vx)
            at_side = xi + (side_cell - a)
            support = side_force(ss, side_press, pressing, step)
            support_power = support * pressing
            sx = slope * support
            st = -(beside_y - pose[Y]) * sx
            fz[side_cell] += (1.0 - xi) * support
            fz[side_cell + 1] += xi * support
            fx[side_cell] -= (1.0 - xi) * sx
            fx[side_cell + 1] -= xi * sx
        tips_power = hold_tips(side)
    px, py, pvx, pvy = point_of(fr, pose, rate, 0.0, 0.0)
    hx = held.hand_x - fr.hand_stiffness * px - fr.hand_damping * pvx
    hy = held.hand_y - fr.hand_stiffness * py - fr.hand_damping * pvy
    ht = held.hand_turn - fr.hand_turn_stiffness * pose[TURN] - fr.hand_turn_damping * rate[TURN]
    hand_power = fr.hand_damping * (pvx * pvx + pvy * pvy) + fr.hand_turn_damping * rate[TURN] * rate[TURN]
    if side is None:
        sx = hx
        sy = hy - f
        st = ht + (px - pose[X]) * hy - (py - pose[Y]) * hx - (at_x - pose[X]) * f
    else:
        sx += hx
        sy = hy - f
        st += ht + (px - pose[X]) * hy - (py - pose[Y]) * hx - (at_x - pose[X]) * f
    for k in range(CARRIED):
        i = carried_node(marks, k)
        sx += fx[i]
        sy += fy[i]
        st += (x[i] - pose[X]) * fy[i] - (y[i] - pose[Y]) * fx[i]
    rods_power = accelerate(fr, held, pose, rate, gain, sx, sy, st)
    return Acting(
        fu, fl, fs, rubbing, stuck, du, dl, s, push_upper, push_lower, out, cell, press, push, px, py,
        edge_power, locator_power, friction_power, rest_power, hand_power, finger_power, rods_power,
        supported, arm_z, at_arm, support, side_cell, side_press, at_side, groove,
        support_power, groove_power, tips_power, fold_power,
    )  # fmt: skip
