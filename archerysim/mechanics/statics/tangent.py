"""Exact stiffness matrix of chain, throat and rest: minus the derivative of the forces."""

from __future__ import annotations

import math

import numpy as np

from archerysim.mechanics.compiling import inlined, inlined_with_memory, kernel, with_memory
from archerysim.mechanics.forces.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.forces.throat import edge_force, locator_force, tail_direction, throat_state
from archerysim.mechanics.statics.envelope import add, at
from archerysim.mechanics.statics.room import BEND
from archerysim.mechanics.statics.wrap_tangent import add_angle_hessian, wrap_tangent

XX, XY, YX, YY = range(4)  # rows of a block between two nodes
YY_SAME = 2  # and of a block of one node, which is symmetric: the last
# scratch rows of `chain_blocks`: a cell's direction, derivatives of its angle with its end and half its second ones,
# its own stiffness; at the nodes the bend's stiffness and moment
ALONG_X, ALONG_Y, ANGLE_X, ANGLE_Y, TURN_XX, TURN_XY, CELL_XX, CELL_XY, CELL_YY, STIFF, MOMENT = range(11)
OF_CELLS = 9  # of these rows
# coordinates over which a bend's stiffness goes
BEFORE_X, BEFORE_Y, HERE_X, HERE_Y, AFTER_X, AFTER_Y = range(6)
# and the throat's: the string's points, the shaft's first three nodes
VECTORS = 4  # over these: derivatives of the tail's angle, of the difference of its first cells' angles, of an offset
TURN, APART, GRAD, CROSS = range(VECTORS)  # and of the offset across
U_X, U_Y, L_X, L_Y, TAIL_X, TAIL_Y, SECOND_X, SECOND_Y, THIRD_X, THIRD_Y = range(10)
CONTACT = 10  # coordinates


@inlined
def bend_stencil(c, x, y, i):
    """Pieces of the bend energy's Hessian at node ``i``.

    Returns
    -------
    stiff, moment : float
        Second and first derivative of the energy with the angle.
    px, py, qx, qy : float
        Derivatives of the angle with the places of nodes i-1 and i+1; node i has minus their sum.
    """
    ex = x[i] - x[i - 1]
    ey = y[i] - y[i - 1]
    gx = x[i + 1] - x[i]
    gy = y[i + 1] - y[i]
    ee = ex * ex + ey * ey
    gg = gx * gx + gy * gy
    bend = 2.0 * (ex * gy - ey * gx) / (math.sqrt(ee * gg) + ex * gx + ey * gy)
    slope = 1.0 + 0.25 * bend * bend
    off = bend - c.natural[i]
    moment = c.bend[i] * off * slope
    stiff = c.bend[i] * (slope * slope + 0.5 * off * bend * slope)
    return stiff, moment, -ey / ee, ex / ee, -gy / gg, gx / gg


@kernel
def bend_block(c, x, y, i, block):
    """Hessian (6, 6) of the bend energy at node ``i`` over the nodes i-1, i, i+1."""
    stiff, moment, px, py, qx, qy = bend_stencil(c, x, y, i)
    grad = (px, py, -px - qx, -py - qy, qx, qy)
    for p in range(BEND):
        for q in range(BEND):
            block[p, q] = stiff * grad[p] * grad[q]
    add_angle_hessian(block, BEFORE_X, HERE_X, x[i] - x[i - 1], y[i] - y[i - 1], -moment)
    add_angle_hessian(block, HERE_X, AFTER_X, x[i + 1] - x[i], y[i + 1] - y[i], moment)


