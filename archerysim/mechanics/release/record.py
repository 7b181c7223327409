"""What is written down of the shot: moments with all nodes, rows of the trace, what is seen at each look."""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import TURN, X, Y
from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.forces.riser import CARRIED, carried_node
from archerysim.mechanics.forces.rods import FIRST, energy_of_swing
from archerysim.mechanics.forces.wrap import wrap_pull
from archerysim.mechanics.release.layout import AT_X, AT_Y, SPEED_X, SPEED_Y
from archerysim.mechanics.release.side_layout import AT_Z, SPEED_Z
from archerysim.mechanics.rigid_body import rigid_motion


@inlined
def keep_place(back, place, velocity, out):
    """Write the places a time ``back`` before now [s]."""
    for i in range(place.shape[0]):
        out[i] = place[i] - back * velocity[i]


@inlined
def keep_velocity(share, lead, force, inverse_mass, gravity, velocity, ahead, out):
    """Write the velocities a ``share`` of a step before now, from those at half steps and carried ahead."""
    for i in range(velocity.shape[0]):
        now = velocity[i] + lead * (force[i] * inverse_mass[i] + gravity)
        before = 2.0 * velocity[i] - ahead[i]
        out[i] = now + share * (before - now)


@inlined
def keep_riser(share, dt, lead, motion, moment):
    """Write the riser's pose and rates a ``share`` of a step before now."""
    back = share * dt
    pose, gain, rate, last = motion.riser.pose, motion.riser.gain, motion.rate, motion.last_gain
    moment.riser_x = pose[X] - back * rate[X]
    moment.riser_y = pose[Y] - back * rate[Y]
    moment.riser_turn = pose[TURN] - back * rate[TURN]
    moment.rate_x = rate_before(share, dt, lead, rate[X], gain[X], last[X])
    moment.rate_y = rate_before(share, dt, lead, rate[Y], gain[Y], last[Y])
    moment.rate_turn = rate_before(share, dt, lead, rate[TURN], gain[TURN], last[TURN])


@inlined
def rate_before(share, dt, lead, rate, gain, last):
    """A rate a ``share`` of a step before now."""
    now = rate + lead * gain
    before = rate - 0.5 * dt * last
    return now + share * (before - now)


@inlined
def keep_rods(rods, held, share, dt, lead, motion, moment):
    """Write what the rods hold by their swing a ``share`` of a step before now, the riser as `keep_riser` has it."""
    pose, gain, rate, last = motion.riser.pose, motion.riser.gain, motion.rate, motion.last_gain
    swinging = 0.0
    for k in range(rods.mass.shape[0]):
        i = FIRST + k
        v = rate_before(share, dt, lead, rate[i], gain[i], last[i])
        swinging += energy_of_swing(
            rods, k, held, pose[i] - share * dt * rate[i], v, moment.riser_turn, moment.rate_x, moment.rate_y,
            moment.rate_turn,
        )  # fmt: skip
    moment.swinging = swinging


@inlined
def keep_works(works, moment):
    """Copy the account."""
    moment.string = works.string
    moment.limbs = works.limbs
    moment.arrow = works.arrow
    moment.nock = works.nock
    moment.locators = works.locators
    moment.friction = works.friction
    moment.rest = works.rest
    moment.hand = works.hand
    moment.rods = works.rods
    moment.fingers = works.fingers
    moment.support_end = works.support_end
    moment.side_support = works.side_support
    moment.groove = works.groove
    moment.tips = works.tips
    moment.folding = works.folding


@kernel
def keep_moment(model, held, motion, share, dt, lead, time, works, state, moment):
    """Write all that is known a ``share`` of a step before now, from what leapfrog still holds of that step.

    ``lead`` is the time since the velocities' half step: half a step, or zero at the beginning [s].
    """
    nodes, inverse_mass = motion.nodes, model.chain.inverse_mass
    back = share * dt
    keep_place(back, nodes.x, motion.vx, state[AT_X])
    keep_place(back, nodes.y, motion.vy, state[AT_Y])
    keep_velocity(share, lead, nodes.fx, inverse_mass, held.gravity_x, motion.vx, nodes.vx, state[SPEED_X])
    keep_velocity(share, lead, nodes.fy, inverse_mass, held.gravity_y, motion.vy, nodes.vy, state[SPEED_Y])
    for k in range(CARRIED):  # the riser carries these
        i = carried_node(model.marks, k)
        state[AT_X, i] = nodes.x[i] - back * nodes.vx[i]
        state[AT_Y, i] = nodes.y[i] - back * nodes.vy[i]
        state[SPEED_X, i] = nodes.vx[i]
        state[SPEED_Y, i] = nodes.vy[i]
    moment.time = time - back
    keep_riser(share, dt, lead, motion, moment)
    keep_rods(model.frame.rods, held, share, dt, lead, motion, moment)
    keep_works(works, moment)


