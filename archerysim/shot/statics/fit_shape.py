"""The size of the limbs' natural curve, found from draw forces short of the draw weight.

Of two bows with the same draw weight the one whose limbs are more curved is heavier early in the draw, up to about a
quarter turn. One factor on both limbs' natural curvature is found by least squares, lengths and mean pocket angle kept;
at each the bow is fitted to all else that was measured.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError
from archerysim.equipment.filled_setup import MeasuredSetup, filled_as_measured
from archerysim.errors import ShotError
from archerysim.fields.given import InSi
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.wraps import curvature_table
from archerysim.shot.statics.draw import TRADE, weigh_at
from archerysim.shot.statics.fit import Fit, Met, fit

POUND = 4.4482216152605  # [N]
SCALE = 0.25 * POUND  # to which a scale is read [N] [judgement]
MOST_MISS = 1.0 * POUND  # beyond, the forces and the bow do not belong together [N] [judgement]
LEAST, LARGEST = 0.0, 5.0  # factors looked at
MOST_TURN = np.radians(100.0)  # by which the factor may have a limb turn forward from root to tip [judgement]
BEGIN, STEP, LONGEST = (1.0, 0.75, 1.3, 0.5), 0.05, 0.3
SETTLED, CLOSE_BY = 1e-6, 1e-3  # of the factor; as near as one that does not brace is come to
MOST = 40
ROOM = 0.025  # [m] beyond the brace height
PATH = "bow.draw_forces"
# as the bow was measured: bolts not turned since, and a scale pinches nothing
AS_MEASURED = InSi({"limbs.bolt_turns": 0.0, "archer.pinch": 0.0})


def fit_to_forces(setup: Setup, mesh: Mesh, moving: float = 1.0) -> Fit:
    """The bow as built, as of `fit`, whose limbs are so much curved that the forces short of the draw weight are met.

    Where none was measured, `fit` itself.

    Raises
    ------
    SetupError
        Where no size of the limbs' curve can be found from them, or comes near to them.
    ShotError
        Where there is no such bow.
    """
    if not isinstance(setup, Setup) or not setup.bow.draw_forces:
        return fit(setup, mesh, moving)
    full = filled_as_measured(setup)
    at, wanted = forces_wanted(full)
    draws = 0

    def fitted(factor: float, changes: InSi = NO_CHANGES) -> Fit:
        return fit(setup.replace(InSi({**sized(full, factor), **changes})), mesh, moving)

    def forces(done: Fit) -> np.ndarray:
        assert done.drawing is not None
        ready, braced = done.drawing.setup, done.drawing.braced
        return np.array([weigh_at(ready, braced, TRADE - draw, trial=True)[1].weight for draw in at])

    def misses(factor: float) -> np.ndarray:
        nonlocal draws
        done = fitted(factor, AS_MEASURED)
        draws += done.draws + len(at)
        return forces(done) - wanted

    factor = best_factor(misses, largest_factor(full))
    found = misses(factor) + wanted
    met = tuple(Met(f"{PATH}.{k}", *pair) for k, pair in enumerate(zip(wanted, map(float, found), strict=True)))
    done = fitted(factor)
    return replace(done, met=done.met + met, draws=draws + done.draws, shape_factor=factor)


def forces_wanted(full: MeasuredSetup) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Draw lengths [m] and forces [N] that are to be met; none where none was measured.

    Raises
    ------
    SetupError
        Where no size of the limbs' curve can be found from them.
    """
    given, bow = full.given.bow, full.bow
    if not given.draw_forces or not given.draw_forces_at:
        return (), ()
    if not any(any(limb.natural_curvature) for limb in (full.upper_limb, full.lower_limb)):
        raise SetupError(
            PATH, "the limbs are straight when unstrung: there is no curve to find the size of",
            'Tell the limbs\' curve, for example limbs.shape = "recurve", or leave it out',
        )  # fmt: skip
    low, high = bow.brace_height + TRADE + ROOM, bow.draw_weight_at
    for draw in given.draw_forces_at:
        if not low <= draw < high:
            raise SetupError(
                f"{PATH}_at", f"{show(draw, 'in')} is not between brace and bow.draw_weight_at",
                f"Measure from {show(round(low, 3), 'in', 3)} to less than {show(high, 'in')}",
            )  # fmt: skip
    return given.draw_forces_at, given.draw_forces


