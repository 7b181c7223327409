"""A bow as it stands at the bench: braced, weighed at one draw, its limbs' strain and bend looked at."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.fields.zero import zero_between
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.statics.brace import Braced, brace_with_string
from archerysim.shot.statics.draw import TRADE, weigh_at
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import LIMBS
from archerysim.shot.strain_along import of_limb

WORKING = (0.1, 0.8)  # of a limb's length: the part that is to bend; fade and tip stay stiff [judgement]
SAME_DRAW = 1e-6  # [m]


class Judged(NamedTuple):
    """What is measured on a bow, and what its limbs do at one draw.

    Attributes
    ----------
    braced : Braced
    drawn : Drawn
    bend : (2, k) array
        Change of curvature of the upper and the lower limb, towards the archer + [1/m].
    strain : (2, k) array
        Size of the strain of the more strained surface [-]; nan where width and thickness are not known.
    """

    braced: Braced
    drawn: Drawn
    bend: np.ndarray
    strain: np.ndarray

    @property
    def split(self) -> float:
        """Upper tiller less lower tiller [m]."""
        return self.braced.upper_tiller - self.braced.lower_tiller


def judged(full: BuiltSetup, mesh: Mesh, draw_length: float, place: np.ndarray, *, trial: bool = True) -> Judged:
    """Brace a bow with its string, and weigh it at one draw.

    Parameters
    ----------
    full : BuiltSetup
    mesh : Mesh
    draw_length : float
        By the trade [m].
    place : (k,) array
        Along the limbs, 0 = root, 1 = tip.
    trial : bool
        Whether it would last is not asked.

    Raises
    ------
    ShotError
    """
    return judge(full, brace_with_string(full, full.string.length, mesh), draw_length, place, trial=trial)


def judge(full: BuiltSetup, braced: Braced, draw_length: float, place: np.ndarray, *, trial: bool = True) -> Judged:
    """`judged` of a bow that is braced already."""
    _, drawn = weigh_at(full, braced, TRADE - draw_length, trial=trial)
    found = [
        of_limb(limb, name, braced, drawn, place)
        for limb, name in zip((full.upper_limb, full.lower_limb), LIMBS, strict=True)
    ]
    bend = np.array([one[0] for one in found])
    strain = np.array([np.maximum(np.abs(one[1]), np.abs(one[2])) for one in found])
    return Judged(braced, drawn, bend, strain)


def working(place: np.ndarray) -> np.ndarray:
    """Which places are on the part of a limb that is to bend."""
    low, high = WORKING
    return (place >= low - SAME_DRAW) & (place <= high + SAME_DRAW)


def departures(values: np.ndarray) -> np.ndarray:
    """By what share values along both limbs depart from their mean (2, k)."""
    return np.asarray(values / values.mean() - 1.0)


def draw_at_weight(full: BuiltSetup, braced: Braced, weight: float, longest: float) -> float:
    """The draw length at which a bow pulls a weight [N], or the longest one where that is less [m].

    Raises
    ------
    ShotError
    """

    def over(length: float) -> float:
        return weigh_at(full, braced, TRADE - length, trial=True)[1].weight - weight

    if over(longest) <= 1e-6 * weight:
        return longest
    shortest = TRADE + braced.brace_height + 0.06
    if over(shortest) >= 0.0:
        return shortest
    return zero_between(over, shortest, longest, SAME_DRAW)
