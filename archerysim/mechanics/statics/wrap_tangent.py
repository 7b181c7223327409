"""Exact stiffness of the string's end cell on a limb: the second derivative of its energy."""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.compiling import inlined, inlined_with_memory, kernel, with_memory
from archerysim.mechanics.forces.wrap import (
    GAUSS_AT,
    GAUSS_WEIGHT,
    POINTS,
    belly_piece,
    normal_ends,
    pull_nodes,
    wrap_path,
)
from archerysim.mechanics.statics.envelope import at

# Rows of the block: the string node's x and y, then those of the limb's nodes from the tip inwards.


@inlined
def add_angle_hessian(block, p, q, ex, ey, factor):
    """Add factor times the Hessian of atan2(ey, ex) over the end nodes at rows p (tail) and q (head)."""
    square = ex * ex + ey * ey
    square *= square
    hxx = factor * 2.0 * ex * ey / square
    hxy = factor * (ey * ey - ex * ex) / square
    for r in range(2):
        for s in range(2):
            i = p if r == 0 else q
            j = p if s == 0 else q
            sign = 1.0 if r == s else -1.0
            block[i, j] += sign * hxx
            block[i, j + 1] += sign * hxy
            block[i + 1, j] += sign * hxy
            block[i + 1, j + 1] -= sign * hxx


@inlined
def add_turned(w, x, y, k, amount, first, second):
    """Add ``amount`` times control point ``k`` to two rows, its x's and y's derivatives."""
    own = 2 + 2 * max(k - 1, 0)
    first[own] += amount
    second[own + 1] += amount
    if k > 0:
        outer, inner = normal_ends(w, k)
        tx = x[inner] - x[outer]
        ty = y[inner] - y[outer]
        square = tx * tx + ty * ty
        off = amount * w.side * w.offset[k - 1] / (square * math.sqrt(square))
        p = own if k == 1 else own - 2
        q = own + 2
        first[p] += off * tx * ty
        first[p + 1] -= off * tx * tx
        second[p] += off * ty * ty
        second[p + 1] -= off * tx * ty
        first[q] -= off * tx * ty
        first[q + 1] += off * tx * tx
        second[q] -= off * ty * ty
        second[q + 1] += off * tx * ty


@inlined
def add_piece_turned(w, x, y, k, to_begin, to_middle, to_end, first, second):
    """`add_turned` for begin, middle and end of piece ``k``."""
    if k > 1:
        last = 0.5 * to_begin
        this = 0.5 * to_begin + to_middle + 0.5 * to_end
        then = 0.5 * to_end
    else:
        last = to_begin
        this = 0.75 * to_middle + 0.5 * to_end
        then = 0.25 * to_middle + 0.5 * to_end
    add_turned(w, x, y, k - 1, last, first, second)
    add_turned(w, x, y, k, this, first, second)
    add_turned(w, x, y, k + 1, then, first, second)


@inlined
def piece_rows(k):
    """First row of those that piece ``k`` depends on, and the one after the last."""
    return 2 + 2 * max(k - 3, 0), 2 * k + 6


@inlined
def add_straight(begin, end, across, ux, uy, first, second, block):
    """Add a stiffness ``across`` a direction (ux, uy) between what two rows say: a pull over a length [N/m].

    They say nothing outside of ``begin`` to ``end``.
    """
    for p in range(begin, end):
        a = ux * second[p] - uy * first[p]
        if a != 0.0:
            a *= across
            for q in range(begin, end):
                block[p, q] += a * (ux * second[q] - uy * first[q])


@inlined
def add_turning(w, x, y, k, fx, fy, block):
    """What a force along control point ``k``'s slope makes of the turning of its normal."""
    out, in_ = normal_ends(w, k)
    tx = x[in_] - x[out]
    ty = y[in_] - y[out]
    square = tx * tx + ty * ty
    per = w.side * w.offset[k - 1] / math.sqrt(square)
    along = per * (fx * tx + fy * ty)  # first and second derivative of what the force does with the angle
    across = -per * (fx * ty - fy * tx)
    inner = 2 + 2 * k
    outer = 2 if k == 1 else inner - 4
    turn = (ty / square, -tx / square, -ty / square, tx / square)  # angle with the outer, then the inner node
    for p in range(4):
        row = outer + p if p < 2 else inner + p - 2
        for q in range(4):
            column = outer + q if q < 2 else inner + q - 2
            block[row, column] += across * turn[p] * turn[q]
    add_angle_hessian(block, outer, inner, tx, ty, along)


