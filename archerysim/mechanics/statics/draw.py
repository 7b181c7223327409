"""Newton's method for the drawn bow, with exact tangents in the envelope matrix.

The two components of the finger force are unknown with the shape: they stand in a border of the matrix, two more
right-hand sides and a system of two equations.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel, part
from archerysim.mechanics.statics.envelope import factor, solve, solve_three
from archerysim.mechanics.statics.newton import (
    LEAST_SHARE,
    MOST_STEP,
    QUICK,
    WORSE,
    gather,
    good_enough,
    keeps,
    largest,
    longest_move,
    move,
    static_forces,
)
from archerysim.mechanics.statics.tangent import chain_tangent, rest_tangent, throat_tangent
from archerysim.status import NO_CONVERGENCE, NOT_FINITE, OK, SINGULAR


@part
def gravity(x, y, tail, level, follow, pull):
    """Weight's direction: ``level`` is the world's horizontal seen from the riser [rad].

    With ``follow`` the arrow's line, if there is one, stands ``level`` above the horizontal instead (the
    elevation).
    """
    angle = level
    n = x.shape[0]
    if follow and tail < n:
        angle = np.arctan2(y[n - 1] - y[tail], x[n - 1] - x[tail]) - level
    return pull * np.sin(angle), -pull * np.cos(angle), angle


@kernel
def draw_newton(
    c,
    marks,
    th,
    su,
    weight,
    first,
    grid,
    x,
    y,
    force,
    target,
    arm,
    torque,
    level,
    follow,
    pull,
    careful,
    tolerance,
    most,
):
    """Equilibrium with the middle of the throat's two string points at ``x = target``.

    Positions and forces are changed in place.

    Parameters
    ----------
    weight : (w,) array
        Share of the finger force per string node from ``first`` on.
    force : (2,) array
        Finger force, both components [N].
    arm, torque : float
        Height of the hand's push above the pivot [m] and the hand's torque [N m].
    level, follow, pull : float, bool, float
        See `gravity`; pull is 9.81.
    careful : int
        `statics.QUICK`, `CAREFUL` or `MOST_CAREFUL`.
    tolerance : float
        Largest residual force [N].
    most : int
        Most iterations.

    Returns
    -------
    status, iterations, residual, level : int, int, float, float
    """
    n = x.shape[0]
    m = grid.first.shape[0]
    size = grid.start[m]
    low = np.empty(size)
    up = np.empty(size)
    diagonal = np.empty(m)
    work = np.empty((8, n))
    fx = np.empty(n)
    fy = np.empty(n)
    step = np.empty(m)
    bx = np.empty(m)
    by = np.empty(m)
    a = marks.tail
    u = marks.edge_u
    w = weight.shape[0]
    angle = level
    residual = np.inf
    before = np.inf
    scale = 0.0
    dfx = 0.0
    dfy = 0.0
    kept = False  # whether the last step was taken with a matrix factored before
    for iteration in range(most + 1):
        gx, gy, angle = gravity(x, y, a, level, follow, pull)
        static_forces(c, marks, th, su, x, y, gx, gy, fx, fy, work)
        balance = torque
        across = 0.0
        along = 0.0
        for k in range(w):
            i = first + k
            fx[i] += weight[k] * force[0]
            fy[i] += weight[k] * force[1]
            balance += weight[k] * (x[i] * force[1] - (y[i] - arm) * force[0])
            across += weight[k] * x[i]
            along += weight[k] * (y[i] - arm)
        residual = largest(grid, fx, fy)
        if not residual < 1e300:
            return NOT_FINITE, iteration, residual, angle
        off = target - 0.5 * (x[u] + x[u + 1])
        if careful > QUICK and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            force[0] -= scale * dfx
            force[1] -= scale * dfy
            continue
        near = residual < tolerance and abs(balance) < tolerance and abs(off) < 1e-11
        if good_enough(near, residual, before, kept, iteration == most, tolerance):
            return OK, iteration, residual, angle
        if iteration == most:
            break
        kept = keeps(iteration == 0, near, residual, before, careful)
        before = residual
        gather(grid, fx, fy, step)
        if kept:
            solve(grid, low, up, diagonal, step)
        else:
            low[:] = 0.0
            up[:] = 0.0
            diagonal[:] = 0.0
            chain_tangent(c, grid, x, y, 0.0, low, up, diagonal)
            if a < n:
                throat_tangent(th, marks, grid, x, y, low, up, diagonal)
                rest_tangent(su, marks, grid, x, y, low, up, diagonal)
            if factor(grid, low, up, diagonal) != 0:
                return SINGULAR, iteration, residual, angle
            bx[:] = 0.0
            by[:] = 0.0
            for k in range(w):
                p = grid.place[first + k]
                bx[p] = weight[k]
                by[p + 1] = weight[k]
            solve_three(grid, low, up, diagonal, step, bx, by)
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
            r2 -= weight[k] * (force[1] * step[p] - force[0] * step[p + 1])
            a21 += weight[k] * (force[1] * bx[p] - force[0] * bx[p + 1])
            a22 += weight[k] * (force[1] * by[p] - force[0] * by[p + 1])
        det = a11 * a22 - a12 * a21
        if not abs(det) > 1e-300:
            return SINGULAR, iteration, residual, angle
        dfx = (r1 * a22 - a12 * r2) / det
        dfy = (a11 * r2 - a21 * r1) / det
        for k in range(m):
            step[k] += bx[k] * dfx + by[k] * dfy
        longest = longest_move(step)
        if not longest < 1e300:
            return NOT_FINITE, iteration, residual, angle
        scale = min(1.0, MOST_STEP / longest) if longest > 0.0 else 1.0
        move(grid, x, y, step, scale)
        force[0] += scale * dfx
        force[1] += scale * dfy
    return NO_CONVERGENCE, most, residual, angle
