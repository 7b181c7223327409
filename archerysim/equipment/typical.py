"""What is typical in each category, and what in a setup is not. Common practice unless marked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from archerysim.equipment import arrow as shaft
from archerysim.equipment import readings
from archerysim.equipment.derived_values import STRING_SHORTER
from archerysim.equipment.filled_records import ReadLocators
from archerysim.equipment.filled_setup import BuiltSetup, FilledSetup, MeasuredSetup, filled, sources
from archerysim.equipment.setup import Category, Setup
from archerysim.fields import units

CATEGORIES = ("junior", "club", "elite", "barebow", "traditional")
INDOOR_DIAMETER = 7e-3  # a shaft from here up counts as an indoor one [m] [judgement]


class Oddity(NamedTuple):
    """A value outside what is typical: not an error, but worth a second look.

    Attributes
    ----------
    path : str
        Dotted path of the field, or of the record that the value sums up.
    value : float
        In SI; a reading by the underside.
    typical : tuple of float
        Low and high end in SI.
    words : str
        One line; a reading by the setup's convention.
    """

    path: str
    value: float
    typical: tuple[float, float]
    words: str


@dataclass(frozen=True)
class Typical:
    """Typical range of one value, per category, in `unit`.

    `value` finds the value in a filled setup; None if it is unknown.
    """

    name: str
    path: str
    unit: str
    ranges: dict[str, tuple[float, float]]
    value: Callable[[FilledSetup], float | None]

    def range_si(self, setup: Setup | FilledSetup) -> tuple[float, float]:
        """Low and high end for a setup, in SI."""
        low, high = self.ranges[_key(self.ranges, setup)]
        size = float(units.factor(self.unit, self.unit))
        return low * size, high * size


def _key(ranges: dict[str, tuple[float, float]], setup: Setup | FilledSetup) -> str:
    indoor = f"{setup.category}, indoor"
    return indoor if indoor in ranges and setup.arrow.diameter >= INDOOR_DIAMETER else setup.category


def _by_category(*five: tuple[float, float]) -> dict[str, tuple[float, float]]:
    return dict(zip(CATEGORIES, five, strict=True))


def _any_bow(low: float, high: float) -> dict[str, tuple[float, float]]:
    return dict.fromkeys(CATEGORIES, (low, high))


def _field(name: str, path: str, unit: str, ranges: dict[str, tuple[float, float]]) -> Typical:
    return Typical(name, path, unit, ranges, lambda setup: setup.get(path))


def stabiliser_mass(setup: FilledSetup) -> float:
    """Mass of all stabilisers and weights [kg]."""
    return sum(rod.end_mass + rod.rod_mass for rod in setup.riser.rods)


def string_mass(setup: FilledSetup) -> float:
    """Mass of the string with servings and small masses, without locators [kg]."""
    string = setup.string
    length = setup.string.length if isinstance(setup, BuiltSetup) else setup.bow.length - STRING_SHORTER
    return (
        length * string.mass_per_length
        + string.serving_length * string.serving_mass_per_length
        + 2 * string.end_serving_length * string.end_serving_mass_per_length
        + sum(one.mass for one in string.masses)
    )


def tiller_split(setup: FilledSetup) -> float | None:
    """Upper less lower tiller [m]; None in form "built"."""
    return setup.bow.upper_tiller - setup.bow.lower_tiller if isinstance(setup, MeasuredSetup) else None


def recurve_pocket_angle(setup: FilledSetup) -> float | None:
    """Mean pocket angle [rad] of limbs with the usual shape of a recurve's, which goes with small ones; else None."""
    usual = all(setup.get(f"{limb}.shape") == "recurve" for limb in ("upper_limb", "lower_limb"))
    return setup.bow.pocket_angle if usual and isinstance(setup, MeasuredSetup) else None


def tip_angle(name: str) -> Callable[[FilledSetup], float]:
    """By how much the tip of the unstrung limb of that name is turned forward against its root [rad]."""

    def angle(setup: FilledSetup) -> float:
        from archerysim.equipment.limbs.natural_shape import limb_line

        return float(limb_line(getattr(setup, name)).angle[-1])

    return angle


def underside_reading(setup: FilledSetup) -> float | None:
    """Reading to the underside of the nock [m]; None if the locators' place is given."""
    locators = setup.nock.locators
    return float(readings.read_by(setup).underside(locators.reading)) if isinstance(locators, ReadLocators) else None


