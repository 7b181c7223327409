"""The shot: fixed-step leapfrog from full draw until the arrow is clear.

Positions stand at whole steps, velocities at half steps. Losses see the velocity carried half a step
forward with the last acceleration, which keeps the scheme of second order. One oscillator of frequency w
and damping ratio z is stable for steps under (2 / w) (sqrt(1 + 4 z^2) - 2 z); the whole bow, see `frequency`.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel, part
from archerysim.mechanics.forces.contact import share_after
from archerysim.mechanics.forces.riser import carried_node
from archerysim.mechanics.forces.wrap import wrap_pull
from archerysim.mechanics.release.chain_loss import chain_loss
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
    evaluate,
)
from archerysim.mechanics.release.layout import (
    ADVANCE_LOWER,
    ADVANCE_UPPER,
    AT,
    CENTRE_X,
    CENTRE_Y,
    CLEAR,
    EDGE_LOWER,
    EDGE_UPPER,
    ENERGY_LEFT,
    FRAMES,
    LARGEST_EDGE,
    LEAST_GAP,
    LOCATOR,
    LOCATOR_OFFSET,
    PITCH,
    PITCH_RATE,
    POSE,
    RATE,
    REST_LEFT_TIME,
    REST_LEFT_TRAVEL,
    REST_PUSH,
    RISER_PITCH,
    RISER_X,
    RISER_Y,
    ROWS,
    SEPARATION,
    STEPS,
    STRIKE_DEPTH,
    STRIKE_TIME,
    STRIKE_TRAVEL,
    STRIKES,
    SUPPRESSED_STRIKE,
    TAIL_X,
    TAIL_Y,
    TENSION_LOWER,
    TENSION_UPPER,
    TIME,
    TO_ARROW,
    TO_FINGERS,
    TO_HAND,
    TO_LIMBS,
    TO_LOCATORS,
    TO_NOCK,
    TO_REST,
    TO_STRING,
    TO_SUPPORT_END,
    VELOCITY_X,
    VELOCITY_Y,
    WORK,
    WORKS,
)
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.status import NOT_FINITE, OK, TIME_CAP

SAMPLE = 4  # steps between two looks at the chain's losses


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
    moment[AT] = time - back
    for k in range(3):
        moment[POSE + k] = pose[k] - back * rate[k]
        now = rate[k] + lead * turn[k]
        before = rate[k] - 0.5 * dt * last[k]
        moment[RATE + k] = now + part * (before - now)
    for k in range(works.shape[0]):
        moment[WORKS + k] = works[k]


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
    counts, notes : (COUNTS,) int array, (NOTES,) array
        Written: see `layout`.

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
    notes[REST_LEFT_TIME] = np.nan
    notes[LEAST_GAP] = np.inf
    notes[SUPPRESSED_STRIKE] = 0.0
    notes[ENERGY_LEFT] = 0.0
    notes[LARGEST_EDGE] = 0.0
    notes[STRIKE_TIME] = np.nan
    notes[REST_LEFT_TRAVEL] = np.nan
    notes[STRIKE_TRAVEL] = np.nan
    notes[STRIKE_DEPTH] = np.nan
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
            works[TO_STRING] += SAMPLE * dt * lost_string
            works[TO_LIMBS] += SAMPLE * dt * lost_limbs
            works[TO_ARROW] += SAMPLE * dt * lost_arrow
        works[TO_NOCK] += dt * acting[EDGE_POWER]
        works[TO_LOCATORS] += dt * acting[LOCATOR_POWER]
        works[TO_REST] += dt * acting[REST_POWER]
        works[TO_HAND] += dt * acting[HAND_POWER]
        works[TO_FINGERS] -= dt * acting[FINGER_POWER]
        fu = acting[FU]
        fl = acting[FL]
        du = acting[DU]
        dl = acting[DL]
        press = acting[PRESS]
        if acting[OUT] == 1.0:
            inside = False
        notes[LARGEST_EDGE] = max(notes[LARGEST_EDGE], max(fu, fl))
        if supported > 0.0:
            if acting[REST] > 0.0:
                if not touching:
                    if counts[STRIKES] == 0:
                        notes[STRIKE_DEPTH] = 0.0
                    counts[STRIKES] += 1
                    notes[STRIKE_TIME] = time
                    notes[STRIKE_TRAVEL] = x[a] - begin
                touching = True
                if counts[STRIKES] > 0:
                    notes[STRIKE_DEPTH] = max(notes[STRIKE_DEPTH], press)
            elif touching:
                touching = False
                notes[REST_LEFT_TIME] = time
                notes[REST_LEFT_TRAVEL] = x[a] - begin
        else:
            if holding:
                holding = False
                touching = False
                if press > 0.0:
                    notes[ENERGY_LEFT] = 0.5 * su.stiffness * press * press
                    works[TO_SUPPORT_END] += notes[ENERGY_LEFT]
            if cell >= 0:
                notes[LEAST_GAP] = min(notes[LEAST_GAP], -press)
                notes[SUPPRESSED_STRIKE] = max(notes[SUPPRESSED_STRIKE], press)
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
                    states[SEPARATION], moments[SEPARATION],
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
                states[CLEAR], moments[CLEAR],
            )  # fmt: skip
            status = OK
        if every > 0 and step % every == 0 and counts[ROWS] < trace.shape[0]:
            row = trace[counts[ROWS]]
            counts[ROWS] += 1
            now_x = work[4]  # nobody reads these rows any more in this step
            now_y = work[5]
            keep_velocity(0.0, lead, fx, c.inverse_mass, gx, vx, px, now_x)
            keep_velocity(0.0, lead, fy, c.inverse_mass, gy, vy, py, now_y)
            cx, cy, cvx, cvy, pitch, spin = rigid_motion(c.mass[a:], x[a:], y[a:], now_x[a:], now_y[a:])
            row[TIME] = time
            row[EDGE_UPPER] = fu
            row[EDGE_LOWER] = fl
            row[LOCATOR] = acting[FS]
            row[REST_PUSH] = acting[REST]
            row[TENSION_UPPER] = end_pull(c, c.above, x, y, marks.tip_u, work[5:7])
            row[TENSION_LOWER] = end_pull(c, c.below, x, y, marks.tip_l - 1, work[5:7])
            row[TAIL_X] = x[a]
            row[TAIL_Y] = y[a]
            row[CENTRE_X] = cx
            row[CENTRE_Y] = cy
            row[VELOCITY_X] = cvx
            row[VELOCITY_Y] = cvy
            row[PITCH] = pitch
            row[PITCH_RATE] = spin
            row[RISER_X] = acting[PIVOT_X]
            row[RISER_Y] = acting[PIVOT_Y]
            row[RISER_PITCH] = pose[2]
            row[ADVANCE_UPPER] = du
            row[ADVANCE_LOWER] = dl
            row[LOCATOR_OFFSET] = acting[OFFSET]
        if frame_every > 0 and step % frame_every == 0 and counts[FRAMES] < frames.shape[0]:
            keep_moment(
                c, marks, 0.0, dt, lead, time, x, y, vx, vy, px, py, fx, fy, gx, gy, pose, rate, turn, last, works,
                frames[counts[FRAMES]], frame_moments[counts[FRAMES]],
            )  # fmt: skip
            counts[FRAMES] += 1
        counts[STEPS] = step
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


@part
def end_pull(c, w, x, y, j, slope):
    """Tension of one of the string's end cells [N]."""
    return wrap_pull(w, c.rest_length, x, y, slope) if w.reach > 0 else string_pull(c, x, y, j)
