"""How thick limbs have to be for a wanted draw weight: strained evenly, or bent in an arc of a circle at full draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, NamedTuple, get_args

import numpy as np
from msgspec import structs

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, filled_as_built
from archerysim.equipment.bench.wood import check_wood
from archerysim.equipment.filled_records import BuiltLimb
from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.equipment.limbs.materials import MATERIALS
from archerysim.errors import UsageError
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.draw_weight import POUND
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.statics.brace import Braced, brace_to_height
from archerysim.shot.statics.strain import LIMBS, limit_of
from archerysim.study.bench.wood.judged import Judged, departures, draw_at_weight, judge
from archerysim.study.bench.wood.moves import stations_of

Law = Literal["even strain", "arc"]
END = 0.8  # of a limb's length: from here to the tip it is as thick as here, and stiff [judgement]
APART = 0.02  # [m]: nearer to a place of the width's table there is no station of our own
MOST = 80  # rounds
CLOSE = 1e-7  # of a thickness, from one round to the next
SPLIT_PER_SHARE = -0.15  # [m] of split for a share by which the upper limb is thicker: where the search begins
FIRST_STEP = 0.05  # the most by which the upper limb's share is moved in one round
THINNEST, THICKEST = 0.5e-3, 40e-3  # [m], of the setup's field


@result("setup.name", "law", "weight", "split", "uneven", "largest", "warnings")
@dataclass(frozen=True)
class LimbDesign:
    """Limbs as thick as they have to be.

    Arrays in pairs or along their first axis: upper, lower.

    Attributes
    ----------
    setup, rough : Setup
        The bow as built with finished limbs; and with the allowance still on them.
    bow : FittedBow
        Of ``setup``, to be shot.
    law : {"even strain", "arc"}
    allowance : float
        Left for tillering, everywhere [m].
    stations : (array, array)
        From the root along each limb [m].
    width, thickness, rough_thickness : (array, array)
        [m]
    place : (k,) array
        Along the limbs, 0 = root, 1 = tip; a few to each station.
    strain : (2, k) array
        Of the more strained surface at full draw [-].
    curvature : (2, k) array
        Of the drawn limb, towards the archer + [1/m].
    uneven : float
        Largest share by which what is to be even, strain or curvature, departs from its mean over both limbs (over
        each limb where a split is asked for), from the root to eight tenths of the limb.
    brace_height, split, weight, draw_length : float
        [m], [m], [N], [m]
    largest : float
        Strain, anywhere [-].
    limit : float or None
        What the wood bears, by the file or as is usual [-].
    rough_draw : float
        Draw length at which the bow with the allowance on pulls the wanted weight: no further before tillering [m].
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings speak of.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.limb_design(bow, draw_weight="40 lb", material="ash", mesh="coarse")
    >>> bool((found.rough_thickness[0] > found.thickness[0]).all())  # something is left on for tillering
    True
    """

    setup: Setup
    rough: Setup
    bow: FittedBow
    law: Law
    allowance: Annotated[float, Reported("m")]
    stations: tuple[np.ndarray, np.ndarray]
    width: tuple[np.ndarray, np.ndarray]
    thickness: tuple[np.ndarray, np.ndarray]
    rough_thickness: tuple[np.ndarray, np.ndarray]
    place: np.ndarray
    strain: np.ndarray
    curvature: Annotated[np.ndarray, Reported("1/m")]
    uneven: float
    brace_height: Annotated[float, Reported("m")]
    split: Annotated[float, Reported("m")]
    weight: Annotated[float, Reported("N")]
    draw_length: Annotated[float, Reported("m")]
    largest: Annotated[float, Reported()]
    limit: float | None
    rough_draw: Annotated[float, Reported("m")]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]


def limb_design(
    bow: Setup | FittedBow,
    *,
    draw_weight: Any,
    brace_height: Any = None,
    law: Law = "even strain",
    split: Any = None,
    material: str | None = None,
    allowance: Any = "0.5 mm",
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
) -> LimbDesign:
    """How thick the limbs of a bow have to be for a wanted draw weight.

    All but the thickness is the given bow's: handle, length and width of the limbs, their unstrung shape, string, draw
    length. From the root to eight tenths of each limb the thickness follows the law; from there to the tip it stays
    [judgement]. A beam of thickness t and width w under a moment M is strained by 6 M/(E w t^2) and bent by
    12 M/(E w t^3) (plane sections); the moments are those of the drawn bow, so the thickness is found in rounds.

    Parameters
    ----------
    bow : Setup or FittedBow
        Its limbs given by width and thickness, of one wood.
    draw_weight : str or another force with its unit
        At the archer's draw length.
    brace_height : str or another length with its unit, optional
        Default: the bow's own.
    law : {"even strain", "arc"}
        What the drawn limb is to be from the root to eight tenths of its length: strained alike everywhere, or curved
        alike, an arc of a circle.
    split : str or another length with its unit, optional
        Tiller split wanted. Each limb is then even in itself; by default both are alike, and the split is what comes.
    material : str, optional
        Another wood, with its usual modulus, density and strain limit. Default: the bow's own, with the modulus that
        its measures were fitted with.
    allowance : str or another length with its unit
        Left everywhere for tillering.
    changes, hold, mesh
        As for `archerysim.shoot`.

    Returns
    -------
    LimbDesign

    Raises
    ------
    SetupError
        Where the wood would be strained past its limit, a limit of the file passed, or there is no such thickness.
    ShotError
        Where the bow cannot be braced or drawn.

    Notes
    -----
    Single boards and staves differ from what is usual by a fifth and more: hence the allowance, and the tillering.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.limb_design(bow, draw_weight="40 lb", material="ash", mesh="coarse")
    >>> round(found.weight / 4.44822, 3)
    40.0
    """
    if law not in get_args(Law):
        raise UsageError("law", f"{law!r} is not known", 'give "even strain" or "arc"')
    weight = in_si("draw_weight", draw_weight, "lbf")
    left, apart = in_si("allowance", allowance, "mm"), None if split is None else in_si("split", split, "mm")
    _in_range("draw_weight", weight, 2.0 * POUND, 150.0 * POUND, "lbf")
    _in_range("allowance", left, 0.0, 5e-3, "mm")
    first = FittedBow.of(bow, mesh, changes, hold, 1)
    height = first.brace_height if brace_height is None else in_si("brace_height", brace_height, "mm")
    _in_range("brace_height", height, 0.1, 0.4, "mm")
    template = _template(first, material)
    full = filled_as_built(template)
    aim = _Aim(law, weight, height, apart, float(full.archer.draw_length))
    _refuse_limits(template, aim)
    at = [_stations(limb) for limb in (full.upper_limb, full.lower_limb)]
    thickness, _ = _found(full, first.mesh, aim, at)
    built, rough = (_built(template, full, at, [one + more for one in thickness]) for more in (0.0, left))
    place = np.unique(np.concatenate([np.linspace(0.0, 1.0, 41), *(a / a[-1] for a in at)]))
    done, braced = _with_string(built, first.mesh, height)
    one = judge(filled_as_built(done), braced, aim.draw_length, place, trial=False)
    stiffer, braced_rough = _with_string(rough, first.mesh, height)
    ready = FittedBow.of(done, first.mesh, planes=first.planes)
    curve = ready.draw_curve(2)
    limit = _limit(template)
    _refuse_strain(one, limit, template)
    even = _even(full, one, aim, place)
    return LimbDesign(
        done, stiffer, ready, law, left, (at[0], at[1]), _tables(full, at), (thickness[0], thickness[1]),
        (thickness[0] + left, thickness[1] + left), place, one.strain, _curvature(full, one, place),
        float(np.abs(even).max()), one.braced.brace_height, one.split, one.drawn.weight, aim.draw_length,
        float(one.strain.max()), limit,
        draw_at_weight(filled_as_built(stiffer), braced_rough, weight * (1.0 + 1e-6), aim.draw_length),
        curve.warnings, curve.limits_passed,
    )  # fmt: skip


class _Aim(NamedTuple):
    """What is wanted, in SI."""

    law: Law
    weight: float
    height: float
    split: float | None
    draw_length: float


def _in_range(name: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise SetupError(
            name,
            f"{show(value, unit)} is outside {show(low, unit)} to {show(high, unit)}",
            "Check the number and its unit",
        )


def _template(bow: FittedBow, material: str | None) -> Setup:
    """The bow as built, of the wood that is asked for.

    Raises
    ------
    SetupError
        Where its limbs are no tables of width and thickness, or not of one wood.
    """
    setup = bow.setup
    if material is not None:
        if material not in MATERIALS:
            raise SetupError("material", f'"{material}" is not known', f"Give one of {', '.join(MATERIALS)}")
        new = {"material": material, "modulus": None, "density": None, "strain_limit": None, "mass_per_length": None}
        given = {f"{limb}_limb.{name}": value for limb in LIMBS for name, value in new.items()}
        setup = setup.replace(InSi(given))
    for limb in LIMBS:
        one = getattr(setup, f"{limb}_limb")
        check_wood(f"{limb}_limb", one, "made so")
        if one.width is None:
            raise SetupError(
                f"{limb}_limb.width", "not given: a thickness is found for a width", "Give width and thickness"
            )
    return setup


def _refuse_limits(setup: Setup, aim: _Aim) -> None:
    limits = setup.limits
    if limits.highest_draw_weight is not None and aim.weight > limits.highest_draw_weight:
        raise SetupError(
            "draw_weight",
            f"{show(aim.weight, 'lbf')} is over limits.highest_draw_weight, {show(limits.highest_draw_weight, 'lbf')}",
            "Ask for less, or for another bow's file",
        )
    if limits.longest_draw is not None and aim.draw_length > limits.longest_draw + 1e-9:
        raise SetupError(
            "archer.draw_length",
            f"{show(aim.draw_length, 'in')} is over limits.longest_draw, {show(limits.longest_draw, 'in')}",
            "Draw less, or take the limit out for a new bow",
        )


def _stations(limb: BuiltLimb) -> np.ndarray:
    """The places of the limb's own tables, where the law ends, and even ones between where they leave room [m]."""
    own = np.union1d(limb.at, END if np.abs(np.array(limb.at) - END).min() > 1e-6 else []) * limb.length
    more = [one for one in stations_of(limb.length) if np.abs(own - one).min() >= APART]
    return np.sort(np.concatenate([own, more]))


