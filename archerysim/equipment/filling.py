"""Filling in what a setup does not give: derived from other values, or assumed. Every value says which."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, NoReturn

from archerysim.equipment import arrow as shaft
from archerysim.equipment.air import standard_pressure
from archerysim.equipment.archer import FINGER_PLACES, FINGER_SHARES
from archerysim.equipment.bowstring import FIBRES, fibre_stiffness
from archerysim.equipment.decode import join
from archerysim.equipment.errors import SetupError
from archerysim.equipment.nock import LOCATOR_MASS
from archerysim.equipment.paths import resolve
from archerysim.equipment.quantity import Quantity
from archerysim.equipment.record import Record, default_of, fields_of, opened, tables_of, walk
from archerysim.equipment.setup import Setup
from archerysim.equipment.units import show

GRAVITY = 9.81  # [m/s^2], as in the model

# Middle of the typical range, common practice [kg].
LIMB_MASS = {"junior": 0.100, "club": 0.165, "elite": 0.170, "barebow": 0.170, "traditional": 0.175}
RISER_MASS = {"junior": 0.75, "club": 1.15, "elite": 1.30, "barebow": 1.25, "traditional": 0.80}

STRING_SHORTER = 3.5 * 0.0254  # a recurve's string against its bow [m], common practice

# Shapes along a limb, from root to tip [judgement].
STIFFNESS_AT_TIP = 0.235
MASS_AT_TIP = 0.39


Kind = Literal["given", "derived", "assumed"]


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


GIVEN: tuple[Kind, str] = ("given", "given")


class FilledSetup(Setup, frozen=True, kw_only=True):
    """A setup with every value filled in, for reading only.

    It holds a value and what it was derived from side by side, so it is neither changed nor saved: do
    that with the setup it came from, and fill again.
    """

    def __post_init__(self) -> None:
        Record.__post_init__(self)

    def replace(self, **changes: Any) -> NoReturn:
        """Not possible.

        Raises
        ------
        SetupError
            Always: derived values would no longer fit.
        """
        raise SetupError(
            next(iter(changes), ""),
            "a filled setup cannot be changed",
            "Change the setup it came from, then fill that",
        )

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
    """
    if isinstance(setup, FilledSetup):
        return setup
    tables = _book_of(setup).tables

    def of(record: Record, path: str, kind: type[Record]) -> Any:
        inside: dict[str, Any] = {}
        for item in tables_of(type(record)):
            inner, where = getattr(record, item.name), join(path, item.name)
            if item.many:
                inside[item.name] = tuple(of(one, join(where, i), type(one)) for i, one in enumerate(inner))
            else:
                inside[item.name] = of(inner, where, type(inner))
        return kind(**tables[path], **inside)

    full: FilledSetup = of(setup, "", FilledSetup)
    return full


def sources(setup: Setup) -> dict[str, Source]:
    """Where each value of the filled setup comes from, by dotted path.

    Raises
    ------
    SetupError
        If the setup is a filled one (ask for the sources of the setup it came from), or a derived value is
        out of range.
    """
    if isinstance(setup, FilledSetup):
        raise SetupError("", "a filled setup no longer knows its sources", "Ask for those of the setup it came from")
    book = _book_of(setup)
    found = {}
    for home, table in book.tables.items():
        for name, value in table.items():
            path = join(home, name)
            found[path] = Source(value, *book.grounds.get(path, GIVEN))
    return found


def _book_of(setup: Setup) -> _Book:
    """All values of the setup."""
    book = _Book(setup)
    _riser(book)
    for limb in ("upper_limb", "lower_limb"):
        _limb(book, limb)
    _string(book)
    _contact(book)
    _flight(book)
    return book


class _Book:
    """The values found so far, a table for each record's path, and the grounds of those that were not given."""

    def __init__(self, setup: Setup) -> None:
        self.form, self.category = setup.form, setup.category
        self.tables: dict[str, dict[str, Any]] = {}
        self.grounds: dict[str, tuple[Kind, str]] = {}
        for path, record in walk(setup):
            given, table = opened(record), self.tables.setdefault(path, {})
            for name, usual in _values_of(type(record), setup.form):
                if name in given:
                    table[name] = given[name]
                elif usual is not None and usual.applies(given):
                    table[name] = usual.value
                    self.grounds[join(path, name)] = ("assumed", usual.basis)

    def has(self, path: str) -> bool:
        home, _, name = path.rpartition(".")
        return name in self.tables[home]

    def value(self, path: str) -> Any:
        home, _, name = path.rpartition(".")
        return self.tables[home][name]

    def derive(self, path: str, value: Any, how: str) -> None:
        if self.has(path):
            return
        try:
            checked = resolve(Setup, path)[0].field.read(path, value)
        except SetupError as error:
            raise SetupError(path, f"{error.problem}; it was derived {how}", f"Give {path}, or check these") from None
        self._put(path, checked, ("derived", how))

    def assume(self, path: str, value: Any, how: str) -> None:
        if not self.has(path):
            self._put(path, value, ("assumed", how))

    def _put(self, path: str, value: Any, grounds: tuple[Kind, str]) -> None:
        home, _, name = path.rpartition(".")
        self.tables[home][name] = value
        self.grounds[path] = grounds


