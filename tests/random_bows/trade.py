"""The trade's directions (common practice), each asked of one bow: two numbers, of which the second is the higher.

On the target, at 18 m: a bare shaft's place beside the fletched one's, both aimed alike. Left is meant for a
right-handed archer, seen from behind: away from the riser's window.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from archerysim.equipment import filled
from archerysim.equipment.arrow import grains_per_pound, total_mass
from archerysim.errors import SetupError
from archerysim.fields.paths import InSi
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.shot.flight.fly import flown
from archerysim.shot.flight.sight import sight_of
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import NOT_TO_SHOOT, limits_at_draw
from archerysim.study.tuning.together import together_reading
from tests.random_bows.contact import back_on_the_rest, contact, that_passes_clear

DISTANCE = 18.0  # [m]
MM, GRAIN = 1e-3, 6.479891e-5
FIRM = 20.0  # [N] preload of a side support that gives nowhere
GIVES = 0.25  # of what a firm one bears: up to such a preload the shaft moves the support
LIGHT = 4.5  # [grains per pound]
USUAL: dict[str, Any] = {
    "nock.slope": 0.0, "archer.finger_places": None, "archer.finger_shares": None, "bow.stiffness_ratio": None,
}  # fmt: skip
UNDER = {"archer.hold": "three under", "archer.finger_places": (-0.014, -0.032, -0.050)}
UNDER_SHARES = {"archer.finger_shares": (0.45, 0.38, 0.17)}


class Told(NamedTuple):
    """What became of a direction on a bow: it holds where the second number is the higher."""

    before: float
    after: float
    shots: tuple[Launch, ...] = ()

    @property
    def holds(self) -> bool:
        return self.after > self.before

    def contact(self, up_and_down: bool) -> tuple[str, ...]:
        """What touches in any of its shots."""
        found = [word for shot in self.shots for word in contact(shot)]
        if up_and_down and any(map(back_on_the_rest, self.shots)):
            found.append("shaft back on the rest")
        return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class Direction:
    """A direction: its number on the trade's list, its words, the unit of its numbers, and how it is asked.

    ``ask`` gives None where the bow has no such thing. ``by`` says what it follows from: the shot "sideways" or
    "up and down", which contact may turn round, or "geometry" and mass alone. ``usual`` is
    a direction that is no rule: it holds for most.
    """

    number: str
    words: str
    unit: str
    by: Literal["sideways", "up and down", "geometry"]
    ask: Callable[[FittedBow], Told | None] = field(repr=False)
    usual: bool = False


def value(bow: FittedBow, path: str) -> float:
    return float(filled(bow.setup).number(path))


def height(launch: Launch) -> float:
    """Of the bare shaft above the fletched one, less what drag and mass alone make [mm]."""
    leaving = leaving_at_sight(launch, DISTANCE)
    both, plain = (gap_at(launch, DISTANCE, leaving, lift=lift).height for lift in (True, False))
    return (both - plain) / MM


def left(launch: Launch) -> float:
    """Of the bare shaft beside the fletched one [mm]."""
    return gap_at(launch, DISTANCE, leaving_at_sight(launch, DISTANCE)).side / MM


def between(measure: Callable[[Launch], float], before: Launch, after: Launch) -> Told:
    return Told(measure(before), measure(after), (before, after))


def changed(bow: FittedBow, path: str, by: float) -> Launch:
    return bow.launch(InSi({path: value(bow, path) + by}))


def more(bow: FittedBow, path: str, factor: float) -> Launch:
    return bow.launch(InSi({path: value(bow, path) * factor}))


def raised(bow: FittedBow, by: float) -> Launch:
    """A shot with the locators higher [mm]."""
    return bow.at_reading((bow.reading / MM + by, "mm"))


def stiffer_shaft(bow: FittedBow) -> Told:
    return between(left, bow.launch(), more(bow, "arrow.spine", 0.95))


def weaker_shaft(bow: FittedBow) -> Told:
    return between(left, more(bow, "arrow.spine", 1.05), bow.launch())


def borne(bow: FittedBow) -> float:
    """Greatest force of the shaft on a side support that gives nowhere [N]."""
    return bow.launch(InSi({"side.preload": FIRM})).passage.greatest_side_force


def sprung(bow: FittedBow) -> bool:
    return bool(filled(bow.setup).side.kind == "sprung")


def more_preload(bow: FittedBow) -> Told | None:
    if not sprung(bow):
        return None
    none, some = (bow.launch(InSi({"side.preload": at})) for at in (0.0, GIVES * borne(bow)))
    return between(left, none, some)


def stiffer_spring(bow: FittedBow) -> Told | None:
    if not sprung(bow):
        return None
    usual = value(bow, "side.stiffness")
    softer, stiffer = (
        bow.launch(InSi({"side.preload": 0.0, "side.stiffness": by * usual})) for by in (0.25, 0.5)
    )  # fmt: skip
    return between(left, softer, stiffer)


def side_further_out(bow: FittedBow) -> Told:
    """The fletched arrow's place on the target, its aim held against the bow's plane."""
    shots = [changed(bow, "side.offset", by * MM) for by in (-0.5, 0.5)]
    aim = sight_of(shots[0], DISTANCE)
    leans = [math.radians(shot.passage.side_aim_angle) for shot in shots]
    places = [
        flown(shot, distance=DISTANCE, elevation=aim.elevation, windage=aim.windage + lean - leans[0]).impact_side / MM
        for shot, lean in zip(shots, leans, strict=True)
    ]
    return Told(places[0], places[1], tuple(shots))


def lighter_point(bow: FittedBow) -> Told:
    return between(left, changed(bow, "arrow.point_mass", 15.0 * GRAIN), bow.launch())


def less_weight(bow: FittedBow) -> Told:
    """Measured anew; the limbs' tips as much softer sideways."""
    edited = FittedBow.of(bow.given, bow.mesh, planes=2)
    kept = {"arrow.spine": value(bow, "arrow.spine"), "nock.locators.reading": bow.reading}
    drawn = [
        edited.with_changes(InSi({"bow.draw_weight": factor * bow.given.bow.draw_weight})).launch(InSi(kept))
        for factor in (1.05, 1.0)
    ]
    return between(left, drawn[0], drawn[1])


