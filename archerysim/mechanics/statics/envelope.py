"""LU of a matrix kept inside its envelope.

Row i of the lower part (left of the diagonal) and column i of the upper part share one envelope that
begins at ``first[i]``; both are stored contiguously at ``start[i]``. With limb and string above and the arrow
numbered towards the throat, limb and string below away from it, all fill stays inside and little of it is zero.
No pivoting: an equilibrium on the way of a draw is stable, its matrix needs none.

A node's two equations stand side by side and share their envelope, so everything goes by blocks of 2 x 2.

An index is marked by `at` as one that is never negative: the compiled code then does not look whether it counts from
the end, which took a third of the time.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import inlined, inlined_with_memory, kernel

at = np.uint64


@inlined_with_memory
def add(grid, low, up, diagonal, i, j, value):
    """Add ``value`` to entry (i, j); entries of carried nodes (negative) are dropped."""
    if i < 0 or j < 0:
        return
    if i == j:
        diagonal[i] += value
    elif i > j:
        low[grid.start[i] + j - grid.first[i]] += value
    else:
        up[grid.start[j] + i - grid.first[j]] += value


@inlined
def clear(matrix):
    """Nothing in it."""
    for k in range(matrix.low.shape[0]):
        matrix.low[k] = 0.0
        matrix.up[k] = 0.0
    for k in range(matrix.diagonal.shape[0]):
        matrix.diagonal[k] = 0.0


@kernel
def factor(grid, matrix):
    """Factor in place. Returns 0, or 1 where a pivot is zero."""
    low, up, diagonal, inverse = matrix
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin  # row i (and column i) of column (row) k stands at r0 + k
        r1 = start[i + 1] - begin
        d00, d01, d10, d11 = diagonal[at(i)], up[at(r1 + i)], low[at(r1 + i)], diagonal[at(i + 1)]
        for j in range(begin, i, 2):
            c0 = start[j] - first[j]
            c1 = start[j + 1] - first[j]
            a00, a01, a10, a11 = low[at(r0 + j)], low[at(r0 + j + 1)], low[at(r1 + j)], low[at(r1 + j + 1)]
            b00, b01, b10, b11 = up[at(r0 + j)], up[at(r1 + j)], up[at(r0 + j + 1)], up[at(r1 + j + 1)]
            for k in range(max(begin, first[j]), j, 2):
                p00, p01, p10, p11 = low[at(r0 + k)], low[at(r0 + k + 1)], low[at(r1 + k)], low[at(r1 + k + 1)]
                q00, q01, q10, q11 = up[at(c0 + k)], up[at(c1 + k)], up[at(c0 + k + 1)], up[at(c1 + k + 1)]
                a00 -= p00 * q00 + p01 * q10
                a01 -= p00 * q01 + p01 * q11
                a10 -= p10 * q00 + p11 * q10
                a11 -= p10 * q01 + p11 * q11
                p00, p01, p10, p11 = low[at(c0 + k)], low[at(c0 + k + 1)], low[at(c1 + k)], low[at(c1 + k + 1)]
                q00, q01, q10, q11 = up[at(r0 + k)], up[at(r1 + k)], up[at(r0 + k + 1)], up[at(r1 + k + 1)]
                b00 -= p00 * q00 + p01 * q10
                b01 -= p00 * q01 + p01 * q11
                b10 -= p10 * q00 + p11 * q10
                b11 -= p10 * q01 + p11 * q11
            one, two, beside, below = inverse[at(j)], inverse[at(j + 1)], up[at(c1 + j)], low[at(c1 + j)]
            a00 *= one
            a10 *= one
            a01 = (a01 - a00 * beside) * two
            a11 = (a11 - a10 * beside) * two
            b10 -= below * b00
            b11 -= below * b01
            low[at(r0 + j)], low[at(r0 + j + 1)], low[at(r1 + j)], low[at(r1 + j + 1)] = a00, a01, a10, a11
            up[at(r0 + j)], up[at(r1 + j)], up[at(r0 + j + 1)], up[at(r1 + j + 1)] = b00, b01, b10, b11
            d00 -= a00 * b00 + a01 * b10
            d01 -= a00 * b01 + a01 * b11
            d10 -= a10 * b00 + a11 * b10
            d11 -= a10 * b01 + a11 * b11
        if not abs(d00) > 1e-300:
            return 1
        one = 1.0 / d00
        d10 *= one
        d11 -= d10 * d01
        if not abs(d11) > 1e-300:
            return 1
        inverse[at(i)] = one
        inverse[at(i + 1)] = 1.0 / d11
        diagonal[at(i)] = d00
        diagonal[at(i + 1)] = d11
        up[at(r1 + i)] = d01
        low[at(r1 + i)] = d10
    return 0


@kernel
def solve(grid, matrix, b):
    """Solve in place with a factored matrix."""
    low, up, diagonal, _ = matrix
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        s0 = b[at(i)]
        s1 = b[at(i + 1)]
        for k in range(begin, i):
            s0 -= low[at(r0 + k)] * b[at(k)]
            s1 -= low[at(r1 + k)] * b[at(k)]
        b[at(i)] = s0
        b[at(i + 1)] = s1 - low[at(r1 + i)] * s0
    for i in range(m - 2, -1, -2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        one = 1.0 / diagonal[at(i)]
        two = 1.0 / diagonal[at(i + 1)]
        s1 = b[at(i + 1)] * two
        s0 = (b[at(i)] - up[at(r1 + i)] * s1) * one
        b[at(i)] = s0
        b[at(i + 1)] = s1
        for k in range(begin, i):
            b[at(k)] -= up[at(r0 + k)] * s0 + up[at(r1 + k)] * s1


@kernel
def solve_three(grid, matrix, a, b, c):
    """`solve` for three right-hand sides at once."""
    low, up, diagonal, _ = matrix
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        a0, a1, b0, b1, c0, c1 = a[at(i)], a[at(i + 1)], b[at(i)], b[at(i + 1)], c[at(i)], c[at(i + 1)]
        for k in range(begin, i):
            p0 = low[at(r0 + k)]
            p1 = low[at(r1 + k)]
            a0 -= p0 * a[at(k)]
            a1 -= p1 * a[at(k)]
            b0 -= p0 * b[at(k)]
            b1 -= p1 * b[at(k)]
            c0 -= p0 * c[at(k)]
            c1 -= p1 * c[at(k)]
        below = low[at(r1 + i)]
        a[at(i)], a[at(i + 1)] = a0, a1 - below * a0
        b[at(i)], b[at(i + 1)] = b0, b1 - below * b0
        c[at(i)], c[at(i + 1)] = c0, c1 - below * c0
    for i in range(m - 2, -1, -2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        beside = up[at(r1 + i)]
        one = 1.0 / diagonal[at(i)]
        two = 1.0 / diagonal[at(i + 1)]
        a1 = a[at(i + 1)] * two
        b1 = b[at(i + 1)] * two
        c1 = c[at(i + 1)] * two
        a0 = (a[at(i)] - beside * a1) * one
        b0 = (b[at(i)] - beside * b1) * one
        c0 = (c[at(i)] - beside * c1) * one
        a[at(i)], a[at(i + 1)], b[at(i)], b[at(i + 1)], c[at(i)], c[at(i + 1)] = a0, a1, b0, b1, c0, c1
        for k in range(begin, i):
            p0 = up[at(r0 + k)]
            p1 = up[at(r1 + k)]
            a[at(k)] -= p0 * a0 + p1 * a1
            b[at(k)] -= p0 * b0 + p1 * b1
            c[at(k)] -= p0 * c0 + p1 * c1
