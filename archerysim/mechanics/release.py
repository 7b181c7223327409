"""The shot: fixed-step leapfrog from full draw until the arrow is clear.

Positions stand at whole steps, velocities at half steps. Losses see the velocity carried half a step
forward with the last acceleration, which keeps the scheme of second order; with top frequency w and
damping ratio z at the top it is stable for steps under (2 / w) (sqrt(1 + 4 z^2) - 2 z).
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.chain import chain_forces
from archerysim.mechanics.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.settings import kernel
from archerysim.mechanics.shaft import rigid_motion
from archerysim.mechanics.status import NOT_FINITE, OK, TIME_CAP
from archerysim.mechanics.throat import add_throat_forces, edge_force, locator_force, throat_state

# columns of a trace
TRACE = (
    "time",
    "edge_upper",
    "edge_lower",
    "locator",
    "rest",
    "tension_upper",
    "tension_lower",
    "tail_x",
    "tail_y",
    "centre_x",
    "centre_y",
    "velocity_x",
    "velocity_y",
    "pitch",
    "pitch_rate",
    "riser_x",
    "riser_y",
    "riser_pitch",
    "advance_upper",
    "advance_lower",
    "offset",
)
# energies gone to (or come from) each part since the release began [J]
WORK = ("string", "limbs", "arrow", "nock", "locators", "rest", "hand", "fingers", "support_end")
# what is known of a moment besides the nodes: time, the riser's pose and rates, then the works
MOMENT = 7 + len(WORK)


@kernel
def finger_fade(fi, k, time):
    """Share of finger ``k``'s force left at ``time``: a half cosine from 1 to 0 after its delay."""
    since = time - fi.delay[k]
    if since <= 0.0:
        return 1.0
    if since >= fi.time[k]:
        return 0.0
    return 0.5 * (1.0 + np.cos(np.pi * since / fi.time[k]))


@kernel
def chain_loss(c, marks, vx, vy, work):
    """Power lost in string, limbs and arrow [W], from the directions that `chain_forces` left in work."""
    n = vx.shape[0]
    string = 0.0
    for j in range(marks.tip_u, marks.tip_l):
        wx = vx[j + 1] - vx[j]
        wy = vy[j + 1] - vy[j]
        along = wx * work[0, j] + wy * work[1, j]
        string += c.loss[j] * (wx * wx + wy * wy) + c.axial_loss[j] * along * along
    limbs = 0.0
    arrow = 0.0
    for i in range(1, n - 1):
        if c.bend_loss[i] != 0.0:
            tangent = 1.0 + work[0, i - 1] * work[0, i] + work[1, i - 1] * work[1, i]
            rate = 2.0 / tangent * (work[3, i] - work[3, i - 1])  # slope of the bend times the turning
            if i < marks.tail:
                limbs += c.bend_loss[i] * rate * rate
            else:
                arrow += c.bend_loss[i] * rate * rate
    return string, limbs, arrow


@kernel
def carry(fr, marks, pose, rate, x, y, vx, vy):
    """Place the four carried nodes by the riser's pose (mass centre x, y and angle) and its rates."""
    cosine = np.cos(pose[2])
    sine = np.sin(pose[2])
    for k in range(4):
        i = carried_node(marks, k)
        rx = fr.carried[k, 0] - fr.cx
        ry = fr.carried[k, 1] - fr.cy
        px = cosine * rx - sine * ry
        py = sine * rx + cosine * ry
        x[i] = pose[0] + px
        y[i] = pose[1] + py
        vx[i] = rate[0] - rate[2] * py
        vy[i] = rate[1] + rate[2] * px


@kernel
def carried_node(marks, k):
    """Node of the k-th carried place: clamp and root above, root and clamp below."""
    if k < 2:
        return marks.root_u - 1 + k
    return marks.root_l + k - 2