@inlined
def chain_blocks(c, x, y, push, blocks):
    """The chain's stiffness as 2 x 2 blocks between a node and itself, the next and the one after.

    Parameters
    ----------
    push : float
        1: slack cells push as well (a far guess only); else 0. A number, since a kernel that is called with a
        true or false written out is compiled once more for it.
    blocks : Blocks
        Written.
    """
    n = x.shape[0]
    same, near, far, work = blocks
    # cell j stands at j + 1, between zeros
    tx, ty, ax, ay = work[ALONG_X], work[ALONG_Y], work[ANGLE_X], work[ANGLE_Y]
    exx, exy, cxx, cxy, cyy = work[TURN_XX], work[TURN_XY], work[CELL_XX], work[CELL_XY], work[CELL_YY]
    for row in range(OF_CELLS):
        work[row, 0] = 0.0
        work[row, n] = 0.0
    for j in range(n - 1):
        ex = x[j + 1] - x[j]
        ey = y[j + 1] - y[j]
        length = math.sqrt(ex * ex + ey * ey)
        per = 1.0 / length
        ux = ex * per
        uy = ey * per
        stiff = c.stretch[j]
        pull = stiff * (length - c.rest_length[j])
        slack = pull < c.least_force[j] and not push > 0.0
        stiff = 0.0 if slack else stiff
        pull = c.least_force[j] if slack else pull
        across = pull * per
        cxx[j + 1] = stiff * ux * ux + across * uy * uy
        cxy[j + 1] = (stiff - across) * ux * uy
        cyy[j + 1] = stiff * uy * uy + across * ux * ux
        tx[j + 1] = ux
        ty[j + 1] = uy
        ax[j + 1] = -uy * per  # derivative of the cell's angle with its end
        ay[j + 1] = ux * per
        exx[j + 1] = 2.0 * ux * uy * per * per  # and half its second derivatives, [[xx, xy], [xy, -xx]]
        exy[j + 1] = (uy * uy - ux * ux) * per * per
    # the bend's second and first derivative with its angle; node i stands at i + 1, between zeros
    k, m = work[STIFF], work[MOMENT]
    k[0] = k[1] = k[n] = k[n + 1] = 0.0
    m[0] = m[1] = m[n] = m[n + 1] = 0.0
    for i in range(1, n - 1):
        cosine = tx[i] * tx[i + 1] + ty[i] * ty[i + 1]
        sine = tx[i] * ty[i + 1] - ty[i] * tx[i + 1]
        bend = 2.0 * sine / (1.0 + cosine) if c.bend[i] > 0.0 else 0.0
        slope = 1.0 + 0.25 * bend * bend
        off = bend - c.natural[i]
        m[i + 1] = c.bend[i] * off * slope
        k[i + 1] = c.bend[i] * (slope * slope + 0.5 * off * bend * slope)
    for i in range(n):
        one, two, after = i, i + 1, i + 2  # the cell before and the one behind; the bends at i - 1, i, i + 1
        rx = ax[one] + ax[two]
        ry = ay[one] + ay[two]
        turn = m[one] - m[two]
        back = m[two] - m[after]
        same[XX, i] = (
            cxx[one] + cxx[two] + k[one] * ax[one] * ax[one] + k[two] * rx * rx + k[after] * ax[two] * ax[two]
            + turn * exx[one] + back * exx[two]
        )  # fmt: skip
        same[XY, i] = (
            cxy[one] + cxy[two] + k[one] * ax[one] * ay[one] + k[two] * rx * ry + k[after] * ax[two] * ay[two]
            + turn * exy[one] + back * exy[two]
        )  # fmt: skip
        same[YY_SAME, i] = (
            cyy[one] + cyy[two] + k[one] * ay[one] * ay[one] + k[two] * ry * ry + k[after] * ay[two] * ay[two]
            - turn * exx[one] - back * exx[two]
        )  # fmt: skip
    for i in range(n - 1):
        one, two, after = i, i + 1, i + 2
        px = k[two] * (ax[one] + ax[two])
        py = k[two] * (ay[one] + ay[two])
        qx = k[after] * (ax[two] + ax[after])
        qy = k[after] * (ay[two] + ay[after])
        back = m[after] - m[two]
        near[XX, i] = back * exx[two] - cxx[two] - ax[two] * qx - px * ax[two]
        near[XY, i] = back * exy[two] - cxy[two] - ax[two] * qy - px * ay[two]
        near[YX, i] = back * exy[two] - cxy[two] - ay[two] * qx - py * ax[two]
        near[YY, i] = -back * exx[two] - cyy[two] - ay[two] * qy - py * ay[two]
        far[XX, i] = k[after] * ax[two] * ax[after]
        far[XY, i] = k[after] * ax[two] * ay[after]
        far[YX, i] = k[after] * ay[two] * ax[after]
        far[YY, i] = k[after] * ay[two] * ay[after]


@inlined
def add_block(grid, matrix, p, q, xx, xy, yx, yy):
    """Add a 2 x 2 block at rows p, p + 1 and columns q, q + 1, and its transpose at the mirrored place."""
    start, first, low, up = grid.start, grid.first, matrix.low, matrix.up
    if q > p:
        one = start[q] - first[q] + p
        two = start[q + 1] - first[q + 1] + p
    else:
        one = start[p] - first[p] + q
        two = start[p + 1] - first[p + 1] + q
        xy, yx = yx, xy
    low[at(one)] += xx
    up[at(one)] += xx
    low[at(one + 1)] += yx
    up[at(one + 1)] += yx
    low[at(two)] += xy
    up[at(two)] += xy
    low[at(two + 1)] += yy
    up[at(two + 1)] += yy


@kernel
def chain_tangent(c, grid, x, y, push, matrix, blocks):
    """Add stretch and bend to the envelope matrix; ``push`` as in `chain_blocks`, which writes the blocks."""
    n = x.shape[0]
    chain_blocks(c, x, y, push, blocks)
    same, near, far, _ = blocks
    low, up, diagonal, _ = matrix
    place, start, first = grid.place, grid.start, grid.first
    for i in range(n):
        p = place[i]
        if p < 0:
            continue
        diagonal[p] += same[XX, i]
        diagonal[p + 1] += same[YY_SAME, i]
        low[start[p + 1] + p - first[p + 1]] += same[XY, i]
        up[start[p + 1] + p - first[p + 1]] += same[XY, i]
        if i + 1 < n and place[i + 1] >= 0 and c.stretch[i] != 0.0:
            add_block(grid, matrix, p, place[i + 1], near[XX, i], near[XY, i], near[YX, i], near[YY, i])
            if i + 2 < n and place[i + 2] >= 0 and c.bend[i + 1] != 0.0:
                add_block(grid, matrix, p, place[i + 2], far[XX, i], far[XY, i], far[YX, i], far[YY, i])
    if c.above.reach > 0:
        wrap_tangent(c.above, c.rest_length, grid, x, y, push, matrix)
    if c.below.reach > 0:
        wrap_tangent(c.below, c.rest_length, grid, x, y, push, matrix)


