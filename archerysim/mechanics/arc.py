"""A limb bent along a circular arc: where Newton's method starts."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.settings import kernel, part

ROUNDS = 60  # of the search for a bend
CLOSE = 1e-9  # [m] of the tip to the string's line


@part
def lay_limb(root_x, root_y, side, lean, size, natural, bend, x, y):
    """Lay a limb's nodes from its root.

    Parameters
    ----------
    root_x, root_y : float
        Root [m].
    side : float
        1 for the upper limb, -1 for the lower.
    lean : float
        Forward lean at the root [rad].
    size : float
        Length of a cell [m].
    natural : (cells,) array
        Forward bend at rest at each node from the root on [rad].
    bend : float
        Backward bend shared evenly along the limb, half a share at the root [rad].
    x, y : (cells + 1,) arrays
        Written [m].
    """
    cells = natural.shape[0]
    angle = lean
    x[0] = root_x
    y[0] = root_y
    for i in range(cells):
        angle += natural[i] - bend / cells * (0.5 if i == 0 else 1.0)
        x[i + 1] = x[i] + size * np.sin(angle)
        y[i + 1] = y[i] + size * side * np.cos(angle)


@kernel
def bend_limb(root_x, root_y, side, lean, size, natural, normal_x, normal_y, distance, most, x, y):
    """Bend a limb until its tip meets the line normal . p = distance.

    Returns
    -------
    found : bool
        Whether a bend between none and ``most`` [rad] does it.
    """
    last = natural.shape[0]
    low = 0.0
    lay_limb(root_x, root_y, side, lean, size, natural, low, x, y)
    over = x[last] * normal_x + y[last] * normal_y - distance
    if over < 0.0:
        return False
    high = most
    lay_limb(root_x, root_y, side, lean, size, natural, high, x, y)
    under = x[last] * normal_x + y[last] * normal_y - distance
    if under > 0.0:
        return False
    again = 0.0  # which end stayed last time: it then counts for half, so that both ends close in
    for _ in range(ROUNDS):
        bend = low + (high - low) * over / (over - under) if over > under else low
        lay_limb(root_x, root_y, side, lean, size, natural, bend, x, y)
        off = x[last] * normal_x + y[last] * normal_y - distance
        if abs(off) < CLOSE:
            break
        if off > 0.0:
            low = bend
            over = off
            under *= 0.5 if again > 0.0 else 1.0
        else:
            high = bend
            under = off
            over *= 0.5 if again < 0.0 else 1.0
        again = off
    return True
