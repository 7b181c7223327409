"""Rods that bend: the riser's acceleration with them, and theirs.

One shape f for each rod (see `archerysim.mechanics.arrays.Rods`), the rest is the rigid bodies' mechanics: with the
riser's turning rate w, its mass centre's acceleration less gravity a (both in the riser's axes), n across a rod, d
along it and q its end's swing,

    sum over the mass:   M a + sum [share (n q'' - q w' d - w^2 q n - 2 w q' d)] = force
    moments:             I w' + sum [turning q'' + (2 leaning q + mass q^2) w' + 2 w q' (leaning + mass q)
                         - share q d . a] = torque
    each rod:            mass q'' + share n . a + turning w' - w^2 (leaning + mass q)
                         = -stiffness q - loss q' - share n . g0

g0 is gravity as it lies in the riser's axes at full draw: there the rod hangs as the file says, with q = 0.
"""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import TURN, X, Y
from archerysim.mechanics.compiling import inlined

FIRST = 3  # place of the first rod's swing in the riser's pose


@inlined
def accelerate(fr, held, pose, rate, gain, force_x, force_y, torque):
    """Write the accelerations of riser and rods under a force on the riser and its torque about the mass centre.

    Each rod's swing is taken out of the equations first; three are left.

    Parameters
    ----------
    fr, held : Frame, Held
    pose, rate : (3 + k,) arrays
        Place of the mass centre, turn, swings of the rods [m], [rad]; and their rates.
    gain : (3 + k,) array
        Written.
    force_x, force_y, torque : float
        Without the weight [N], [N m].

    Returns
    -------
    float
        Power lost in the rods [W].
    """
    rods = fr.rods
    if rods.mass.shape[0] == 0:
        gain[X] = force_x / fr.mass + held.gravity_x
        gain[Y] = force_y / fr.mass + held.gravity_y
        gain[TURN] = torque / fr.inertia
        return 0.0
    cosine = math.cos(pose[TURN])
    sine = math.sin(pose[TURN])
    w = rate[TURN]
    bx = cosine * force_x + sine * force_y
    by = cosine * force_y - sine * force_x
    bt = torque
    xx = fr.mass
    yy = fr.mass
    tt = fr.inertia
    xy = 0.0
    xt = 0.0
    yt = 0.0
    lost = 0.0
    for k in range(rods.mass.shape[0]):
        nx = rods.across_x[k]
        ny = rods.across_y[k]
        share = rods.share[k]
        turning = rods.turning[k]
        mass = rods.mass[k]
        q = pose[FIRST + k]
        v = rate[FIRST + k]
        lean = rods.leaning[k] + mass * q
        resting = share * (nx * held.gravity_x + ny * held.gravity_y)
        own = (w * w * lean - rods.stiffness[k] * q - rods.loss[k] * v - resting) / mass
        gain[FIRST + k] = own
        lost += rods.loss[k] * v * v
        across = share * (w * w * q - own)
        along = 2.0 * w * share * v
        bx += across * nx + along * ny
        by += across * ny - along * nx
        bt -= 2.0 * w * v * lean + turning * own
        moved = share / mass
        xx -= moved * share * nx * nx
        xy -= moved * share * nx * ny
        yy -= moved * share * ny * ny
        xt -= moved * turning * nx + share * q * ny
        yt -= moved * turning * ny - share * q * nx
        tt += q * (rods.leaning[k] + lean) - turning * turning / mass
    to_y = xy / xx
    to_t = xt / xx
    yy -= to_y * xy
    left = yt - to_y * xt
    on_t = left / yy
    by -= to_y * bx
    turn = (bt - to_t * bx - on_t * by) / (tt - to_t * xt - on_t * left)
    ay = by / yy - on_t * turn
    ax = bx / xx - to_y * ay - to_t * turn
    gain[X] = cosine * ax - sine * ay + held.gravity_x
    gain[Y] = sine * ax + cosine * ay + held.gravity_y
    gain[TURN] = turn
    for k in range(rods.mass.shape[0]):
        across = rods.share[k] * (rods.across_x[k] * ax + rods.across_y[k] * ay)
        gain[FIRST + k] -= (across + rods.turning[k] * turn) / rods.mass[k]
    return lost


@inlined
def energy_of_swing(rods, k, held, q, v, turn, rate_x, rate_y, rate_turn):
    """What rod ``k`` holds more than it would if it were rigid, weight included [J].

    Parameters
    ----------
    q, v : float
        Its end's swing [m] and its rate [m/s].
    turn, rate_x, rate_y, rate_turn : float
        The riser's turn [rad], its mass centre's velocity [m/s], its rate of turning [rad/s].
    """
    cosine = math.cos(turn)
    sine = math.sin(turn)
    nx = cosine * rods.across_x[k] - sine * rods.across_y[k]
    ny = sine * rods.across_x[k] + cosine * rods.across_y[k]
    mass = rods.mass[k]
    share = rods.share[k]
    along = ny * rate_x - nx * rate_y
    kinetic = v * (share * (nx * rate_x + ny * rate_y) + rods.turning[k] * rate_turn + 0.5 * mass * v)
    kinetic += q * rate_turn * (rate_turn * (rods.leaning[k] + 0.5 * mass * q) - share * along)
    resting = (rods.across_x[k] - nx) * held.gravity_x + (rods.across_y[k] - ny) * held.gravity_y
    return kinetic + q * (0.5 * rods.stiffness[k] * q + share * resting)
