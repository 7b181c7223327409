"""Hysteresis of the limbs: what their bends keep of the work of drawing, however slowly the bow is let down.

Each node's moment lies above its elastic value while the bow is drawn and below it while it is let down or shot, by a
parabola between the bend at brace and the one at full draw (Rayleigh's loop): with the middle c and half the way a,

    M = M_elastic +- size (a^2 - (b - c)^2),     nothing outside

The area between is 8/3 size a^3. All of a limb is taken to be of one stuff: with the node's stiffness B, size is
s B / (2 a), so that each node loses 4/3 s B a^2, the same share of what a change by a alone would store, and its
stiffness is (1 +- s) B at the loop's ends. Of the limb together that is the share asked for of the work done on it from
brace to full draw. Brace and full draw themselves do not change. Small turns back on the way cost nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from archerysim.errors import SetupError
from archerysim.mechanics.arrays import NO_LOOP, Chain, Loop, Marks

STEEPEST = 0.9  # the largest s: beyond 1 a limb let down to brace would have no stiffness left


def bends(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Bend 2 tan(angle / 2) at all nodes (..., n) from their places (..., n) [m]; nothing at the row's ends."""
    along, up = np.diff(x), np.diff(y)
    length = np.hypot(along, up)
    along, up = along / length, up / length
    cross = along[..., :-1] * up[..., 1:] - up[..., :-1] * along[..., 1:]
    straight = along[..., :-1] * along[..., 1:] + up[..., :-1] * up[..., 1:]
    out = np.zeros_like(x)
    out[..., 1:-1] = 2.0 * cross / (1.0 + straight)
    return out


def make_loop(
    chain: Chain, marks: Marks, shares: Sequence[float], braced: tuple[np.ndarray, np.ndarray],
    drawn: tuple[np.ndarray, np.ndarray],
) -> Loop:  # fmt: skip
    """The loop of a bow drawn from one state to another.

    Parameters
    ----------
    shares : (2,) of float
        Of the upper and the lower limb.
    braced, drawn : pair of (n,) arrays
        Places x and y of all nodes [m].

    Raises
    ------
    SetupError
        Where a share is more than such a loop can take.
    """
    if not any(shares):
        return NO_LOOP
    first, last = bends(*braced), bends(*drawn)
    half = 0.5 * np.abs(last - first)
    steep = np.zeros_like(half)
    limbs = slice(marks.root_u, marks.tip_u), slice(marks.tip_l + 1, marks.root_l + 1)
    for limb, share, name in zip(limbs, shares, ("upper_limb", "lower_limb"), strict=True):
        bend, natural = chain.bend[limb], chain.natural[limb]
        work = 0.5 * float(bend @ ((last[limb] - natural) ** 2 - (first[limb] - natural) ** 2))
        steep[limb] = found = 0.75 * share * max(work, 0.0) / float(bend @ half[limb] ** 2)
        if found > STEEPEST:
            raise SetupError(
                f"{name}.hysteresis",
                f"{100.0 * share:.3g} % of the limb's work is more than the bending from brace to full draw can hold "
                f"back",
                f"Give {100.0 * share * STEEPEST / found:.2g} % at most for this bow",
            )
    size = np.divide(steep * chain.bend, 2.0 * half, out=np.zeros_like(half), where=half > 0.0)
    return Loop(size * np.sign(last - first), 0.5 * (first + last), half**2)


def taken(loop: Loop, bend: np.ndarray) -> np.ndarray:
    """Moment between the elastic one and the one while drawing, or letting down, at bends (..., n) [N m]."""
    return np.asarray(loop.size * np.maximum(loop.square - (bend - loop.centre) ** 2, 0.0))


def kept(loop: Loop, x: np.ndarray, y: np.ndarray) -> float:
    """What the limbs have kept on the way from full draw to these places (n,) of the nodes [J]."""
    if not loop.size.size:
        return 0.0
    half = np.sqrt(loop.square)
    way = np.clip((bends(x, y) - loop.centre) * np.sign(loop.size), -half, half)
    return float(np.abs(loop.size) @ (2.0 / 3.0 * half**3 - loop.square * way + way**3 / 3.0))


def whole(loop: Loop) -> float:
    """What the limbs keep on the whole way from full draw to brace [J]; as much is put in besides on the way there."""
    return float(4.0 / 3.0 * np.abs(loop.size) @ loop.square**1.5)


def stiffest(chain: Chain, loop: Loop) -> np.ndarray:
    """The nodes' bending stiffness with the loop's own where that is steepest (n,) [N m]."""
    return chain.bend + 2.0 * np.abs(loop.size) * np.sqrt(loop.square) if loop.size.size else chain.bend
