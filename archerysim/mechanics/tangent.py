"""Exact stiffness matrix of chain, throat and rest: minus the derivative of the forces."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.envelope import add
from archerysim.mechanics.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.settings import kernel, part
from archerysim.mechanics.throat import edge_force, locator_force, tail_direction, throat_state


@part
def bend_stencil(c, x, y, i):
    """Pieces of the bend energy's Hessian at node ``i``.

    Returns
    -------
    stiff, moment : float
        Second and first derivative of the energy with the angle.
    px, py, qx, qy : float
        Derivatives of the angle with the places of nodes i-1 and i+1; node i has minus their sum.
    exx, exy, gxx, gxy : float
        Hessians of the angles of the cells before and after, [[xx, xy], [xy, -xx]].
    """
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
    e2 = 1.0 / (ee * ee)
    g2 = 1.0 / (gg * gg)
    return (
        stiff, moment, -ey / ee, ex / ee, -gy / gg, gx / gg,
        2.0 * ex * ey * e2, (ey * ey - ex * ex) * e2, 2.0 * gx * gy * g2, (gy * gy - gx * gx) * g2,
    )  # fmt: skip


@kernel
def bend_block(c, x, y, i, block):
    """Hessian (6, 6) of the bend energy at node ``i`` over the nodes i-1, i, i+1."""
    stiff, moment, px, py, qx, qy, _, _, _, _ = bend_stencil(c, x, y, i)
    grad = (px, py, -px - qx, -py - qy, qx, qy)
    for p in range(6):
        for q in range(6):
            block[p, q] = stiff * grad[p] * grad[q]
    add_angle_hessian(block, 0, 2, x[i] - x[i - 1], y[i] - y[i - 1], -moment)
    add_angle_hessian(block, 2, 4, x[i + 1] - x[i], y[i + 1] - y[i], moment)


@part
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


@part
def chain_blocks(c, x, y, push, same, near, far):
    """The chain's stiffness as 2 x 2 blocks between a node and itself, the next and the one after.

    Parameters
    ----------
    push : float
        1: slack cells push as well (a far guess only); else 0. A number, since a kernel that is called with a
        true or false written out is compiled once more for it.
    same : (n, 3) array
        Written: xx, xy, yy.
    near, far : (n, 4) arrays
        Written: xx, xy, yx, yy; rows by the earlier node.
    """
    n = x.shape[0]
    same[:, :] = 0.0
    near[:, :] = 0.0
    far[:, :] = 0.0
    for j in range(n - 1):
        stiff = c.stretch[j]
        if stiff == 0.0:
            continue
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        length = np.sqrt(ex * ex + ey * ey)
        ux = ex / length
        uy = ey / length
        pull = stiff * (length - c.rest_length[j])
        if pull < c.least_force[j] and not push > 0.0:
            stiff = 0.0
            pull = c.least_force[j]
        across = pull / length
        kxx = stiff * ux * ux + across * uy * uy
        kxy = (stiff - across) * ux * uy
        kyy = stiff * uy * uy + across * ux * ux
        same[j, 0] += kxx
        same[j, 1] += kxy
        same[j, 2] += kyy
        same[j + 1, 0] += kxx
        same[j + 1, 1] += kxy
        same[j + 1, 2] += kyy
        near[j, 0] -= kxx
        near[j, 1] -= kxy
        near[j, 2] -= kxy
        near[j, 3] -= kyy
    for i in range(1, n - 1):
        if c.bend[i] == 0.0:
            continue
        k, m, px, py, qx, qy, exx, exy, gxx, gxy = bend_stencil(c, x, y, i)
        rx = -px - qx
        ry = -py - qy
        same[i - 1, 0] += k * px * px - m * exx
        same[i - 1, 1] += k * px * py - m * exy
        same[i - 1, 2] += k * py * py + m * exx
        same[i, 0] += k * rx * rx - m * exx + m * gxx
        same[i, 1] += k * rx * ry - m * exy + m * gxy
        same[i, 2] += k * ry * ry + m * exx - m * gxx
        same[i + 1, 0] += k * qx * qx + m * gxx
        same[i + 1, 1] += k * qx * qy + m * gxy
        same[i + 1, 2] += k * qy * qy - m * gxx
        near[i - 1, 0] += k * px * rx + m * exx
        near[i - 1, 1] += k * px * ry + m * exy
        near[i - 1, 2] += k * py * rx + m * exy
        near[i - 1, 3] += k * py * ry - m * exx
        near[i, 0] += k * rx * qx - m * gxx
        near[i, 1] += k * rx * qy - m * gxy
        near[i, 2] += k * ry * qx - m * gxy
        near[i, 3] += k * ry * qy + m * gxx
        far[i - 1, 0] += k * px * qx
        far[i - 1, 1] += k * px * qy
        far[i - 1, 2] += k * py * qx
        far[i - 1, 3] += k * py * qy


@kernel
def chain_tangent(c, grid, x, y, push, low, up, diagonal):
    """Add stretch and bend to the envelope matrix; ``push`` as in `chain_blocks`."""
    n = x.shape[0]
    same = np.empty((n, 3))
    near = np.empty((n, 4))
    far = np.empty((n, 4))
    chain_blocks(c, x, y, push, same, near, far)
    place, start, first = grid.place, grid.start, grid.first
    for i in range(n):
        p = place[i]
        if p < 0:
            continue
        diagonal[p] += same[i, 0]
        diagonal[p + 1] += same[i, 2]
        low[start[p + 1] + p - first[p + 1]] += same[i, 1]
        up[start[p + 1] + p - first[p + 1]] += same[i, 1]
        for reach in range(1, 3):
            if i + reach >= n or (reach == 2 and c.bend[i + 1] == 0.0) or c.stretch[i] == 0.0:
                continue
            q = place[i + reach]
            if q < 0:
                continue
            block = near if reach == 1 else far
            for k in range(2):
                for m in range(2):
                    row, column = p + k, q + m
                    late, early = max(row, column), min(row, column)
                    slot = start[late] + early - first[late]
                    low[slot] += block[i, 2 * k + m]
                    up[slot] += block[i, 2 * k + m]


@part
def throat_block(th, x, y, u, a, block):
    """Hessian (10, 10) over the nodes edge_u, edge_l, tail, tail+1, tail+2."""
    du, dl, s, _, _, _, nx, ny = throat_state(th, x, y, x, y, u, a)  # the rates are not used
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
    rows = np.zeros((4, 10))
    turn, apart, grad, cross = rows[0], rows[1], rows[2], rows[3]
    one = (ey / ee, -ex / ee)  # derivative of cell 1's angle with its first node; the second has minus that
    two = (gy / gg, -gx / gg)
    for k in range(2):
        turn[4 + k] = a1 * one[k]
        turn[6 + k] = a2 * two[k] - a1 * one[k]
        turn[8 + k] = -a2 * two[k]
        apart[4 + k] = -one[k]
        apart[6 + k] = two[k] + one[k]
        apart[8 + k] = -two[k]
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
        for p in range(10):
            grad[p] = dv * turn[p]
        grad[0] += wu * vx
        grad[1] += wu * vy
        grad[2] += wl * vx
        grad[3] += wl * vy
        grad[4] -= vx
        grad[5] -= vy
        cross[0] = wu * gxx
        cross[1] = wu * gyy
        cross[2] = wl * gxx
        cross[3] = wl * gyy
        cross[4] = -gxx
        cross[5] = -gyy
        couple += f * dv
        for p in range(10):
            for q in range(10):
                block[p, q] += k * grad[p] * grad[q] + f * (
                    cross[p] * turn[q] + turn[p] * cross[q] + ddv * turn[p] * turn[q]
                )
    add_angle_hessian(block, 4, 6, ex, ey, couple * a1)
    add_angle_hessian(block, 6, 8, gx, gy, couple * a2)
    for p in range(10):
        for q in range(10):
            block[p, q] += couple * second * apart[p] * apart[q]


@kernel
def throat_tangent(th, marks, grid, x, y, low, up, diagonal):
    """Add the throat's contacts."""
    block = np.empty((10, 10))
    u = marks.edge_u
    a = marks.tail
    throat_block(th, x, y, u, a, block)
    for r in range(5):
        p = grid.place[u + r if r < 2 else a + r - 2]
        for s in range(5):
            q = grid.place[u + s if s < 2 else a + s - 2]
            for k in range(2):
                for m in range(2):
                    add(grid, low, up, diagonal, p + k, q + m, block[2 * r + k, 2 * s + m])


@kernel
def rest_tangent(su, marks, grid, x, y, low, up, diagonal):
    """Add the rest (its force stays along y, so the block is not symmetric)."""
    j = cell_over(x, marks.tail, x.shape[0], su.x, marks.tail)
    if j < 0:
        return
    g, _, xi, slope = rest_gap(su, x, y, y, j, su.x, su.y, 0.0)  # the rate is not used
    f = su.side * rest_force(su, g, 0.0)
    if f == 0.0:
        return
    width = x[j + 1] - x[j]
    # side dg over (xj, yj, xj+1, yj+1), and dxi over the same
    dg = (slope * (1.0 - xi), -(1.0 - xi), slope * xi, -xi)
    dxi = (-(1.0 - xi) / width, 0.0, -xi / width, 0.0)
    for m in range(4):
        node = j if m < 2 else j + 1
        column = grid.place[node] + m % 2
        stiff = su.stiffness * dg[m]
        add(grid, low, up, diagonal, grid.place[j] + 1, column, -((1.0 - xi) * stiff - f * dxi[m]))
        add(grid, low, up, diagonal, grid.place[j + 1] + 1, column, -(xi * stiff + f * dxi[m]))
