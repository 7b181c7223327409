"""Where a stiff arrow comes to lie on a string that does not move, by least energy.

The nock's grip and the rest are one-sided; Newton's method on the whole bow can cycle between their
branches. Three unknowns (tail x, y and angle) with an energy that must fall at every step cannot; the
whole bow is then solved from there.
"""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.compiling import kernel

ROUNDS = 400
MOST_MOVE = 2e-4  # [m] of tail or mass centre in one step, well under the snap travel


@kernel
def edge_energy(th, d):
    """Energy of one edge [J], whose derivative is `edge_force` at rest; and force and slope."""
    if d >= -th.grip / th.stiffness:
        return 0.5 * th.stiffness * d * d, th.stiffness * d, th.stiffness
    depth = -d
    begin = th.grip / th.stiffness
    half = 0.5 * th.snap
    energy = 0.5 * th.stiffness * begin * begin
    if depth <= half:
        return energy + th.grip * (depth - begin), -th.grip, 0.0
    energy += th.grip * (half - begin)
    past = min(depth - half, half)
    energy += th.grip * (past - 0.5 * past * past / half)
    if depth >= th.snap:
        return energy, 0.0, 0.0
    return energy, -th.grip * (th.snap - depth) / half, -th.grip / half


@kernel
def locator_energy(th, s):
    """Energy of the locators [J], force and slope."""
    both = th.half_gap == 0.0 and th.lower > 0.0 and th.upper > 0.0
    over = 0.0
    if both:
        over = s
    elif s > th.half_gap and th.lower > 0.0:
        over = s - th.half_gap
    elif s < -th.half_gap and th.upper > 0.0:
        over = s + th.half_gap
    if over == 0.0 and not both:
        return 0.0, 0.0, 0.0
    return 0.5 * th.locator_stiffness * over * over, th.locator_stiffness * over, th.locator_stiffness


@kernel
def seat_energy(th, su, ux, uy, lx, ly, mass, balance, gx, gy, q, grad, hess):
    """Energy of the stiff arrow at q = (tail x, tail y, angle), with gradient (3,) and near Hessian (3, 3).

    The rest's curvature is left out of the Hessian, and its force here is square to the shaft: good for a guess.
    """
    cosine = np.cos(q[2])
    sine = np.sin(q[2])
    nx = th.cos_slope * cosine + th.sin_slope * sine
    ny = th.cos_slope * sine - th.sin_slope * cosine
    sx = -ny
    sy = nx
    grad[:] = 0.0
    hess[:, :] = 0.0
    energy = 0.0
    for contact in range(3):
        if contact == 2:
            px = 0.5 * (ux + lx) - q[0]
            py = 0.5 * (uy + ly) - q[1]
            ex, ey, dx, dy = sx, sy, -nx, -ny
        else:
            px = (ux if contact == 0 else lx) - q[0]
            py = (uy if contact == 0 else ly) - q[1]
            ex, ey, dx, dy = nx, ny, sx, sy
        v = px * ex + py * ey
        dv = px * dx + py * dy
        if contact == 2:
            e, f, k = locator_energy(th, v)
        else:
            e, f, k = edge_energy(th, v)
        energy += e
        g0 = -ex
        g1 = -ey
        grad[0] += f * g0
        grad[1] += f * g1
        grad[2] += f * dv
        hess[0, 0] += k * g0 * g0
        hess[0, 1] += k * g0 * g1
        hess[1, 1] += k * g1 * g1
        hess[0, 2] += k * g0 * dv - f * dx
        hess[1, 2] += k * g1 * dv - f * dy
        hess[2, 2] += k * dv * dv - f * v
    tangent = sine / cosine
    gap = su.side * (su.y - q[1] - (su.x - q[0]) * tangent) + su.half_diameter
    if gap > 0.0:
        turn = -(su.x - q[0]) / (cosine * cosine)
        energy += 0.5 * su.stiffness * gap * gap
        g = (su.side * tangent, -su.side, su.side * turn)
        for i in range(3):
            grad[i] += su.stiffness * gap * g[i]
            for j in range(i, 3):
                hess[i, j] += su.stiffness * g[i] * g[j]
    energy -= mass * (gx * (q[0] + balance * cosine) + gy * (q[1] + balance * sine))
    grad[0] -= mass * gx
    grad[1] -= mass * gy
    grad[2] -= mass * balance * (-gx * sine + gy * cosine)
    hess[2, 2] += mass * balance * (gx * cosine + gy * sine)
    hess[1, 0] = hess[0, 1]
    hess[2, 0] = hess[0, 2]
    hess[2, 1] = hess[1, 2]
    return energy


@kernel
def seat_arrow(th, su, ux, uy, lx, ly, mass, balance, gx, gy, q):
    """Settle a stiff arrow between string points u and l and the rest.

    Parameters
    ----------
    ux, uy, lx, ly : float
        The string points of the throat's upper and lower edge [m].
    mass, balance : float
        The arrow's mass [kg] and its mass centre's distance from the throat [m].
    gx, gy : float
        Gravity [m/s2].
    q : (3,) array
        Tail x, y [m] and angle [rad]; a guess, changed in place.

    Returns
    -------
    steps : int
    """
    grad = np.empty(3)
    hess = np.empty((3, 3))
    trial = np.empty(3)
    other = np.empty(3)
    spare = np.empty((3, 3))
    scale = (1.0, 1.0, 4.0 / (balance * balance))  # an angle counts as a move near the middle of the arrow
    energy = seat_energy(th, su, ux, uy, lx, ly, mass, balance, gx, gy, q, grad, hess)
    damping = 1.0
    for step in range(ROUNDS):
        if abs(grad[0]) + abs(grad[1]) + abs(grad[2]) < 1e-9:
            return step
        a00 = hess[0, 0] + damping * scale[0]
        a11 = hess[1, 1] + damping * scale[1]
        a22 = hess[2, 2] + damping / scale[2]
        a01, a02, a12 = hess[0, 1], hess[0, 2], hess[1, 2]
        d2 = a00 * a11 - a01 * a01
        det = a00 * (a11 * a22 - a12 * a12) - a01 * (a01 * a22 - a12 * a02) + a02 * (a01 * a12 - a11 * a02)
        if a00 > 0.0 and d2 > 0.0 and det > 0.0:
            dx = ((a11 * a22 - a12 * a12) * grad[0] + (a02 * a12 - a01 * a22) * grad[1]
                  + (a01 * a12 - a02 * a11) * grad[2]) / det  # fmt: skip
            dy = ((a02 * a12 - a01 * a22) * grad[0] + (a00 * a22 - a02 * a02) * grad[1]
                  + (a02 * a01 - a00 * a12) * grad[2]) / det  # fmt: skip
            turn = ((a01 * a12 - a02 * a11) * grad[0] + (a02 * a01 - a00 * a12) * grad[1]
                    + (a00 * a11 - a01 * a01) * grad[2]) / det  # fmt: skip
            share = min(1.0, MOST_MOVE / max(abs(dx), abs(dy), abs(turn) * balance, 1e-300))
            trial[0] = q[0] - share * dx
            trial[1] = q[1] - share * dy
            trial[2] = q[2] - share * turn
            new = seat_energy(th, su, ux, uy, lx, ly, mass, balance, gx, gy, trial, other, spare)
            if new <= energy + 1e-16:
                q[:] = trial
                grad[:] = other
                hess[:, :] = spare
                energy = new
                damping *= 0.2
                continue
        damping = max(damping * 5.0, 1e-3)
        if damping > 1e12:
            return step
    return ROUNDS