def sized(full: MeasuredSetup, factor: float) -> InSi:
    """What makes the given setup one of limbs with so many times their curve, all else as it was filled in."""
    changes: dict[str, Any] = {PATH: None, f"{PATH}_at": None, "bow.pocket_angle": full.bow.pocket_angle}
    for name, limb in (("upper_limb", full.upper_limb), ("lower_limb", full.lower_limb)):
        changes[f"{name}.length"] = limb.length
        changes[f"{name}.natural_curvature"] = tuple(factor * one for one in limb.natural_curvature)
        changes[f"{name}.curvature_at"] = limb.curvature_at or limb.at
    return InSi(changes)


def largest_factor(full: MeasuredSetup) -> float:
    """Up to which factor is looked."""
    turn = 0.0
    for limb in (full.upper_limb, full.lower_limb):
        at, natural = curvature_table(limb)
        turn = max(turn, float(limb.length * np.trapezoid(np.maximum(natural, 0.0), at)))
    return min(LARGEST, max(1.0, float(MOST_TURN) / turn)) if turn else LARGEST


def best_factor(misses: Callable[[float], np.ndarray], largest: float) -> float:
    """The factor with the least sum of squared misses, by Gauss's and Newton's method with slopes of the last two.

    Parameters
    ----------
    misses : callable
        Found less wanted force at each draw [N] for a factor; raises ShotError where there is no such bow.

    largest : float
        Up to which factor is looked.

    Raises
    ------
    ShotError
        Where no bow is found at all.
    SetupError
        Where no size of the curve comes near to the forces.
    """
    factor, miss = _first(misses)
    other = factor - STEP
    best: tuple[float, np.ndarray] = factor, miss
    refused = {LEAST - 1.0, largest + 1.0}
    blocked = False
    for _ in range(MOST):
        try:
            new = misses(other)
        except ShotError:
            refused.add(other)
            blocked = True
            other = 0.5 * (best[0] + other)
            if abs(other - best[0]) < CLOSE_BY:
                break
            continue
        slope = (new - miss) / (other - factor)
        factor, miss = other, new
        if new @ new <= best[1] @ best[1]:
            best, blocked = (factor, miss), False
        move = float(np.clip(-(slope @ miss) / max(float(slope @ slope), 1e-30), -LONGEST, LONGEST))
        other = float(np.clip(factor + move, LEAST, largest))
        below = max(one for one in refused if one < factor)
        above = min(one for one in refused if one > factor)
        if not below < other < above:
            blocked = True
            other = 0.5 * (factor + (below if other <= below else above))
        if abs(other - factor) < (CLOSE_BY if blocked else SETTLED):
            break
    return _accepted(*best, blocked or best[0] in (LEAST, largest))


def _first(misses: Callable[[float], np.ndarray]) -> tuple[float, np.ndarray]:
    """A factor with which there is a bow, the curve as told if possible, and its misses."""
    for factor in BEGIN[:-1]:
        try:
            return factor, misses(factor)
        except ShotError:
            continue
    return BEGIN[-1], misses(BEGIN[-1])


def _accepted(factor: float, miss: np.ndarray, at_end: bool) -> float:
    worst = float(np.abs(miss).max())
    if worst > (SCALE if at_end else MOST_MISS):
        why = (
            "no bow of these measurements can be braced with more of it, or less"
            if at_end
            else "another shape of curve would"
        )
        raise SetupError(
            PATH, f"no size of the limbs' curve meets them: the nearest, {factor:.2f} times the given curve, misses by "
            f"{worst / POUND:.1f} lb; {why}",
            "Check forces, draws, brace height and the limbs' shape",
        )  # fmt: skip
    return factor


def remark(misses: Sequence[float]) -> str:
    """What is to be said of the misses that are left [N]; empty where a scale would not tell."""
    worst = max((abs(one) for one in misses), default=0.0)
    if worst <= SCALE:
        return ""
    return (
        f"a draw force is missed by {worst / POUND:.2f} lb, more than the {SCALE / POUND:g} lb that a scale can show: "
        "the limbs' curve differs from the given one, and not only in size"
    )
