"""What follows from the values of a setup that are given, or is assumed without them; every value says which."""

from __future__ import annotations

import math
from functools import lru_cache

from archerysim.equipment import arrow as shaft
from archerysim.equipment.air import Air, standard_pressure
from archerysim.equipment.archer import FINGER_PLACES, FINGER_SHARES, Archer
from archerysim.equipment.bow import Bow
from archerysim.equipment.bowstring import FIBRES, String, fibre_stiffness
from archerysim.equipment.filled_records import FilledBow, MeasuredBow, can_swing, swinging_mass
from archerysim.equipment.limbs.derived_shape import (
    braced_limb,
    derive_traced_length,
    shape_of,
    told_by_shape,
    usual_kind,
    usual_pocket_angle,
)
from archerysim.equipment.limbs.kept_work import KEPT_WORK, kept_words
from archerysim.equipment.limbs.laminated import fill_laminations
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.limbs.limb_mass import lay_out_mass
from archerysim.equipment.limbs.materials import MATERIALS, usual_words
from archerysim.equipment.limbs.places_along import shares_of
from archerysim.equipment.nock import LOCATOR_MASS, Nock
from archerysim.equipment.rest import Rest
from archerysim.equipment.riser import Riser
from archerysim.equipment.setup import Category, Setup
from archerysim.equipment.side import Side
from archerysim.errors import SetupError
from archerysim.fields.filling import Filling
from archerysim.fields.quantity import Form
from archerysim.fields.record import Record
from archerysim.fields.units import show

GRAVITY = 9.81  # [m/s^2], as in the model

# Middle of the typical range, common practice [kg].
RISER_MASS = {"junior": 0.75, "club": 1.15, "elite": 1.30, "barebow": 1.25, "traditional": 0.80}

# Share of a limb's work that a cycle keeps: laminated recurves 0.2 to 0.9 % (C. Tuijn and B. W. Kooi, European J.
# Physics 13 (1992) 127-134); wood several per cent [memory], here [judgement].
HYSTERESIS = {"junior": 0.005, "club": 0.005, "elite": 0.005, "barebow": 0.005, "traditional": 0.03}

STRING_SHORTER = 3.5 * 0.0254  # a recurve's string against its bow [m], common practice

ROD_STIFFNESS = 300.0  # bending stiffness of a stabiliser's tube [N m^2], 250 to 330 [judgement]
MOST_OF_A_ROD = 1000.0  # highest frequency of a rod, as its field has it [Hz]

BEYOND_AXIS = 0.002  # how far an arm reaches past the shaft's axis [m], [judgement]

KEPT = 64  # records of each kind, filled in

# Stiffness of a limb's tip sideways [N/m], [judgement]: it grows with the draw weight; where that is not known it is
# that of a usual bow of the category.
SIDE_PER_WEIGHT = 6.6  # for each newton of draw weight [1/m]
SIDE_STIFFNESS = {"junior": 470.0, "club": 1000.0, "elite": 1300.0, "barebow": 1060.0, "traditional": 1170.0}
SIDE_SHARE = 0.15  # of a limb's mass, moves sideways with the tip [judgement]

# Of the side support: spring and the force that starts it [N/m, N], [judgement].
SIDE_SUPPORT = {"sprung": (2000.0, 2.0), "plate": (2e5, 0.0)}

# Shape along a limb, from root to tip [judgement].
STIFFNESS_AT_TIP = 0.235


def fillings_of(setup: Setup) -> dict[str, Filling]:
    """The setup's records with all their values.

    Each follows from the record and from what it is handed. The last few are kept, since from point to point of a
    sweep most records stay the same.
    """
    form, category = setup.form, setup.category
    shapes = (setup.upper_limb, setup.lower_limb)
    bow = _bow(setup.bow, form, category, usual_pocket_angle(shapes, category))
    riser = _riser(setup.riser, bow["length"], form, category)
    whole: FilledBow = MeasuredBow.of(bow) if form == "measured" else FilledBow.of(bow)
    roots = riser["upper_root_y"] - riser["lower_root_y"]
    return {
        "bow": bow,
        "riser": riser,
        "upper_limb": _limb(setup.upper_limb, "upper_limb", whole, roots, category),
        "lower_limb": _limb(setup.lower_limb, "lower_limb", whole, roots, category),
        "string": _string(setup.string, form),
        "rest": _rest(setup.rest, setup.arrow.diameter, form, category),
        "side": _side(setup.side, form, category),
        "nock": _nock(setup.nock, form),
        "archer": _archer(setup.archer, form),
        "limits": _usual(setup.limits, "limits", form),
        "arrow": _arrow(setup.arrow, form, category),
        "air": _air(setup.air, form),
    }


