"""Exact stiffness matrix of chain, throat and rest: minus the derivative of the forces."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.envelope import add
from archerysim.mechanics.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.settings import kernel
from archerysim.mechanics.throat import edge_force, locator_force, tail_direction, throat_state


@kernel
def bend_block(c, x, y, i, block):
    """Hessian (6, 6) of the bend energy at node ``i`` over the nodes i-1, i, i+1."""
    ex = x[i] - x[i - 1]
    ey = y[i] - y[i - 1]
    gx = x[i + 1] - x[i]
    gy = y[i + 1] - y[i]
    ee = ex * ex + ey * ey
    gg = gx * gx + gy * gy
    bend = 2.0 * (ex * gy - ey * gx) / (np.sqrt(ee * gg) + ex * gx + ey * gy)
    slope = 1.0 + 0.25 * bend * bend
    off = bend - c.natural[i]
    moment = c.bend[i] * off * slope
    stiff = c.bend[i] * (slope * slope + 0.5 * off * bend * slope)
    # gradient of the angle (of g minus of e) over the three nodes
    grad = np.empty(6)
    px = -ey / ee
    py = ex / ee
    qx = -gy / gg
    qy = gx / gg
    grad[0] = px
    grad[1] = py
    grad[2] = -px - qx
    grad[3] = -py - qy
    grad[4] = qx
    grad[5] = qy
    for p in range(6):
        for q in range(6):
            block[p, q] = stiff * grad[p] * grad[q]
    add_angle_hessian(block, 0, 2, ex, ey, -moment)
    add_angle_hessian(block, 2, 4, gx, gy, moment)


@kernel
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


@kernel
def chain_tangent(c, grid, x, y, two_way, low, up, diagonal):
    """Add stretch and bend. ``two_way`` lets slack cells push as well (a far guess only)."""
    n = x.shape[0]
    block = np.empty((6, 6))
    for j in range(n - 1):
        if c.stretch[j] == 0.0:
            continue
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        length = np.sqrt(ex * ex + ey * ey)
        ux = ex / length
        uy = ey / length
        stiff = c.stretch[j]
        pull = stiff * (length - c.rest_length[j])
        if pull < c.least_force[j] and not two_way:
            stiff = 0.0
            pull = c.least_force[j]
        across = pull / length
        kxx = stiff * ux * ux + across * uy * uy
        kxy = (stiff - across) * ux * uy
        kyy = stiff * uy * uy + across * ux * ux
        p = grid.place[j]
        q = grid.place[j + 1]
        add_pair(grid, low, up, diagonal, p, p, kxx, kxy, kyy)
        add_pair(grid, low, up, diagonal, q, q, kxx, kxy, kyy)
        add_pair(grid, low, up, diagonal, p, q, -kxx, -kxy, -kyy)
        add_pair(grid, low, up, diagonal, q, p, -kxx, -kxy, -kyy)
    for i in range(1, n - 1):
        if c.bend[i] == 0.0:
            continue
        bend_block(c, x, y, i, block)
        for r in range(3):
            p = grid.place[i - 1 + r]
            if p < 0:
                continue
            for s in range(3):
                q = grid.place[i - 1 + s]
                if q < 0:
                    continue
                for k in range(2):
                    for m in range(2):
                        add(grid, low, up, diagonal, p + k, q + m, block[2 * r + k, 2 * s + m])


@kernel
def add_pair(grid, low, up, diagonal, p, q, kxx, kxy, kyy):
    """Add a symmetric 2 x 2 block at the node places p, q."""
    if p < 0 or q < 0:
        return
    add(grid, low, up, diagonal, p, q, kxx)
    add(grid, low, up, diagonal, p, q + 1, kxy)
    add(grid, low, up, diagonal, p + 1, q, kxy)
    add(grid, low, up, diagonal, p + 1, q + 1, kyy)


@kernel
def throat_block(th, x, y, u, a, block):
    """Hessian (10, 10) over the nodes edge_u, edge_l, tail, tail+1, tail+2."""
    zero = np.zeros(x.shape[0])
    du, dl, s, _, _, _, nx, ny = throat_state(th, x, y, zero, zero, u, a)
    fu, ku = edge_force(th, du, 0.0)
    fl, kl = edge_force(th, dl, 0.0)
    fs, ks = locator_force(th, s, 0.0)
    _, _, a1, a2, second = tail_direction(x, y, a)
    ex = x[a + 1] - x[a]
    ey = y[a + 1] - y[a]
    gx = x[a + 2] - x[a + 1]
    gy = y[a + 2] - y[a + 1]
    ee = ex * ex + ey * ey
    gg = gx * gx + gy * gy
    sx = -ny  # the floor's direction
    sy = nx
    one = np.zeros(10)
    two = np.zeros(10)
    one[4], one[5], one[6], one[7] = ey / ee, -ex / ee, -ey / ee, ex / ee
    two[6], two[7], two[8], two[9] = gy / gg, -gx / gg, -gy / gg, gx / gg
    turn = a1 * one + a2 * two
    su = (x[u] - x[a]) * sx + (y[u] - y[a]) * sy
    sl = (x[u + 1] - x[a]) * sx + (y[u + 1] - y[a]) * sy
    block[:, :] = 0.0
    couple = 0.0
    # each contact is a function of an offset v = r . e(theta), r = sum of w p - p_throat
    for contact in range(3):
        if contact == 0:
            f, k, wu, wl, vx, vy, dv, ddv = fu, ku, 1.0, 0.0, nx, ny, su, -du
            gxx, gyy = sx, sy
        elif contact == 1:
            f, k, wu, wl, vx, vy, dv, ddv = fl, kl, 0.0, 1.0, nx, ny, sl, -dl
            gxx, gyy = sx, sy
        else:
            f, k, wu, wl, vx, vy, dv, ddv = fs, ks, 0.5, 0.5, sx, sy, -0.5 * (du + dl), -s
            gxx, gyy = -nx, -ny
        grad = dv * turn
        grad[0] += wu * vx
        grad[1] += wu * vy
        grad[2] += wl * vx
        grad[3] += wl * vy
        grad[4] -= vx
        grad[5] -= vy
        cross = np.zeros(10)
        cross[0] = wu * gxx
        cross[1] = wu * gyy
        cross[2] = wl * gxx
        cross[3] = wl * gyy
        cross[4] = -gxx
        cross[5] = -gyy
        couple += f * dv
        for p in range(10):
            for q in range(10):
                block[p, q] += k * grad[p] * grad[q]
                block[p, q] += f * (cross[p] * turn[q] + turn[p] * cross[q] + ddv * turn[p] * turn[q])
    add_angle_hessian(block, 4, 6, ex, ey, couple * a1)
    add_angle_hessian(block, 6, 8, gx, gy, couple * a2)
    for p in range(10):
        for q in range(10):
            block[p, q] += couple * second * (two[p] - one[p]) * (two[q] - one[q])


@kernel
def throat_tangent(th, marks, grid, x, y, low, up, diagonal):
    """Add the throat's contacts."""
    block = np.empty((10, 10))
    u = marks.edge_u
    a = marks.tail
    throat_block(th, x, y, u, a, block)
    nodes = np.array([u, u + 1, a, a + 1, a + 2])
    for r in range(5):
        p = grid.place[nodes[r]]
        for s in range(5):
            q = grid.place[nodes[s]]
            for k in range(2):
                for m in range(2):
                    add(grid, low, up, diagonal, p + k, q + m, block[2 * r + k, 2 * s + m])


@kernel
def rest_tangent(su, marks, grid, x, y, low, up, diagonal):
    """Add the rest (its force stays along y, so the block is not symmetric)."""
    n = x.shape[0]
    zero = np.zeros(n)
    j = cell_over(x, marks.tail, n, su.x, marks.tail)
    if j < 0:
        return
    g, rate, xi, slope = rest_gap(x, y, zero, zero, j, su.x, su.y, 0.0, 0.0, su.half_diameter)
    f = rest_force(su, g, rate)
    if f <= 0.0:
        return
    width = x[j + 1] - x[j]
    # dg over (xj, yj, xj+1, yj+1), and dxi over the same
    dg = (slope * (1.0 - xi), -(1.0 - xi), slope * xi, -xi)
    dxi = (-(1.0 - xi) / width, 0.0, -xi / width, 0.0)
    for m in range(4):
        node = j if m < 2 else j + 1
        column = grid.place[node] + m % 2
        stiff = su.stiffness * dg[m]
        add(grid, low, up, diagonal, grid.place[j] + 1, column, -((1.0 - xi) * stiff - f * dxi[m]))
        add(grid, low, up, diagonal, grid.place[j + 1] + 1, column, -(xi * stiff + f * dxi[m]))
