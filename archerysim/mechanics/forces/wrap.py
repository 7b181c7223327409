"""The string's end cell, which lies on the belly of a recurved limb where the limb is in its way.

The cell runs the shortest way from its string node to the tip: straight to where it meets the limb's belly, then along
it. The belly is a smooth curve, a uniform quadratic B-spline that begins at the tip: one control point beside each of
the limb's nodes, off the axis on the belly's side by half the limb's thickness and half the string's, so that the point
where the string leaves it glides from piece to piece. There is no friction: the pull is the same all along, and acts on
the limb as the shortest way's derivative. That derivative is exact with the point of leaving held where it is, and so
is the second one, because a tangent point moves along the string's own direction.

Pieces and control points are counted from the tip: point 0 is the tip itself, point k stands beside node k - 1 from the
tip. Piece k runs from halfway between the points k - 1 and k to halfway between k and k + 1; the first, half as long,
from the tip, where it has the curvature that it has next to it.
"""

from __future__ import annotations

import math

from archerysim.mechanics.compiling import inlined, kernel

# three-point rule of Gauss on 0..1
POINTS = 3
GAUSS_AT = (0.1127016653792583, 0.5, 0.8872983346207417)
GAUSS_WEIGHT = (5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0)
FREE, LYING, BEYOND = 0, 1, 2  # the cell touches the tip alone; lies on the limb; would lie on more than is looked at


@inlined
def normal_ends(w, k):
    """The two nodes, outer and inner, between which the belly runs beside control point ``k``, 1 or more."""
    node = w.tip + (k - 1) * w.inward
    return node - (w.inward if k > 1 else 0), node + w.inward


@inlined
def belly_point(w, x, y, k):
    """Control point ``k`` of the belly, 1 or more [m]."""
    i = w.tip + (k - 1) * w.inward
    outer, inner = normal_ends(w, k)
    tx = x[inner] - x[outer]
    ty = y[inner] - y[outer]
    off = w.side * w.offset[k - 1] / math.sqrt(tx * tx + ty * ty)
    return x[i] + off * ty, y[i] - off * tx


@inlined
def belly_piece(w, x, y, k):
    """Begin, middle and end of piece ``k``, 1 or more [m]."""
    mx, my = belly_point(w, x, y, k)
    nx, ny = belly_point(w, x, y, k + 1)
    ex = 0.5 * (mx + nx)
    ey = 0.5 * (my + ny)
    if k == 1:
        return x[w.tip], y[w.tip], 0.75 * mx + 0.25 * nx, 0.75 * my + 0.25 * ny, ex, ey
    lx, ly = belly_point(w, x, y, k - 1)
    return 0.5 * (lx + mx), 0.5 * (ly + my), mx, my, ex, ey


@inlined
def share_piece(k, to_begin, to_middle, to_end, fx, fy, slope_x, slope_y):
    """Share a vector between begin, middle and end of piece ``k``, and so between the control points."""
    if k > 1:
        last = 0.5 * to_begin
        this = 0.5 * to_begin + to_middle + 0.5 * to_end
        then = 0.5 * to_end
    else:
        last = to_begin
        this = 0.75 * to_middle + 0.5 * to_end
        then = 0.25 * to_middle + 0.5 * to_end
    slope_x[k - 1] += last * fx
    slope_y[k - 1] += last * fy
    slope_x[k] += this * fx
    slope_y[k] += this * fy
    slope_x[k + 1] += then * fx
    slope_y[k + 1] += then * fy


