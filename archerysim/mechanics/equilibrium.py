"""Newton's method for the braced and the drawn bow, with exact tangents in the envelope matrix.

Unknown parameters (string length, pocket angles) and unknown finger forces are carried in a border of the
matrix: one more right-hand side each, and a small dense system.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.chain import chain_forces
from archerysim.mechanics.envelope import factor, solve
from archerysim.mechanics.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.settings import kernel
from archerysim.mechanics.status import NO_CONVERGENCE, NOT_FINITE, OK, SINGULAR
from archerysim.mechanics.tangent import bend_block, chain_tangent, rest_tangent, throat_tangent
from archerysim.mechanics.throat import add_throat_forces, edge_force, locator_force, throat_state

MOST_STEP = 0.02  # [m] a node's longest move in one iteration
WORSE = 2.0  # growth of the residual at which a careful step is halved
LEAST_SHARE = 1.0 / 1024.0  # of a step, below which it is taken all the same


@kernel
def static_forces(c, marks, th, su, x, y, gx, gy, fx, fy, work):
    """Forces on every node at rest: chain, throat, rest, weight (gx, gy [m/s2])."""
    n = x.shape[0]
    zero = work[7]
    zero[:] = 0.0
    chain_forces(c, x, y, zero, zero, fx, fy, work)
    a = marks.tail
    if a < n:
        u = marks.edge_u
        du, dl, s, _, _, _, nx, ny = throat_state(th, x, y, zero, zero, u, a)
        fu, _ = edge_force(th, du, 0.0)
        fl, _ = edge_force(th, dl, 0.0)
        fs, _ = locator_force(th, s, 0.0)
        add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy)
        j = cell_over(x, a, n, su.x, a)
        if j >= 0:
            g, _, xi, _ = rest_gap(su, x, y, zero, j, su.x, su.y, 0.0)
            f = su.side * rest_force(su, g, 0.0)
            fy[j] += (1.0 - xi) * f
            fy[j + 1] += xi * f
    for i in range(n):
        fx[i] += c.mass[i] * gx
        fy[i] += c.mass[i] * gy


@kernel
def largest(grid, fx, fy):
    """Largest force component over the free nodes [N]; infinity where one is not a number."""
    top = 0.0
    for i in range(fx.shape[0]):
        if grid.place[i] >= 0:
            size = max(abs(fx[i]), abs(fy[i]))
            if not size < 1e300:
                return np.inf
            top = max(top, size)
    return top


@kernel
def gather(grid, fx, fy, b):
    for i in range(fx.shape[0]):
        p = grid.place[i]
        if p >= 0:
            b[p] = fx[i]
            b[p + 1] = fy[i]


@kernel
def move(grid, x, y, step, scale):
    for i in range(x.shape[0]):
        p = grid.place[i]
        if p >= 0:
            x[i] += scale * step[p]
            y[i] += scale * step[p + 1]


@kernel
def longest_move(step):
    top = 0.0
    for k in range(step.shape[0]):
        size = abs(step[k])
        if not size < 1e300:
            return np.inf
        top = max(top, size)
    return top


@kernel
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
    careful : bool
        Halve a step that makes the residual grow (for a guess near the answer, where contacts switch).
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
        if careful and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            force[0] -= scale * dfx
            force[1] -= scale * dfy
            continue
        before = residual
        if residual < tolerance and abs(balance) < tolerance and abs(off) < 1e-11:
            return OK, iteration, residual, angle
        if iteration == most:
            break
        low[:] = 0.0
        up[:] = 0.0
        diagonal[:] = 0.0
        chain_tangent(c, grid, x, y, False, low, up, diagonal)
        if a < n:
            throat_tangent(th, marks, grid, x, y, low, up, diagonal)
            rest_tangent(su, marks, grid, x, y, low, up, diagonal)
        if factor(grid, low, up, diagonal) != 0:
            return SINGULAR, iteration, residual, angle
        gather(grid, fx, fy, step)
        bx[:] = 0.0
        by[:] = 0.0
        for k in range(w):
            p = grid.place[first + k]
            bx[p] = weight[k]
            by[p + 1] = weight[k]
        solve(grid, low, up, diagonal, step)
        solve(grid, low, up, diagonal, bx)
        solve(grid, low, up, diagonal, by)
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


@kernel
def string_line(x, y, marks):
    """The braced string's direction (up) and forward normal, and its length between the tips [m]."""
    return line_through(x, y, marks.tip_u, marks.tip_l)