@kernel
def point_of(fr, pose, rate, px, py):
    """Place and velocity of a point given in the riser's axes."""
    cosine = np.cos(pose[2])
    sine = np.sin(pose[2])
    rx = cosine * (px - fr.cx) - sine * (py - fr.cy)
    ry = sine * (px - fr.cx) + cosine * (py - fr.cy)
    return pose[0] + rx, pose[1] + ry, rate[0] - rate[2] * ry, rate[1] + rate[2] * rx


@kernel
def keep_moment(part, dt, time, x, y, vx, vy, px, py, ax, ay, lx, ly, pose, rate, turn, last, works, state, moment):
    """Write the state a share ``part`` of a step before now, from what leapfrog still holds of that step."""
    back = part * dt
    for i in range(x.shape[0]):
        state[0, i] = x[i] - back * vx[i]
        state[1, i] = y[i] - back * vy[i]
        now = vx[i] + 0.5 * dt * ax[i]
        before = vx[i] - 0.5 * dt * lx[i]
        state[2, i] = now + part * (before - now)
        now = vy[i] + 0.5 * dt * ay[i]
        before = vy[i] - 0.5 * dt * ly[i]
        state[3, i] = now + part * (before - now)
    moment[0] = time - back
    for k in range(3):
        moment[1 + k] = pose[k] - back * rate[k]
        now = rate[k] + 0.5 * dt * turn[k]
        before = rate[k] - 0.5 * dt * last[k]
        moment[4 + k] = now + part * (before - now)
    for k in range(works.shape[0]):
        moment[7 + k] = works[k]


