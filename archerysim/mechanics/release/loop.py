"""The shot: fixed-step leapfrog from full draw until the arrow is clear.

Positions stand at whole steps, velocities at half steps. Losses see the velocity carried half a step
forward with the last acceleration, which keeps the scheme of second order. One oscillator of frequency w
and damping ratio z is stable for steps under (2 / w) (sqrt(1 + 4 z^2) - 2 z); the whole bow, see `frequency`.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel, part
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.release.floor_inertia import share_floor
from archerysim.mechanics.release.forces import (
    ACTING,
    DL,
    DU,
    EDGE_POWER,
    FINGER_POWER,
    FL,
    FS,
    FU,
    HAND_POWER,
    LOCATOR_POWER,
    OFFSET,
    OUT,
    PIVOT_X,
    PIVOT_Y,
    PRESS,
    PUSH_LOWER,
    PUSH_UPPER,
    REST,
    REST_POWER,
    carried_node,
    evaluate,
)
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.status import NOT_FINITE, OK, TIME_CAP

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
SAMPLE = 4  # steps between two looks at the chain's losses


@part
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


@part
def advance(force, inverse_mass, gravity, gain, dt, place, velocity, ahead):
    """One component's step: velocity at the next half step, place at the next whole one, velocity carried there."""
    half = 0.5 * dt
    for i in range(place.shape[0]):
        a = force[i] * inverse_mass[i] + gravity
        v = velocity[i] + gain * a
        velocity[i] = v
        ahead[i] = v + half * a
    for i in range(place.shape[0]):
        place[i] += dt * velocity[i]


@part
def keep_place(back, place, velocity, out):
    """Write the places a time ``back`` before now [s]."""
    for i in range(place.shape[0]):
        out[i] = place[i] - back * velocity[i]


@part
def keep_velocity(part, lead, force, inverse_mass, gravity, velocity, ahead, out):
    """Write the velocities a share ``part`` of a step before now, from those at half steps and carried ahead."""
    for i in range(velocity.shape[0]):
        now = velocity[i] + lead * (force[i] * inverse_mass[i] + gravity)
        before = 2.0 * velocity[i] - ahead[i]
        out[i] = now + part * (before - now)


