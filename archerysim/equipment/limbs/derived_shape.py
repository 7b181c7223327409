"""What follows from how a limb's unstrung shape is told: its natural curvature, its length, the usual pocket angle."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.equipment.limbs.limb import Limb, LimbShape
from archerysim.equipment.setup import Category
from archerysim.errors import SetupError
from archerysim.fields.filling import Filling
from archerysim.fields.quantity import Form
from archerysim.fields.units import show

if TYPE_CHECKING:
    from archerysim.equipment.limbs.natural_shape import NaturalShape
    from archerysim.equipment.limbs.traced_profile import Traced

# What a measured bow's limbs are, where nothing is told of their shape, and how far they lean forward [judgement].
USUAL: dict[Category, LimbShape] = {
    "junior": "recurve", "club": "recurve", "elite": "recurve", "barebow": "recurve", "traditional": "straight",
}  # fmt: skip
POCKET_ANGLE: dict[LimbShape, float] = {"straight": 12.0, "reflexed": 8.0, "recurve": 2.0}  # [deg]
ALIKE = 0.03  # of a limb's length, by which that along its traced points may differ [judgement]
ROUNDS, SETTLED = 40, 1e-9  # [m]


def usual_kind(form: Form, category: Category) -> LimbShape:
    """The shape of limbs of which nothing is told; a bow as built is what its file says and no more: straight."""
    return USUAL[category] if form == "measured" else "straight"


def told_by_shape(limb: Limb) -> bool:
    """Whether a usual shape is what is told of a limb, or nothing is."""
    others = (limb.natural_curvature, limb.profile_x, limb.tip_forward, limb.tip_angle, limb.middle_angle)
    return all(one is None for one in others)


def usual_pocket_angle(limbs: tuple[Limb, Limb], category: Category) -> tuple[float, str]:
    """Mean forward lean of two measured limbs' roots [rad], and on what grounds.

    Limbs whose shape is traced, or told by their tip, lean as is usual in the category.
    """
    one, other = ("straight" if limb.natural_curvature else limb.shape or USUAL[category] for limb in limbs)
    angle = math.radians(0.5 * (POCKET_ANGLE[one] + POCKET_ANGLE[other]))
    return angle, "2 deg for recurve limbs, 8 deg for reflexed ones, else 12 deg [judgement]"


def traced_of(limb: Limb, path: str) -> Traced | None:
    """The smoothed profile of a limb that was traced.

    Raises
    ------
    SetupError
    """
    if not limb.profile_x or not limb.profile_y:
        return None
    from archerysim.equipment.limbs.traced_profile import traced

    return traced(limb.profile_x, limb.profile_y, path)


def derive_traced_length(filling: Filling, limb: Limb) -> None:
    """Take a limb's length from its traced points, or compare the two.

    Raises
    ------
    SetupError
        Where they differ too much.
    """
    found = traced_of(limb, filling.path)
    if found is None:
        return
    filling.derive("length", found.length, f"from {filling.path}.profile_x and profile_y: along the smoothed points")
    length = filling["length"]
    if abs(found.length - length) > ALIKE * length:
        raise SetupError(
            f"{filling.path}.profile_x",
            f"the points run over {show(round(found.length, 4), 'mm')}, the limb is {show(length, 'mm')} long",
            f"Trace it from root to tip, or leave {filling.path}.length out",
        )


def shape_of(limb: Limb, path: str, length: float, form: Form, category: Category) -> tuple[NaturalShape, str] | None:
    """A limb's unstrung shape and on what grounds; None where it is straight, or its curvature is given.

    Raises
    ------
    SetupError
    """
    if limb.natural_curvature is not None:
        return None
    from archerysim.equipment.limbs.natural_shape import shape_to, usual_shape

    found = traced_of(limb, path)
    if found is not None:
        return found.shape, f"from {path}.profile_x and profile_y, smoothed"
    given = [name for name in ("tip_forward", "tip_angle", "middle_angle") if getattr(limb, name) is not None]
    if given:  # what is not told is usual in the category, on a bow as built too
        return shape_to(limb, path, length, usual_shape(USUAL[category])), f"from {path} {', '.join(given)}"
    kind = limb.shape or usual_kind(form, category)
    shape = usual_shape(kind)
    return None if shape is None else (shape, f"the usual shape of a {kind} limb [judgement]")


def braced_limb(
    limb: Limb, path: str, category: Category, up: float, back: float, lean: float, first: float
) -> float | None:
    """Length of a measured limb that is not straight and reaches the braced string [m]; None where there is none.

    Parameters
    ----------
    up, back, lean : float
        As of `braced_length`.
    first : float
        About how long it is [m].

    Raises
    ------
    SetupError
    """
    from archerysim.equipment.limbs.natural_shape import braced_length

    length = first
    for _ in range(ROUNDS):
        shape = shape_of(limb, path, length, "measured", category)
        found = None if shape is None else braced_length(shape[0], up, back, lean)
        if found is None or limb.tip_forward is None or abs(found - length) < SETTLED:
            return found
        length = found
    return length
