"""The records of a setup with nothing missing: what a shot is computed from.

Each has the fields of the record that it is made from, in the same order and unit (there their meaning is said), but
for those that only lead to others (a string's material), limits, and those that only one form of setup knows: a
measured bow has its measures, a built one what the fit would find.
"""

from __future__ import annotations

from typing import Any, Self

import msgspec

from archerysim.equipment.archer import Handed, Hold, Three
from archerysim.equipment.arrow import FletchingKind, PointShape
from archerysim.equipment.bow import Kind, SplitFrom
from archerysim.equipment.bowstring import StringMass
from archerysim.equipment.nock import Convention, LocatorKind
from archerysim.equipment.rest import RestKind
from archerysim.equipment.side import SideKind
from archerysim.fields.filling import Filling

Table = tuple[float, ...]


class Filled(msgspec.Struct, frozen=True, kw_only=True):
    """Base of the filled records: values in SI, angles in radians, for reading only."""

    @classmethod
    def of(cls, filling: Filling) -> Self:
        """The record that holds a filling's values; kept with it."""
        made: Self | None = filling.made.get(cls)
        if made is None:
            values = {name: filling[name] for name in cls.__struct_fields__ if name in filling}
            made = filling.made[cls] = cls(**values, **cls.inner(filling))
        return made

    @classmethod
    def inner(cls, filling: Filling) -> dict[str, Any]:
        """The records inside, by name."""
        return {}


class FilledBow(Filled, frozen=True, kw_only=True):
    """The bow as a whole, of either form."""

    length: float
    kind: Kind


class MeasuredBow(FilledBow, frozen=True, kw_only=True):
    """The bow as a whole, as measured.

    The stiffness ratio is 1 to begin with where it is for the fit to find; where the arrow's speed was not measured, it
    is 0.
    """

    brace_height: float
    upper_tiller: float
    lower_tiller: float
    draw_weight: float
    draw_weight_at: float
    arrow_speed: float = 0.0
    pocket_angle: float
    stiffness_ratio: float = 1.0
    split_from: SplitFrom


class FilledLamination(Filled, frozen=True, kw_only=True):
    """One lamination of a limb; its thickness stands at each of the limb's places."""

    thickness: Table
    taper: float
    modulus: float
    density: float


class FilledLimb(Filled, frozen=True, kw_only=True):
    """One limb, of either form.

    Of a limb that is given by its stiffness the tables of width and thickness are empty and the modulus is 0; so is the
    density of one whose mass is given in another way. ``curvature_at`` is empty where the natural curvature stands at
    the places of the other tables. The thickness of a limb of laminations is that of all of them, its modulus and
    density are those of the first: after a fit others than that lamination's own, the others then keep their ratios.
    """

    length: float
    mass: float
    butt: float
    butt_mass: float
    tip_mass: float
    at: Table
    bending_stiffness: Table
    mass_per_length: Table
    width: Table = ()
    thickness: Table = ()
    laminations: tuple[FilledLamination, ...] = ()
    modulus: float = 0.0
    density: float = 0.0
    natural_curvature: Table
    curvature_at: Table = ()
    root_thickness: float
    axial_stiffness: float
    loss_time: float
    hysteresis: float
    side_stiffness: float
    side_damping: float
    side_mass: float
    bolt_turns: float
    lean_per_turn: float

    @classmethod
    def inner(cls, filling: Filling) -> dict[str, Any]:
        """The laminations."""
        return {"laminations": tuple(FilledLamination.of(strip) for strip in filling.inside["laminations"])}


class BuiltLimb(FilledLimb, frozen=True, kw_only=True):
    """One limb of a built bow."""

    pocket_angle: float


def swinging_mass(end_mass: float, rod_mass: float) -> float:
    """Mass at a rod's end that swings as the whole does: Rayleigh's 33/140 of the rod's own with the end mass [kg]."""
    return end_mass + 33 / 140 * rod_mass


def can_swing(length: float, mass: float) -> bool:
    """Whether there is anything to bend: more than a millimetre, and a milligram."""
    return length > 1e-3 and mass > 1e-6


class FilledRod(Filled, frozen=True, kw_only=True):
    """A stabiliser or weight; the frequency of one that does not bend by itself is 0."""

    start_x: float
    start_y: float
    length: float
    direction: float
    rod_mass: float
    end_mass: float
    frequency: float
    damping: float
    rigid: bool

    @property
    def bends(self) -> bool:
        """Whether it has length and mass and is not said to be rigid."""
        return not self.rigid and self.frequency > 0.0 and can_swing(self.length, self.swinging_mass)

    @property
    def swinging_mass(self) -> float:
        """Mass at the end that would swing alike [kg]."""
        return swinging_mass(self.end_mass, self.rod_mass)


