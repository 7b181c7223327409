"""Everything that acts at one instant of the shot: forces on all nodes, on the riser, and their powers.

Both the compiled release and the check through SciPy's integrators call this one evaluation.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import part
from archerysim.mechanics.forces.chain import chain_forces
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.riser import carried_node, carry, point_of
from archerysim.mechanics.forces.throat import add_throat_forces, edge_force, locator_force, throat_state

# what `evaluate` writes beside the forces
FU, FL, FS, DU, DL, OFFSET, REST, PRESS, PIVOT_X, PIVOT_Y = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9
EDGE_POWER, LOCATOR_POWER, REST_POWER, HAND_POWER, FINGER_POWER = 10, 11, 12, 13, 14
PUSH_UPPER, PUSH_LOWER = 15, 16  # k d + c d' of the edges, whatever the grip makes of it
OUT = 17  # share of the step for which the string is out of the throat
ACTING = 18


@part
def finger_fade(fi, k, time):
    """Share of finger ``k``'s force left at ``time``: a half cosine from 1 to 0 after its delay."""
    since = time - fi.delay[k]
    if since <= 0.0:
        return 1.0
    if since >= fi.time[k]:
        return 0.0
    return 0.5 * (1.0 + np.cos(np.pi * since / fi.time[k]))


@part
def evaluate(
    c, marks, th, su, fr, fi, force, gx, gy, hand, x, y, vx, vy, pose, rate, time, step, inside, supported, cell,
    work, fx, fy, turn, acting,
):  # fmt: skip
    """Forces on the nodes and the riser's accelerations.

    Parameters
    ----------
    c, marks, th, su, fr, fi : Chain, Marks, Throat, Support, Frame, Fingers
    force : (2,) array
        Finger force at full draw [N].
    gx, gy : float
        Gravity [m/s2].
    hand : (3,) array
        The hand's force and torque at full draw [N], [N m].
    x, y, vx, vy : (n,) arrays
        State of the nodes [m], [m/s]; the carried nodes are written from the riser's pose.
    pose, rate : (3,) arrays
        The riser's mass centre and turn [m], [rad], and their rates.
    time, step : float
        [s]; what begins to touch within the step about now acts for its share of it, nil for the law itself.
    inside : bool
        Whether the string is in the throat.
    supported : float
        Share of the rest's force that acts: 1 while it supports, 0 after.
    cell : int
        Arrow cell over the rest last time.
    work : (7, n) array
        Scratch space; `chain_forces` leaves the cells' directions in it.
    fx, fy : (n,) arrays
        Written: forces on the nodes without their weight [N].
    turn : (3,) array
        Written: the riser's accelerations [m/s2], [rad/s2].
    acting : (ACTING,) array
        Written: see the names at the top of this file; powers are energy taken out of the chain [W].

    Returns
    -------
    cell : int
        Arrow cell over the rest, -1 where there is none.
    """
    n = x.shape[0]
    a = marks.tail
    u = marks.edge_u
    acting[:] = 0.0
    carry(fr, marks, pose, rate, x, y, vx, vy)
    chain_forces(c, x, y, vx, vy, fx, fy, work)
    for k in range(3):
        left = finger_fade(fi, k, time)
        if left > 0.0:
            for m in range(fi.weight.shape[1]):
                i = fi.first + m
                w = left * fi.weight[k, m]
                fx[i] += w * force[0]
                fy[i] += w * force[1]
                acting[FINGER_POWER] -= w * (force[0] * vx[i] + force[1] * vy[i])
    if inside:
        du, dl, s, ru, rl, rs, nx, ny = throat_state(th, x, y, vx, vy, u, a)
        fu, _ = edge_force(th, du, ru)
        fl, _ = edge_force(th, dl, rl)
        fs, _ = locator_force(th, s, rs, step)
        acting[OUT] = share_after(-th.depth - max(du, dl), -step * (ru if du > dl else rl))
        fs *= 1.0 - acting[OUT]
        add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
        acting[PUSH_UPPER] = th.stiffness * du + th.loss * ru
        acting[PUSH_LOWER] = th.stiffness * dl + th.loss * rl
        acting[FU] = fu
        acting[FL] = fl
        acting[FS] = fs
        acting[DU] = du
        acting[DL] = dl
        acting[OFFSET] = s
        acting[EDGE_POWER] = fu * ru + fl * rl
        acting[LOCATOR_POWER] = fs * rs
    at_x, at_y, _, at_vy = point_of(fr, pose, rate, su.x, su.y)
    acting[PRESS] = -np.inf
    f = 0.0
    cell = cell_over(x, a, n, at_x, max(cell, a))
    if cell >= 0:
        press, pressing, xi, _ = rest_gap(su, x, y, vy, cell, at_x, at_y, at_vy)
        acting[PRESS] = press
        if supported > 0.0:
            acting[REST] = supported * rest_force(su, press, pressing, step)
            acting[REST_POWER] = acting[REST] * pressing
            f = su.side * acting[REST]
            fy[cell] += (1.0 - xi) * f
            fy[cell + 1] += xi * f
    px, py, pvx, pvy = point_of(fr, pose, rate, 0.0, 0.0)
    hx = hand[0] - fr.hand_stiffness * px - fr.hand_damping * pvx
    hy = hand[1] - fr.hand_stiffness * py - fr.hand_damping * pvy
    ht = hand[2] - fr.hand_turn_stiffness * pose[2] - fr.hand_turn_damping * rate[2]
    acting[HAND_POWER] = fr.hand_damping * (pvx * pvx + pvy * pvy) + fr.hand_turn_damping * rate[2] * rate[2]
    acting[PIVOT_X] = px
    acting[PIVOT_Y] = py
    sx = hx
    sy = hy - f
    st = ht + (px - pose[0]) * hy - (py - pose[1]) * hx - (at_x - pose[0]) * f
    for k in range(4):
        i = carried_node(marks, k)
        sx += fx[i]
        sy += fy[i]
        st += (x[i] - pose[0]) * fy[i] - (y[i] - pose[1]) * fx[i]
    turn[0] = sx / fr.mass + gx
    turn[1] = sy / fr.mass + gy
    turn[2] = st / fr.inertia
    return cell