def _tables(full: BuiltSetup, at: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Both limbs' width at their stations."""
    upper, lower = (
        np.interp(here / limb.length, limb.at, limb.width)
        for limb, here in zip((full.upper_limb, full.lower_limb), at, strict=True)
    )
    return upper, lower


def _found(
    full: BuiltSetup, mesh: Mesh, aim: _Aim, at: list[np.ndarray]
) -> tuple[tuple[np.ndarray, np.ndarray], Judged]:
    """The thickness of both limbs, in rounds: the law from place to place, the weight for all, the split for one.

    Raises
    ------
    SetupError
        Where there is none.
    ShotError
    """
    place = np.unique(np.concatenate([one / one[-1] for one in at]))
    here = place[place <= END + 1e-6]
    limbs = (full.upper_limb, full.lower_limb)
    thick = [np.interp(here, limb.at, limb.thickness) for limb in limbs]
    natural = [_natural(limb, here) for limb in limbs]
    share, last = 0.0, None
    for _ in range(MOST):
        tables = [np.interp(one / one[-1], here, table) for one, table in zip(at, thick, strict=True)]
        _check_thick(tables)
        bow = _thick(full, at, tables)
        one = judge(bow, brace_to_height(bow, aim.height, mesh), aim.draw_length, here)
        even = one.strain if aim.law == "even strain" else one.bend - np.array(natural)
        means = even.mean(axis=1) if aim.split is not None else np.full(2, even.mean())
        old = [table.copy() for table in thick]
        by = (aim.weight / one.drawn.weight) ** (1.0 / 3.0)
        for k in range(2):
            if aim.law == "even strain":
                follow = np.sqrt(np.maximum(even[k] / means[k], 0.01))
            else:
                follow = np.cbrt(np.maximum(one.bend[k] / np.maximum(means[k] + natural[k], 1e-3), 0.01))
            thick[k] = thick[k] * np.clip(follow, 0.7, 1.4) * np.clip(by, 0.7, 1.4)
        if aim.split is not None:
            miss = one.split - aim.split
            slope = SPLIT_PER_SHARE
            if last is not None and abs(share - last[0]) > 1e-6:
                slope = float(np.clip((miss - last[1]) / (share - last[0]), -1.0, -0.02))
            last = (share, miss)
            step = float(np.clip(-miss / slope, -FIRST_STEP, FIRST_STEP))
            share += step
            thick[0], thick[1] = thick[0] * np.exp(0.5 * step), thick[1] * np.exp(-0.5 * step)
        moved = max(float(np.abs(new / was - 1.0).max()) for new, was in zip(thick, old, strict=True))
        if moved < CLOSE:
            return (tables[0], tables[1]), one
    raise SetupError(
        "limb_design", f"no thickness was found in {MOST} rounds: the last ones still differ by {100 * moved:.1g} %",
        "Check draw weight, brace height and the limbs' length against each other",
    )  # fmt: skip


def _check_thick(tables: list[np.ndarray]) -> None:
    for name, table in zip(LIMBS, tables, strict=True):
        if not THINNEST <= table.min() <= table.max() <= THICKEST:
            ends = f"{show(round(float(table.min()), 5), 'mm')} to {show(round(float(table.max()), 5), 'mm')}"
            raise SetupError(
                "draw_weight", f"the {name} limb would be {ends} thick, outside 0.5 mm to 40 mm",
                "Ask for another draw weight, or other widths",
            )  # fmt: skip


def _thick(full: BuiltSetup, at: list[np.ndarray], tables: list[np.ndarray]) -> BuiltSetup:
    """The bow with limbs so thick at their stations."""
    limbs = []
    for limb, here, thickness, width in zip(
        (full.upper_limb, full.lower_limb), at, tables, _tables(full, at), strict=True
    ):
        places = here / here[-1]
        was = np.interp(places, limb.at, limb.thickness)
        mass = np.interp(places, limb.at, limb.mass_per_length) * thickness / was
        stiffness = limb.modulus * width * thickness**3 / 12.0
        limbs.append(
            structs.replace(
                limb, at=tuple(places), width=tuple(width), thickness=tuple(thickness), mass_per_length=tuple(mass),
                bending_stiffness=tuple(stiffness), curvature_at=limb.curvature_at or limb.at,
                root_thickness=float(thickness[0]),
            )
        )  # fmt: skip
    return structs.replace(full, upper_limb=limbs[0], lower_limb=limbs[1])


def _built(setup: Setup, full: BuiltSetup, at: list[np.ndarray], tables: list[np.ndarray]) -> Setup:
    """The same as a setup."""
    bow = _thick(full, at, tables)
    out: dict[str, Any] = {}
    for name in ("upper_limb", "lower_limb"):
        limb, given = getattr(bow, name), getattr(setup, name)
        out |= {f"{name}.{table}": getattr(limb, table) for table in ("at", "width", "thickness", "root_thickness")}
        if not limb.density:
            out[f"{name}.mass_per_length"] = limb.mass_per_length
        if given.natural_curvature is not None and given.curvature_at is None:
            out |= {f"{name}.natural_curvature": limb.natural_curvature, f"{name}.curvature_at": limb.curvature_at}
    return setup.replace(InSi(out))


def _with_string(setup: Setup, mesh: Mesh, height: float) -> tuple[Setup, Braced]:
    """The bow with the string that braces it to a height."""
    braced = brace_to_height(filled_as_built(setup), height, mesh)
    return setup.with_si(**{"string.length": braced.string_length}), braced


def _natural(limb: BuiltLimb, place: np.ndarray) -> np.ndarray:
    """Natural curvature, towards the target + [1/m]."""
    at = limb.curvature_at or limb.at
    return np.asarray(np.interp(place, at, np.broadcast_to(limb.natural_curvature, len(at))))


def _curvature(full: BuiltSetup, one: Judged, place: np.ndarray) -> np.ndarray:
    """Of the drawn limbs, towards the archer + (2, k)."""
    return np.asarray(one.bend - np.array([_natural(limb, place) for limb in (full.upper_limb, full.lower_limb)]))


def _even(full: BuiltSetup, one: Judged, aim: _Aim, place: np.ndarray) -> np.ndarray:
    """Departures of what is to be even, where it is to be so (2, j)."""
    values = one.strain if aim.law == "even strain" else _curvature(full, one, place)
    values = values[:, place <= END + 1e-6]
    return departures(values) if aim.split is None else np.array([departures(row[None])[0] for row in values])


def _limit(setup: Setup) -> float | None:
    limits = [limit_of(getattr(setup, f"{limb}_limb"))[0] for limb in LIMBS]
    known = [one for one in limits if one is not None]
    return min(known) if known else None


def _refuse_strain(one: Judged, limit: float | None, setup: Setup) -> None:
    """Refuse limbs that their wood would not bear.

    Raises
    ------
    SetupError
    """
    largest = float(one.strain.max())
    if limit is None or largest <= limit:
        return
    usual = limit_of(setup.upper_limb)[1]
    raise SetupError(
        "limb_design",
        f"the wood would be strained by {100 * largest:.2f} %, over the {100 * limit:.2f} % "
        f"{f'usual for {usual}' if usual else 'of its strain_limit'}",
        "Make the limbs wider or longer, draw less far, or ask for less draw weight",
    )
