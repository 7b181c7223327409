"""LU of a matrix kept inside its envelope.

Row i of the lower part (left of the diagonal) and column i of the upper part share one envelope that
begins at ``first[i]``; both are stored contiguously at ``start[i]``. With the nodes of the three branches
(limb and string above, limb and string below, arrow) numbered towards the throat, all fill stays inside.
No pivoting: an equilibrium on the way of a draw is stable, its matrix needs none.
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
    for i in range(m):
        fi = grid.first[i]
        si = grid.start[i]
        for j in range(fi, i):
            fj = grid.first[j]
            sj = grid.start[j]
            k0 = max(fi, fj)
            a = low[si + j - fi]
            b = up[si + j - fi]
            for k in range(k0, j):
                a -= low[si + k - fi] * up[sj + k - fj]
                b -= low[sj + k - fj] * up[si + k - fi]
            low[si + j - fi] = a / diagonal[j]
            up[si + j - fi] = b
        d = diagonal[i]
        for k in range(fi, i):
            d -= low[si + k - fi] * up[si + k - fi]
        if not abs(d) > 1e-300:
            return 1
        diagonal[i] = d
    return 0


@kernel
def solve(grid, low, up, diagonal, b):
    """Solve in place with a factored matrix."""
    m = diagonal.shape[0]
    for i in range(m):
        fi = grid.first[i]
        si = grid.start[i]
        s = b[i]
        for k in range(fi, i):
            s -= low[si + k - fi] * b[k]
        b[i] = s
    for i in range(m - 1, -1, -1):
        fi = grid.first[i]
        si = grid.start[i]
        s = b[i] / diagonal[i]
        b[i] = s
        for k in range(fi, i):
            b[k] -= up[si + k - fi] * s