@kernel
def line_through(x, y, above, below):
    """Direction (up) and forward normal of the line through two nodes, and their distance [m]."""
    dx = x[above] - x[below]
    dy = y[above] - y[below]
    length = np.sqrt(dx * dx + dy * dy)
    return dx / length, dy / length, dy / length, -dx / length, length


@kernel
def cell_at_pivot(x, y, marks):
    """The string cell that the square from the pivot meets: where brace height is measured."""
    dx, dy, _, _, _ = string_line(x, y, marks)
    for j in range(marks.tip_u, marks.tip_l):
        if x[j + 1] * dx + y[j + 1] * dy <= 0.0:
            return j
    return marks.tip_l - 1


@kernel
def place_clamps(x, y, marks, root_cells, lean_u, lean_l):
    """Set the clamp nodes behind the roots for the given forward leans of the pockets [rad]."""
    u = marks.root_u
    x[u - 1] = x[u] - root_cells[0] * np.sin(lean_u)
    y[u - 1] = y[u] - root_cells[0] * np.cos(lean_u)
    v = marks.root_l
    x[v + 1] = x[v] - root_cells[1] * np.sin(lean_l)
    y[v + 1] = y[v] + root_cells[1] * np.cos(lean_l)


@kernel
def give_string(c, marks, length, lean, scale, change):
    """Change the string's length by scale change[0] [m] and the pockets' leans by +- scale change[1] [rad]."""
    ratio = 1.0 + scale * change[0] / length[0]
    length[0] *= ratio
    for j in range(marks.tip_u, marks.tip_l):
        c.rest_length[j] *= ratio
        c.stretch[j] /= ratio
    lean[0] += scale * change[1]
    lean[1] -= scale * change[1]


