"""Newton's method for the drawn bow, with exact tangents in the envelope matrix.

The two components of the finger force are unknown with the shape: they stand in a border of the matrix, two more
right-hand sides and a system of two equations.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.arrays import X, Y
from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.statics.envelope import solve, solve_three
from archerysim.mechanics.statics.newton import (
    LEAST_SHARE,
    MOST_STEP,
    QUICK,
    WORSE,
    factor_tangent,
    gather,
    good_enough,
    keeps,
    largest,
    longest_move,
    move,
    static_forces,
)
from archerysim.mechanics.statics.room import divided
from archerysim.status import NO_CONVERGENCE, NOT_FINITE, OK, SINGULAR

SAME = 1e-11  # [m] of the throat's place


class Pulled(NamedTuple):
    """What drawing looks for; changed in place."""

    x: np.ndarray  #: (n,) [m]
    y: np.ndarray
    force: np.ndarray  #: (2,) of all fingers [N]


class DrawAim(NamedTuple):
    """Where the bow is drawn to, how the hand holds it, and its weight."""

    target: float  #: x of the middle of the throat's two string points [m]
    arm: float  #: height of the hand's push above the pivot [m]
    torque: float  #: of the hand [N m]
    level: float  #: see `gravity` [rad]
    follow: bool  #: see `gravity`
    pull: float  #: gravity's size [m/s2]
    pinch: float = 0.0  #: of the fingers on the nock, across their pull, positive up [N]


@inlined
def gravity(x, y, tail, aim):
    """Weight's components, and where the world's horizontal stands seen from the riser [rad].

    At the aim's ``level``. With ``follow`` the arrow's line, if there is one, stands ``level`` above the horizontal
    instead (the elevation).
    """
    angle = aim.level
    n = x.shape[0]
    if aim.follow and tail < n:
        angle = math.atan2(y[n - 1] - y[tail], x[n - 1] - x[tail]) - aim.level
    return aim.pull * math.sin(angle), -aim.pull * math.cos(angle), angle


@inlined
def pull_string(load, x, y, force, aim, fx, fy):
    """Add the fingers' force to the nodes.

    Returns
    -------
    balance : float
        Moment of the fingers' forces about the hand's push, and the hand's torque [N m].
    across, along : float
        Its derivatives with the force's y and x, the second with its sign turned [m].
    """
    weight = load.weight
    balance = aim.torque
    across = 0.0
    along = 0.0
    for k in range(weight.shape[0]):
        i = load.first + k
        fx[i] += weight[k] * force[X]
        fy[i] += weight[k] * force[Y]
        balance += weight[k] * (x[i] * force[Y] - (y[i] - aim.arm) * force[X])
        across += weight[k] * x[i]
        along += weight[k] * (y[i] - aim.arm)
    return balance, across, along


@inlined
def pinch_of(pinch, force):
    """The fingers' pinch as a force on the nock, across their pull [N]; upwards where there is no pull yet."""
    size = math.sqrt(force[X] * force[X] + force[Y] * force[Y])
    if size > 0.0:
        return pinch * force[Y] / size, -pinch * force[X] / size
    return 0.0, pinch


@inlined
def pinch_slope(pinch, force):
    """How the pinch turns with the pull: derivatives of its x and y with the pull's x, and with its y."""
    square = force[X] * force[X] + force[Y] * force[Y]
    if square > 0.0:
        per = pinch / (square * math.sqrt(square))
        both = per * force[X] * force[Y]
        return -both, -per * force[Y] * force[Y], per * force[X] * force[X], both
    return 0.0, 0.0, 0.0, 0.0


