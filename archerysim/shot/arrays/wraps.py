"""Where the string may lie on a limb: the length of its end cells, and how far off the limb's axis it lies."""

from __future__ import annotations

import math

import numpy as np

from archerysim.equipment.filled_records import FilledLimb
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.mechanics.arrays import Chain, Marks, Wrap
from archerysim.mechanics.forces.wrap import BEYOND, belly_line, lies_on

END_SHARE = 0.28  # of a limb's length, at least: the string's end cell, where it may lie on the limb
# It is to be some 2.2 times what touches at brace: after the shot up to 1.5 times that does, and where the cell's other
# node came to the limb the string would jump. What touches grows about evenly with the angle by which the unstrung limb
# turns forward: textbook bows touch along 0.12 of their length at 1.25 rad, 0.17 at 1.67, 0.26 at 2.36.
PER_TURN, LESS, MOST_SHARE = 0.275, 0.08, 0.6
# [m] from the tip, over which the string comes down to the limb's axis, more and more steeply [judgement]; at a corner
# in its way it would leave the limb, and how far it lies would hang on the cells' length
TIED = 0.060
TIP_THICKNESS = 0.5  # of the root's thickness, where there is no table [judgement]
DRAWN = 13  # places along each limb on which the string lies, in its line
STRING_DENSITY = 700.0  # [kg/m3] of a waxed string with the air in it [judgement]


def limbs_of(setup: FilledSetup) -> tuple[FilledLimb, FilledLimb]:
    """The upper and the lower limb."""
    return setup.upper_limb, setup.lower_limb


def may_touch(limb: FilledLimb) -> bool:
    """Whether the string may lie on a limb: where its natural shape is curved forward anywhere."""
    return bool(max(limb.natural_curvature) > 0.0)


def end_share(limb: FilledLimb) -> float:
    """How much of a limb's length the string's end cell is about."""
    at, natural = curvature_table(limb)
    turn = float(limb.length * np.trapezoid(np.maximum(natural, 0.0), at))
    return min(max(END_SHARE, PER_TURN * turn - LESS), MOST_SHARE)


def curvature_table(limb: FilledLimb) -> tuple[np.ndarray, np.ndarray]:
    """Places along a limb and its natural curvature there [1/m]."""
    at = np.asarray(limb.curvature_at or limb.at, dtype=float)
    natural = np.asarray(limb.natural_curvature, dtype=float)
    return at, np.full(at.size, natural[0]) if natural.size == 1 else natural


def end_cells(setup: FilledSetup, length: float) -> tuple[float, float]:
    """Unloaded lengths of the end cells of a string of some length [m]; 0 where the string never touches the limb.

    They grow with the string, as its other cells do: about `end_share` of the limb's length.
    """
    (upper, lower), riser = limbs_of(setup), setup.riser
    around = upper.length + lower.length + riser.upper_root_y - riser.lower_root_y
    up, down = (end_share(limb) * length * limb.length / around if may_touch(limb) else 0.0 for limb in (upper, lower))
    return up, down


def wrap_reach(limb: FilledLimb, cells: int) -> int:
    """Nodes from the tip inwards on which the string may lie, of a limb of so many cells."""
    return math.ceil(end_share(limb) * cells) if may_touch(limb) else 0


def make_wraps(setup: FilledSetup, marks: Marks, stretch: np.ndarray, cells: int) -> tuple[Wrap, Wrap]:
    """The string at both limbs; takes the end cells' stiffness out of the chain's ``stretch``."""
    above = _wrap(setup, setup.upper_limb, marks.tip_u, -1, marks.reach_u, stretch, cells)
    below = _wrap(setup, setup.lower_limb, marks.tip_l, 1, marks.reach_l, stretch, cells)
    return above, below


def _wrap(
    setup: FilledSetup, limb: FilledLimb, tip: int, inward: int, reach: int, stretch: np.ndarray, cells: int
) -> Wrap:
    cell = tip if inward < 0 else tip - 1
    own = np.array([stretch[cell]])
    if not reach:
        return Wrap(tip, inward, tip - inward, -float(inward), 0, np.zeros(2), cell, own)
    stretch[cell] = 0.0
    size = limb.length / cells
    return Wrap(tip, inward, tip - inward, -float(inward), reach, offsets(setup, limb, reach, size), cell, own)


def offsets(setup: FilledSetup, limb: FilledLimb, reach: int, size: float) -> np.ndarray:
    """Distance of the belly's control points from the limb's axis, beside each node from the tip on (reach + 2,) [m].

    What a smooth curve between straight cells of length ``size`` lies within their corners is added.
    """
    away = size * np.arange(reach + 2)
    place = 1.0 - away / limb.length
    at, natural = curvature_table(limb)
    if limb.thickness:
        thickness = np.interp(place, limb.at, limb.thickness)
    else:
        thickness = limb.root_thickness * (1.0 + (TIP_THICKNESS - 1.0) * place)
    strand = math.sqrt(4.0 * setup.string.mass_per_length / (math.pi * STRING_DENSITY))
    curvature = np.interp(place, at, natural)
    tied = 1.0 - np.maximum(1.0 - away / TIED, 0.0) ** 2
    return np.asarray(0.5 * (thickness + strand) * tied + curvature * size * size / 8.0)


def lying(wrap: Wrap, x: np.ndarray, y: np.ndarray) -> float:
    """Along how much of a limb the string lies [m]."""
    return _lies(wrap, x, y)[1] if wrap.reach else 0.0


def way(wrap: Wrap, x: np.ndarray, y: np.ndarray) -> float:
    """Length of an end cell, with what of it lies on the limb [m]."""
    return _lies(wrap, x, y)[2]


def lies_too_far(wrap: Wrap, x: np.ndarray, y: np.ndarray) -> bool:
    """Whether the string lies on so much of a limb that its next node would come to lie there too."""
    return bool(wrap.reach and _lies(wrap, x, y)[0] == BEYOND)


def end_pull(wrap: Wrap, rest_length: np.ndarray, x: np.ndarray, y: np.ndarray) -> float:
    """Pull of an end cell, positive where it is taut [N]."""
    return float(wrap.stretch[0]) * (way(wrap, x, y) - float(rest_length[wrap.cell]))


def _lies(wrap: Wrap, x: np.ndarray, y: np.ndarray) -> tuple[int, float, float]:
    how, on, length = lies_on(wrap, x, y, np.empty(wrap.reach + 2), np.empty(wrap.reach + 2))
    return int(how), float(on), float(length)


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
            belly_line(wrap, x, y, *np.empty((2, wrap.reach + 2)), *line)
        else:
            line[:] = nodes[wrap.tip][:, None]
        ends.append(line.T)
    return np.concatenate([ends[0], string[1:-1], ends[1][::-1]])
