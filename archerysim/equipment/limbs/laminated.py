"""The cross-section of a laminated limb: as stiff and as heavy as one of a single material of another width.

Plane sections stay plane, and each lamination i of thickness t_i counts with the ratio n_i of its modulus to the
first's (the transformed section; S. P. Timoshenko and J. M. Gere, Mechanics of Materials, 1972 [memory]). Per unit of
width, with y_i the middle of a lamination behind the limb's back:

    A = sum n_i t_i,   c = sum n_i t_i y_i / A,   I = sum n_i (t_i^3 / 12 + t_i (y_i - c)^2)

c is where bending strains nothing. E I and E A follow with the first's modulus and the limb's width.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from archerysim.equipment.limbs.lamination import thickness_at
from archerysim.equipment.limbs.materials import MATERIALS, usual_words
from archerysim.fields.filling import Filling

if TYPE_CHECKING:
    from archerysim.equipment.limbs.limb import Limb


class Laminated(NamedTuple):
    """A section of laminations, per unit of width; numbers or arrays alike.

    Attributes
    ----------
    area : float or array
        A above [m].
    neutral : float or array
        c above: from the back to where bending strains nothing [m].
    second : float or array
        I above [m3].
    thickness : float or array
        Of all of them [m].
    """

    area: Any
    neutral: Any
    second: Any
    thickness: Any


def laminated(thicknesses: Sequence[Any], ratios: Sequence[float]) -> Laminated:
    """The section of some laminations.

    Parameters
    ----------
    thicknesses : sequence of float or array
        From the back to the belly [m].
    ratios : sequence of float
        Their moduli over the first's.
    """
    depth: Any = 0.0
    middles = []
    for thickness in thicknesses:
        middles.append(depth + 0.5 * thickness)
        depth = depth + thickness
    parts = list(zip(thicknesses, ratios, middles, strict=True))
    area = sum(n * t for t, n, _ in parts)
    neutral = sum(n * t * y for t, n, y in parts) / area
    second = sum(n * (t**3 / 12.0 + t * (y - neutral) ** 2) for t, n, y in parts)
    return Laminated(area, neutral, second, depth)


def fill_laminations(filling: Filling, limb: Limb) -> tuple[float, ...]:
    """Take what follows from a limb's laminations: modulus, density, thickness, stiffness.

    Parameters
    ----------
    filling : Filling
        Of the limb, its length, places and width filled in.
    limb : Limb

    Returns
    -------
    tuple of float
        At each place, the area that would weigh as much of the first lamination's material [m2].

    Raises
    ------
    SetupError
    """
    path, strips = filling.path, filling.inside["laminations"]
    for strip in strips:
        material = strip.record.material
        for name in ("modulus", "density", "strain_limit") if material else ():
            strip.assume(name, getattr(MATERIALS[material], name).value, usual_words(material, name))
    first, of_first = strips[0], f"from {path}.laminations.0"
    filling.derive("modulus", first["modulus"], f"{of_first}: that of the first, which lies at the back")
    if limb.mass is None and limb.mass_per_length is None:
        filling.derive("density", first["density"], f"{of_first}: that of the first, which lies at the back")
    for strip in strips:
        strip["thickness"] = thickness_at(strip.record, strip.path, filling["at"], filling["length"])
    columns = [strip["thickness"] for strip in strips]
    stiffness = [strip["modulus"] / first["modulus"] for strip in strips]
    weight = [strip["density"] / first["density"] for strip in strips]
    found = [laminated(row, stiffness) for row in zip(*columns, strict=True)]
    filling.derive("thickness", tuple(one.thickness for one in found), f"from {path}.laminations: their sum")
    bending = tuple(filling["modulus"] * w * one.second for w, one in zip(filling["width"], found, strict=True))
    how = f"from {path} laminations and width: the transformed section"
    filling.derive("bending_stiffness", bending, how)
    filling.derive("root_thickness", filling["thickness"][0], f"from {path}.laminations: their sum at the root")
    rows = zip(filling["width"], zip(*columns, strict=True), strict=True)
    return tuple(w * sum(m * t for m, t in zip(weight, row, strict=True)) for w, row in rows)
