"""Newton's method for the braced bow, with exact tangents in the envelope matrix.

The string's length and the pockets' difference may be unknown with the shape: each stands in a border of the matrix,
one more right-hand side and one more equation.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel, part
from archerysim.mechanics.statics.envelope import factor, solve, solve_three
from archerysim.mechanics.statics.newton import (
    LEAST_SHARE,
    MOST_STEP,
    MOST_TURN,
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
from archerysim.mechanics.statics.tangent import bend_block, chain_tangent, rest_tangent, throat_tangent
from archerysim.mechanics.statics.wrap_tangent import wrap_longer
from archerysim.status import NO_CONVERGENCE, NOT_FINITE, OK, SINGULAR


@part
def string_line(x, y, marks):
    """The braced string's direction (up) and forward normal, and its length between the tips [m]."""
    return line_through(x, y, line_above(marks), line_below(marks))


@part
def line_above(marks):
    """Upper end of the string's straight part at brace: the tip, or the first node where it may lie on the limb."""
    return marks.tip_u + (1 if marks.reach_u > 0 else 0)


@part
def line_below(marks):
    """Lower end of the string's straight part at brace."""
    return marks.tip_l - (1 if marks.reach_l > 0 else 0)


@part
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
    c.above.stretch[0] /= ratio
    c.below.stretch[0] /= ratio
    lean[0] += scale * change[1]
    lean[1] -= scale * change[1]


@kernel
def length_column(c, grid, x, y, tip_u, tip_l, length, column):
    """Add the derivative of the forces with the string's unloaded length: dT/dL0 along each cell [N/m]."""
    for q in range(tip_u, tip_l):
        stiff = c.stretch[q] / length
        ex = stiff * (x[q + 1] - x[q])
        ey = stiff * (y[q + 1] - y[q])
        p = grid.place[q]
        column[p] -= ex
        column[p + 1] -= ey
        p = grid.place[q + 1]
        column[p] += ex
        column[p + 1] += ey
    if c.above.reach > 0:
        wrap_longer(c.above, c.rest_length, grid, x, y, length, column)
    if c.below.reach > 0:
        wrap_longer(c.below, c.rest_length, grid, x, y, length, column)


@kernel
def lean_column(c, grid, x, y, marks, root_cells, lean, block, column):
    """Add the derivative of the forces with half the difference of the pocket angles [N/rad]."""
    bend_block(c, x, y, marks.root_u, block)
    cx = -root_cells[0] * np.cos(lean[0])
    cy = root_cells[0] * np.sin(lean[0])
    p = grid.place[marks.root_u + 1]
    column[p] -= block[4, 0] * cx + block[4, 1] * cy
    column[p + 1] -= block[5, 0] * cx + block[5, 1] * cy
    bend_block(c, x, y, marks.root_l, block)
    cx = root_cells[1] * np.cos(lean[1])  # the lower lean goes the other way
    cy = root_cells[1] * np.sin(lean[1])
    p = grid.place[marks.root_l - 1]
    column[p] -= block[0, 4] * cx + block[0, 5] * cy
    column[p + 1] -= block[1, 4] * cx + block[1, 5] * cy