@dataclass(frozen=True)
class _Usual:
    """What is assumed for a field that is not given, and when."""

    value: Any  # in SI
    basis: str
    rivals: frozenset[str]  # fields of the same record that must not be given
    companions: frozenset[str]  # and those that must

    def applies(self, given: dict[str, Any]) -> bool:
        """Whether it is assumed beside what else is given in the record."""
        return self.rivals.isdisjoint(given) and self.companions <= given.keys()


@cache
def _values_of(record: type[Record], form: str) -> tuple[tuple[str, _Usual | None], ...]:
    """The fields of a record that hold values, and what is usual for each in a setup of that form."""
    return tuple((name, _usual(record, name, form)) for name, item in fields_of(record).items() if item.about)


def _usual(record: type[Record], name: str, form: str) -> _Usual | None:
    about, default = fields_of(record)[name].about, default_of(record, name)
    if about is None or default is None or (isinstance(about, Quantity) and about.only not in (None, form)):
        return None
    rivals = {
        other
        for group in record.rivals
        if any(name in way for way in group.ways)
        for way in group.ways
        if name not in way
        for other in way
    }
    companions = frozenset(record.needs.get(name, ()))
    return _Usual(default, f"usual value [{about.basis}]", frozenset(rivals), companions)


def _riser(book: _Book) -> None:
    inches = book.value("bow.length") / 0.0254
    length = 25 if inches >= 66 - 1e-9 else 19 if inches <= 58 + 1e-9 else 23
    book.derive("riser.length", length * 0.0254, "from bow.length: 25 in from 66 in up, 19 in to 58 in, 23 in between")
    book.assume("riser.mass", RISER_MASS[book.category], f"usual for {book.category} [common practice]")
    book.derive(
        "riser.inertia",
        book.value("riser.mass") * book.value("riser.length") ** 2 / 12 * 1.2,
        "from riser.mass and riser.length: mass x length^2 / 12 x 1.2 [judgement]",
    )
    root = book.value("riser.length") / 2 - 0.020
    book.derive("riser.upper_root_y", root, "from riser.length: half of it less 20 mm [judgement]")
    book.derive("riser.lower_root_y", -root, "from riser.length: half of it less 20 mm [judgement]")
    if book.form == "built":
        for name in ("riser.upper_root_x", "riser.lower_root_x"):
            book.assume(name, -0.020, "usual value [judgement]")


def _limb(book: _Book, limb: str) -> None:
    def at(name: str) -> str:
        return f"{limb}.{name}"

    roots = book.value("riser.upper_root_y") - book.value("riser.lower_root_y")
    if book.form == "measured" and not book.has(at("length")):
        book.derive(
            at("length"),
            _arc_length(book, at("length"), roots),
            "from bow.length, roots, tillers and pocket angle: an arc to a string 3.5 in under the bow",
        )
    book.derive(
        at("length"),
        (book.value("bow.length") - roots) / 2,
        "from bow.length and the distance between the roots: half the difference",
    )
    places: tuple[float, ...] = book.value(at("at"))
    book.assume(at("natural_curvature"), tuple(0.0 for _ in places), "straight when unstrung [judgement]")
    shaped = book.has(at("width"))
    if shaped:
        section = [w * t for w, t in zip(book.value(at("width")), book.value(at("thickness")), strict=True)]
        second = [a * t**2 / 12 for a, t in zip(section, book.value(at("thickness")), strict=True)]
        book.derive(
            at("bending_stiffness"),
            tuple(book.value(at("modulus")) * i for i in second),
            f"from {limb} modulus, width and thickness: E w t^3 / 12",
        )
        book.derive(at("root_thickness"), book.value(at("thickness"))[0], f"from {at('thickness')}, the first value")
    book.assume(
        at("bending_stiffness"),
        tuple(1.0 + (STIFFNESS_AT_TIP - 1.0) * s for s in places),
        f"a shape, 1 at the root to {STIFFNESS_AT_TIP} at the tip; the fit finds its size [judgement]",
    )
    book.assume(at("root_thickness"), 0.0 if book.form == "built" else 0.008, "usual value [judgement]")
    if book.has(at("density")):
        book.derive(
            at("mass_per_length"),
            tuple(book.value(at("density")) * a for a in section),
            f"from {limb} density, width and thickness",
        )
    if book.has(at("mass_per_length")):
        book.derive(
            at("mass"),
            book.value(at("length")) * _mean(places, book.value(at("mass_per_length"))),
            f"from {at('mass_per_length')} and {at('length')}",
        )
    book.assume(at("mass"), LIMB_MASS[book.category], f"usual for {book.category} [common practice]")
    shape = tuple(section) if shaped else tuple(1.0 + (MASS_AT_TIP - 1.0) * s for s in places)
    words = "as width x thickness" if shaped else f"falling from 1 at the root to {MASS_AT_TIP} at the tip [judgement]"
    size = book.value(at("mass")) / (book.value(at("length")) * _mean(places, shape))
    book.derive(at("mass_per_length"), tuple(size * m for m in shape), f"from {at('mass')}, {words}")