@inlined_with_memory
def throat_block(th, x, y, u, a, block):
    """Write the Hessian over the nodes edge_u, edge_l, tail, tail+1, tail+2."""
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
    rows = np.zeros((VECTORS, CONTACT))
    turn, apart, grad, cross = rows[TURN], rows[APART], rows[GRAD], rows[CROSS]
    one = (ey / ee, -ex / ee)  # derivative of cell 1's angle with its first node; the second has minus that
    two = (gy / gg, -gx / gg)
    for k in range(2):
        turn[TAIL_X + k] = a1 * one[k]
        turn[SECOND_X + k] = a2 * two[k] - a1 * one[k]
        turn[THIRD_X + k] = -a2 * two[k]
        apart[TAIL_X + k] = -one[k]
        apart[SECOND_X + k] = two[k] + one[k]
        apart[THIRD_X + k] = -two[k]
    su = (x[u] - x[a]) * sx + (y[u] - y[a]) * sy
    sl = (x[u + 1] - x[a]) * sx + (y[u + 1] - y[a]) * sy
    block[:, :] = 0.0
    couple = 0.0
    # each contact is a function of an offset v = r . e(theta), r = sum of w p - p_throat
    for which in range(3):
        if which == 0:
            f, k, wu, wl, vx, vy, dv, ddv = fu, ku, 1.0, 0.0, nx, ny, su, -du
            gxx, gyy = sx, sy
        elif which == 1:
            f, k, wu, wl, vx, vy, dv, ddv = fl, kl, 0.0, 1.0, nx, ny, sl, -dl
            gxx, gyy = sx, sy
        else:
            f, k, wu, wl, vx, vy, dv, ddv = fs, ks, 0.5, 0.5, sx, sy, -0.5 * (du + dl), -s
            gxx, gyy = -nx, -ny
        for p in range(CONTACT):
            grad[p] = dv * turn[p]
        grad[U_X] += wu * vx
        grad[U_Y] += wu * vy
        grad[L_X] += wl * vx
        grad[L_Y] += wl * vy
        grad[TAIL_X] -= vx
        grad[TAIL_Y] -= vy
        cross[U_X] = wu * gxx
        cross[U_Y] = wu * gyy
        cross[L_X] = wl * gxx
        cross[L_Y] = wl * gyy
        cross[TAIL_X] = -gxx
        cross[TAIL_Y] = -gyy
        couple += f * dv
        if f == 0.0 and k == 0.0:
            continue
        for p in range(CONTACT):
            along = k * grad[p]
            beside = f * turn[p]
            aside = f * (cross[p] + ddv * turn[p])
            for q in range(CONTACT):
                block[p, q] += along * grad[q] + beside * cross[q] + aside * turn[q]
    add_angle_hessian(block, TAIL_X, SECOND_X, ex, ey, couple * a1)
    add_angle_hessian(block, SECOND_X, THIRD_X, gx, gy, couple * a2)
    for p in range(CONTACT):
        for q in range(CONTACT):
            block[p, q] += couple * second * apart[p] * apart[q]


@with_memory
def throat_tangent(th, marks, grid, x, y, matrix):
    """Add the throat's contacts."""
    low, up, diagonal, _ = matrix
    block = np.empty((CONTACT, CONTACT))
    u = marks.edge_u
    a = marks.tail
    throat_block(th, x, y, u, a, block)
    for r in range(5):
        p = grid.place[u + r if r < 2 else a + r - 2]
        diagonal[p] += block[2 * r, 2 * r]
        diagonal[p + 1] += block[2 * r + 1, 2 * r + 1]
        low[grid.start[p + 1] + p - grid.first[p + 1]] += block[2 * r + 1, 2 * r]
        up[grid.start[p + 1] + p - grid.first[p + 1]] += block[2 * r, 2 * r + 1]
        for s in range(r):
            q = grid.place[u + s if s < 2 else a + s - 2]
            add_block(
                grid, matrix, p, q, block[2 * r, 2 * s], block[2 * r, 2 * s + 1], block[2 * r + 1, 2 * s],
                block[2 * r + 1, 2 * s + 1],
            )  # fmt: skip


@with_memory
def rest_tangent(su, marks, grid, x, y, matrix):
    """Add the rest (its force stays along y, so the block is not symmetric)."""
    j = cell_over(x, marks.tail, x.shape[0], su.x, marks.tail)
    if j < 0:
        return
    g, _, xi, slope = rest_gap(su, x, y, y, j, su.x, su.y, 0.0)  # the rate is not used
    f = su.side * rest_force(su, g, 0.0)
    if f == 0.0:
        return
    low, up, diagonal, _ = matrix
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
