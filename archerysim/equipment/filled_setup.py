"""Filling in what a setup does not give: derived from other values, or assumed. Every value says which."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NoReturn

from archerysim.equipment import arrow as shaft
from archerysim.equipment.air import Air, standard_pressure
from archerysim.equipment.archer import FINGER_PLACES, FINGER_SHARES, Archer
from archerysim.equipment.bow import Bow, Limb
from archerysim.equipment.bowstring import FIBRES, String, fibre_stiffness
from archerysim.equipment.nock import LOCATOR_MASS, Nock
from archerysim.equipment.rest import Rest
from archerysim.equipment.riser import Riser
from archerysim.equipment.setup import Category, Setup
from archerysim.errors import SetupError
from archerysim.fields.derivation import GIVEN, Kind, Part
from archerysim.fields.given import NO_CHANGES
from archerysim.fields.quantity import Form
from archerysim.fields.record import Record, fields_of
from archerysim.fields.units import show

GRAVITY = 9.81  # [m/s^2], as in the model

# Middle of the typical range, common practice [kg].
LIMB_MASS = {"junior": 0.100, "club": 0.165, "elite": 0.170, "barebow": 0.170, "traditional": 0.175}
RISER_MASS = {"junior": 0.75, "club": 1.15, "elite": 1.30, "barebow": 1.25, "traditional": 0.80}

STRING_SHORTER = 3.5 * 0.0254  # a recurve's string against its bow [m], common practice

KEPT = 64  # records of each kind, filled in

# Shapes along a limb, from root to tip [judgement].
STIFFNESS_AT_TIP = 0.235
MASS_AT_TIP = 0.39


@dataclass(frozen=True)
class Source:
    """Where a value of a filled setup comes from.

    Attributes
    ----------
    value : number, tuple, str or bool
        In SI.
    kind : {"given", "derived", "assumed"}
        Given by the user, derived from other values, or assumed.
    how : str
        From what it is derived, or on what ground it is assumed.
    """

    value: Any
    kind: Kind
    how: str


class FilledSetup(Setup, frozen=True, kw_only=True):
    """A setup with every value filled in, for reading only.

    It holds a value and what it was derived from side by side, so it is neither changed nor saved: do
    that with the setup it came from, and fill again.
    """

    def __post_init__(self) -> None:
        Record.__post_init__(self)

    def replace(self, changes: Mapping[str, Any] = NO_CHANGES, /, **more: Any) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            Always: derived values would no longer fit.
        """
        raise SetupError(
            next(iter([*changes, *more]), ""),
            "a filled setup cannot be changed",
            "Change the setup it came from, then fill that",
        )

    def with_si(self, **changes: Any) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            As of `replace`.
        """
        self.replace(changes)

    def to_toml(self) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            Always: assumed values would be saved as if given.
        """
        raise SetupError("", "a filled setup cannot be saved", "Save the setup it came from")


def filled(setup: Setup) -> FilledSetup:
    """The setup with every value that has a default or a derivation.

    What the fit or the statics find stays None: in form "measured" string.length, the limbs' pocket angles,
    the roots' x; in form "built" brace height, tillers and draw weight; the locators' reading or place; the
    grip torque where the pressure point is given.

    Parameters
    ----------
    setup : Setup

    Returns
    -------
    FilledSetup
        A `Setup`; a filled one is returned as it is.
    """
    if isinstance(setup, FilledSetup):
        return setup
    return FilledSetup(
        name=setup.name,
        category=setup.category,
        form=setup.form,
        **{name: part.full for name, part in _parts_of(setup).items()},
    )


def sources(setup: Setup) -> dict[str, Source]:
    """Where each value of the filled setup comes from, by dotted path.

    Parameters
    ----------
    setup : Setup
        Not a filled one.

    Returns
    -------
    dict of str to Source

    Raises
    ------
    SetupError
        If the setup is a filled one (ask for the sources of the setup it came from), or a derived value is
        out of range.
    """
    if isinstance(setup, FilledSetup):
        raise SetupError("", "a filled setup no longer knows its sources", "Ask for those of the setup it came from")
    found = {name: Source(getattr(setup, name), *GIVEN) for name in ("name", "category", "form")}
    parts = _parts_of(setup)
    for name in fields_of(Setup):
        if name in parts:
            found |= {path: Source(value, *grounds) for path, value, grounds in parts[name].sources()}
    return found