@inlined
def wrap_path(w, x, y, slope_x, slope_y):
    """The end cell's way.

    Parameters
    ----------
    w : Wrap
    x, y : (n,) arrays
        Nodes [m].
    slope_x, slope_y : (reach + 2,) arrays or larger
        Written: derivative of the way's length with the control points, ``piece + 2`` of them (of the tip alone where
        the cell is free).

    Returns
    -------
    how : int
        `FREE`, `LYING` or `BEYOND`.
    piece : int
        On which the string leaves the belly; 0 for the tip itself.
    share : float
        How far along that piece, 0 to 1.
    lying : float
        Length on the belly [m].
    length : float
        Of the whole way [m].
    ux, uy : float
        Direction from where it leaves to the string node: the length's derivative with that.
    """
    qx = x[w.string]
    qy = y[w.string]
    bx = x[w.tip]
    by = y[w.tip]
    lx, ly = belly_point(w, x, y, 1)
    nx, ny = belly_point(w, x, y, 2)
    mx = 0.75 * lx + 0.25 * nx
    my = 0.75 * ly + 0.25 * ny
    if w.side * ((qx - bx) * (my - by) - (qy - by) * (mx - bx)) >= 0.0:
        ux = qx - bx
        uy = qy - by
        length = math.sqrt(ux * ux + uy * uy)
        ux /= length
        uy /= length
        slope_x[0] = -ux
        slope_y[0] = -uy
        return FREE, 0, 0.0, 0.0, length, ux, uy
    for k in range(2):
        slope_x[k] = 0.0
        slope_y[k] = 0.0
    ex = 0.5 * (lx + nx)
    ey = 0.5 * (ly + ny)
    lying = 0.0
    share = 1.0
    how = BEYOND
    k = 1
    while True:
        slope_x[k + 1] = 0.0
        slope_y[k + 1] = 0.0
        ax = mx - bx  # the piece runs from b towards m and arrives at e from there
        ay = my - by
        cx = ex - mx - ax
        cy = ey - my - ay
        if w.side * ((qx - ex) * (ey - my) - (qy - ey) * (ex - mx)) >= 0.0:
            how = LYING
            start = w.side * ((qx - bx) * ay - (qy - by) * ax)
            rise = w.side * ((qx - bx) * cy - (qy - by) * cx)
            bend = -w.side * (ax * cy - ay * cx)
            share = min(-2.0 * start / (rise + math.sqrt(max(rise * rise - 4.0 * bend * start, 0.0))), 1.0)
        for g in range(POINTS):
            v = share * GAUSS_AT[g]
            tx = ax + v * cx
            ty = ay + v * cy
            speed = math.sqrt(tx * tx + ty * ty)
            each = 2.0 * share * GAUSS_WEIGHT[g]
            lying += each * speed
            each /= speed
            share_piece(k, v - 1.0, 1.0 - 2.0 * v, v, each * tx, each * ty, slope_x, slope_y)
        if how == LYING or k == w.reach:
            break
        k += 1
        bx = ex
        by = ey
        mx = nx
        my = ny
        nx, ny = belly_point(w, x, y, k + 1)
        ex = 0.5 * (mx + nx)
        ey = 0.5 * (my + ny)
    v = share
    ux = qx - bx - v * (2.0 * ax + v * cx)
    uy = qy - by - v * (2.0 * ay + v * cy)
    free = math.sqrt(ux * ux + uy * uy)
    ux /= free
    uy /= free
    share_piece(k, (1.0 - v) * (1.0 - v), 2.0 * v * (1.0 - v), v * v, -ux, -uy, slope_x, slope_y)
    return how, k, share, lying, lying + free, ux, uy


@inlined
def pull_control(w, x, y, k, fx, fy, out_x, out_y):
    """Put a force on control point ``k``: on its node, and a couple on the nodes that its normal follows."""
    i = w.tip + max(k - 1, 0) * w.inward
    out_x[i] += fx
    out_y[i] += fy
    if k > 0:
        outer, inner = normal_ends(w, k)
        tx = x[inner] - x[outer]
        ty = y[inner] - y[outer]
        square = tx * tx + ty * ty
        couple = w.side * w.offset[k - 1] * (fx * tx + fy * ty) / (square * math.sqrt(square))
        out_x[inner] -= couple * ty
        out_y[inner] += couple * tx
        out_x[outer] += couple * ty
        out_y[outer] -= couple * tx


@inlined
def pull_nodes(w, x, y, piece, ux, uy, factor, slope_x, slope_y, out_x, out_y):
    """Add ``factor`` times the derivative of the way's length with every node, from that with the control points."""
    out_x[w.string] += factor * ux
    out_y[w.string] += factor * uy
    for k in range(piece + 2 if piece > 0 else 1):
        pull_control(w, x, y, k, factor * slope_x[k], factor * slope_y[k], out_x, out_y)


