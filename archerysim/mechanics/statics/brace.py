"""Newton's method for the braced bow, with exact tangents in the envelope matrix.

The string's length and the pockets' difference may be unknown with the shape: each stands in a border of the matrix,
one more right-hand side and one more equation.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.compiling import inlined, kernel
from archerysim.mechanics.statics.envelope import solve, solve_three
from archerysim.mechanics.statics.newton import (
    LEAST_SHARE,
    MOST_STEP,
    MOST_TURN,
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
from archerysim.mechanics.statics.tangent import AFTER_X, AFTER_Y, BEFORE_X, BEFORE_Y, bend_block
from archerysim.mechanics.statics.wrap_tangent import wrap_longer
from archerysim.status import NO_CONVERGENCE, NOT_FINITE, OK, SINGULAR

SAME = 1e-11  # [m] of brace height and split
PUSHES = -1e30  # least force of a string cell that may push [N]
LENGTH, LEAN_UPPER, LEAN_LOWER = range(3)  # what is found beside the shape: the string, the pockets' angles
LONGER, LEANING = range(2)  # how it changes in one step
HEIGHT, SPLIT = range(2)  # and what it is to meet


class Strung(NamedTuple):
    """What bracing looks for; changed in place."""

    x: np.ndarray  #: (n,) [m]
    y: np.ndarray
    found: np.ndarray  #: (3,) the string's unloaded length [m]; pocket angles, forward, upper and lower [rad]


class BraceAim(NamedTuple):
    """What a braced bow is to have, and its weight."""

    unknowns: int  #: how many beside the shape: the string's length, then half the pockets' difference too
    height: float  #: brace height [m]
    split: float  #: upper minus lower distance of the roots from the string [m]
    gravity_x: float  #: [m/s2]
    gravity_y: float
    two_way: bool  #: slack string cells push as well


@inlined
def string_line(x, y, marks):
    """The braced string's direction (up) and forward normal, and its length between the tips [m]."""
    return line_through(x, y, line_above(marks), line_below(marks))


@inlined
def line_above(marks):
    """Upper end of the string's straight part at brace: the tip, or the first node where it may lie on the limb."""
    return marks.tip_u + (1 if marks.reach_u > 0 else 0)


@inlined
def line_below(marks):
    """Lower end of the string's straight part at brace."""
    return marks.tip_l - (1 if marks.reach_l > 0 else 0)


@inlined
def line_through(x, y, above, below):
    """Direction (up) and forward normal of the line through two nodes, and their distance [m]."""
    dx = x[above] - x[below]
    dy = y[above] - y[below]
    length = math.sqrt(dx * dx + dy * dy)
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
def place_clamps(c, marks, x, y, found):
    """Set the clamp nodes behind the roots for the pockets' leans."""
    u = marks.root_u
    x[u - 1] = x[u] - c.rest_length[u - 1] * math.sin(found[LEAN_UPPER])
    y[u - 1] = y[u] - c.rest_length[u - 1] * math.cos(found[LEAN_UPPER])
    v = marks.root_l
    x[v + 1] = x[v] - c.rest_length[v] * math.sin(found[LEAN_LOWER])
    y[v + 1] = y[v] + c.rest_length[v] * math.cos(found[LEAN_LOWER])


@kernel
def give_string(c, marks, found, scale, change):
    """Change the string's length [m] and the pockets' leans, one as the other back [rad], by a share of a change."""
    ratio = 1.0 + scale * change[LONGER] / found[LENGTH]
    found[LENGTH] *= ratio
    for j in range(marks.tip_u, marks.tip_l):
        c.rest_length[j] *= ratio
        c.stretch[j] /= ratio
    c.above.stretch[0] /= ratio
    c.below.stretch[0] /= ratio
    found[LEAN_UPPER] += scale * change[LEANING]
    found[LEAN_LOWER] -= scale * change[LEANING]


@kernel
def length_column(c, marks, grid, x, y, length, column):
    """Add the derivative of the forces with the string's unloaded length: dT/dL0 along each cell [N/m]."""
    for q in range(marks.tip_u, marks.tip_l):
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
def lean_column(c, marks, grid, x, y, found, block, column):
    """Add the derivative of the forces with half the difference of the pocket angles [N/rad]."""
    bend_block(c, x, y, marks.root_u, block)
    cx = -c.rest_length[marks.root_u - 1] * math.cos(found[LEAN_UPPER])
    cy = c.rest_length[marks.root_u - 1] * math.sin(found[LEAN_UPPER])
    p = grid.place[marks.root_u + 1]
    column[p] -= block[AFTER_X, BEFORE_X] * cx + block[AFTER_X, BEFORE_Y] * cy
    column[p + 1] -= block[AFTER_Y, BEFORE_X] * cx + block[AFTER_Y, BEFORE_Y] * cy
    bend_block(c, x, y, marks.root_l, block)
    cx = c.rest_length[marks.root_l] * math.cos(found[LEAN_LOWER])  # the lower lean goes the other way
    cy = c.rest_length[marks.root_l] * math.sin(found[LEAN_LOWER])
    p = grid.place[marks.root_l - 1]
    column[p] -= block[BEFORE_X, AFTER_X] * cx + block[BEFORE_X, AFTER_Y] * cy
    column[p + 1] -= block[BEFORE_Y, AFTER_X] * cx + block[BEFORE_Y, AFTER_Y] * cy


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


@inlined
def solve_border(change, miss, slope):
    """Both changes that meet both misses."""
    det = slope[HEIGHT, LONGER] * slope[SPLIT, LEANING] - slope[HEIGHT, LEANING] * slope[SPLIT, LONGER]
    change[LONGER] = (miss[HEIGHT] * slope[SPLIT, LEANING] - slope[HEIGHT, LEANING] * miss[SPLIT]) / det
    change[LEANING] = (slope[HEIGHT, LONGER] * miss[SPLIT] - slope[SPLIT, LONGER] * miss[HEIGHT]) / det


