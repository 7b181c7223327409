"""A limb bent along a circular arc: where Newton's method starts."""

from __future__ import annotations

import math

from archerysim.mechanics.arrays import LOWER, UPPER, X, Y
from archerysim.mechanics.compiling import inlined, kernel

ROUNDS = 60  # of the search for a bend
CLOSE = 1e-9  # [m] of the tip to the string's line
MOST_BEND = 2.4  # [rad]
LOWEST, HIGHEST = 0.02, 0.45  # brace heights looked at [m]
HALVINGS = 20
FOUND, TOO_NEAR, TOO_FAR = 0, 1, 2  # what becomes of a bend: done; the limb would have to bend forward; out of reach


@inlined
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
        x[i + 1] = x[i] + size * math.sin(angle)
        y[i + 1] = y[i] + size * side * math.cos(angle)


@inlined
def tip_off(x, y, at_x, at_y, distance, around):
    """How far a tip still is from where `bend_limb` wants it [m]."""
    if around > 0.0:
        return math.hypot(x - at_x, y - at_y) - distance
    return x * at_x + y * at_y - distance


@kernel
def bend_limb(root_x, root_y, side, lean, size, natural, at_x, at_y, distance, around, x, y):
    """Bend a limb until its tip meets a line or a circle.

    Parameters
    ----------
    at_x, at_y, distance, around : float
        With ``around`` zero the line (at_x, at_y) . p = distance, else the circle about (at_x, at_y) [m].

    Returns
    -------
    outcome : int
        `FOUND`, where a bend between none and `MOST_BEND` does it, `TOO_NEAR` or `TOO_FAR`.
    """
    last = natural.shape[0]
    low = 0.0
    lay_limb(root_x, root_y, side, lean, size, natural, low, x, y)
    over = tip_off(x[last], y[last], at_x, at_y, distance, around)
    if over < 0.0:
        return TOO_NEAR
    high = MOST_BEND
    lay_limb(root_x, root_y, side, lean, size, natural, high, x, y)
    under = tip_off(x[last], y[last], at_x, at_y, distance, around)
    if under > 0.0:
        return TOO_FAR
    again = 0.0  # which end stayed last time: it then counts for half, so that both ends close in
    for _ in range(ROUNDS):
        bend = low + (high - low) * over / (over - under) if over > under else low
        lay_limb(root_x, root_y, side, lean, size, natural, bend, x, y)
        off = tip_off(x[last], y[last], at_x, at_y, distance, around)
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
    return FOUND


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
    outcome : int
        The first limb's that is not `FOUND`.
    """
    outcome = bend_limb(
        roots[UPPER, X], roots[UPPER, Y], 1.0, leans[UPPER], sizes[UPPER], natural[UPPER],
        cosine, -sine, -distance, 0.0, upper[X], upper[Y],
    )  # fmt: skip
    if outcome != FOUND:
        return outcome
    return bend_limb(
        roots[LOWER, X], roots[LOWER, Y], -1.0, leans[LOWER], sizes[LOWER], natural[LOWER],
        cosine, -sine, -distance, 0.0, lower[X], lower[Y],
    )  # fmt: skip


@kernel
def pull_both(roots, leans, sizes, natural, x, y, above, below, upper, lower):
    """Bend both limbs until their tips stand ``above`` and ``below`` [m] away from the string's place (x, y).

    The other parameters and what is returned are as in `bend_both`.
    """
    outcome = bend_limb(
        roots[UPPER, X],
        roots[UPPER, Y],
        1.0,
        leans[UPPER],
        sizes[UPPER],
        natural[UPPER],
        x,
        y,
        above,
        1.0,
        upper[X],
        upper[Y],
    )
    if outcome != FOUND:
        return outcome
    return bend_limb(
        roots[LOWER, X],
        roots[LOWER, Y],
        -1.0,
        leans[LOWER],
        sizes[LOWER],
        natural[LOWER],
        x,
        y,
        below,
        1.0,
        lower[X],
        lower[Y],
    )


@kernel
def height_of_string(roots, leans, sizes, natural, length, upper, lower):
    """Brace height at which the tips of `bend_both` stand ``length`` apart, by halving.

    Returns
    -------
    found : float
        The last that a bend leads to; zero where none does [m].
    enough : bool
        Whether the tips come so near to each other, at some height.
    """
    low, high = LOWEST, HIGHEST
    found = 0.0
    enough = False
    last = natural.shape[1]
    for _ in range(HALVINGS):
        height = 0.5 * (low + high)
        outcome = bend_both(roots, leans, sizes, natural, 1.0, 0.0, height, upper, lower)
        if outcome == TOO_NEAR:
            low = height
        elif outcome == TOO_FAR:
            high = height
        else:
            found = height
            if math.hypot(upper[X, last] - lower[X, last], upper[Y, last] - lower[Y, last]) < length:
                high = height
                enough = True
            else:
                low = height
    return found, enough
