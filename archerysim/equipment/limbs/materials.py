"""What limbs are made of: usual values of woods and laminates, taken only where a file names one.

A board of the same wood differs from the next by more than any archer would miss: a test bend of the very board says
its modulus, its maker or a bowyer what it bears. The values of woods are means of clear, straight-grained wood at 12 %
moisture; the strain limit is the modulus of rupture over the modulus in bending, the strain of a test piece under its
breaking load did it stay elastic: it takes set sooner and breaks a little later [judgement]. A laminate's are those of
a beam of one material that bends alike: faces on a core, E = E_face (1 - c^3) + E_core c^3 with c the core's share of
the thickness (plane sections).
"""

from __future__ import annotations

from typing import Literal, NamedTuple

LimbMaterial = Literal[
    "ash", "bamboo", "black locust", "elm", "hickory", "ipe", "maple", "osage orange", "red oak", "yew",
    "unidirectional glass", "unidirectional carbon", "glass on wood core", "carbon on wood core",
]  # fmt: skip


class Usual(NamedTuple):
    """A usual value, and how far single pieces lie from it: one standard deviation, as a share of the value."""

    value: float
    spread: float


class Facts(NamedTuple):
    """Facts of a material.

    Attributes
    ----------
    modulus : Usual
        In bending along the grain or the fibres [Pa].
    density : Usual
        [kg/m^3]
    strain_limit : Usual
        Largest strain of the surface in bending [-].
    basis : str
        Where they come from.
    """

    modulus: Usual
    density: Usual
    strain_limit: Usual
    basis: str


WOOD_HANDBOOK = "Wood Handbook, FPL-GTR-282 [memory]"
# Of clear wood, over a kind: the same book's average coefficients of variation [memory]; of the strain [judgement].
WOOD_SPREAD = {"modulus": 0.22, "density": 0.10, "strain_limit": 0.20}
LAMINATE_SPREAD = {"modulus": 0.10, "density": 0.05, "strain_limit": 0.20}  # [judgement]
CORE_SPREAD = {"modulus": 0.20, "density": 0.10, "strain_limit": 0.20}  # the core's share differs besides [judgement]
GLASS_CORE, CARBON_CORE = 0.7, 0.8  # of the thickness [judgement]


def _facts(modulus: float, density: float, limit: float, spread: dict[str, float], basis: str) -> Facts:
    values = {"modulus": modulus, "density": density, "strain_limit": limit}
    return Facts(**{name: Usual(value, spread[name]) for name, value in values.items()}, basis=basis)


def _wood(modulus: float, rupture: float, density: float, basis: str = WOOD_HANDBOOK) -> Facts:
    """Modulus [GPa] and modulus of rupture [MPa] in bending, density [kg/m^3]."""
    return _facts(1e9 * modulus, density, round(1e-3 * rupture / modulus, 4), WOOD_SPREAD, basis)


def _on_core(face: Facts, core: Facts, share: float) -> Facts:
    """Faces on a core of a share of the thickness."""
    modulus = face.modulus.value * (1.0 - share**3) + core.modulus.value * share**3
    density = face.density.value * (1.0 - share) + core.density.value * share
    basis = f"faces on maple, the core {100 * share:.0f} % of the thickness [judgement]"
    return _facts(round(modulus, -8), round(density, -1), face.strain_limit.value, CORE_SPREAD, basis)


MAPLE = _wood(12.6, 109.0, 705.0)
GLASS = _facts(40e9, 1900.0, 0.015, LAMINATE_SPREAD, "38 to 43 GPa [memory]; density and strain [judgement]")
CARBON = _facts(125e9, 1550.0, 0.009, LAMINATE_SPREAD, "110 to 140 GPa [memory]; density and strain [judgement]")

MATERIALS: dict[LimbMaterial, Facts] = {
    "ash": _wood(12.0, 103.0, 670.0),
    "bamboo": _wood(16.0, 170.0, 700.0, "[memory]: varies a lot with the share of its outer fibres"),
    "black locust": _wood(14.1, 134.0, 775.0),
    "elm": _wood(10.6, 102.0, 705.0),
    "hickory": _wood(14.9, 139.0, 805.0),
    "ipe": _wood(22.0, 175.0, 1030.0),
    "maple": MAPLE,
    "osage orange": _wood(11.6, 128.0, 855.0, "[memory]"),
    "red oak": _wood(12.5, 99.0, 705.0),
    "yew": _wood(9.3, 105.0, 695.0),
    "unidirectional glass": GLASS,
    "unidirectional carbon": CARBON,
    "glass on wood core": _on_core(GLASS, MAPLE, GLASS_CORE),
    "carbon on wood core": _on_core(CARBON, MAPLE, CARBON_CORE),
}


def usual_words(material: LimbMaterial, name: str) -> str:
    """On what grounds one value of a material is taken, with its spread."""
    facts = MATERIALS[material]
    usual: Usual = getattr(facts, name)
    return f"usual for {material}, single pieces within some {100 * usual.spread:.0f} % ({facts.basis})"