@inlined
def put_aside(c, two_way, least):
    """Copy the cells' least forces; where the string may push, they are that of none afterwards."""
    for j in range(c.least_force.shape[0]):
        least[j] = c.least_force[j]
        if two_way:
            c.least_force[j] = PUSHES


@inlined
def put_back(c, least):
    """And back."""
    for j in range(c.least_force.shape[0]):
        c.least_force[j] = least[j]


@inlined
def write_misses(marks, x, y, aim, miss):
    """Write by how much brace height and split are missed; zero where they are not asked for [m].

    Returns
    -------
    j : int
        String cell at which the brace height is measured.
    """
    _, _, nx, ny, _ = string_line(x, y, marks)
    ru = marks.root_u
    rl = marks.root_l
    miss[:] = 0.0
    j = cell_at_pivot(x, y, marks)
    _, _, hnx, hny, _ = line_through(x, y, j, j + 1)
    if aim.unknowns > 0:
        miss[HEIGHT] = aim.height + (x[j] * hnx + y[j] * hny)
    if aim.unknowns > 1:
        miss[SPLIT] = aim.split - ((x[ru] - x[rl]) * nx + (y[ru] - y[rl]) * ny)
    return j


@kernel
def brace_newton(standing, x, y, found, aim, careful, tolerance, most, memory):
    """Equilibrium of the braced bow, with an arrow on the string if the row has one.

    Parameters
    ----------
    standing : Standing
        The chain's string cells are scaled with the string's length.
    x, y, found : arrays
        See `Strung`. Changed in place, length and pocket angles where they are unknown.
    aim : BraceAim
    careful : int
        `statics.newton.QUICK`, `CAREFUL` or `MOST_CAREFUL`.
    tolerance : float
        Largest residual force [N].
    most : int
        Most iterations.
    memory : array
        See `room.size_of`.

    Returns
    -------
    status, iterations, residual : int, int, float
    """
    room = divided(memory, standing.grid)
    put_aside(standing.chain, aim.two_way, room.least)
    status, done, residual = solve_brace(standing, x, y, found, aim, careful, tolerance, most, room)
    put_back(standing.chain, room.least)
    return status, done, residual


@inlined
def solve_brace(standing, x, y, found, aim, careful, tolerance, most, room):
    """`brace_newton` with the chain's least forces as they are to be."""
    c, marks, _, _, grid = standing
    step, one, other, matrix = room.step, room.one, room.other, room.matrix
    change, miss, slope = room.border
    residual = np.inf
    push = 1.0 if aim.two_way else 0.0
    before = np.inf
    scale = 0.0
    kept = False  # whether the last step was taken with a matrix factored before
    for iteration in range(most + 1):
        place_clamps(c, marks, x, y, found)
        static_forces(standing, x, y, aim.gravity_x, aim.gravity_y, room.fx, room.fy, room.cells, room.zero)
        residual = largest(grid, room.fx, room.fy)
        j = write_misses(marks, x, y, aim, miss)
        if not residual < 1e300:
            return NOT_FINITE, iteration, residual
        if careful > QUICK and residual > WORSE * before and scale > LEAST_SHARE:
            scale *= 0.5
            move(grid, x, y, step, -scale)
            give_string(c, marks, found, -scale, change)
            continue
        near = residual < tolerance and max(abs(miss[HEIGHT]), abs(miss[SPLIT])) < SAME
        if good_enough(near, residual, before, kept, iteration == most, tolerance):
            return OK, iteration, residual
        if iteration == most:
            break
        kept = keeps(iteration == 0, near, residual, before, careful)
        before = residual
        gather(grid, room.fx, room.fy, step)
        change[LONGER] = 0.0
        change[LEANING] = 0.0
        if not kept and factor_tangent(standing, x, y, push, room) != 0:
            return SINGULAR, iteration, residual
        if kept or aim.unknowns == 0:
            solve(grid, matrix, step)
        else:
            one[:] = 0.0
            other[:] = 0.0
            length_column(c, marks, grid, x, y, found[LENGTH], one)
            if aim.unknowns > 1:
                lean_column(c, marks, grid, x, y, found, room.bend, other)
            solve_three(grid, matrix, step, one, other)
        if aim.unknowns > 0:
            # one or two more equations: brace height and split
            d_height, d_split = line_change(step, grid, marks, x, y, j)
            miss[HEIGHT] -= d_height
            miss[SPLIT] -= d_split
            slope[HEIGHT, LONGER], slope[SPLIT, LONGER] = line_change(one, grid, marks, x, y, j)
            slope[HEIGHT, LEANING], slope[SPLIT, LEANING] = line_change(other, grid, marks, x, y, j)
            if aim.unknowns == 1:
                change[LONGER] = miss[HEIGHT] / slope[HEIGHT, LONGER]
            else:
                solve_border(change, miss, slope)
            for k in range(step.shape[0]):
                step[k] += one[k] * change[LONGER] + other[k] * change[LEANING]
        longest = longest_move(step)
        if not longest < 1e300:
            return NOT_FINITE, iteration, residual
        scale = min(1.0, MOST_STEP / longest) if longest > 0.0 else 1.0
        if scale * abs(change[LEANING]) > MOST_TURN:
            scale = MOST_TURN / abs(change[LEANING])
        move(grid, x, y, step, scale)
        give_string(c, marks, found, scale, change)
    return NO_CONVERGENCE, most, residual