class FilledRiser(Filled, frozen=True, kw_only=True):
    """The riser, of either form."""

    length: float
    mass: float
    mass_centre_x: float
    mass_centre_y: float
    inertia: float
    upper_root_y: float
    lower_root_y: float
    rods: tuple[FilledRod, ...]

    @classmethod
    def inner(cls, filling: Filling) -> dict[str, Any]:
        """The rods."""
        return {"rods": tuple(FilledRod.of(rod) for rod in filling.inside["rods"])}


class BuiltRiser(FilledRiser, frozen=True, kw_only=True):
    """The riser of a built bow."""

    upper_root_x: float
    lower_root_x: float


class FilledString(Filled, frozen=True, kw_only=True):
    """The string, of either form.

    Where its stiffness and mass were measured, nothing is known of its strands: their number and strength are 0.
    """

    strands: int = 0
    axial_stiffness: float
    mass_per_length: float
    strand_strength: float = 0.0
    serving_length: float
    serving_centre: float
    serving_mass_per_length: float
    end_serving_length: float
    end_serving_mass_per_length: float
    transverse_loss: float
    axial_loss: float
    masses: tuple[StringMass, ...]

    @classmethod
    def inner(cls, filling: Filling) -> dict[str, Any]:
        """The small masses, of which all is given."""
        return {"masses": tuple(mass.record for mass in filling.inside["masses"])}


class BuiltString(FilledString, frozen=True, kw_only=True):
    """The string of a built bow."""

    length: float


class FilledRest(Filled, frozen=True, kw_only=True):
    """The rest."""

    kind: RestKind
    forward: float
    height: float
    stiffness: float
    damping: float
    reach: float
    fold_force: float
    support_travel: float
    unlimited_support: bool


class FilledSide(Filled, frozen=True, kw_only=True):
    """The side support."""

    kind: SideKind
    offset: float
    stiffness: float
    preload: float
    travel: float
    damping: float
    forward: float


class FilledLocators(Filled, frozen=True, kw_only=True):
    """The locators, however their place is given."""

    convention: Convention
    kind: LocatorKind
    upper_mass: float
    lower_mass: float
    mass_at: float
    upper_present: bool
    lower_present: bool
    gap: float
    stiffness: float
    loss: float


class ReadLocators(FilledLocators, frozen=True, kw_only=True):
    """Locators that are set by a square on the braced bow; bracing finds their place."""

    reading: float


class TiedLocators(FilledLocators, frozen=True, kw_only=True):
    """Locators tied at a place on the string; bracing finds their reading."""

    place: float


class FilledNock(Filled, frozen=True, kw_only=True):
    """The nock."""

    height: float
    floor: float
    depth: float
    slope: float
    grip: float
    snap_travel: float
    friction: float
    edge_stiffness: float
    edge_loss: float
    groove_stiffness: float
    groove_loss: float
    locators: ReadLocators | TiedLocators

    @classmethod
    def inner(cls, filling: Filling) -> dict[str, Any]:
        """The locators."""
        locators = filling.inside["locators"]
        return {"locators": (TiedLocators if "place" in locators else ReadLocators).of(locators)}


class FilledArrow(Filled, frozen=True, kw_only=True):
    """The arrow."""

    length: float
    diameter: float
    spine: float
    mass_per_length: float
    point_mass: float
    point_at: float
    insert_mass: float
    insert_at: float
    nock_mass: float
    nock_at: float
    fletching_mass: float
    fletching_at: float
    fletching_number: float
    fletching_kind: FletchingKind
    fletching_length: float
    fletching_height: float
    fletching_angle: float
    fletching_lift_slope: float
    fletching_drag: float
    point_length: float
    point_shape: PointShape
    shaft_drag_factor: float
    axial_stiffness: float


class FilledArcher(Filled, frozen=True, kw_only=True):
    """The archer.

    The hand pushes at the pressure point, and turns the bow by the torque besides: the one that is not given is 0.
    """

    hold: Hold
    draw_length: float
    crawl: float
    finger_places: Three
    finger_shares: Three
    pad_width: float
    release_time: Three
    release_delays: Three
    pinch: float
    side_roll: float
    side_hold: float
    handed: Handed
    grip_torque: float = 0.0
    pressure_point: float = 0.0
    hand_stiffness: float
    hand_damping: float
    hand_rotational_stiffness: float
    hand_rotational_damping: float
    elevation: float
    cant: float


class FilledAir(Filled, frozen=True, kw_only=True):
    """The air."""

    temperature: float
    pressure: float
    head_wind: float
