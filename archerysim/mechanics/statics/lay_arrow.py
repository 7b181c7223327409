"""Where a stiff arrow comes to lie on a string that does not move, by least energy.

The nock's grip and the rest are one-sided; Newton's method on the whole bow can cycle between their
branches. Three unknowns (tail x, y and angle) with an energy that must fall at every step cannot; the
whole bow is then solved from there.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import TURN, X, Y
from archerysim.mechanics.compiling import kernel

ROUNDS = 400
MOST_MOVE = 2e-4  # [m] of tail or mass centre in one step, well under the snap travel
PLACE = 3  # numbers of a place
SLOPES = PLACE + PLACE * PLACE  # and of what goes with it
SETTLING = 2 * SLOPES + PLACE  # numbers in which the search works


class Lying(NamedTuple):
    """The string that stands still, and the arrow's weight."""

    upper_x: float  #: string points of the throat's upper and lower edge [m]
    upper_y: float
    lower_x: float
    lower_y: float
    mass: float  #: of the arrow [kg]
    balance: float  #: its mass centre's distance from the throat [m]
    gravity_x: float  #: [m/s2]
    gravity_y: float
    push_x: float = 0.0  #: force on the nock [N]
    push_y: float = 0.0


class Slopes(NamedTuple):
    """How the energy changes with the place; written."""

    grad: np.ndarray  #: (3,)
    hess: np.ndarray  #: (3, 3)


@kernel
def edge_energy(th, d):
    """Energy of one edge [J], whose derivative is `edge_force` at rest; and force and slope."""
    if d >= -th.grip / th.stiffness:
        return 0.5 * th.stiffness * d * d, th.stiffness * d, th.stiffness
    depth = -d
    begin = th.grip / th.stiffness
    half = 0.5 * th.snap
    energy = 0.5 * th.stiffness * begin * begin
    if depth <= half:
        return energy + th.grip * (depth - begin), -th.grip, 0.0
    energy += th.grip * (half - begin)
    past = min(depth - half, half)
    energy += th.grip * (past - 0.5 * past * past / half)
    if depth >= th.snap:
        return energy, 0.0, 0.0
    return energy, -th.grip * (th.snap - depth) / half, -th.grip / half


@kernel
def locator_energy(th, s):
    """Energy of the locators [J], force and slope."""
    both = th.half_gap == 0.0 and th.lower > 0.0 and th.upper > 0.0
    over = 0.0
    if both:
        over = s
    elif s > th.half_gap and th.lower > 0.0:
        over = s - th.half_gap
    elif s < -th.half_gap and th.upper > 0.0:
        over = s + th.half_gap
    if over == 0.0 and not both:
        return 0.0, 0.0, 0.0
    return 0.5 * th.locator_stiffness * over * over, th.locator_stiffness * over, th.locator_stiffness


@kernel
def seat_energy(th, su, lying, q, slopes):
    """Energy of the stiff arrow at the place q = (tail x, tail y, angle); gradient and near Hessian are written.

    The rest's curvature is left out of the Hessian, and its force here is square to the shaft: good for a guess.
    """
    ux, uy, lx, ly, mass, balance, gx, gy, push_x, push_y = lying
    grad, hess = slopes
    cosine = math.cos(q[TURN])
    sine = math.sin(q[TURN])
    nx = th.cos_slope * cosine + th.sin_slope * sine
    ny = th.cos_slope * sine - th.sin_slope * cosine
    sx = -ny
    sy = nx
    for i in range(PLACE):
        grad[i] = 0.0
        for j in range(PLACE):
            hess[i, j] = 0.0
    energy = 0.0
    for contact in range(3):
        if contact == 2:
            px = 0.5 * (ux + lx) - q[X]
            py = 0.5 * (uy + ly) - q[Y]
            ex, ey, dx, dy = sx, sy, -nx, -ny
        else:
            px = (ux if contact == 0 else lx) - q[X]
            py = (uy if contact == 0 else ly) - q[Y]
            ex, ey, dx, dy = nx, ny, sx, sy
        v = px * ex + py * ey
        dv = px * dx + py * dy
        if contact == 2:
            e, f, k = locator_energy(th, v)
        else:
            e, f, k = edge_energy(th, v)
        energy += e
        g0 = -ex
        g1 = -ey
        grad[X] += f * g0
        grad[Y] += f * g1
        grad[TURN] += f * dv
        hess[X, X] += k * g0 * g0
        hess[X, Y] += k * g0 * g1
        hess[Y, Y] += k * g1 * g1
        hess[X, TURN] += k * g0 * dv - f * dx
        hess[Y, TURN] += k * g1 * dv - f * dy
        hess[TURN, TURN] += k * dv * dv - f * v
    tangent = sine / cosine
    gap = su.side * (su.y - q[Y] - (su.x - q[X]) * tangent) + su.half_diameter
    if gap > 0.0:
        turn = -(su.x - q[X]) / (cosine * cosine)
        energy += 0.5 * su.stiffness * gap * gap
        g = (su.side * tangent, -su.side, su.side * turn)
        for i in range(PLACE):
            grad[i] += su.stiffness * gap * g[i]
            for j in range(i, PLACE):
                hess[i, j] += su.stiffness * g[i] * g[j]
    energy -= mass * (gx * (q[X] + balance * cosine) + gy * (q[Y] + balance * sine))
    energy -= push_x * q[X] + push_y * q[Y]
    grad[X] -= mass * gx + push_x
    grad[Y] -= mass * gy + push_y
    grad[TURN] -= mass * balance * (-gx * sine + gy * cosine)
    hess[TURN, TURN] += mass * balance * (gx * cosine + gy * sine)
    hess[Y, X] = hess[X, Y]
    hess[TURN, X] = hess[X, TURN]
    hess[TURN, Y] = hess[Y, TURN]
    return energy


