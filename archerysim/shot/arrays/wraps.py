"""Where the string may lie on a limb: the length of its end cells, and how far off the limb's axis it lies."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from archerysim.mechanics.arrays import Chain, Marks, Wrap
from archerysim.mechanics.forces.wrap import belly_line, lies_on

END_SHARE = 0.28  # of a limb's length: the string's end cell, where it may lie on the limb
TIED = 0.030  # [m] from the tip, over which the string comes down to the limb's axis
TIP_THICKNESS = 0.5  # of the root's thickness, where there is no table [judgement]
DRAWN = 13  # places along each limb on which the string lies, in its line
STRING_DENSITY = 700.0  # [kg/m3] of a waxed string with the air in it [judgement]


def limbs_of(setup: Any) -> tuple[Any, Any]:
    """The upper and the lower limb."""
    return setup.upper_limb, setup.lower_limb


def may_touch(limb: Any) -> bool:
    """Whether the string may lie on a limb: where its natural shape is curved forward anywhere."""
    return max(limb.natural_curvature) > 0.0


def end_cells(setup: Any, length: float) -> tuple[float, float]:
    """Unloaded lengths of the end cells of a string of some length [m]; 0 where the string never touches the limb.

    They grow with the string, as its other cells do: about `END_SHARE` of the limb's length.
    """
    (upper, lower), riser = limbs_of(setup), setup.riser
    around = upper.length + lower.length + riser.upper_root_y - riser.lower_root_y
    up, down = (END_SHARE * length * limb.length / around if may_touch(limb) else 0.0 for limb in (upper, lower))
    return up, down


def wrap_reach(limb: Any, cells: int) -> int:
    """Nodes from the tip inwards on which the string may lie, of a limb of so many cells."""
    return math.ceil(END_SHARE * cells) if may_touch(limb) else 0


def make_wraps(setup: Any, marks: Marks, stretch: np.ndarray, cells: int) -> tuple[Wrap, Wrap]:
    """The string at both limbs; takes the end cells' stiffness out of the chain's ``stretch``."""
    above = _wrap(setup, setup.upper_limb, marks.tip_u, -1, marks.reach_u, stretch, cells)
    below = _wrap(setup, setup.lower_limb, marks.tip_l, 1, marks.reach_l, stretch, cells)
    return above, below


def _wrap(setup: Any, limb: Any, tip: int, inward: int, reach: int, stretch: np.ndarray, cells: int) -> Wrap:
    cell = tip if inward < 0 else tip - 1
    own = np.array([stretch[cell]])
    if not reach:
        return Wrap(tip, inward, tip - inward, -float(inward), 0, np.zeros(2), cell, own)
    stretch[cell] = 0.0
    size = limb.length / cells
    return Wrap(tip, inward, tip - inward, -float(inward), reach, offsets(setup, limb, reach, size), cell, own)


def offsets(setup: Any, limb: Any, reach: int, size: float) -> np.ndarray:
    """Distance of the belly's control points from the limb's axis, beside each node from the tip on (reach + 2,) [m].

    What a smooth curve between straight cells of length ``size`` lies within their corners is added.
    """
    away = size * np.arange(reach + 2)
    place = 1.0 - away / limb.length
    at = np.asarray(limb.at, dtype=float)
    if limb.thickness is not None:
        thickness = np.interp(place, at, limb.thickness)
    else:
        thickness = limb.root_thickness * (1.0 + (TIP_THICKNESS - 1.0) * place)
    strand = math.sqrt(4.0 * setup.string.mass_per_length / (math.pi * STRING_DENSITY))
    natural = np.asarray(limb.natural_curvature, dtype=float)
    curvature = np.interp(place, at, np.full(at.size, natural[0]) if natural.size == 1 else natural)
    return 0.5 * (thickness + strand) * np.minimum(away / TIED, 1.0) + curvature * size * size / 8.0


def lying(wrap: Wrap, x: np.ndarray, y: np.ndarray) -> tuple[int, float, float]:
    """How an end cell lies, its length on the limb and the length of its whole way [m]."""
    how, on, length = lies_on(wrap, x, y, np.empty((2, wrap.reach + 2)))
    return int(how), float(on), float(length)


def end_pull(wrap: Wrap, rest_length: np.ndarray, x: np.ndarray, y: np.ndarray) -> float:
    """Pull of an end cell, positive where it is taut [N]."""
    return float(wrap.stretch[0]) * (lying(wrap, x, y)[2] - float(rest_length[wrap.cell]))


def string_line(chain: Chain, marks: Marks, nodes: np.ndarray) -> np.ndarray:
    """The string's line from tip to tip, with what lies on the limbs (k, 2) [m], for places ``nodes`` of all (n, 2)."""
    string = nodes[marks.tip_u : marks.tip_l + 1]
    if not marks.reach_u + marks.reach_l:
        return string
    x, y = np.ascontiguousarray(nodes[:, 0]), np.ascontiguousarray(nodes[:, 1])
    ends = []
    for wrap in (chain.above, chain.below):
        line = np.empty((2, DRAWN))
        if wrap.reach:
            belly_line(wrap, x, y, np.empty((2, wrap.reach + 2)), *line)
        else:
            line[:] = nodes[wrap.tip][:, None]
        ends.append(line.T)
    return np.concatenate([ends[0], string[1:-1], ends[1][::-1]])