@kernel
def line_change(v, grid, marks, x, y, j):
    """Change of brace height (in string cell ``j``) and of the split with a move ``v`` of all nodes [m]."""
    dx, dy, nx, ny, span = string_line(x, y, marks)
    hdx, hdy, hnx, hny, hspan = line_through(x, y, j, j + 1)
    pu = grid.place[line_above(marks)]
    pl = grid.place[line_below(marks)]
    pa = grid.place[j]
    pb = grid.place[j + 1]
    ru = marks.root_u
    rl = marks.root_l
    turn = -((v[pu] - v[pl]) * nx + (v[pu + 1] - v[pl + 1]) * ny) / span
    swing = -((v[pa] - v[pb]) * hnx + (v[pa + 1] - v[pb + 1]) * hny) / hspan
    d_height = -(v[pb] * hnx + v[pb + 1] * hny) - (x[j + 1] * hdx + y[j + 1] * hdy) * swing
    return d_height, ((x[ru] - x[rl]) * dx + (y[ru] - y[rl]) * dy) * turn


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

    two_way : bool
        Slack string cells push as well.
    careful : int
        `statics.QUICK`, `CAREFUL` or `MOST_CAREFUL`.

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
    longer = np.zeros(m)
    leaning = np.zeros(m)
    block = np.empty((6, 6))
    least = np.empty(n - 1)
    for j in range(n - 1):
        least[j] = c.least_force[j]
        if two_way:
            c.least_force[j] = -1e30
    residual = np.inf
    push = 1.0 if two_way else 0.0
    before = np.inf
    scale = 0.0
    change = np.zeros(2)
    miss = np.zeros(2)
    a = np.zeros((2, 2))
    status = NO_CONVERGENCE
    done = most
    kept = False  # whether the last step was taken with a matrix factored before
    for iteration in range(most + 1):
        place_clamps(x, y, marks, root_cells, lean[0], lean[1])
        static_forces(c, marks, th, su, x, y, gx, gy, fx, fy, work)
        residual = largest(grid, fx, fy)
        _, _, nx, ny, _ = string_line(x, y, marks)
        tu = marks.tip_u
        tl = marks.tip_l
        ru = marks.root_u
        rl = marks.root_l
        miss[:] = 0.0
        j = cell_at_pivot(x, y, marks)
        _, _, hnx, hny, _ = line_through(x, y, j, j + 1)
        if unknowns > 0:
            miss[0] = height + (x[j] * hnx + y[j] * hny)
        if unknowns > 1:
            miss[1] = split - ((x[ru] - x[rl]) * nx + (y[ru] - y[rl]) * ny)
        if not residual < 1e300:
            status = NOT_FINITE
            done = iteration
            break
        if careful > QUICK and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            give_string(c, marks, length, lean, -scale, change)
            continue
        near = residual < tolerance and max(abs(miss[0]), abs(miss[1])) < 1e-11
        if good_enough(near, residual, before, kept, iteration == most, tolerance):
            status = OK
            done = iteration
            break
        if iteration == most:
            break
        kept = keeps(iteration == 0, near, residual, before, careful)
        before = residual
        gather(grid, fx, fy, step)
        change[:] = 0.0
        if not kept:
            low[:] = 0.0
            up[:] = 0.0
            diagonal[:] = 0.0
            chain_tangent(c, grid, x, y, push, low, up, diagonal)
            if marks.tail < n:
                throat_tangent(th, marks, grid, x, y, low, up, diagonal)
                rest_tangent(su, marks, grid, x, y, low, up, diagonal)
            if factor(grid, low, up, diagonal) != 0:
                status = SINGULAR
                done = iteration
                break
        if kept or unknowns == 0:
            solve(grid, low, up, diagonal, step)
        else:
            longer[:] = 0.0
            leaning[:] = 0.0
            length_column(c, grid, x, y, tu, tl, length[0], longer)
            if unknowns > 1:
                lean_column(c, grid, x, y, marks, root_cells, lean, block, leaning)
            solve_three(grid, low, up, diagonal, step, longer, leaning)
        if unknowns > 0:
            d_height, d_split = line_change(step, grid, marks, x, y, j)
            miss[0] -= d_height
            miss[1] -= d_split
            a[0, 0], a[1, 0] = line_change(longer, grid, marks, x, y, j)
            a[0, 1], a[1, 1] = line_change(leaning, grid, marks, x, y, j)
            if unknowns == 1:
                change[0] = miss[0] / a[0, 0]
            else:
                det = a[0, 0] * a[1, 1] - a[0, 1] * a[1, 0]
                change[0] = (miss[0] * a[1, 1] - a[0, 1] * miss[1]) / det
                change[1] = (a[0, 0] * miss[1] - a[1, 0] * miss[0]) / det
            for k in range(m):
                step[k] += longer[k] * change[0] + leaning[k] * change[1]
        longest = longest_move(step)
        if not longest < 1e300:
            status = NOT_FINITE
            done = iteration
            break
        scale = min(1.0, MOST_STEP / longest) if longest > 0.0 else 1.0
        if scale * abs(change[1]) > MOST_TURN:
            scale = MOST_TURN / abs(change[1])
        move(grid, x, y, step, scale)
        give_string(c, marks, length, lean, scale, change)
    for j in range(n - 1):
        c.least_force[j] = least[j]
    return status, done, residual