def _arc_length(book: _Book, path: str, roots: float) -> float:
    """Length of a limb bent as a circular arc from its pocket to the tip of the braced string [m].

    The string is 3.5 in shorter than the bow (common practice: a 68 in bow takes 64 to 65 in). With the chord
    at an angle h to the pocket's direction, the arc is h / sin(h) times as long as its chord.
    """
    up = (book.value("bow.length") - STRING_SHORTER - roots) / 2
    if up <= 0.0:
        raise SetupError(
            path,
            f"no room for a limb: the roots are {show(roots, 'mm')} apart in a bow of "
            f"{show(book.value('bow.length'), 'in')} (derived from bow.length and riser.length)",
            f"Check both, or give {path}",
        )
    back = (book.value("bow.upper_tiller") + book.value("bow.lower_tiller")) / 2
    angle = math.atan2(back, up) + book.value("bow.pocket_angle")
    return math.hypot(back, up) * (angle / math.sin(angle) if abs(angle) > 1e-6 else 1.0)


def _mean(places: tuple[float, ...], table: tuple[float, ...]) -> float:
    """Mean along the limb of a table with straight lines between its places."""
    steps = zip(places, places[1:], table, table[1:], strict=False)
    return sum((b - a) * (low + high) / 2 for a, b, low, high in steps)


def _string(book: _Book) -> None:
    if not book.has("string.material"):
        return
    material = book.value("string.material")
    fibre = FIBRES[material]
    book.assume("string.strand_density", fibre.strand_density, f"usual strand of {material} [judgement]")
    book.assume("string.strand_strength", fibre.strand_strength, f"usual strand of {material} [judgement]")
    strands, density = book.value("string.strands"), book.value("string.strand_density")
    # The factor's default needs material and strands, which are here.
    stiffness = fibre_stiffness(material, strands, density, book.value("string.construction_factor"))
    book.derive(
        "string.axial_stiffness",
        stiffness,
        "from string.material, strands, strand_density and construction_factor (fibre: makers' data sheets)",
    )
    book.derive("string.mass_per_length", strands * density, "from string.strands and strand_density")


def _contact(book: _Book) -> None:
    if book.has("rest.droop"):
        book.derive(
            "rest.stiffness",
            book.value("rest.droop_mass") * GRAVITY / book.value("rest.droop"),
            "from rest.droop and droop_mass: weight over droop",
        )
    book.derive(
        "nock.locators.mass_at",
        book.value("nock.height") / 2 + 0.001,
        "from nock.height: half of it and 1 mm, half a locator [judgement]",
    )
    kind = book.value("nock.locators.kind")
    for place in ("upper", "lower"):
        present = book.value(f"nock.locators.{place}_present")
        book.assume(
            f"nock.locators.{place}_mass",
            LOCATOR_MASS[kind] if present else 0.0,
            f"usual for {kind} locators [common practice]" if present else "there is no such locator",
        )
    hold = book.value("archer.hold")
    book.assume("archer.finger_places", FINGER_PLACES[hold], f"usual for {hold} [common practice]")
    book.assume("archer.finger_shares", FINGER_SHARES[hold], f"usual for {hold} [memory]")


def _flight(book: _Book) -> None:
    kind = "feather" if book.category == "traditional" else "vane"
    book.assume("arrow.fletching_kind", kind, f"usual for {book.category} [common practice]")
    kind = book.value("arrow.fletching_kind")
    usual = shaft.FLETCHING[kind]
    for name in ("length", "height"):
        book.assume(f"arrow.fletching_{name}", getattr(usual, name), f"usual for a {kind} [common practice]")
    book.assume("arrow.fletching_drag", usual.drag, f"usual for a {kind} [judgement]")
    number, length, height = (book.value(f"arrow.fletching_{one}") for one in ("number", "length", "height"))
    book.derive(
        "arrow.fletching_lift_slope",
        shaft.fletching_lift_slope(number, length, height, book.value("arrow.diameter")),
        "from fletching_number, length and height and the shaft's diameter (Barrowman 1967)",
    )
    if book.has("air.altitude"):
        book.derive(
            "air.pressure",
            standard_pressure(book.value("air.altitude")),
            "from air.altitude: standard atmosphere (ISO 2533)",
        )
