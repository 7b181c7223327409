"""One step of leapfrog for one component: each has its own arrays, so that another would be one call more."""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.riser import CARRIED, carried_node


@inlined
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


@inlined
def look_ahead(riser, rate, last_gain, half):
    """The rates of riser and rods at a whole step, from those at the half step before it and the accelerations then."""
    for k in range(riser.rate.shape[0]):
        riser.rate[k] = rate[k] + half * last_gain[k]


@inlined
def advance_all(model, held, motion, gain, dt, side):
    """Advance nodes and riser by a step of time; ``gain`` is the time since the velocities' last half step [s].

    The riser first: the next step begins by reading its rates, and would wait for what was only just written.
    """
    nodes, riser, marks = motion.nodes, motion.riser, model.marks
    for k in range(riser.pose.shape[0]):
        motion.rate[k] += gain * riser.gain[k]
        riser.pose[k] += dt * motion.rate[k]
        motion.last_gain[k] = riser.gain[k]
    if side is not None:  # with its weights among the forces
        own = side.motion
        advance(own.fz, side.model.inverse_mass, 0.0, gain, dt, own.z, own.velocity, own.vz)
    advance(nodes.fx, model.chain.inverse_mass, held.gravity_x, gain, dt, nodes.x, motion.vx, nodes.vx)
    advance(nodes.fy, model.chain.inverse_mass, held.gravity_y, gain, dt, nodes.y, motion.vy, nodes.vy)
    for k in range(CARRIED):  # the riser carries these, not gravity
        i = carried_node(marks, k)
        motion.vx[i] = 0.0
        motion.vy[i] = 0.0
