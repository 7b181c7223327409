"""LU of a matrix kept inside its envelope.

Row i of the lower part (left of the diagonal) and column i of the upper part share one envelope that
begins at ``first[i]``; both are stored contiguously at ``start[i]``. With the nodes of the three branches
(limb and string above, limb and string below, arrow) numbered towards the throat, all fill stays inside.
No pivoting: an equilibrium on the way of a draw is stable, its matrix needs none.

A node's two equations stand side by side and share their envelope, so everything goes by blocks of 2 x 2.
"""

from __future__ import annotations

from archerysim.mechanics.settings import kernel, part


@part
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


@kernel
def factor(grid, low, up, diagonal):
    """Factor in place. Returns 0, or 1 where a pivot is nil."""
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin  # row i (and column i) of column (row) k stands at r0 + k
        r1 = start[i + 1] - begin
        for j in range(begin, i, 2):
            c0 = start[j] - first[j]
            c1 = start[j + 1] - first[j]
            a00, a01, a10, a11 = low[r0 + j], low[r0 + j + 1], low[r1 + j], low[r1 + j + 1]
            b00, b01, b10, b11 = up[r0 + j], up[r1 + j], up[r0 + j + 1], up[r1 + j + 1]
            for k in range(max(begin, first[j]), j, 2):
                p00, p01, p10, p11 = low[r0 + k], low[r0 + k + 1], low[r1 + k], low[r1 + k + 1]
                q00, q01, q10, q11 = up[c0 + k], up[c1 + k], up[c0 + k + 1], up[c1 + k + 1]
                a00 -= p00 * q00 + p01 * q10
                a01 -= p00 * q01 + p01 * q11
                a10 -= p10 * q00 + p11 * q10
                a11 -= p10 * q01 + p11 * q11
                p00, p01, p10, p11 = low[c0 + k], low[c0 + k + 1], low[c1 + k], low[c1 + k + 1]
                q00, q01, q10, q11 = up[r0 + k], up[r1 + k], up[r0 + k + 1], up[r1 + k + 1]
                b00 -= p00 * q00 + p01 * q10
                b01 -= p00 * q01 + p01 * q11
                b10 -= p10 * q00 + p11 * q10
                b11 -= p10 * q01 + p11 * q11
            one, two, beside, below = diagonal[j], diagonal[j + 1], up[c1 + j], low[c1 + j]
            a00 /= one
            a10 /= one
            low[r0 + j] = a00
            low[r1 + j] = a10
            low[r0 + j + 1] = (a01 - a00 * beside) / two
            low[r1 + j + 1] = (a11 - a10 * beside) / two
            up[r0 + j] = b00
            up[r1 + j] = b01
            up[r0 + j + 1] = b10 - below * b00
            up[r1 + j + 1] = b11 - below * b01
        d00, d01, d10, d11 = diagonal[i], up[r1 + i], low[r1 + i], diagonal[i + 1]
        for k in range(begin, i):
            d00 -= low[r0 + k] * up[r0 + k]
            d01 -= low[r0 + k] * up[r1 + k]
            d10 -= low[r1 + k] * up[r0 + k]
            d11 -= low[r1 + k] * up[r1 + k]
        if not abs(d00) > 1e-300:
            return 1
        d10 /= d00
        d11 -= d10 * d01
        if not abs(d11) > 1e-300:
            return 1
        diagonal[i] = d00
        diagonal[i + 1] = d11
        up[r1 + i] = d01
        low[r1 + i] = d10
    return 0


@kernel
def solve(grid, low, up, diagonal, b):
    """Solve in place with a factored matrix."""
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        s0 = b[i]
        s1 = b[i + 1]
        for k in range(begin, i):
            s0 -= low[r0 + k] * b[k]
            s1 -= low[r1 + k] * b[k]
        b[i] = s0
        b[i + 1] = s1 - low[r1 + i] * s0
    for i in range(m - 2, -1, -2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        s1 = b[i + 1] / diagonal[i + 1]
        s0 = (b[i] - up[r1 + i] * s1) / diagonal[i]
        b[i] = s0
        b[i + 1] = s1
        for k in range(begin, i):
            b[k] -= up[r0 + k] * s0 + up[r1 + k] * s1


@kernel
def solve_three(grid, low, up, diagonal, a, b, c):
    """`solve` for three right-hand sides at once."""
    m = diagonal.shape[0]
    first, start = grid.first, grid.start
    for i in range(0, m, 2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        a0, a1, b0, b1, c0, c1 = a[i], a[i + 1], b[i], b[i + 1], c[i], c[i + 1]
        for k in range(begin, i):
            p0 = low[r0 + k]
            p1 = low[r1 + k]
            a0 -= p0 * a[k]
            a1 -= p1 * a[k]
            b0 -= p0 * b[k]
            b1 -= p1 * b[k]
            c0 -= p0 * c[k]
            c1 -= p1 * c[k]
        below = low[r1 + i]
        a[i], a[i + 1] = a0, a1 - below * a0
        b[i], b[i + 1] = b0, b1 - below * b0
        c[i], c[i + 1] = c0, c1 - below * c0
    for i in range(m - 2, -1, -2):
        begin = first[i]
        r0 = start[i] - begin
        r1 = start[i + 1] - begin
        beside = up[r1 + i]
        one = 1.0 / diagonal[i]
        two = 1.0 / diagonal[i + 1]
        a1 = a[i + 1] * two
        b1 = b[i + 1] * two
        c1 = c[i + 1] * two
        a0 = (a[i] - beside * a1) * one
        b0 = (b[i] - beside * b1) * one
        c0 = (c[i] - beside * c1) * one
        a[i], a[i + 1], b[i], b[i + 1], c[i], c[i + 1] = a0, a1, b0, b1, c0, c1
        for k in range(begin, i):
            p0 = up[r0 + k]
            p1 = up[r1 + k]
            a[k] -= p0 * a0 + p1 * a1
            b[k] -= p0 * b0 + p1 * b1
            c[k] -= p0 * c0 + p1 * c1