def shorter_shaft(bow: FittedBow) -> Told:
    return between(left, bow.launch(), changed(bow, "arrow.length", -10.0 * MM))


def left_handed(bow: FittedBow) -> Told:
    """The same numbers, told the other way: one where they are, nought where not."""
    one, other = bow.launch(), bow.launch({"archer.handed": "left"})
    same = one.clear == other.clear and left(one) == left(other)
    return Told(0.0, float(same), (one,))


def nose_down(bow: FittedBow) -> Told:
    return between(lambda shot: -shot.clear.pitch, raised(bow, -1.0), raised(bow, 1.0))


def too_low_too_high(bow: FittedBow) -> Told:
    return between(height, raised(bow, 2.0), raised(bow, -2.0))


def above_square(bow: FittedBow) -> Told | None:
    """How far inside the usual 3 to 12 mm the reading is that brings both together [mm].

    Of the bow with a throat that is square, usual fingers, and limbs alike.
    """
    if filled(bow.setup).category == "traditional":
        return None
    usual = bow.given.with_si(**USUAL)
    found = together_reading(that_passes_clear(FittedBow.of(usual, bow.mesh, planes=2)))
    return Told(0.0, min(found.reading - 3.0, 12.0 - found.reading), (found.launch,))


def lower_rest(bow: FittedBow) -> Told:
    return Told(bow.reading, bow.with_changes(InSi({"rest.height": value(bow, "rest.height") - 3.0 * MM})).reading)


def lower_bolt_in(bow: FittedBow) -> Told:
    turned = bow.with_changes(InSi({"lower_limb.bolt_turns": value(bow, "lower_limb.bolt_turns") + 1.0}))
    return Told(turned.reading, bow.reading)


def upper_bolt_in(bow: FittedBow) -> Told:
    turned = bow.with_changes(InSi({"upper_limb.bolt_turns": value(bow, "upper_limb.bolt_turns") + 1.0}))
    return Told(bow.reading, turned.reading)


def sloped_throat(bow: FittedBow) -> Told:
    slope = {"nock.slope": value(bow, "nock.slope") + math.radians(4.0)}
    return between(height, bow.launch(), bow.launch(InSi(slope), "reading"))