@kernel
def seat_arrow(th, su, lying, q, memory):
    """Settle a stiff arrow between string points u and l and the rest.

    Parameters
    ----------
    lying : Lying
    q : (3,) array
        Tail x, y [m] and angle [rad]; a guess, changed in place.
    memory : (SETTLING,) array

    Returns
    -------
    steps : int
    """
    here = Slopes(memory[:PLACE], memory[PLACE:SLOPES].reshape((PLACE, PLACE)))
    there = Slopes(memory[SLOPES : SLOPES + PLACE], memory[SLOPES + PLACE : 2 * SLOPES].reshape((PLACE, PLACE)))
    trial = memory[2 * SLOPES :]
    grad, hess = here
    balance = lying.balance
    scale = (1.0, 1.0, 4.0 / (balance * balance))  # an angle counts as a move near the middle of the arrow
    energy = seat_energy(th, su, lying, q, here)
    damping = 1.0
    for step in range(ROUNDS):
        if abs(grad[X]) + abs(grad[Y]) + abs(grad[TURN]) < 1e-9:
            return step
        a00 = hess[X, X] + damping * scale[X]
        a11 = hess[Y, Y] + damping * scale[Y]
        a22 = hess[TURN, TURN] + damping / scale[TURN]
        a01, a02, a12 = hess[X, Y], hess[X, TURN], hess[Y, TURN]
        d2 = a00 * a11 - a01 * a01
        det = a00 * (a11 * a22 - a12 * a12) - a01 * (a01 * a22 - a12 * a02) + a02 * (a01 * a12 - a11 * a02)
        if a00 > 0.0 and d2 > 0.0 and det > 0.0:
            dx = ((a11 * a22 - a12 * a12) * grad[X] + (a02 * a12 - a01 * a22) * grad[Y]
                  + (a01 * a12 - a02 * a11) * grad[TURN]) / det  # fmt: skip
            dy = ((a02 * a12 - a01 * a22) * grad[X] + (a00 * a22 - a02 * a02) * grad[Y]
                  + (a02 * a01 - a00 * a12) * grad[TURN]) / det  # fmt: skip
            turn = ((a01 * a12 - a02 * a11) * grad[X] + (a02 * a01 - a00 * a12) * grad[Y]
                    + (a00 * a11 - a01 * a01) * grad[TURN]) / det  # fmt: skip
            share = min(1.0, MOST_MOVE / max(abs(dx), abs(dy), abs(turn) * balance, 1e-300))
            trial[X] = q[X] - share * dx
            trial[Y] = q[Y] - share * dy
            trial[TURN] = q[TURN] - share * turn
            new = seat_energy(th, su, lying, trial, there)
            if new <= energy + 1e-16:
                for i in range(PLACE):
                    q[i] = trial[i]
                    grad[i] = there.grad[i]
                    for j in range(PLACE):
                        hess[i, j] = there.hess[i, j]
                energy = new
                damping *= 0.2
                continue
        damping = max(damping * 5.0, 1e-3)
        if damping > 1e12:
            return step
    return ROUNDS
