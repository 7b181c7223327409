"""The nock's throat on the string: two edges and the locators.

With t the unit vector along the shaft's tail (forward), the floor runs along ``tau`` (upwards) and has
the forward normal ``nu``; a slope beta turns both: tau = cos(beta) perp(t) + sin(beta) t,
nu = cos(beta) t - sin(beta) perp(t). Every force here is the derivative of a function of the string's
advance ``d = (p_edge - p_throat) . nu`` at each edge or of its offset
``s = ((p_u + p_l) / 2 - p_throat) . tau``, so that force and couple between shaft and string balance.

The tail's direction is taken half a cell beyond the first cell, from the first two cells: the mesh error
of the couple at the nock is then of second order.
"""

from __future__ import annotations

import math

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.contact import share_after


@inlined
def tail_direction(x, y, a):
    """Direction of the shaft's tail and what its angle owes to the first two cells.

    Returns
    -------
    tx, ty : float
        Unit vector.
    a1, a2 : float
        Derivatives of the tail's angle with respect to the angles of cell 1 and cell 2.
    second : float
        Second derivative with respect to the difference of the two angles.
    """
    ex = x[a + 1] - x[a]
    ey = y[a + 1] - y[a]
    gx = x[a + 2] - x[a + 1]
    gy = y[a + 2] - y[a + 1]
    l1 = math.sqrt(ex * ex + ey * ey)
    l2 = math.sqrt(gx * gx + gy * gy)
    ex /= l1
    ey /= l1
    gx /= l2
    gy /= l2
    cosine = ex * gx + ey * gy
    sine = ex * gy - ey * gx
    square = 2.5 - 1.5 * cosine
    wx = 1.5 * ex - 0.5 * gx
    wy = 1.5 * ey - 0.5 * gy
    size = math.sqrt(square)
    a2 = -0.5 * (1.5 * cosine - 0.5) / square
    return wx / size, wy / size, 1.0 - a2, a2, 1.5 * sine / (square * square)


@inlined
def edge_force(th, d, rate):
    """Force of one edge on the shaft along the floor's normal [N], and its slope [N/m].

    f = max(k d + c d', -g(d)): the edge pushes freely and holds back only up to the grip, whole down to
    half the snap travel, then falling linearly to zero.
    """
    push = th.stiffness * d + th.loss * rate
    depth = -d
    hold = 0.0
    slope = 0.0
    if depth < 0.5 * th.snap:
        hold = th.grip
    elif depth < th.snap:
        hold = th.grip * (th.snap - depth) / (0.5 * th.snap)
        slope = -th.grip / (0.5 * th.snap)
    if push > -hold:
        return push, th.stiffness
    return -hold, slope


@inlined
def locator_force(th, s, rate, step=0.0):
    """Force of the locators on the shaft along the floor, upwards [N], and its slope [N/m].

    ``s`` is how far the string's middle stands above the throat's: positive and the lower locator pushes
    the nock up. Two touching locators (no gap) act both ways. In a step of time [s] in which one comes to touch
    its loss acts for its share; see `touch`.
    """
    if th.half_gap == 0.0 and th.lower > 0.0 and th.upper > 0.0:
        return th.locator_stiffness * s + th.locator_loss * rate, th.locator_stiffness
    push = 0.0
    if th.lower > 0.0:
        push += one_locator(th, s - th.half_gap, rate, step)
    if th.upper > 0.0:
        push -= one_locator(th, -s - th.half_gap, -rate, step)
    return push, th.locator_stiffness if push != 0.0 else 0.0


@inlined
def one_locator(th, over, rate, step):
    """Size of one locator's force [N], pressed by ``over`` [m]."""
    push = th.locator_stiffness * max(over, 0.0) + th.locator_loss * rate * share_after(over, rate * step)
    return max(push, 0.0)


@inlined
def throat_state(th, x, y, vx, vy, u, a):
    """Advance of each edge, offset along the floor, their rates, and the directions.

    Returns
    -------
    du, dl, s : float
        [m]
    ru, rl, rs : float
        Their rates [m/s].
    nx, ny : float
        The floor's forward normal; the floor runs along (-ny, nx).
    """
    tx, ty, a1, a2, _ = tail_direction(x, y, a)
    nx = th.cos_slope * tx + th.sin_slope * ty
    ny = th.cos_slope * ty - th.sin_slope * tx
    ex = x[a + 1] - x[a]
    ey = y[a + 1] - y[a]
    gx = x[a + 2] - x[a + 1]
    gy = y[a + 2] - y[a + 1]
    turn = a1 * (ex * (vy[a + 1] - vy[a]) - ey * (vx[a + 1] - vx[a])) / (ex * ex + ey * ey) + a2 * (
        gx * (vy[a + 2] - vy[a + 1]) - gy * (vx[a + 2] - vx[a + 1])
    ) / (gx * gx + gy * gy)
    ux = x[u] - x[a]
    uy = y[u] - y[a]
    lx = x[u + 1] - x[a]
    ly = y[u + 1] - y[a]
    wux = vx[u] - vx[a]
    wuy = vy[u] - vy[a]
    wlx = vx[u + 1] - vx[a]
    wly = vy[u + 1] - vy[a]
    du = ux * nx + uy * ny
    dl = lx * nx + ly * ny
    su = -ux * ny + uy * nx
    sl = -lx * ny + ly * nx
    ru = wux * nx + wuy * ny + turn * su
    rl = wlx * nx + wly * ny + turn * sl
    s = 0.5 * (su + sl)
    rs = 0.5 * (-(wux + wlx) * ny + (wuy + wly) * nx) - turn * 0.5 * (du + dl)
    return du, dl, s, ru, rl, rs, nx, ny


@inlined
def add_throat_forces(x, y, u, a, nx, ny, fu, fl, fs, fx, fy):
    """Add edge forces fu, fl (on the shaft along the normal) and locator force fs (along the floor)."""
    _, _, a1, a2, _ = tail_direction(x, y, a)
    px = fu * nx - 0.5 * fs * ny
    py = fu * ny + 0.5 * fs * nx
    qx = fl * nx - 0.5 * fs * ny
    qy = fl * ny + 0.5 * fs * nx
    # the couple on the tail: each force times its arm about the throat's middle
    ux = x[u] - x[a]
    uy = y[u] - y[a]
    lx = x[u + 1] - x[a]
    ly = y[u + 1] - y[a]
    couple = ux * py - uy * px + lx * qy - ly * qx
    fx[u] -= px
    fy[u] -= py
    fx[u + 1] -= qx
    fy[u + 1] -= qy
    fx[a] += px + qx
    fy[a] += py + qy
    ex = x[a + 1] - x[a]
    ey = y[a + 1] - y[a]
    share = a1 * couple / (ex * ex + ey * ey)
    fx[a] += share * ey
    fy[a] -= share * ex
    fx[a + 1] -= share * ey
    fy[a + 1] += share * ex
    gx = x[a + 2] - x[a + 1]
    gy = y[a + 2] - y[a + 1]
    share = a2 * couple / (gx * gx + gy * gy)
    fx[a + 1] += share * gy
    fy[a + 1] -= share * gx
    fx[a + 2] -= share * gy
    fy[a + 2] += share * gx