@lru_cache(KEPT)
def _usual(record: Record, path: str, form: Form) -> Filling:
    """A record of which nothing follows from anything else."""
    return Filling(record, path, form)


@lru_cache(KEPT)
def _bow(bow: Bow, form: Form, category: Category, pocket_angle: tuple[float, str]) -> Filling:
    filling = Filling(bow, "bow", form)
    kind = "one piece" if category == "traditional" else "take-down"
    filling.assume("kind", kind, f"usual for {category} [common practice]")
    if form == "built":
        return filling
    filling.assume("pocket_angle", *pocket_angle)
    by_kind = "from bow.kind: pockets of a take-down bow, stiffness of a one-piece bow"
    if filling["kind"] == "one piece" and "stiffness_ratio" in filling:
        filling.derive(
            "split_from", "both", "from bow.stiffness_ratio, which is given: the pockets' angles make up the rest"
        )
    filling.derive("split_from", "pockets" if filling["kind"] == "take-down" else "stiffness", by_kind)
    if filling["split_from"] == "pockets":
        filling.assume("stiffness_ratio", 1.0, "usual value [judgement]")
    return filling


@lru_cache(KEPT)
def _riser(riser: Riser, bow_length: float, form: Form, category: Category) -> Filling:
    filling = Filling(riser, "riser", form)
    inches = bow_length / 0.0254
    length = 25 if inches >= 66 - 1e-9 else 19 if inches <= 58 + 1e-9 else 23
    filling.derive("length", length * 0.0254, "from bow.length: 25 in from 66 in up, 19 in to 58 in, 23 in between")
    filling.assume("mass", RISER_MASS[category], f"usual for {category} [common practice]")
    filling.derive(
        "inertia",
        filling["mass"] * filling["length"] ** 2 / 12 * 1.2,
        "from riser.mass and riser.length: mass x length^2 / 12 x 1.2 [judgement]",
    )
    root = filling["length"] / 2 - 0.020
    filling.derive("upper_root_y", root, "from riser.length: half of it less 20 mm [judgement]")
    filling.derive("lower_root_y", -root, "from riser.length: half of it less 20 mm [judgement]")
    if form == "built":
        for name in ("upper_root_x", "lower_root_x"):
            filling.assume(name, -0.020, "usual value [judgement]")
    for rod in filling.inside["rods"]:
        _swing(rod)
    return filling


def _swing(rod: Filling) -> None:
    """The frequency of a rod as a cantilever with its end mass; of one that is stiffer than any need be, 0."""
    mass, length = swinging_mass(rod["end_mass"], rod["rod_mass"]), rod["length"]
    if not can_swing(length, mass):
        rod.assume("frequency", 0.0, "does not bend without length or mass")
        return
    stiffness = 3.0 * ROD_STIFFNESS / length**3
    how = f"from the rod's length and masses, as a cantilever of EI = {ROD_STIFFNESS:.0f} N m^2 [judgement]"
    frequency = math.sqrt(stiffness / mass) / (2.0 * math.pi)
    if frequency > MOST_OF_A_ROD:
        rod.assume("frequency", 0.0, f"taken as rigid: over {MOST_OF_A_ROD:.0f} Hz {how}")
    rod.derive("frequency", frequency, how)


