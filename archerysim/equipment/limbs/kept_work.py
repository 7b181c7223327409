"""What limbs of each material keep of the work of bending them, however slowly they are let down: usual values.

Of glass and carbon bows some tenths of a per cent were measured for a cycle; of wood it is several times that, and the
more the wetter, the warmer and the further bent it is [judgement]. A string, and a limb that takes set, lose more.
"""

from __future__ import annotations

from typing import NamedTuple

from archerysim.equipment.limbs.materials import MATERIALS, LimbMaterial


class Kept(NamedTuple):
    """A usual share of the work that is kept, and where it comes from."""

    share: float
    basis: str


MEASURED = "0.2 to 0.9 % measured, C. Tuijn and B. W. Kooi 1992"
WOOD = Kept(0.03, "wood, judgement")
OTHERS: dict[str, Kept] = {
    "unidirectional glass": Kept(0.005, MEASURED),
    "unidirectional carbon": Kept(0.003, "less than glass, judgement"),
    "glass on wood core": Kept(0.005, MEASURED),
    "carbon on wood core": Kept(0.004, "faces of carbon, a core that is hardly strained, judgement"),
}
KEPT_WORK: dict[LimbMaterial, Kept] = {name: OTHERS.get(name, WOOD) for name in MATERIALS}


def kept_words(material: LimbMaterial) -> str:
    """On what grounds a material's share is taken."""
    return f"usual for {material} [{KEPT_WORK[material].basis}]"
