"""Highest frequency and damping rate of the assembled system: what the time step is chosen from."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.chain import chain_forces
from archerysim.mechanics.settings import kernel
from archerysim.mechanics.tangent import chain_tangent, throat_tangent


@kernel
def envelope_times(grid, low, up, diagonal, v, out):
    """Product of an envelope matrix (not factored) and a vector."""
    m = diagonal.shape[0]
    for i in range(m):
        out[i] = diagonal[i] * v[i]
    for i in range(m):
        f = grid.first[i]
        s = grid.start[i]
        total = 0.0
        for k in range(f, i):
            total += low[s + k - f] * v[k]
            out[k] += up[s + k - f] * v[i]
        out[i] += total


@kernel
def highest_frequency(c, marks, closed, grid, x, y, iterations):
    """Highest angular frequency with the throat's contacts held closed [rad/s].

    Power iteration on the scaled stiffness matrix from a fixed alternating start, so the answer is the
    same on every call; the Rayleigh quotient comes from below and is within about 1 % after 60 rounds.

    Parameters
    ----------
    closed : Throat
        The throat with a grip that never opens and no gap.
    """
    m = grid.first.shape[0]
    size = grid.start[m]
    low = np.zeros(size)
    up = np.zeros(size)
    diagonal = np.zeros(m)
    chain_tangent(c, grid, x, y, 0.0, low, up, diagonal)
    if marks.tail < x.shape[0]:
        throat_tangent(closed, marks, grid, x, y, low, up, diagonal)
    root = np.zeros(m)
    v = np.zeros(m)
    out = np.zeros(m)
    for i in range(x.shape[0]):
        p = grid.place[i]
        if p >= 0:
            root[p] = np.sqrt(c.inverse_mass[i])
            root[p + 1] = root[p]
            v[p] = 1.0 if i % 2 == 0 else -1.0
            v[p + 1] = v[p] * 0.7
    square = 0.0
    for _ in range(iterations):
        norm = 0.0
        for k in range(m):
            norm += v[k] * v[k]
        norm = 1.0 / np.sqrt(norm)
        for k in range(m):
            v[k] *= norm * root[k]
        envelope_times(grid, low, up, diagonal, v, out)
        square = 0.0
        for k in range(m):
            square += v[k] * out[k]
            v[k] = out[k] * root[k]
    return np.sqrt(square)


@kernel
def highest_damping(c, marks, th, x, y, iterations):
    """Highest rate of velocity loss of chain and throat [1/s]; the throat's share is a bound."""
    n = x.shape[0]
    work = np.empty((7, n))
    zero = np.zeros(n)
    fx = np.empty(n)
    fy = np.empty(n)
    hx = np.empty(n)
    hy = np.empty(n)
    vx = np.empty(n)
    vy = np.empty(n)
    for i in range(n):
        vx[i] = 1.0 if i % 2 == 0 else -1.0
        vy[i] = 0.7 * vx[i]
    chain_forces(c, x, y, zero, zero, hx, hy, work)
    rate = 0.0
    for _ in range(iterations):
        norm = 0.0
        for i in range(n):
            if c.inverse_mass[i] == 0.0:
                vx[i] = 0.0
                vy[i] = 0.0
            norm += c.mass[i] * (vx[i] * vx[i] + vy[i] * vy[i])
        if norm == 0.0:
            break
        norm = 1.0 / np.sqrt(norm)
        for i in range(n):
            vx[i] *= norm
            vy[i] *= norm
        chain_forces(c, x, y, vx, vy, fx, fy, work)
        rate = 0.0
        for i in range(n):
            px = hx[i] - fx[i]
            py = hy[i] - fy[i]
            rate += vx[i] * px + vy[i] * py
            vx[i] = px * c.inverse_mass[i]
            vy[i] = py * c.inverse_mass[i]
    a = marks.tail
    if a < n:
        u = c.inverse_mass[marks.edge_u]
        v = c.inverse_mass[marks.edge_l]
        t = c.inverse_mass[a]
        rate += th.loss * (max(u, v) + 2.0 * t) + th.locator_loss * (0.25 * (u + v) + t)
    return rate