def fatter_shaft(bow: FittedBow) -> Told:
    """How far a bare shaft goes up or down by it [mm], against half a millimetre."""
    fat = bow.launch(InSi({"arrow.diameter": value(bow, "arrow.diameter") + MM}), "reading")
    return Told(0.5, abs(height(fat) - height(bow.launch())), (bow.launch(), fat))


def three_under(bow: FittedBow) -> Told | None:
    if filled(bow.setup).archer.hold != "split":
        return None
    return between(height, bow.launch(), bow.launch(InSi({**UNDER, **UNDER_SHARES})))


def heavier_locators(bow: FittedBow) -> Told:
    heavy = {
        f"nock.locators.{one}_mass": value(bow, f"nock.locators.{one}_mass") + 0.4e-3 for one in ("upper", "lower")
    }
    return between(lambda shot: -shot.clear.speed, bow.launch(), bow.launch(InSi(heavy)))


def too_light(bow: FittedBow) -> Told:
    """Whether an arrow of 4.5 grains per pound is warned of, or refused."""
    arrow = filled(bow.setup).arrow
    factor = LIGHT / grains_per_pound(total_mass(arrow), bow.statics.drawn.weight)
    masses = ("mass_per_length", "point_mass", "nock_mass", "fletching_mass")
    try:
        light = bow.with_changes(InSi({f"arrow.{name}": factor * getattr(arrow, name) for name in masses}))
    except SetupError:
        return Told(0.0, 1.0)
    told = limits_at_draw(filled(light.setup), light.statics.drawn)
    return Told(0.0, float(any(name in told for name in NOT_TO_SHOOT)))


BARE = "bare shafts land further left"
DIRECTIONS = (
    Direction("sideways 1", f"shaft 5 % stiffer: {BARE}", "mm", "sideways", stiffer_shaft),
    Direction("sideways 1", "shaft 5 % weaker: bare shafts land further right", "mm", "sideways", weaker_shaft),
    Direction("sideways 2", f"side support with a preload that it still gives under, against none: {BARE}", "mm",
              "sideways", more_preload),
    Direction("sideways 2", f"side support's spring half of the usual, not a quarter, no preload: {BARE}", "mm",
              "sideways", stiffer_spring),
    Direction("sideways 3", "side support 1 mm further out: the group moves left", "mm", "sideways", side_further_out),
    Direction("sideways 4", f"point 15 gr lighter: {BARE}", "mm", "sideways", lighter_point),
    Direction("sideways 4", f"draw weight 5 % less: {BARE}", "mm", "sideways", less_weight),
    Direction("sideways 4", f"shaft 10 mm shorter: {BARE}", "mm", "sideways", shorter_shaft),
    Direction("sideways 5", "left-handed: the same, mirrored", "", "geometry", left_handed),
    Direction("height 1", "locators 2 mm higher: nose down at clear", "deg", "up and down", nose_down),
    Direction("height 2", "locators 4 mm lower: bare shafts land higher", "mm", "up and down", too_low_too_high),
    Direction("height 3", "bare and fletched together at a reading of 3 to 12 mm", "mm", "up and down", above_square,
              usual=True),
    Direction("height 4", "rest 3 mm lower: the same locators read higher", "m", "geometry", lower_rest),
    Direction("height 5", "lower bolt a turn in: the same locators read lower", "m", "geometry", lower_bolt_in),
    Direction("height 5", "upper bolt a turn in: the same locators read higher", "m", "geometry", upper_bolt_in),
    Direction("height 6", "throat sloped 4 deg more: a higher reading is needed", "mm", "up and down", sloped_throat),
    Direction("height 7", "shaft 1 mm fatter: another reading is needed", "mm", "up and down", fatter_shaft),
    Direction("height 8", "three fingers under: a higher reading is needed", "mm", "up and down", three_under),
    Direction("height 9", "locators 0.4 g heavier each: the arrow is slower", "m/s", "geometry", heavier_locators),
    Direction("height 10", "arrow of 4.5 grains per pound: not to be shot", "", "geometry", too_light),
)  # fmt: skip
