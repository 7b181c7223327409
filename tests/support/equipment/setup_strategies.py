"""Hypothesis strategies: setups with random values inside the trade's typical ranges of a category."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from archerysim.equipment import (
    Archer,
    Arrow,
    Bow,
    Limb,
    Limits,
    Locators,
    Nock,
    Rest,
    Riser,
    Rod,
    Setup,
    Side,
    String,
    StringMass,
)
from archerysim.equipment import typical as table
from archerysim.equipment.archer import Hold
from archerysim.equipment.bowstring import FIBRES, Material, fibre_stiffness
from archerysim.equipment.derived_values import STRING_SHORTER
from archerysim.equipment.nock import LocatorKind
from archerysim.equipment.side import SideKind
from archerysim.fields.units import FACTORS, kind_of

INCH = 0.0254
POUND = 4.4482216152605
CATEGORIES = table.CATEGORIES
RANGES = {row.path: row for row in table.TABLE}


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """A float from low to high, ends included."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def typical(path: str, category: str) -> st.SearchStrategy[float]:
    """A value [SI] inside the typical range of a category."""
    row = RANGES[path]
    low, high = row.ranges[category]
    size = float(FACTORS[kind_of(row.unit)][row.unit])
    return between(low * size, high * size)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The value or None (not given)."""
    return st.none() | strategy


TURNING = "".join(map(chr, [*range(0x202A, 0x202F), *range(0x2066, 0x206A)]))  # the direction of the letters
LETTERS = st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"], exclude_characters=TURNING)
names = st.text(LETTERS, min_size=1, max_size=30)


@st.composite
def setups(draw: st.DrawFn, category: str | None = None, form: str | None = None) -> Setup:
    """A valid setup: every value that is typical for something is typical for its category.

    Parameters
    ----------
    category : str, optional
        One of `CATEGORIES`; random if not given.
    form : {"measured", "built"}, optional
        Random if not given.
    """
    category = category or draw(st.sampled_from(CATEGORIES))
    form = form or draw(st.sampled_from(["measured", "built"]))
    length = draw(typical("bow.length", category))
    bow = draw(_bows(category, length)) if form == "measured" else Bow(length=length)
    bolts = bow.kind != "one piece"
    return Setup(
        name=draw(names),
        category=category,  # type: ignore[arg-type]
        form=form,  # type: ignore[arg-type]
        bow=bow,
        upper_limb=draw(_limbs(category, form, bolts)),
        lower_limb=draw(_limbs(category, form, bolts)),
        riser=draw(_risers(category, form)),
        string=draw(_strings(category, form, length)),
        nock=draw(_nocks(category)),
        rest=draw(_rests(category)),
        side=draw(_sides(category)),
        arrow=draw(_arrows(category)),
        archer=draw(_archers(category)),
        limits=draw(_limits()),
    )


@st.composite
def _bows(draw: st.DrawFn, category: str, length: float) -> Bow:
    brace = draw(typical("bow.brace_height", category))
    lower = brace - draw(between(0.020, 0.030))
    split = draw(typical("bow.upper_tiller", category))
    ratio = draw(maybe(between(0.9, 1.1)))
    return Bow(
        length=length,
        brace_height=brace,
        lower_tiller=lower,
        upper_tiller=lower + split,
        draw_weight=draw(typical("bow.draw_weight", category)),
        draw_weight_at=draw(maybe(between(24 * INCH, 30 * INCH))),
        pocket_angle=draw(maybe(between(-0.05, 0.12))),
        stiffness_ratio=ratio,
        kind=draw(st.sampled_from([None, "take-down", "one piece"])),
        split_from=draw(st.sampled_from([None, "pockets", "both", *(["stiffness"] if ratio is None else [])])),
    )


@st.composite
def _limbs(draw: st.DrawFn, category: str, form: str, bolts: bool) -> Limb:
    places = draw(st.sampled_from([None, (0.0, 0.5, 1.0), (0.0, 0.3, 0.7, 1.0)]))
    taper = [1.0 - 0.7 * place for place in places or (0.0, 1.0)]
    stiffness = draw(between(15.0, 40.0))
    built, lengths = form == "built", places is not None and draw(st.booleans())
    return Limb(
        mass=draw(typical("upper_limb.mass", category) if built else maybe(typical("upper_limb.mass", category))),
        tip_mass=draw(maybe(between(0.001, 0.006))),
        **({"stations": tuple(0.57 * place for place in places)} if lengths else {"at": places}),
        bending_stiffness=tuple(stiffness * t for t in taper) if built or draw(st.booleans()) else None,
        natural_curvature=draw(maybe(st.just(tuple(0.5 * t for t in taper)))),
        root_thickness=draw(maybe(between(0.005, 0.012))),
        loss_time=draw(maybe(between(0.0, 5e-6))),
        pocket_angle=draw(between(0.1, 0.35)) if built else None,
        bolt_turns=draw(maybe(between(-1.0, 1.0))) if bolts else None,
        side_stiffness=draw(maybe(between(400.0, 2000.0))),
    )


@st.composite
def _risers(draw: st.DrawFn, category: str, form: str) -> Riser:
    row = RANGES["riser.rods"]
    low, high = row.ranges[category]
    rods: tuple[Rod, ...] = ()
    if high > 0:
        total = draw(between(low, high))
        share = draw(between(0.0, 0.5))
        long = draw(between(0.02, 0.8))
        rods = (
            Rod(
                length=long,
                rod_mass=total * share / 2,
                end_mass=total * share / 2,
                start_x=0.03,
                start_y=-0.03,
            ),
            Rod(
                length=draw(between(0.0, 0.3)),
                end_mass=total * (1 - share),
                direction=draw(between(-3.0, 3.0)),
            ),
        )
    return Riser(
        mass=draw(typical("riser.mass", category)),
        mass_centre_x=draw(maybe(between(-0.02, 0.05))),
        mass_centre_y=draw(maybe(between(-0.03, 0.04))),
        upper_root_x=draw(maybe(between(-0.03, -0.01))) if form == "built" else None,
        lower_root_x=draw(maybe(between(-0.03, -0.01))) if form == "built" else None,
        rods=rods,
    )


@st.composite
def _strings(draw: st.DrawFn, category: str, form: str, bow_length: float) -> String:
    length = bow_length - STRING_SHORTER
    small = draw(st.sampled_from([(), (StringMass(mass=0.2e-3, at=0.03), StringMass(mass=0.2e-3, at=-0.03))]))
    given: dict[str, Any] = {"masses": small, "length": length if form == "built" else None}
    servings = 0.2 * 4.5e-3 + 2 * 0.15 * 3e-3 + sum(one.mass for one in small)
    mass_row, ea_row = RANGES["string"].ranges[category], RANGES["string.axial_stiffness"].ranges[category]
    if draw(st.booleans()):
        total = draw(between(mass_row[0] * 1e-3, mass_row[1] * 1e-3))
        return String(axial_stiffness=draw(between(*ea_row)), mass_per_length=(total - servings) / length, **given)
    material: Material = "polyester" if category == "traditional" else "HMPE"
    fibre = FIBRES[material]
    one_strand = fibre_stiffness(material, 1, fibre.strand_mass_per_length, 0.4)
    fitting = [
        strands
        for strands in range(3, 60)
        if ea_row[0] <= strands * one_strand <= ea_row[1]
        and mass_row[0] * 1e-3 <= strands * fibre.strand_mass_per_length * length + servings <= mass_row[1] * 1e-3
    ]
    return String(material=material, strands=draw(st.sampled_from(fitting)), **given)


@st.composite
def _nocks(draw: st.DrawFn, category: str) -> Nock:
    height = draw(typical("nock.height", category))
    kind: LocatorKind | None = draw(st.sampled_from([None, "tied", "metal"]))
    grams = draw(between(*table.LOCATOR_MASS[kind or "tied"]))
    where = draw(st.sampled_from(["underside", "top", None, "place"]))
    reading = draw(typical("nock.locators.reading", category))
    locators = Locators(
        reading=None if where == "place" else reading + height if where == "top" else reading,
        convention=None if where == "place" else where,  # type: ignore[arg-type]
        place=draw(between(-0.02, 0.05)) if where == "place" else None,
        kind=kind,
        upper_mass=draw(maybe(st.just(grams * 1e-3))),
        gap=draw(maybe(between(0.0, 0.5e-3))),
        lower_present=draw(st.sampled_from([None, True])),
    )
    return Nock(
        height=height,
        floor=draw(maybe(typical("nock.floor", category))),
        depth=draw(maybe(typical("nock.depth", category))),
        slope=draw(maybe(typical("nock.slope", category))),
        grip=draw(maybe(typical("nock.grip", category))),
        locators=locators,
    )


@st.composite
def _rests(draw: st.DrawFn, category: str) -> Rest:
    stiffness = draw(typical("rest.stiffness", category))
    drooping = draw(st.booleans())
    return Rest(
        stiffness=None if drooping else stiffness,
        droop=0.05 * 9.81 / stiffness if drooping else None,
        height=draw(maybe(between(0.03, 0.06))),
        unlimited_support=draw(st.sampled_from([None, True, False])),
        kind=draw(st.sampled_from([None, "arm", "shelf"])),
        fold_force=draw(maybe(between(0.0, 0.5))),
    )


@st.composite
def _sides(draw: st.DrawFn, category: str) -> Side:
    kind: SideKind | None = draw(st.sampled_from([None, "sprung", "plate"]))
    sprung = (kind or ("plate" if category == "traditional" else "sprung")) == "sprung"
    return Side(
        kind=kind,
        offset=draw(maybe(typical("side.offset", category))),
        stiffness=draw(maybe(typical("side.stiffness", category) if sprung else between(1e4, 5e5))),
        preload=draw(maybe(typical("side.preload", category))) if sprung else None,
        travel=draw(maybe(between(0.002, 0.010))),
        forward=draw(maybe(between(-0.01, 0.03))),
    )


@st.composite
def _arrows(draw: st.DrawFn, category: str) -> Arrow:
    indoor = draw(st.booleans())
    diameter = draw(between(0.007, 0.0093) if indoor else between(0.0045, 0.0069))
    ranges = RANGES["arrow"].ranges
    key = f"{category}, indoor" if indoor and f"{category}, indoor" in ranges else category
    total = draw(between(ranges[key][0] * 1e-3, ranges[key][1] * 1e-3))
    length = draw(between(0.66, 0.78))
    point = draw(between(0.2, 0.4)) * total
    tail = draw(between(0.05, 0.1)) * total
    return Arrow(
        length=length,
        diameter=diameter,
        spine=draw(between(0.3 * INCH, 1.5 * INCH)),
        mass_per_length=(total - point - tail) / length,
        point_mass=point,
        nock_mass=tail / 2,
        fletching_mass=tail / 2,
        fletching_at=draw(maybe(between(0.03, 0.09))),
    )


@st.composite
def _archers(draw: st.DrawFn, category: str) -> Archer:
    hold: Hold | None = draw(st.sampled_from([None, "split", "three under"]))
    row = RANGES["archer.release_time.0"].ranges[category]
    times = tuple(draw(between(row[0] * 1e-3, row[1] * 1e-3)) for _ in range(3))
    places = tuple(draw(between(low * 1e-3, high * 1e-3)) for low, high in table.FINGER_PLACES[hold or "split"])
    torque, point = draw(st.sampled_from([(None, None), (0.5, None), (None, 0.008)]))
    return Archer(
        hold=hold,
        draw_length=draw(between(24 * INCH, 30 * INCH)),
        crawl=draw(maybe(between(0.0, 0.09))) if hold == "three under" else None,
        finger_places=draw(maybe(st.just(places))),
        finger_shares=draw(maybe(_shares(hold or "split"))),
        release_time=times,  # type: ignore[arg-type]
        grip_torque=torque,
        pressure_point=point,
        elevation=draw(maybe(between(0.0, 0.1))),
        side_roll=draw(maybe(between(0.05, 0.25))),
        side_hold=draw(maybe(between(-0.005, 0.005))),
        handed=draw(st.sampled_from([None, "right", "left"])),
        cant=draw(maybe(typical("archer.cant", category))),
    )


@st.composite
def _shares(draw: st.DrawFn, hold: str) -> tuple[float, float, float]:
    index_row, middle_row, ring_row = table.FINGER_SHARES[hold]
    ring = draw(between(ring_row[0], ring_row[1]))
    low = max(index_row[0], 1.0 - ring - middle_row[1])
    high = min(index_row[1], 1.0 - ring - middle_row[0])
    if low > high:  # no room left within rounding
        return {"split": (0.30, 0.50, 0.20), "three under": (0.40, 0.40, 0.20)}[hold]
    index = draw(between(low, high))
    return index, 1.0 - ring - index, ring


@st.composite
def _limits(draw: st.DrawFn) -> Limits:
    return Limits(
        brace_height_low=draw(maybe(between(0.150, 0.200))),
        brace_height_high=draw(maybe(between(0.220, 0.260))),
        lightest_arrow_per_weight=draw(maybe(between(5.0, 9.0).map(lambda g: g * 64.79891e-6 / POUND))),
        longest_draw=draw(maybe(between(28 * INCH, 33 * INCH))),
        highest_draw_weight=draw(maybe(between(20 * POUND, 60 * POUND))),
        most_bolt_turns=draw(maybe(between(1.0, 4.0))),
    )