@inlined
def keep_side(side, share, dt, lead, state):
    """Write places and velocities sideways a ``share`` of a step before now, as `keep_moment` does for the others."""
    own = side.motion
    keep_place(share * dt, own.z, own.velocity, state[AT_Z])
    keep_velocity(share, lead, own.fz, side.model.inverse_mass, 0.0, own.velocity, own.vz, state[SPEED_Z])


@inlined
def string_pull(c, x, y, j, side):
    """Tension of one string cell [N]."""
    ex = x[j + 1] - x[j]
    ey = y[j + 1] - y[j]
    square = ex * ex + ey * ey
    if side is not None:
        ez = side.motion.z[j + 1] - side.motion.z[j]
        square += ez * ez
    return max(c.stretch[j] * (math.sqrt(square) - c.rest_length[j]), 0.0)


@inlined
def end_pull(c, wrap, nodes, j, side):
    """Tension of one of the string's end cells [N]; overwrites forces of the cells that nobody reads any more."""
    if wrap.reach > 0:
        z = None if side is None else side.motion.z
        return wrap_pull(wrap, c.rest_length, nodes.x, nodes.y, nodes.cells.pull_x, nodes.cells.pull_y, z)
    return string_pull(c, nodes.x, nodes.y, j, side)


@inlined
def side_row(model, motion, side, acting, lead, row):
    """Write a row of the trace sideways; velocities along x stand in the scratch that `trace_row` left."""
    own, a = side.motion, side.model.tail
    keep_velocity(0.0, lead, own.fz, side.model.inverse_mass, 0.0, own.velocity, own.vz, own.now)
    mass = model.chain.mass
    _, cz, _, cvz, yaw, spin = rigid_motion(mass[a:], motion.nodes.x[a:], own.z[a:], motion.now_x[a:], own.now[a:])
    row.support = acting.support
    row.groove = acting.groove
    row.tail_z = own.z[a]
    row.centre_z = cz
    row.velocity_z = cvz
    row.yaw = yaw
    row.yaw_rate = spin
    row.tip_u_z = own.z[side.model.tip_u]
    row.tip_l_z = own.z[side.model.tip_l]


@inlined
def trace_row(model, held, motion, acting, lead, time, row, side):
    """Write a row of the trace."""
    c, marks, nodes = model.chain, model.marks, motion.nodes
    a = marks.tail
    x, y, now_x, now_y = nodes.x, nodes.y, motion.now_x, motion.now_y
    keep_velocity(0.0, lead, nodes.fx, c.inverse_mass, held.gravity_x, motion.vx, nodes.vx, now_x)
    keep_velocity(0.0, lead, nodes.fy, c.inverse_mass, held.gravity_y, motion.vy, nodes.vy, now_y)
    cx, cy, cvx, cvy, pitch, spin = rigid_motion(c.mass[a:], x[a:], y[a:], now_x[a:], now_y[a:])
    row.time = time
    row.edge_upper = acting.edge_upper
    row.edge_lower = acting.edge_lower
    row.locator = acting.locator
    row.rest = acting.rest
    row.tension_upper = end_pull(c, c.above, nodes, marks.tip_u, side)
    row.tension_lower = end_pull(c, c.below, nodes, marks.tip_l - 1, side)
    row.tail_x = x[a]
    row.tail_y = y[a]
    row.centre_x = cx
    row.centre_y = cy
    row.velocity_x = cvx
    row.velocity_y = cvy
    row.pitch = pitch
    row.pitch_rate = spin
    row.riser_x = acting.pivot_x
    row.riser_y = acting.pivot_y
    row.riser_pitch = motion.riser.pose[TURN]
    row.advance_upper = acting.advance_upper
    row.advance_lower = acting.advance_lower
    row.offset = acting.offset