@lru_cache(KEPT)
def _limb(limb: Limb, path: str, bow: FilledBow, roots: float, category: Category) -> Filling:
    """A limb; the roots so far apart [m]."""
    form: Form = "measured" if isinstance(bow, MeasuredBow) else "built"
    filling = Filling(limb, path, form)
    if limb.stations is not None:
        filling.derive("at", shares_of(limb.stations), f"from {path}.stations: each over the last")
        filling.derive("length", limb.stations[-1], f"from {path}.stations, the last one")
    if limb.material is not None:
        _of_material(limb, filling)
    derive_traced_length(filling, limb)
    if isinstance(bow, MeasuredBow) and "length" not in filling:
        filling.derive("length", *_arc_length(limb, bow, path, roots, category))
    filling.derive(
        "length",
        (bow.length - roots) / 2,
        "from bow.length and the distance between the roots: half the difference",
    )
    places: tuple[float, ...] = filling["at"]
    if told_by_shape(limb):
        words = "recurve; straight for traditional bows and for a bow as built without a given shape [judgement]"
        filling.assume("shape", usual_kind(form, category), words)
    curve = shape_of(limb, path, filling["length"], form, category)
    if curve is not None:
        filling.derive("natural_curvature", curve[0].curvature(filling["length"]), curve[1])
        filling.derive("curvature_at", curve[0].at, curve[1])
    filling.assume("natural_curvature", tuple(0.0 for _ in places), "straight when unstrung [judgement]")
    section: tuple[float, ...] | None = None
    if limb.laminations:
        section = fill_laminations(filling, limb)
    elif "width" in filling:
        section = tuple(w * t for w, t in zip(filling["width"], filling["thickness"], strict=True))
        second = [a * t**2 / 12 for a, t in zip(section, filling["thickness"], strict=True)]
        filling.derive(
            "bending_stiffness",
            tuple(filling["modulus"] * i for i in second),
            f"from {path} modulus, width and thickness: E w t^3 / 12",
        )
        filling.derive("root_thickness", filling["thickness"][0], f"from {path}.thickness, the first value")
    filling.assume(
        "bending_stiffness",
        tuple(1.0 + (STIFFNESS_AT_TIP - 1.0) * s for s in places),
        f"a shape, 1 at the root to {STIFFNESS_AT_TIP} at the tip; the fit finds its size [judgement]",
    )
    filling.assume("root_thickness", 0.0 if form == "built" else 0.008, "usual value [judgement]")
    if limb.material is not None:
        filling.assume("hysteresis", KEPT_WORK[limb.material].share, kept_words(limb.material))
    source = "judgement" if category == "traditional" else "0.2 to 0.9 % measured, C. Tuijn and B. W. Kooi 1992"
    filling.assume("hysteresis", HYSTERESIS[category], f"usual for {category} [{source}]")
    lay_out_mass(filling, path, category, bow.kind, section)
    _sideways(filling, bow, category)
    return filling


def _sideways(limb: Filling, bow: FilledBow, category: Category) -> None:
    """The limb's tip sideways, its masses laid out."""
    if isinstance(bow, MeasuredBow):
        how = f"from bow.draw_weight: {SIDE_PER_WEIGHT:g} per metre times it [judgement]"
        limb.derive("side_stiffness", SIDE_PER_WEIGHT * bow.draw_weight, how)
    limb.assume("side_stiffness", SIDE_STIFFNESS[category], f"usual for {category} [judgement]")
    how = f"from the limb's tip_mass, and {SIDE_SHARE * 100:.0f} % of its mass [judgement]"
    limb.derive("side_mass", limb["tip_mass"] + SIDE_SHARE * limb["mass"], how)


def _of_material(limb: Limb, filling: Filling) -> None:
    """What is usual for the limb's material, where it is not given."""
    assert limb.material is not None
    for name in ("modulus", "density", "strain_limit"):
        if name != "density" or (limb.mass is None and limb.mass_per_length is None):
            value = getattr(MATERIALS[limb.material], name).value
            filling.assume(name, value, usual_words(limb.material, name))


def _arc_length(limb: Limb, bow: MeasuredBow, path: str, roots: float, category: Category) -> tuple[float, str]:
    """Length of a limb bent from its pocket to the tip of the braced string [m], and how it was found.

    The string is 3.5 in shorter than the bow (common practice: a 68 in bow takes 64 to 65 in). A straight limb is bent
    as a circular arc: with the chord at an angle h to the pocket's direction, the arc is h / sin(h) times as long as
    its chord. Another one keeps its natural curve beside that, and the string lies on its outer end.
    """
    up = (bow.length - STRING_SHORTER - roots) / 2
    if up <= 0.0:
        raise SetupError(
            f"{path}.length",
            f"no room for a limb: the roots are {show(roots, 'mm')} apart in a bow of "
            f"{show(bow.length, 'in')} (derived from bow.length and riser.length)",
            f"Check both, or give {path}.length",
        )
    back = (bow.upper_tiller + bow.lower_tiller) / 2
    angle = math.atan2(back, up) + bow.pocket_angle
    arc = math.hypot(back, up) * (angle / math.sin(angle) if abs(angle) > 1e-6 else 1.0)
    words = "from bow.length, roots, tillers and pocket angle: an arc to a string 3.5 in under the bow"
    curved = braced_limb(limb, path, category, up, back, bow.pocket_angle, arc)
    if curved is None:
        return arc, words
    return curved, words.replace("an arc to", "its natural curve bent to")