@kernel
def draw_newton(standing, load, x, y, force, aim, careful, tolerance, most, memory):
    """Equilibrium with the middle of the throat's two string points at the target.

    Parameters
    ----------
    standing : Standing
    load : Load
    x, y, force : arrays
        See `Pulled`; changed in place.
    aim : DrawAim
    careful, tolerance, most : int, float, int
        As for `brace_newton`.
    memory : array
        See `room.size_of`.

    Returns
    -------
    status, iterations, residual, level : int, int, float, float
    """
    _, marks, _, _, grid = standing
    room = divided(memory, grid)
    weight, first = load.weight, load.first
    step, bx, by, matrix = room.step, room.one, room.other, room.matrix
    u = marks.edge_u
    w = weight.shape[0]
    a = marks.tail
    pinched = aim.pinch != 0.0 and a < x.shape[0]
    pinch_x = pinch_y = 0.0
    angle = aim.level
    residual = np.inf
    before = np.inf
    scale = 0.0
    dfx = 0.0
    dfy = 0.0
    kept = False  # whether the last step was taken with a matrix factored before
    for iteration in range(most + 1):
        gx, gy, angle = gravity(x, y, marks.tail, aim)
        static_forces(standing, x, y, gx, gy, room.fx, room.fy, room.cells, room.zero)
        balance, across, along = pull_string(load, x, y, force, aim, room.fx, room.fy)
        if pinched:
            pinch_x, pinch_y = pinch_of(aim.pinch, force)
            room.fx[a] += pinch_x
            room.fy[a] += pinch_y
            balance += x[a] * pinch_y - (y[a] - aim.arm) * pinch_x
        residual = largest(grid, room.fx, room.fy)
        if not residual < 1e300:
            return NOT_FINITE, iteration, residual, angle
        off = aim.target - 0.5 * (x[u] + x[u + 1])
        if careful > QUICK and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            force[X] -= scale * dfx
            force[Y] -= scale * dfy
            continue
        near = residual < tolerance and abs(balance) < tolerance and abs(off) < SAME
        if good_enough(near, residual, before, kept, iteration == most, tolerance):
            return OK, iteration, residual, angle
        if iteration == most:
            break
        kept = keeps(iteration == 0, near, residual, before, careful)
        before = residual
        gather(grid, room.fx, room.fy, step)
        if kept:
            solve(grid, matrix, step)
        else:
            if factor_tangent(standing, x, y, 0.0, room) != 0:
                return SINGULAR, iteration, residual, angle
            bx[:] = 0.0
            by[:] = 0.0
            for k in range(w):
                p = grid.place[first + k]
                bx[p] = weight[k]
                by[p + 1] = weight[k]
            if pinched:
                p = grid.place[a]
                bx[p], bx[p + 1], by[p], by[p + 1] = pinch_slope(aim.pinch, force)
            solve_three(grid, matrix, step, bx, by)
        # two more equations: the throat's place and the balance of moments
        p = grid.place[u]
        q = grid.place[u + 1]
        a11 = 0.5 * (bx[p] + bx[q])
        a12 = 0.5 * (by[p] + by[q])
        r1 = off - 0.5 * (step[p] + step[q])
        a21 = -along
        a22 = across
        r2 = -balance
        for k in range(w):
            p = grid.place[first + k]
            r2 -= weight[k] * (force[Y] * step[p] - force[X] * step[p + 1])
            a21 += weight[k] * (force[Y] * bx[p] - force[X] * bx[p + 1])
            a22 += weight[k] * (force[Y] * by[p] - force[X] * by[p + 1])
        if pinched:
            p = grid.place[a]
            xx, yx, xy, yy = pinch_slope(aim.pinch, force)
            r2 -= pinch_y * step[p] - pinch_x * step[p + 1]
            a21 += pinch_y * bx[p] - pinch_x * bx[p + 1] + x[a] * yx - (y[a] - aim.arm) * xx
            a22 += pinch_y * by[p] - pinch_x * by[p + 1] + x[a] * yy - (y[a] - aim.arm) * xy
        det = a11 * a22 - a12 * a21
        if not abs(det) > 1e-300:
            return SINGULAR, iteration, residual, angle
        dfx = (r1 * a22 - a12 * r2) / det
        dfy = (a11 * r2 - a21 * r1) / det
        for k in range(step.shape[0]):
            step[k] += bx[k] * dfx + by[k] * dfy
        longest = longest_move(step)
        if not longest < 1e300:
            return NOT_FINITE, iteration, residual, angle
        scale = min(1.0, MOST_STEP / longest) if longest > 0.0 else 1.0
        move(grid, x, y, step, scale)
        force[X] += scale * dfx
        force[Y] += scale * dfy
    return NO_CONVERGENCE, most, residual, angle