@kernel
def brace_newton(
    c,
    marks,
    th,
    su,
    grid,
    x,
    y,
    lean,
    root_cells,
    length,
    unknowns,
    height,
    split,
    gx,
    gy,
    two_way,
    careful,
    tolerance,
    most,
):
    """Equilibrium of the braced bow, with an arrow on the string if the row has one.

    Parameters
    ----------
    lean : (2,) array
        Pocket angles, upper and lower [rad]; changed in place where they are unknown.
    length : (1,) array
        Unloaded string length [m]; the chain's string cells are scaled with it.
    unknowns : int
        0: nothing but the shape; 1: the string length too, for the brace height ``height`` [m];
        2: half the difference of the pocket angles as well, for the tiller split ``split`` [m].

    two_way, careful : bool
        Slack string cells push as well; halve a step that makes the residual grow.

    Returns
    -------
    status, iterations, residual : int, int, float
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
    border = np.zeros((2, m))
    block = np.empty((6, 6))
    least = c.least_force.copy()
    if two_way:
        c.least_force[:] = -1e30
    residual = np.inf
    before = np.inf
    scale = 0.0
    change = np.zeros(2)
    status = NO_CONVERGENCE
    done = most
    for iteration in range(most + 1):
        place_clamps(x, y, marks, root_cells, lean[0], lean[1])
        static_forces(c, marks, th, su, x, y, gx, gy, fx, fy, work)
        residual = largest(grid, fx, fy)
        dx, dy, nx, ny, span = string_line(x, y, marks)
        tu = marks.tip_u
        tl = marks.tip_l
        ru = marks.root_u
        rl = marks.root_l
        miss = np.zeros(2)
        j = cell_at_pivot(x, y, marks)
        hdx, hdy, hnx, hny, hspan = line_through(x, y, j, j + 1)
        if unknowns > 0:
            miss[0] = height + (x[j] * hnx + y[j] * hny)
        if unknowns > 1:
            miss[1] = split - ((x[ru] - x[rl]) * nx + (y[ru] - y[rl]) * ny)
        if not residual < 1e300:
            status = NOT_FINITE
            done = iteration
            break
        if careful and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            give_string(c, marks, length, lean, -scale, change)
            continue
        before = residual
        if residual < tolerance and max(abs(miss[0]), abs(miss[1])) < 1e-11:
            status = OK
            done = iteration
            break
        if iteration == most:
            break
        low[:] = 0.0
        up[:] = 0.0
        diagonal[:] = 0.0
        chain_tangent(c, grid, x, y, two_way, low, up, diagonal)
        if marks.tail < n:
            throat_tangent(th, marks, grid, x, y, low, up, diagonal)
            rest_tangent(su, marks, grid, x, y, low, up, diagonal)
        if factor(grid, low, up, diagonal) != 0:
            status = SINGULAR
            done = iteration
            break
        gather(grid, fx, fy, step)
        solve(grid, low, up, diagonal, step)
        change[:] = 0.0
        if unknowns > 0:
            border[:, :] = 0.0
            for q in range(tu, tl):
                ex = x[q + 1] - x[q]
                ey = y[q + 1] - y[q]
                stiff = c.stretch[q] / length[0]  # dT/dL0 along the cell, times its direction
                for k in range(2):
                    i = q + k
                    sign = -1.0 if k == 0 else 1.0
                    p = grid.place[i]
                    border[0, p] += sign * stiff * ex
                    border[0, p + 1] += sign * stiff * ey
            if unknowns > 1:
                bend_block(c, x, y, ru, block)
                cx = -root_cells[0] * np.cos(lean[0])
                cy = root_cells[0] * np.sin(lean[0])
                p = grid.place[ru + 1]
                border[1, p] = -(block[4, 0] * cx + block[4, 1] * cy)
                border[1, p + 1] = -(block[5, 0] * cx + block[5, 1] * cy)
                bend_block(c, x, y, rl, block)
                cx = root_cells[1] * np.cos(lean[1])  # the lower lean goes the other way
                cy = root_cells[1] * np.sin(lean[1])
                p = grid.place[rl - 1]
                border[1, p] = -(block[0, 4] * cx + block[0, 5] * cy)
                border[1, p + 1] = -(block[1, 4] * cx + block[1, 5] * cy)
            solve(grid, low, up, diagonal, border[0])
            if unknowns > 1:
                solve(grid, low, up, diagonal, border[1])
            # rows: derivative of height and split with the tips' places
            pu = grid.place[tu]
            pl = grid.place[tl]
            pa = grid.place[j]
            pb = grid.place[j + 1]
            swing_height = -(x[j + 1] * hdx + y[j + 1] * hdy) / hspan
            swing_split = ((x[ru] - x[rl]) * dx + (y[ru] - y[rl]) * dy) / span
            a = np.zeros((2, 2))
            for r in range(3):
                v = step if r == 0 else border[r - 1]
                turn = -((v[pu] - v[pl]) * nx + (v[pu + 1] - v[pl + 1]) * ny)
                swing = -((v[pa] - v[pb]) * hnx + (v[pa + 1] - v[pb + 1]) * hny)
                d_height = -(v[pb] * hnx + v[pb + 1] * hny) + swing_height * swing
                d_split = swing_split * turn
                if r == 0:
                    miss[0] -= d_height
                    miss[1] -= d_split
                else:
                    a[0, r - 1] = d_height
                    a[1, r - 1] = d_split
            if unknowns == 1:
                change[0] = miss[0] / a[0, 0]
            else:
                det = a[0, 0] * a[1, 1] - a[0, 1] * a[1, 0]
                change[0] = (miss[0] * a[1, 1] - a[0, 1] * miss[1]) / det
                change[1] = (a[0, 0] * miss[1] - a[1, 0] * miss[0]) / det
            for k in range(m):
                step[k] += border[0, k] * change[0] + border[1, k] * change[1]
        longest = longest_move(step)
        if not longest < 1e300:
            status = NOT_FINITE
            done = iteration
            break
        scale = min(1.0, MOST_STEP / longest) if longest > 0.0 else 1.0
        move(grid, x, y, step, scale)
        give_string(c, marks, length, lean, scale, change)
    c.least_force[:] = least
    return status, done, residual
