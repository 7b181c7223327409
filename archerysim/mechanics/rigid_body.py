"""The arrow as one rigid body: mass centre, momentum, pitch, pitch rate."""

from __future__ import annotations

import math

from archerysim.mechanics.compiling import kernel


@kernel
def rigid_motion(mass, x, y, vx, vy):
    """Motion of the rigid shaft with the same mass-weighted line.

    Parameters
    ----------
    mass, x, y, vx, vy : (k,) arrays
        The arrow's nodes, tail first.

    Returns
    -------
    cx, cy, ux, uy : float
        Mass centre [m] and its velocity [m/s].
    pitch : float
        Angle of the mass-weighted line, from +x, positive nose up [rad].
    rate : float
        Angular momentum about the mass centre over the moment of inertia [rad/s].
    """
    total = 0.0
    cx = 0.0
    cy = 0.0
    ux = 0.0
    uy = 0.0
    for i in range(mass.shape[0]):
        total += mass[i]
        cx += mass[i] * x[i]
        cy += mass[i] * y[i]
        ux += mass[i] * vx[i]
        uy += mass[i] * vy[i]
    cx /= total
    cy /= total
    ux /= total
    uy /= total
    sxx = 0.0
    sxy = 0.0
    syy = 0.0
    spin = 0.0
    for i in range(mass.shape[0]):
        rx = x[i] - cx
        ry = y[i] - cy
        sxx += mass[i] * rx * rx
        sxy += mass[i] * rx * ry
        syy += mass[i] * ry * ry
        spin += mass[i] * (rx * (vy[i] - uy) - ry * (vx[i] - ux))
    return cx, cy, ux, uy, 0.5 * math.atan2(2.0 * sxy, sxx - syy), spin / (sxx + syy)