@kernel
def keep_moment(
    c, marks, part, dt, lead, time, x, y, vx, vy, px, py, fx, fy, gx, gy, pose, rate, turn, last, works, state, moment,
):  # fmt: skip
    """Write the state a share ``part`` of a step before now, from what leapfrog still holds of that step.

    ``lead`` is the time since the velocities' half step: half a step, or nil at the beginning [s].
    """
    back = part * dt
    keep_place(back, x, vx, state[0])
    keep_place(back, y, vy, state[1])
    keep_velocity(part, lead, fx, c.inverse_mass, gx, vx, px, state[2])
    keep_velocity(part, lead, fy, c.inverse_mass, gy, vy, py, state[3])
    for k in range(4):  # the riser carries these
        i = carried_node(marks, k)
        state[0, i] = x[i] - back * px[i]
        state[1, i] = y[i] - back * py[i]
        state[2, i] = px[i]
        state[3, i] = py[i]
    moment[0] = time - back
    for k in range(3):
        moment[1 + k] = pose[k] - back * rate[k]
        now = rate[k] + lead * turn[k]
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
    inertia,
    dt,
    cap,
    clear_at,
    account,
    every,
    trace,
    frame_every,
    frames,
    frame_moments,
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
    inertia : float
        Against the stretching of the string's cell on the nock's floor, see `floor` [kg].
    dt, cap, clear_at : float
        Step and longest time [s]; throat's x at which the arrow may be clear [m].
    account : bool
        Add up the energy lost in each part.
    every, trace : int, (rows, len(TRACE)) array
        A row of the trace every so many steps; 0 for none.
    frame_every, frames, frame_moments : int, (rows, 4, n) array, (rows, MOMENT) array
        x, y, vx, vy of all nodes every so many steps, and the rest of that moment; 0 for none.
    states : (2, 4, n) array
        Written: x, y, vx, vy of all nodes at separation and at clear.
    moments : (2, MOMENT) array
        Written: time, riser pose and rates, works, at separation and at clear.
    counts : (4,) int array
        Written: steps, trace rows, frames, times the shaft came down on the rest again.
    notes : (9,) array
        Written: time the rest was left [s], least gap after the support ended [m], deepest
        suppressed strike [m], energy in the rest when its support ended [J], largest edge force [N],
        time of the second strike or nan [s], the throat's travel at the first and at the last of these
        times [m], how deep the shaft pressed the rest from the second strike on, while supported, or nan [m].

    Returns
    -------
    status : int
    """
    n = x.shape[0]
    a = marks.tail
    vx = np.zeros(n)
    vy = np.zeros(n)
    px = np.zeros(n)
    py = np.zeros(n)
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
    holding = True
    acting = np.zeros(ACTING)
    notes[0] = np.nan
    notes[1] = np.inf
    notes[2] = 0.0
    notes[3] = 0.0
    notes[4] = 0.0
    notes[5:9] = np.nan
    counts[:] = 0
    most = int(cap / dt) + 1
    status = TIME_CAP
    half = 0.5 * dt
    for step in range(most):
        gain = half if step == 0 else dt
        lead = 0.0 if step == 0 else half
        for k in range(3):
            ahead[k] = rate[k] + half * last[k]
        supported = 1.0 - share_after(x[a] - begin - su.travel, dt * vx[a])
        cell = evaluate(
            c, marks, th, su, fr, fi, force, gx, gy, hand, x, y, px, py, pose, ahead, time, dt, inside, supported, cell,
            work, fx, fy, turn, acting,
        )  # fmt: skip
        share_floor(c, marks.edge_u, inertia, work, fx, fy)
        if account and step % SAMPLE == 0:
            lost_string, lost_limbs, lost_arrow = chain_loss(c, marks, px, py, work)
            works[0] += SAMPLE * dt * lost_string
            works[1] += SAMPLE * dt * lost_limbs
            works[2] += SAMPLE * dt * lost_arrow
        works[3] += dt * acting[EDGE_POWER]
        works[4] += dt * acting[LOCATOR_POWER]
        works[5] += dt * acting[REST_POWER]
        works[6] += dt * acting[HAND_POWER]
        works[7] -= dt * acting[FINGER_POWER]
        fu = acting[FU]
        fl = acting[FL]
        du = acting[DU]
        dl = acting[DL]
        press = acting[PRESS]
        if acting[OUT] == 1.0:
            inside = False
        notes[4] = max(notes[4], max(fu, fl))
        if supported > 0.0:
            if acting[REST] > 0.0:
                if not touching:
                    if counts[3] == 0:
                        notes[8] = 0.0
                    counts[3] += 1
                    notes[5] = time
                    notes[7] = x[a] - begin
                touching = True
                if counts[3] > 0:
                    notes[8] = max(notes[8], press)
            elif touching:
                touching = False
                notes[0] = time
                notes[6] = x[a] - begin
        else:
            if holding:
                holding = False
                touching = False
                if press > 0.0:
                    notes[3] = 0.5 * su.stiffness * press * press
                    works[8] += notes[3]
            if cell >= 0:
                notes[1] = min(notes[1], -press)
                notes[2] = max(notes[2], press)
        # events, located within the step that has just ended
        if inside or not separated:
            hold_u = du + th.snap if th.grip > 0.0 else acting[PUSH_UPPER]
            hold_l = dl + th.snap if th.grip > 0.0 else acting[PUSH_LOWER]
            if not inside:
                hold_u = -1.0
                hold_l = -1.0
            if hold_u <= 0.0 and hold_l <= 0.0 and (held_u > 0.0 or held_l > 0.0):
                part = 1.0
                if held_u > 0.0:
                    part = min(part, 1.0 - held_u / (held_u - hold_u))
                if held_l > 0.0:
                    part = min(part, 1.0 - held_l / (held_l - hold_l))
                keep_moment(
                    c, marks, part, dt, lead, time, x, y, vx, vy, px, py, fx, fy, gx, gy, pose, rate, turn, last, works,
                    states[0], moments[0],
                )  # fmt: skip
                separated = True
            held_u = hold_u
            held_l = hold_l
        if not inside and separated and x[a] >= clear_at and acting[REST] == 0.0:
            part = 0.0
            if step > 0 and vx[a] > 0.0:
                part = min((x[a] - clear_at) / (dt * vx[a]), 1.0)
            keep_moment(
                c, marks, part, dt, lead, time, x, y, vx, vy, px, py, fx, fy, gx, gy, pose, rate, turn, last, works,
                states[1], moments[1],
            )  # fmt: skip
            status = OK
        if every > 0 and step % every == 0 and counts[1] < trace.shape[0]:
            row = trace[counts[1]]
            counts[1] += 1
            now_x = work[4]  # nobody reads these rows any more in this step
            now_y = work[5]
            keep_velocity(0.0, lead, fx, c.inverse_mass, gx, vx, px, now_x)
            keep_velocity(0.0, lead, fy, c.inverse_mass, gy, vy, py, now_y)
            cx, cy, cvx, cvy, pitch, spin = rigid_motion(c.mass[a:], x[a:], y[a:], now_x[a:], now_y[a:])
            row[0] = time
            row[1] = fu
            row[2] = fl
            row[3] = acting[FS]
            row[4] = acting[REST]
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
            row[15] = acting[PIVOT_X]
            row[16] = acting[PIVOT_Y]
            row[17] = pose[2]
            row[18] = du
            row[19] = dl
            row[20] = acting[OFFSET]
        if frame_every > 0 and step % frame_every == 0 and counts[2] < frames.shape[0]:
            keep_moment(
                c, marks, 0.0, dt, lead, time, x, y, vx, vy, px, py, fx, fy, gx, gy, pose, rate, turn, last, works,
                frames[counts[2]], frame_moments[counts[2]],
            )  # fmt: skip
            counts[2] += 1
        counts[0] = step
        if status == OK:
            break
        if step % 256 == 0 and not (abs(x[a]) < 1e6 and abs(x[marks.tip_u]) < 1e6):
            status = NOT_FINITE
            break
        advance(fx, c.inverse_mass, gx, gain, dt, x, vx, px)
        advance(fy, c.inverse_mass, gy, gain, dt, y, vy, py)
        for k in range(4):  # the riser carries these, not gravity
            i = carried_node(marks, k)
            vx[i] = 0.0
            vy[i] = 0.0
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