def _parts_of(setup: Setup) -> dict[str, Part]:
    """The setup's records with all their values.

    Each follows from the record and from what it is handed. The last few are kept, since from point to point of a
    sweep most records stay the same.
    """
    form, category = setup.form, setup.category
    bow = _usual(setup.bow, "bow", form)
    riser = _riser(setup.riser, bow["length"], form, category)
    return {
        "bow": bow,
        "riser": riser,
        "upper_limb": _limb(setup.upper_limb, "upper_limb", bow.full, riser.full, form, category),
        "lower_limb": _limb(setup.lower_limb, "lower_limb", bow.full, riser.full, form, category),
        "string": _string(setup.string, form),
        "rest": _rest(setup.rest, form),
        "nock": _nock(setup.nock, form),
        "archer": _archer(setup.archer, form),
        "limits": _usual(setup.limits, "limits", form),
        "arrow": _arrow(setup.arrow, form, category),
        "air": _air(setup.air, form),
    }


@lru_cache(KEPT)
def _usual(record: Record, path: str, form: Form) -> Part:
    """A record of which nothing follows from anything else."""
    return Part(record, path, form)


@lru_cache(KEPT)
def _riser(riser: Riser, bow_length: float, form: Form, category: Category) -> Part:
    part = Part(riser, "riser", form)
    inches = bow_length / 0.0254
    length = 25 if inches >= 66 - 1e-9 else 19 if inches <= 58 + 1e-9 else 23
    part.derive("length", length * 0.0254, "from bow.length: 25 in from 66 in up, 19 in to 58 in, 23 in between")
    part.assume("mass", RISER_MASS[category], f"usual for {category} [common practice]")
    part.derive(
        "inertia",
        part["mass"] * part["length"] ** 2 / 12 * 1.2,
        "from riser.mass and riser.length: mass x length^2 / 12 x 1.2 [judgement]",
    )
    root = part["length"] / 2 - 0.020
    part.derive("upper_root_y", root, "from riser.length: half of it less 20 mm [judgement]")
    part.derive("lower_root_y", -root, "from riser.length: half of it less 20 mm [judgement]")
    if form == "built":
        for name in ("upper_root_x", "lower_root_x"):
            part.assume(name, -0.020, "usual value [judgement]")
    return part


@lru_cache(KEPT)
def _limb(limb: Limb, path: str, bow: Bow, riser: Any, form: Form, category: Category) -> Part:
    """A limb; bow and riser filled."""
    part = Part(limb, path, form)
    roots = riser.upper_root_y - riser.lower_root_y
    if form == "measured" and "length" not in part:
        part.derive(
            "length",
            _arc_length(bow, f"{path}.length", roots),
            "from bow.length, roots, tillers and pocket angle: an arc to a string 3.5 in under the bow",
        )
    part.derive(
        "length",
        (bow.length - roots) / 2,
        "from bow.length and the distance between the roots: half the difference",
    )
    places: tuple[float, ...] = part["at"]
    part.assume("natural_curvature", tuple(0.0 for _ in places), "straight when unstrung [judgement]")
    shaped = "width" in part
    if shaped:
        section = [w * t for w, t in zip(part["width"], part["thickness"], strict=True)]
        second = [a * t**2 / 12 for a, t in zip(section, part["thickness"], strict=True)]
        part.derive(
            "bending_stiffness",
            tuple(part["modulus"] * i for i in second),
            f"from {path} modulus, width and thickness: E w t^3 / 12",
        )
        part.derive("root_thickness", part["thickness"][0], f"from {path}.thickness, the first value")
    part.assume(
        "bending_stiffness",
        tuple(1.0 + (STIFFNESS_AT_TIP - 1.0) * s for s in places),
        f"a shape, 1 at the root to {STIFFNESS_AT_TIP} at the tip; the fit finds its size [judgement]",
    )
    part.assume("root_thickness", 0.0 if form == "built" else 0.008, "usual value [judgement]")
    if "density" in part:
        part.derive(
            "mass_per_length",
            tuple(part["density"] * a for a in section),
            f"from {path} density, width and thickness",
        )
    if "mass_per_length" in part:
        part.derive(
            "mass",
            part["length"] * _mean(places, part["mass_per_length"]),
            f"from {path}.mass_per_length and {path}.length",
        )
    part.assume("mass", LIMB_MASS[category], f"usual for {category} [common practice]")
    shape = tuple(section) if shaped else tuple(1.0 + (MASS_AT_TIP - 1.0) * s for s in places)
    words = "as width x thickness" if shaped else f"falling from 1 at the root to {MASS_AT_TIP} at the tip [judgement]"
    size = part["mass"] / (part["length"] * _mean(places, shape))
    part.derive("mass_per_length", tuple(size * m for m in shape), f"from {path}.mass, {words}")
    return part