@inlined_with_memory
def wrap_block(w, rest_length, x, y, push, block, slope_x, slope_y, node_x, node_y, rows):
    """Second derivative of the end cell's energy over the string node and the limb's outer nodes.

    Parameters
    ----------
    push : float
        1: the cell pushes too when slack; else 0.
    block : (2 reach + 6, 2 reach + 6) array
        Written [N/m].
    slope_x, slope_y : (reach + 2,) arrays
        Scratch space.
    node_x, node_y : (n,) arrays
        Written: derivative of the way's length with every node.
    rows : (3, 2 reach + 6) array
        Scratch space.

    Returns
    -------
    size : int
        Rows used; zero where the cell is slack.
    """
    _, piece, share, _, length, ux, uy = wrap_path(w, x, y, slope_x, slope_y)
    pull = w.stretch[0] * (length - rest_length[w.cell])
    if pull < 0.0 and not push > 0.0:
        return 0  # slack
    node_x[:] = 0.0
    node_y[:] = 0.0
    pull_nodes(w, x, y, piece, ux, uy, 1.0, slope_x, slope_y, node_x, node_y)
    size = 4 if piece == 0 else 2 * piece + 6
    first, second, along = rows[0], rows[1], rows[2]
    along[0] = node_x[w.string]
    along[1] = node_y[w.string]
    for k in range((size - 2) // 2):
        i = w.tip + k * w.inward
        along[2 + 2 * k] = node_x[i]
        along[3 + 2 * k] = node_y[i]
    for p in range(size):
        for q in range(size):
            block[p, q] = w.stretch[0] * along[p] * along[q]
    free = length
    for k in range(1, piece + 1):
        bx, by, mx, my, ex, ey = belly_piece(w, x, y, k)
        ax = mx - bx
        ay = my - by
        cx = ex - mx - ax
        cy = ey - my - ay
        to = share if k == piece else 1.0
        begin, end = piece_rows(k)
        for g in range(POINTS):
            v = to * GAUSS_AT[g]
            tx = ax + v * cx
            ty = ay + v * cy
            speed = math.sqrt(tx * tx + ty * ty)
            each = 2.0 * to * GAUSS_WEIGHT[g]
            free -= each * speed
            first[begin:end] = 0.0
            second[begin:end] = 0.0
            add_piece_turned(w, x, y, k, v - 1.0, 1.0 - 2.0 * v, v, first, second)
            add_straight(begin, end, pull * each / speed, tx / speed, ty / speed, first, second, block)
    first[:size] = 0.0
    second[:size] = 0.0
    first[0] = 1.0
    second[1] = 1.0
    if piece == 0:
        first[2] = -1.0
        second[3] = -1.0
    else:
        v = share
        add_piece_turned(w, x, y, piece, -(1.0 - v) * (1.0 - v), -2.0 * v * (1.0 - v), -v * v, first, second)
    add_straight(0, size, pull / free, ux, uy, first, second, block)
    for k in range(1, piece + 2 if piece > 0 else 1):
        add_turning(w, x, y, k, pull * slope_x[k], pull * slope_y[k], block)
    return size


@with_memory
def wrap_tangent(w, rest_length, grid, x, y, push, matrix):
    """Add the end cell's stiffness to the envelope matrix; ``push`` as in `wrap_block`."""
    most = 2 * w.reach + 6
    n = x.shape[0]
    block = np.empty((most, most))
    slope_x = np.empty(w.reach + 2)
    slope_y = np.empty(w.reach + 2)
    node_x = np.empty(n)
    node_y = np.empty(n)
    rows = np.empty((3, most))
    size = wrap_block(w, rest_length, x, y, push, block, slope_x, slope_y, node_x, node_y, rows)
    add_block(w, grid, size, block, matrix)


@inlined
def node_of(w, row):
    """The node whose x stands in a row of the block."""
    return w.string if row == 0 else w.tip + (row // 2 - 1) * w.inward


@kernel
def add_block(w, grid, size, block, matrix):
    """Add the block's first ``size`` rows to the envelope matrix, node by node; carried nodes are left out."""
    low, up, diagonal, _ = matrix
    for p in range(0, size, 2):
        i = grid.place[node_of(w, p)]
        if i < 0:
            continue
        r0 = grid.start[i] - grid.first[i]  # as in `envelope.factor`
        r1 = grid.start[i + 1] - grid.first[i + 1]
        diagonal[at(i)] += block[at(p), at(p)]
        diagonal[at(i + 1)] += block[at(p + 1), at(p + 1)]
        low[at(r1 + i)] += block[at(p + 1), at(p)]
        up[at(r1 + i)] += block[at(p), at(p + 1)]
        for q in range(0, size, 2):
            j = grid.place[node_of(w, q)]
            if j < 0 or j >= i:
                continue  # both triangles are written from the later node
            low[at(r0 + j)] += block[at(p), at(q)]
            low[at(r0 + j + 1)] += block[at(p), at(q + 1)]
            low[at(r1 + j)] += block[at(p + 1), at(q)]
            low[at(r1 + j + 1)] += block[at(p + 1), at(q + 1)]
            up[at(r0 + j)] += block[at(q), at(p)]
            up[at(r0 + j + 1)] += block[at(q + 1), at(p)]
            up[at(r1 + j)] += block[at(q), at(p + 1)]
            up[at(r1 + j + 1)] += block[at(q + 1), at(p + 1)]


@with_memory
def wrap_longer(w, rest_length, grid, x, y, length, column):
    """Add the derivative of the end cell's forces with the string's unloaded length [N/m]; see `length_column`."""
    n = x.shape[0]
    slope_x = np.empty(w.reach + 2)
    slope_y = np.empty(w.reach + 2)
    node_x = np.zeros(n)
    node_y = np.zeros(n)
    _, piece, _, _, way, ux, uy = wrap_path(w, x, y, slope_x, slope_y)
    pull_nodes(w, x, y, piece, ux, uy, w.stretch[0] * way / length, slope_x, slope_y, node_x, node_y)
    for k in range(piece + 3 if piece > 0 else 2):
        i = w.string if k == 0 else w.tip + (k - 1) * w.inward
        p = grid.place[i]
        column[p] += node_x[i]
        column[p + 1] += node_y[i]
