"""A limb bent along a circular arc: where Newton's method starts."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.settings import kernel, part

ROUNDS = 60  # of the search for a bend
CLOSE = 1e-9  # [m] of the tip to the string's line
MOST_BEND = 2.4  # [rad]
LOWEST, HIGHEST = 0.02, 0.45  # brace heights looked at [m]
HALVINGS = 20


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


@kernel
def bend_both(roots, leans, sizes, natural, cosine, sine, distance, upper, lower):
    """Bend both limbs until their tips meet the line (cosine, -sine) . p = -distance.

    Parameters
    ----------
    roots : (2, 2) array
        Upper and lower root, x and y [m].
    leans, sizes : (2,) arrays
        Pocket angles [rad] and lengths of a cell [m], upper and lower.
    natural : (2, cells) array
        Forward bend at rest at each node from the root on [rad].
    upper, lower : (2, cells + 1) arrays
        Written: x and y from root to tip [m].

    Returns
    -------
    found : bool
    """
    return bend_limb(
        roots[0, 0], roots[0, 1], 1.0, leans[0], sizes[0], natural[0], cosine, -sine, -distance, MOST_BEND,
        upper[0], upper[1],
    ) and bend_limb(
        roots[1, 0], roots[1, 1], -1.0, leans[1], sizes[1], natural[1], cosine, -sine, -distance, MOST_BEND,
        lower[0], lower[1],
    )  # fmt: skip


@kernel
def height_of_string(roots, leans, sizes, natural, length, upper, lower):
    """Brace height at which the tips of `bend_both` stand ``length`` apart, by halving [m]; nil where there is none."""
    low, high = LOWEST, HIGHEST
    found = 0.0
    for _ in range(HALVINGS):
        height = 0.5 * (low + high)
        if not bend_both(roots, leans, sizes, natural, 1.0, 0.0, height, upper, lower):
            low = height
            continue
        found = height
        last = natural.shape[1]
        if np.hypot(upper[0, last] - lower[0, last], upper[1, last] - lower[1, last]) < length:
            high = height
        else:
            low = height
    return found
