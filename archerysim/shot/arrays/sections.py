"""Sections of a limb that is given by width and thickness, or by laminations: stiffness, weight, depth to the surfaces.

Tables run in straight lines between the limb's places, thickness by thickness; what follows from them does not.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.equipment.filled_records import FilledLimb
from archerysim.equipment.limbs.laminated import laminated


class Sections(NamedTuple):
    """What a limb's sections do at some places, each an array (k,).

    Attributes
    ----------
    stiffness : array
        Bending stiffness E I [N m2].
    along : array
        Stiffness against a force along the limb, E A [N].
    to_back, to_belly : array
        From where bending strains nothing to the two surfaces [m].
    width, weighed : array
        Width, and the thickness that would weigh as much of the first lamination's material, or of the only one [m].
    """

    stiffness: np.ndarray
    along: np.ndarray
    to_back: np.ndarray
    to_belly: np.ndarray
    width: np.ndarray
    weighed: np.ndarray


def sections(limb: FilledLimb, place: np.ndarray) -> Sections:
    """Sections at some places.

    Parameters
    ----------
    limb : FilledLimb
        With a table of width, and of thickness or laminations.
    place : (k,) array
        From 0 (root) to 1 (tip).
    """
    width = np.interp(place, limb.at, limb.width)
    if not limb.laminations:
        thickness = np.interp(place, limb.at, limb.thickness)
        half, along = 0.5 * thickness, limb.modulus * width * thickness
        return Sections(limb.modulus * width * thickness**3 / 12.0, along, half, half, width, thickness)
    first, strips = limb.laminations[0], layers_at(limb, place)
    found = laminated(strips, [one.modulus / first.modulus for one in limb.laminations])
    weights = [one.density / first.density for one in limb.laminations]
    weighed = np.sum([weight * strip for weight, strip in zip(weights, strips, strict=True)], axis=0)
    to_belly = found.thickness - found.neutral
    by = limb.modulus * width
    return Sections(by * found.second, by * found.area, found.neutral, to_belly, width, weighed)


def layers_at(limb: FilledLimb, place: np.ndarray) -> list[np.ndarray]:
    """Thickness of each lamination at some places, from the back on [m]."""
    return [np.interp(place, limb.at, one.thickness) for one in limb.laminations]