@kernel
def release(
    c,
    marks,
    th,
    su,
    fr,
    fi,
    x,
    y,
    force,
    gx,
    gy,
    hand,
    dt,
    cap,
    clear_at,
    account,
    every,
    trace,
    frame_every,
    frames,
    frame_times,
    states,
    moments,
    counts,
    notes,
):
    """Run the shot from rest at full draw.

    Parameters
    ----------
    c, marks, th, su, fr, fi : Chain, Marks, Throat, Support, Frame, Fingers
    x, y : (n,) arrays
        Positions at full draw [m]; changed in place.
    force : (2,) array
        Finger force at full draw [N].
    gx, gy : float
        Acceleration of gravity in the axes of the shot [m/s2].
    hand : (3,) array
        The hand's force and torque at full draw [N], [N m].
    dt, cap, clear_at : float
        Step and longest time [s]; throat's x at which the arrow may be clear [m].
    account : bool
        Add up the energy lost in each part.
    every, trace : int, (rows, len(TRACE)) array
        A row of the trace every so many steps; 0 for none.
    frame_every, frames, frame_times : int, (rows, 2, n) array, (rows,) array
        All positions every so many steps; 0 for none.
    states : (2, 4, n) array
        Written: x, y, vx, vy of all nodes at separation and at clear.
    moments : (2, MOMENT) array
        Written: time, riser pose and rates, works, at separation and at clear.
    counts : (4,) int array
        Written: steps, trace rows, frames, times the shaft came down on the rest again.
    notes : (6,) array
        Written: time the rest was left [s], least gap after the support ended [m], deepest
        suppressed strike [m], energy in the rest when its support ended [J], largest edge force [N],
        time of the second strike or nan [s].

    Returns
    -------
    status : int
    """
    n = x.shape[0]
    a = marks.tail
    u = marks.edge_u
    vx = np.zeros(n)
    vy = np.zeros(n)
    px = np.zeros(n)
    py = np.zeros(n)
    ax = np.zeros(n)
    ay = np.zeros(n)
    lx = np.zeros(n)
    ly = np.zeros(n)
    fx = np.zeros(n)
    fy = np.zeros(n)
    work = np.zeros((7, n))
    pose = np.array([fr.cx, fr.cy, 0.0])
    rate = np.zeros(3)
    ahead = np.zeros(3)
    turn = np.zeros(3)
    last = np.zeros(3)
    works = np.zeros(len(WORK))
    begin = x[a]
    cell = a
    time = 0.0
    inside = True
    separated = False
    held_u = 0.0
    held_l = 0.0
    touching = True
    supported = True
    notes[0] = np.nan
    notes[1] = np.inf
    notes[2] = 0.0
    notes[3] = 0.0
    notes[4] = 0.0
    notes[5] = np.nan
    counts[:] = 0
    most = int(cap / dt) + 1
    status = TIME_CAP
    wide = fi.weight.shape[1]
    fading = True
    half = 0.5 * dt
    for step in range(most):
        for i in range(n):
            px[i] = vx[i] + half * lx[i]
            py[i] = vy[i] + half * ly[i]
        for k in range(3):
            ahead[k] = rate[k] + half * last[k]
        carry(fr, marks, pose, ahead, x, y, px, py)
        chain_forces(c, x, y, px, py, fx, fy, work)
        if account:
            lost_string, lost_limbs, lost_arrow = chain_loss(c, marks, px, py, work)
            works[0] += dt * lost_string
            works[1] += dt * lost_limbs
            works[2] += dt * lost_arrow
        # fingers
        if fading:
            fading = False
            for k in range(3):
                left = finger_fade(fi, k, time)
                if left > 0.0:
                    fading = True
                    for m in range(wide):
                        i = fi.first + m
                        w = left * fi.weight[k, m]
                        fx[i] += w * force[0]
                        fy[i] += w * force[1]
                        works[7] += dt * w * (force[0] * px[i] + force[1] * py[i])
        # throat
        fu = 0.0
        fl = 0.0
        fs = 0.0
        du = 0.0
        dl = 0.0
        s = 0.0
        if inside:
            du, dl, s, ru, rl, rs, nx, ny = throat_state(th, x, y, px, py, u, a)
            if du < -th.depth and dl < -th.depth:
                inside = False
            else:
                fu, _ = edge_force(th, du, ru)
                fl, _ = edge_force(th, dl, rl)
                fs, _ = locator_force(th, s, rs)
                add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
                works[3] += dt * (fu * ru + fl * rl)
                works[4] += dt * fs * rs
                notes[4] = max(notes[4], max(fu, fl))
        # rest
        at_x, at_y, at_vx, at_vy = point_of(fr, pose, ahead, su.x, su.y)
        fr_y = 0.0
        press = -1.0
        cell = cell_over(x, a, n, at_x, max(cell, a))
        if cell >= 0:
            press, pressing, xi, _ = rest_gap(x, y, px, py, cell, at_x, at_y, at_vx, at_vy, su.half_diameter)
            if x[a] - begin < su.travel:
                fr_y = rest_force(su, press, pressing)
                fy[cell] += (1.0 - xi) * fr_y
                fy[cell + 1] += xi * fr_y
                works[5] += dt * fr_y * pressing
                if fr_y > 0.0:
                    if not touching:
                        counts[3] += 1
                        notes[5] = time
                    touching = True
                elif touching:
                    touching = False
                    notes[0] = time
            else:
                if supported:
                    supported = False
                    if press > 0.0:
                        notes[3] = 0.5 * su.stiffness * press * press
                        works[8] += notes[3]
                    touching = False
                notes[1] = min(notes[1], -press)
                notes[2] = max(notes[2], press)
        else:
            touching = False
        # riser and hand
        rx, ry, rvx, rvy = point_of(fr, pose, ahead, 0.0, 0.0)
        hx = -fr.hand_stiffness * rx - fr.hand_damping * rvx
        hy = -fr.hand_stiffness * ry - fr.hand_damping * rvy
        ht = -fr.hand_turn_stiffness * pose[2] - fr.hand_turn_damping * ahead[2]
        works[6] += dt * (fr.hand_damping * (rvx * rvx + rvy * rvy) + fr.hand_turn_damping * ahead[2] * ahead[2])
        hx += hand[0]
        hy += hand[1]
        ht += hand[2]
        sx = hx
        sy = hy - fr_y
        st = ht + (rx - pose[0]) * hy - (ry - pose[1]) * hx - (at_x - pose[0]) * fr_y
        for k in range(4):
            i = carried_node(marks, k)
            sx += fx[i]
            sy += fy[i]
            st += (x[i] - pose[0]) * fy[i] - (y[i] - pose[1]) * fx[i]
        turn[0] = sx / fr.mass + gx
        turn[1] = sy / fr.mass + gy
        turn[2] = st / fr.inertia
        for i in range(n):
            ax[i] = fx[i] * c.inverse_mass[i] + gx
            ay[i] = fy[i] * c.inverse_mass[i] + gy
        for k in range(4):
            i = carried_node(marks, k)
            ax[i] = 0.0
            ay[i] = 0.0
        # events, located within the step that has just ended
        if inside or not separated:
            hold_u = du + th.snap if th.grip > 0.0 else fu
            hold_l = dl + th.snap if th.grip > 0.0 else fl
            if not inside:
                hold_u = -1.0
                hold_l = -1.0
            if hold_u <= 0.0 and hold_l <= 0.0:
                if held_u > 0.0 or held_l > 0.0:
                    part = 1.0
                    if held_u > 0.0:
                        part = min(part, 1.0 - held_u / (held_u - hold_u))
                    if held_l > 0.0:
                        part = min(part, 1.0 - held_l / (held_l - hold_l))
                    keep_moment(
                        part, dt, time, x, y, vx, vy, px, py, ax, ay, lx, ly, pose, rate, turn, last, works,
                        states[0], moments[0],
                    )  # fmt: skip
                    separated = True
            held_u = hold_u
            held_l = hold_l
        if not inside and separated and x[a] >= clear_at and fr_y == 0.0:
            part = 0.0
            if step > 0 and vx[a] > 0.0:
                part = min((x[a] - clear_at) / (dt * vx[a]), 1.0)
            keep_moment(
                part, dt, time, x, y, vx, vy, px, py, ax, ay, lx, ly, pose, rate, turn, last, works,
                states[1], moments[1],
            )  # fmt: skip
            status = OK
        if every > 0 and step % every == 0 and counts[1] < trace.shape[0]:
            row = trace[counts[1]]
            counts[1] += 1
            for i in range(a, n):
                px[i] = vx[i] + half * ax[i]
                py[i] = vy[i] + half * ay[i]
            cx, cy, cvx, cvy, pitch, spin = rigid_motion(c.mass[a:], x[a:], y[a:], px[a:], py[a:])
            row[0] = time
            row[1] = fu
            row[2] = fl
            row[3] = fs
            row[4] = fr_y
            row[5] = string_pull(c, x, y, marks.tip_u)
            row[6] = string_pull(c, x, y, marks.tip_l - 1)
            row[7] = x[a]
            row[8] = y[a]
            row[9] = cx
            row[10] = cy
            row[11] = cvx
            row[12] = cvy
            row[13] = pitch
            row[14] = spin
            row[15] = rx
            row[16] = ry
            row[17] = pose[2]
            row[18] = du
            row[19] = dl
            row[20] = s
        if frame_every > 0 and step % frame_every == 0 and counts[2] < frames.shape[0]:
            frames[counts[2], 0, :] = x
            frames[counts[2], 1, :] = y
            frame_times[counts[2]] = time
            counts[2] += 1
        counts[0] = step
        if status == OK:
            break
        if step % 256 == 0 and not (abs(x[a]) < 1e6 and abs(x[marks.tip_u]) < 1e6):
            status = NOT_FINITE
            break
        gain = half if step == 0 else dt
        for i in range(n):
            vx[i] += gain * ax[i]
            vy[i] += gain * ay[i]
            x[i] += dt * vx[i]
            y[i] += dt * vy[i]
            lx[i] = ax[i]
            ly[i] = ay[i]
        for k in range(3):
            rate[k] += gain * turn[k]
            pose[k] += dt * rate[k]
            last[k] = turn[k]
        time += dt
    return status


@kernel
def string_pull(c, x, y, j):
    """Tension of one string cell [N]."""
    ex = x[j + 1] - x[j]
    ey = y[j + 1] - y[j]
    return max(c.stretch[j] * (np.sqrt(ex * ex + ey * ey) - c.rest_length[j]), 0.0)