def _row(name: str, row: str, index: int, unit: str, ranges: dict[str, tuple[float, float]]) -> Typical:
    return _field(name, f"archer.{row}.{index}", unit, ranges)


def reach_over_shaft(setup: FilledSetup) -> float | None:
    """Reach of the rest's arm over the shaft's diameter; None of a shelf."""
    return setup.rest.reach / setup.arrow.diameter if setup.rest.kind == "arm" else None


def sprung(name: str) -> Callable[[FilledSetup], float | None]:
    """A number of the side support of that name; None of a plate."""
    return lambda setup: getattr(setup.side, name) if setup.side.kind == "sprung" else None


_DRAW_WEIGHT = _by_category((10, 22), (22, 38), (36, 54), (28, 46), (25, 60))
_ARROW = _by_category((14, 22), (17, 28), (16, 22), (18, 32), (26, 42)) | {"elite, indoor": (22, 32)}
_STABILISERS = _by_category((0, 0.2), (0.2, 0.7), (0.5, 1.2), (0.3, 1.5), (0, 0))
_LIMB = _by_category((70, 130), (130, 200), (140, 200), (140, 200), (100, 250))
_RELEASE = _by_category((5, 15), (4, 10), (2, 6), (3, 8), (4, 12))
_FINGERS = ("index finger", "middle finger", "ring finger")

TABLE: tuple[Typical, ...] = (
    _field("bow length", "bow.length", "in", _by_category((48, 62), (64, 70), (66, 72), (66, 70), (58, 70))),
    _field("draw weight", "bow.draw_weight", "lbf", _DRAW_WEIGHT),
    _field(
        "brace height",
        "bow.brace_height",
        "mm",
        _by_category((165, 205), (210, 240), (215, 245), (210, 240), (155, 205)),
    ),
    Typical(
        "tiller split",
        "bow.upper_tiller",
        "mm",
        _by_category((0, 6), (2, 8), (2, 8), (-3, 4), (0, 8)),
        tiller_split,
    ),
    Typical(
        "pocket angle beside the usual recurve shape",
        "bow.pocket_angle",
        "deg",
        _any_bow(-3, 7),  # [judgement]: beyond, it stands near tipping over, or stores less than measured ones
        recurve_pocket_angle,
    ),
    *(
        # a tip turned further back: a profile traced with x towards the archer, or a wrong sign [judgement]
        Typical(
            f"angle of the unstrung {name} limb's tip",
            f"{name}_limb",
            "deg",
            _any_bow(-20, 100),
            tip_angle(f"{name}_limb"),
        )
        for name in ("upper", "lower")
    ),
    Typical(
        "reading by the underside",
        "nock.locators.reading",
        "mm",
        _by_category((3, 10), (3, 10), (4, 12), (6, 15), (4, 12)),
        underside_reading,
    ),
    _field(
        "rest stiffness",
        "rest.stiffness",
        "N/m",
        _by_category((200, 1500), (300, 5000), (300, 5000), (300, 5000), (1e4, 1e5)),
    ),
    Typical("reach of the rest over the shaft's diameter", "rest.reach", "", _any_bow(0.5, 1.5), reach_over_shaft),
    _field("centre shot", "side.offset", "mm", _by_category((-1, 3), (0, 4), (0, 4), (0, 4), (-1, 8))),
    Typical("side support stiffness", "side.stiffness", "N/m", _any_bow(300, 6000), sprung("stiffness")),  # [judgement]
    Typical("side support preload", "side.preload", "N", _any_bow(0.3, 8), sprung("preload")),  # [judgement]
    *(_row(f"release time, {finger}", "release_time", i, "ms", _RELEASE) for i, finger in enumerate(_FINGERS)),
    _field(
        "riser mass",
        "riser.mass",
        "kg",
        _by_category((0.5, 1.0), (1.0, 1.3), (1.1, 1.5), (1.1, 1.4), (0.4, 1.2)),
    ),
    Typical("mass of stabilisers and weights", "riser.rods", "kg", _STABILISERS, stabiliser_mass),
    _field("mass of the upper limb", "upper_limb.mass", "g", _LIMB),
    _field("mass of the lower limb", "lower_limb.mass", "g", _LIMB),
    Typical(
        "mass of the string",
        "string",
        "g",
        _by_category((4, 8), (6, 9), (6, 8), (6, 9), (7, 13)),
        string_mass,
    ),
    _field(
        "string stiffness EA",
        "string.axial_stiffness",
        "N",
        _by_category((0.2e5, 1.5e5), (0.6e5, 2.5e5), (0.8e5, 3e5), (0.8e5, 2.5e5), (0.15e5, 1.5e5)),
    ),
    Typical("mass of the arrow", "arrow", "g", _ARROW, lambda setup: shaft.total_mass(setup.arrow)),
    _field("nock height", "nock.height", "mm", _any_bow(5, 8)),
    _field("throat floor", "nock.floor", "mm", _any_bow(3, 5)),
    _field("throat depth", "nock.depth", "mm", _any_bow(3, 6)),
    _field("slope of the throat's floor", "nock.slope", "deg", _any_bow(-5, 10)),
    _field("grip of the nock", "nock.grip", "N", _any_bow(1, 10)),  # [judgement]
    _field("crawl", "archer.crawl", "mm", _any_bow(0, 90)),
    _field("pressure point", "archer.pressure_point", "mm", _any_bow(-15, 15)),
    _field("cant", "archer.cant", "deg", _by_category((-5, 10), (-5, 5), (-5, 5), (-5, 15), (-5, 30))),
)