def _arc_length(bow: Any, path: str, roots: float) -> float:
    """Length of a limb bent as a circular arc from its pocket to the tip of the braced string [m].

    The string is 3.5 in shorter than the bow (common practice: a 68 in bow takes 64 to 65 in). With the chord
    at an angle h to the pocket's direction, the arc is h / sin(h) times as long as its chord.
    """
    up = (bow.length - STRING_SHORTER - roots) / 2
    if up <= 0.0:
        raise SetupError(
            path,
            f"no room for a limb: the roots are {show(roots, 'mm')} apart in a bow of "
            f"{show(bow.length, 'in')} (derived from bow.length and riser.length)",
            f"Check both, or give {path}",
        )
    back = (bow.upper_tiller + bow.lower_tiller) / 2
    angle = math.atan2(back, up) + bow.pocket_angle
    return math.hypot(back, up) * (angle / math.sin(angle) if abs(angle) > 1e-6 else 1.0)


def _mean(places: tuple[float, ...], table: tuple[float, ...]) -> float:
    """Mean along the limb of a table with straight lines between its places."""
    steps = zip(places, places[1:], table, table[1:], strict=False)
    return sum((b - a) * (low + high) / 2 for a, b, low, high in steps)


@lru_cache(KEPT)
def _string(string: String, form: Form) -> Part:
    part = Part(string, "string", form)
    if "material" not in part:
        return part
    material = part["material"]
    fibre = FIBRES[material]
    part.assume("strand_mass_per_length", fibre.strand_mass_per_length, f"usual strand of {material} [judgement]")
    part.assume("strand_strength", fibre.strand_strength, f"usual strand of {material} [judgement]")
    strands, each = part["strands"], part["strand_mass_per_length"]
    # The factor's default needs material and strands, which are here.
    stiffness = fibre_stiffness(material, strands, each, part["construction_factor"])
    part.derive(
        "axial_stiffness",
        stiffness,
        "from string.material, strands, strand_mass_per_length and construction_factor (fibre: [memory, rounded])",
    )
    part.derive("mass_per_length", strands * each, "from string.strands and strand_mass_per_length")
    return part


@lru_cache(KEPT)
def _rest(rest: Rest, form: Form) -> Part:
    part = Part(rest, "rest", form)
    if "droop" in part:
        part.derive(
            "stiffness",
            part["droop_mass"] * GRAVITY / part["droop"],
            "from rest.droop and droop_mass: weight over droop",
        )
    return part


@lru_cache(KEPT)
def _nock(nock: Nock, form: Form) -> Part:
    part = Part(nock, "nock", form)
    locators = part.inside["locators"]
    assert isinstance(locators, Part)
    how = "from nock.height: half of it and 1 mm, half a locator [judgement]"
    locators.derive("mass_at", part["height"] / 2 + 0.001, how)
    kind = locators["kind"]
    for place in ("upper", "lower"):
        present = locators[f"{place}_present"]
        locators.assume(
            f"{place}_mass",
            LOCATOR_MASS[kind] if present else 0.0,
            f"usual for {kind} locators [common practice]" if present else "there is no such locator",
        )
    return part


@lru_cache(KEPT)
def _archer(archer: Archer, form: Form) -> Part:
    part = Part(archer, "archer", form)
    hold = part["hold"]
    part.assume("finger_places", FINGER_PLACES[hold], f"usual for {hold} [common practice]")
    part.assume("finger_shares", FINGER_SHARES[hold], f"usual for {hold} [memory]")
    return part


@lru_cache(KEPT)
def _arrow(arrow: shaft.Arrow, form: Form, category: Category) -> Part:
    part = Part(arrow, "arrow", form)
    kind = "feather" if category == "traditional" else "vane"
    part.assume("fletching_kind", kind, f"usual for {category} [common practice]")
    kind = part["fletching_kind"]
    usual = shaft.FLETCHING[kind]
    for name in ("length", "height"):
        part.assume(f"fletching_{name}", getattr(usual, name), f"usual for a {kind} [common practice]")
    part.assume("fletching_drag", usual.drag, f"usual for a {kind} [judgement]")
    number, length, height = (part[f"fletching_{one}"] for one in ("number", "length", "height"))
    part.derive(
        "fletching_lift_slope",
        shaft.fletching_lift_slope(number, length, height, part["diameter"]),
        "from fletching_number, length and height and the shaft's diameter (Barrowman 1967)",
    )
    return part


@lru_cache(KEPT)
def _air(air: Air, form: Form) -> Part:
    part = Part(air, "air", form)
    if "altitude" in part:
        pressure = standard_pressure(part["altitude"])
        part.derive("pressure", pressure, "from air.altitude: standard atmosphere (ISO 2533)")
    return part
