"""The neutral bow: a bow on which nothing is there to turn the arrow, part by part.

It is a yardstick, not a bow to build. What is none of the parts (arrow, draw, limbs, the rest's height over the pivot)
stays as it is, so the neutral bow throws at some angle too. So do, in both planes, the side support, the arm's reach,
and how the string rolls off the fingers: by them the shaft leaves the rest, as it must on any bow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi
from archerysim.equipment.filled_setup import BuiltSetup, filled_as_built
from archerysim.equipment.readings import by_underside, read_by
from archerysim.errors import ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.statics.brace import GRAVITY, brace_to_height, brace_with_string

APART = 0.014  # [m] of index and middle finger from the throat's middle, the usual split hold
RING = 0.018  # [m] the unloaded ring finger under the middle one
EVEN = 0.05e-3  # [m] of tiller split that counts as none: the arrow's weight on the string makes half of that
STIFF = 1e5  # [N/m] of the neutral rest: like a shelf; stiffer ones throw the same to 0.01 deg
NO_TORQUE = InSi({"archer.grip_torque": 0.0})
HELD = (
    "locators set back to the same reading when the tiller is changed, string twisted back to the same brace "
    "height; limbs kept except for their pockets' angles"
)


@dataclass(frozen=True)
class BowPart:
    """One part of the bow that turns the arrow.

    Attributes
    ----------
    name : str
    here, neutral : str
        What it is on this bow, and on the neutral bow, in words.
    changes : mapping of path to value
        From the bow as built to its neutral state, in SI; empty where it is neutral already.
    reason : str
        Why there is no neutral state; empty where there is one.
    """

    name: str
    here: str
    neutral: str
    changes: InSi
    reason: str = ""


def parts_of(bow: FittedBow) -> tuple[BowPart, ...]:
    """The parts of a bow as built, each with its neutral state; in both planes its cant too, where it is canted."""
    full = filled_as_built(bow.setup)
    makers: tuple[Callable[[FittedBow, BuiltSetup], BowPart], ...] = (
        _reading,
        _tiller,
        _fingers,
        _hand,
        _rest,
        _slope,
        _stabilisers,
    )
    parts = tuple(make(bow, full) for make in makers)
    return (*parts, _cant(full)) if bow.planes == 2 and full.archer.cant else parts


def as_read(bow: FittedBow) -> InSi:
    """The locators by their reading instead of their place on the string."""
    return by_underside(bow.setup, bow.reading)


def _reading(bow: FittedBow, full: BuiltSetup) -> BowPart:
    square = 0.5 * (full.arrow.diameter - full.nock.height)
    above = bow.reading - square
    by = read_by(bow.setup)
    here = f"{1e3 * by.reading(bow.reading):.1f} mm {by.words}, nock axis {1e3 * above:+.1f} mm above square"
    changes = by_underside(bow.setup, square) if abs(above) > 1e-9 else NO_CHANGES
    return BowPart("reading", here, "nock axis at square", changes)


def _tiller(bow: FittedBow, full: BuiltSetup) -> BowPart:
    braced = brace_with_string(full, full.string.length, bow.mesh)
    split = braced.upper_tiller - braced.lower_tiller
    here, neutral = f"split {round(1e3 * split, 1) + 0.0:+.1f} mm", "no split, same brace height"
    if abs(split) < EVEN:
        return BowPart("tiller", here, neutral, NO_CHANGES)
    thickness = 0.5 * (full.upper_limb.root_thickness - full.lower_limb.root_thickness)
    try:
        even = brace_to_height(full, bow.brace_height, bow.mesh, thickness)
    except ShotError as error:
        return BowPart("tiller", here, neutral, NO_CHANGES, str(error))
    changes: dict[str, Any] = {"string.length": even.string_length}
    for limb, name, lean in zip(
        (full.upper_limb, full.lower_limb), ("upper_limb", "lower_limb"), even.leans, strict=True
    ):
        changes[f"{name}.pocket_angle"] = lean - limb.bolt_turns * limb.lean_per_turn
    return BowPart("tiller", here, neutral, InSi(changes))


def _fingers(bow: FittedBow, full: BuiltSetup) -> BowPart:
    archer = full.archer
    shares = " / ".join(f"{100.0 * share:.0f}" for share in archer.finger_shares)
    places = np.asarray(archer.finger_places) - archer.crawl
    at = ", ".join(f"{1e3 * place:+.0f}" for place in places)
    times = np.asarray(archer.release_time)
    alike = float(np.dot(archer.finger_shares, times))
    wanted: dict[str, Any] = {
        "archer.finger_places": (APART, -APART, -APART - RING), "archer.crawl": 0.0,
        "archer.finger_shares": (0.5, 0.5, 0.0), "archer.release_time": (alike,) * 3,
        "archer.release_delays": (0.0,) * 3,
    }  # fmt: skip
    neutral = f"two fingers, half the load each, {1e3 * APART:.0f} mm above and below the nock, letting go together"
    same = all(np.allclose(full.get(path), value, atol=1e-12) for path, value in wanted.items())
    return BowPart("fingers", f"{shares} % at {at} mm from the nock", neutral, NO_CHANGES if same else InSi(wanted))


def _hand(bow: FittedBow, full: BuiltSetup) -> BowPart:
    archer = full.archer
    neutral = "push through the pivot, no torque"
    if full.given.archer.pressure_point is not None:
        here = f"push {1e3 * archer.pressure_point:+.1f} mm above the pivot"
        return BowPart("hand", here, neutral, NO_TORQUE if archer.pressure_point else NO_CHANGES)
    here = f"torque {archer.grip_torque:+.2f} N m"
    return BowPart("hand", here, neutral, NO_TORQUE if archer.grip_torque else NO_CHANGES)


def _rest(bow: FittedBow, full: BuiltSetup) -> BowPart:
    stiffness = full.rest.stiffness
    here = f"gives {1e3 * 0.05 * GRAVITY / stiffness:.2f} mm under 50 g ({stiffness:.0f} N/m)"
    changes = InSi({"rest.stiffness": STIFF}) if stiffness < 0.999 * STIFF else NO_CHANGES
    return BowPart("rest", here, f"hard as a shelf ({STIFF:.0f} N/m)", changes)


def _slope(bow: FittedBow, full: BuiltSetup) -> BowPart:
    slope = full.nock.slope
    return BowPart("slope", f"floor {np.degrees(slope):+.1f} deg", "floor square to the shaft",
                InSi({"nock.slope": 0.0}) if slope else NO_CHANGES)  # fmt: skip


def _stabilisers(bow: FittedBow, full: BuiltSetup) -> BowPart:
    rods = bow.setup.riser.rods
    mass = sum(rod.end_mass + rod.rod_mass for rod in full.riser.rods)
    fields = ("end_mass", "rod_mass")
    changes = {f"riser.rods.{k}.{field}": 0.0 for k in range(len(rods)) for field in fields} if mass else {}
    here = f"{1e3 * mass:.0f} g on {len(rods)} rod{'s' if len(rods) != 1 else ''}" if rods else "none"
    return BowPart("stabilisers", here, "none", InSi(changes))


def _cant(full: BuiltSetup) -> BowPart:
    """Of what turns the arrow sideways, a canted bow makes some up or down."""
    here = f"bow canted by {np.degrees(full.archer.cant):+.1f} deg"
    return BowPart("cant", here, "bow upright", InSi({"archer.cant": 0.0}))