@lru_cache(KEPT)
def _string(string: String, form: Form) -> Filling:
    filling = Filling(string, "string", form)
    if "material" not in filling:
        return filling
    material = filling["material"]
    fibre = FIBRES[material]
    filling.assume("strand_mass_per_length", fibre.strand_mass_per_length, f"usual strand of {material} [judgement]")
    filling.assume("strand_strength", fibre.strand_strength, f"usual strand of {material} [judgement]")
    strands, each = filling["strands"], filling["strand_mass_per_length"]
    # The factor's default needs material and strands, which are here.
    stiffness = fibre_stiffness(material, strands, each, filling["construction_factor"])
    filling.derive(
        "axial_stiffness",
        stiffness,
        "from string.material, strands, strand_mass_per_length and construction_factor (fibre: [memory, rounded])",
    )
    filling.derive("mass_per_length", strands * each, "from string.strands and strand_mass_per_length")
    return filling


@lru_cache(KEPT)
def _rest(rest: Rest, diameter: float, form: Form, category: Category) -> Filling:
    """The rest; the shaft's diameter [m]."""
    filling = Filling(rest, "rest", form)
    kind = "shelf" if category == "traditional" else "arm"
    filling.assume("kind", kind, f"usual for {category} [common practice]")
    how = "from arrow.diameter: 2 mm beyond its middle [judgement]"
    if filling["kind"] == "shelf":
        how = "from arrow.diameter; a shelf supports beyond it too"
    filling.derive("reach", 0.5 * diameter + BEYOND_AXIS, how)
    if "droop" in filling:
        filling.derive(
            "stiffness",
            filling["droop_mass"] * GRAVITY / filling["droop"],
            "from rest.droop and droop_mass: weight over droop",
        )
    return filling


@lru_cache(KEPT)
def _side(side: Side, form: Form, category: Category) -> Filling:
    filling = Filling(side, "side", form)
    kind = "plate" if category == "traditional" else "sprung"
    filling.assume("kind", kind, f"usual for {category} [common practice]")
    kind = filling["kind"]
    filling.assume("offset", 0.0 if category == "junior" else 0.001, f"usual for {category} [judgement]")
    for name, usual in zip(("stiffness", "preload"), SIDE_SUPPORT[kind], strict=True):
        words = "a sprung side support" if kind == "sprung" else "a plate"
        filling.assume(name, usual, f"usual for {words} [judgement]")
    return filling


@lru_cache(KEPT)
def _nock(nock: Nock, form: Form) -> Filling:
    filling = Filling(nock, "nock", form)
    locators: Filling = filling.inside["locators"]
    how = "from nock.height: half of it and 1 mm, half a locator [judgement]"
    locators.derive("mass_at", filling["height"] / 2 + 0.001, how)
    kind = locators["kind"]
    for place in ("upper", "lower"):
        present = locators[f"{place}_present"]
        locators.assume(
            f"{place}_mass",
            LOCATOR_MASS[kind] if present else 0.0,
            f"usual for {kind} locators [common practice]" if present else "there is no such locator",
        )
    return filling


@lru_cache(KEPT)
def _archer(archer: Archer, form: Form) -> Filling:
    filling = Filling(archer, "archer", form)
    hold = filling["hold"]
    filling.assume("finger_places", FINGER_PLACES[hold], f"usual for {hold} [common practice]")
    filling.assume("finger_shares", FINGER_SHARES[hold], f"usual for {hold} [memory]")
    return filling


@lru_cache(KEPT)
def _arrow(arrow: shaft.Arrow, form: Form, category: Category) -> Filling:
    filling = Filling(arrow, "arrow", form)
    kind = "feather" if category == "traditional" else "vane"
    filling.assume("fletching_kind", kind, f"usual for {category} [common practice]")
    kind = filling["fletching_kind"]
    usual = shaft.FLETCHING[kind]
    for name in ("length", "height"):
        filling.assume(f"fletching_{name}", getattr(usual, name), f"usual for a {kind} [common practice]")
    filling.assume("fletching_drag", usual.drag, f"usual for a {kind} [judgement]")
    number, length, height = (filling[f"fletching_{one}"] for one in ("number", "length", "height"))
    filling.derive(
        "fletching_lift_slope",
        shaft.fletching_lift_slope(number, length, height, filling["diameter"]),
        "from fletching_number, length and height and the shaft's diameter (Barrowman 1967)",
    )
    return filling


@lru_cache(KEPT)
def _air(air: Air, form: Form) -> Filling:
    filling = Filling(air, "air", form)
    if "altitude" in filling:
        pressure = standard_pressure(filling["altitude"])
        filling.derive("pressure", pressure, "from air.altitude: standard atmosphere (ISO 2533)")
    return filling
