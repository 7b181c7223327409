"""The outline of a drawn limb, from how it is bent; and that of one that bends as it is wanted to."""

from __future__ import annotations

from typing import Literal

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.shot.arrays.build import lean
from archerysim.study.bench.wood.judged import Judged, working

FINE = 400  # steps along a limb


def natural_at(full: BuiltSetup, place: np.ndarray) -> np.ndarray:
    """Natural curvature of both limbs, towards the target + (2, k) [1/m]."""
    out = []
    for limb in (full.upper_limb, full.lower_limb):
        at = limb.curvature_at or limb.at
        out.append(np.interp(place, at, np.broadcast_to(limb.natural_curvature, len(at))))
    return np.array(out)


def outline(full: BuiltSetup, name: str, place: np.ndarray, bend: np.ndarray) -> np.ndarray:
    """Where a limb's axis runs in the riser's axes, from its root on (k, 2) [m].

    Parameters
    ----------
    full : BuiltSetup
    name : {"upper", "lower"}
    place : (k,) array
        Along the limb, from 0 to 1.
    bend : (k,) array
        Change of curvature there, towards the archer + [1/m]; straight lines between.
    """
    upper = name == "upper"
    limb = full.upper_limb if upper else full.lower_limb
    riser = full.riser
    x, y = (riser.upper_root_x, riser.upper_root_y) if upper else (riser.lower_root_x, riser.lower_root_y)
    fine = np.union1d(np.linspace(0.0, 1.0, FINE + 1), place)
    forward = natural_at(full, fine)[0 if upper else 1] - np.interp(fine, place, bend)
    step = np.diff(fine) * limb.length
    angle = lean(limb) + _summed(forward, step)
    along = [_summed(f(angle), step) for f in (np.sin, np.cos)]
    points = np.column_stack([x + along[0], y + (along[1] if upper else -along[1])])
    return np.asarray(points[np.searchsorted(fine, place)])


def target_bend(full: BuiltSetup, law: Literal["even strain", "arc"], one: Judged, place: np.ndarray) -> np.ndarray:
    """Change of curvature of limbs that bend as they are wanted to where they are to bend, elsewhere as they do (2, k).

    What is to be alike, strain or curvature, has the mean that it has now.
    """
    bends, natural = working(place), natural_at(full, place)
    if law == "even strain":
        wanted = one.bend * one.strain[:, bends].mean() / np.maximum(one.strain, 1e-9)
    else:
        wanted = natural + (one.bend - natural)[:, bends].mean()
    return np.where(bends, wanted, one.bend)


def _summed(values: np.ndarray, step: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(0.5 * step * (values[1:] + values[:-1]))])