@inlined
def wrap_force(w, rest_length, least_force, x, y, slope_x, slope_y, fx, fy, side=None):
    """Add the end cell's pull to the forces on its nodes.

    Sideways the belly is straight: unrolled with it, the shortest way in space is a straight line, sqrt(L^2 + dz^2).

    Parameters
    ----------
    w : Wrap
    rest_length, least_force : (n-1,) arrays
        The chain's [m], [N].
    slope_x, slope_y : (reach + 2,) arrays or larger
        Scratch space.
    """
    _, piece, _, _, length, ux, uy = wrap_path(w, x, y, slope_x, slope_y)
    if side is None:
        pull = max(w.stretch[0] * (length - rest_length[w.cell]), least_force[w.cell])
    else:
        z, fz = side.motion.z, side.motion.fz
        dz = z[w.string] - z[w.tip]
        whole = math.sqrt(length * length + dz * dz)
        pull = max(w.stretch[0] * (whole - rest_length[w.cell]), least_force[w.cell]) / whole
        fz[w.string] -= pull * dz
        fz[w.tip] += pull * dz
        pull *= length
    if pull != 0.0:
        pull_nodes(w, x, y, piece, ux, uy, -pull, slope_x, slope_y, fx, fy)


@kernel
def lies_on(w, x, y, slope_x, slope_y):
    """How an end cell lies, as of `wrap_path`: how, length on the limb, length of the whole way [m]."""
    how, _, _, lying, length, _, _ = wrap_path(w, x, y, slope_x, slope_y)
    return how, lying, length


@kernel
def lies_and_presses(w, rest_length, x, y, slope_x, slope_y):
    """How an end cell lies, and how it presses.

    Returns
    -------
    how, lying : int, float
        As of `lies_on`.
    press : float
        Resultant of what it presses on the belly [N]: of its pull T at both ends of what lies there, which is turned by
        an angle phi, 2 T sin(phi / 2).
    off : float
        Angle of the straight line from the tip to the string node off the belly's direction at the tip; negative where
        the cell lies on the limb [rad].
    """
    how, _, _, lying, length, ux, uy = wrap_path(w, x, y, slope_x, slope_y)
    bx, by, mx, my, _, _ = belly_piece(w, x, y, 1)
    ax = mx - bx
    ay = my - by
    qx = x[w.string] - bx
    qy = y[w.string] - by
    off = math.atan2(w.side * (qx * ay - qy * ax), qx * ax + qy * ay)
    press = 0.0
    if how != FREE:
        per = 1.0 / math.sqrt(ax * ax + ay * ay)
        pull = max(w.stretch[0] * (length - rest_length[w.cell]), 0.0)
        press = pull * math.sqrt((ux - ax * per) ** 2 + (uy - ay * per) ** 2)
    return how, lying, press, off


@inlined
def wrap_pull(w, rest_length, x, y, slope_x, slope_y, z=None):
    """Pull of the end cell [N]."""
    length = lies_on(w, x, y, slope_x, slope_y)[2]
    if z is not None:
        dz = z[w.string] - z[w.tip]
        length = math.sqrt(length * length + dz * dz)
    return max(w.stretch[0] * (length - rest_length[w.cell]), 0.0)


@kernel
def belly_line(w, x, y, slope_x, slope_y, out_x, out_y):
    """Write places along the belly from the tip to where the string leaves it [m]; where it is free, all the tip's."""
    _, piece, share, _, _, _, _ = wrap_path(w, x, y, slope_x, slope_y)
    count = out_x.shape[0]
    for i in range(count):
        out_x[i] = x[w.tip]
        out_y[i] = y[w.tip]
        if piece == 0 or i == 0:
            continue
        along = (piece - 1.0 + share) * i / (count - 1.0)
        k = min(int(along) + 1, piece)
        v = along - (k - 1)
        bx, by, mx, my, ex, ey = belly_piece(w, x, y, k)
        out_x[i] = bx + v * (2.0 * (mx - bx) + v * (ex - 2.0 * mx + bx))
        out_y[i] = by + v * (2.0 * (my - by) + v * (ey - 2.0 * my + by))