# Depends on the locators' kind [g each] and on the hold: shares [memory], places [mm] before the crawl.
LOCATOR_MASS = {"tied": (0.05, 0.15), "metal": (0.3, 0.5)}
FINGER_SHARES = {
    "split": ((0.25, 0.40), (0.40, 0.55), (0.10, 0.30)),
    "three under": ((0.35, 0.50), (0.30, 0.45), (0.10, 0.25)),
}
FINGER_PLACES = {
    "split": ((12, 17), (-17, -12), (-36, -29)),
    "three under": ((-16, -12), (-35, -29), (-54, -46)),
}


def usual_draw_weight(category: Category) -> tuple[float, float]:
    """Least and greatest draw weight that is usual in a category [N]."""
    size = float(units.factor("lbf", "lbf"))
    low, high = _DRAW_WEIGHT[category]
    return low * size, high * size


def typical(setup: Setup | FilledSetup) -> list[Typical]:
    """All typical ranges that apply to a setup, those of its locators and its hold among them."""
    full = filled(setup)
    hold, kind = full.archer.hold, full.nock.locators.kind
    rows = list(TABLE)
    for place in ("upper", "lower"):
        if full.get(f"nock.locators.{place}_present"):
            rows.append(
                _field(
                    f"mass of the {place} locator",
                    f"nock.locators.{place}_mass",
                    "g",
                    _any_bow(*LOCATOR_MASS[kind]),
                )
            )
    for i, finger in enumerate(_FINGERS):
        rows.append(_row(f"share of the {finger}", "finger_shares", i, "", _any_bow(*FINGER_SHARES[hold][i])))
        rows.append(_row(f"place of the {finger}", "finger_places", i, "mm", _any_bow(*FINGER_PLACES[hold][i])))
    return rows


def oddities(setup: Setup | FilledSetup) -> list[Oddity]:
    """The values of a setup that are outside what is typical for its category, in the order of the table.

    Parameters
    ----------
    setup : Setup

    Returns
    -------
    list of Oddity
        Path, value, usual range (SI) and a sentence for each; empty if nothing is odd.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> archerysim.oddities(setup)
    []
    >>> [odd.path for odd in archerysim.oddities(setup.replace({"bow.brace_height": "150 mm"}))]
    ['bow.brace_height']
    """
    full = filled(setup)
    origin = {} if full is setup else sources(setup)
    odd = []
    for row in typical(setup):
        value = row.value(full)
        low, high = row.range_si(full)
        slack = 1e-9 * max(abs(low), abs(high))
        if value is None or low - slack <= value <= high + slack:
            continue
        source = origin.get(row.path.rstrip(".0123456789"))
        assumed = " (assumed)" if source is not None and source.kind == "assumed" else ""
        name, values = row.name, (value, low, high)
        if row.path == readings.READING:
            by = readings.read_by(full)
            name, values = f"reading {by.words}", tuple(by.reading(one) for one in values)
        at, least, most = (units.show(one, row.unit) for one in values)
        ends = f"{least.removesuffix(row.unit).rstrip()} to {most}"
        words = f"{name} {at}{assumed} is outside {ends}, typical for {_key(row.ranges, full)}"
        odd.append(Oddity(row.path, value, (low, high), words))
    return odd
