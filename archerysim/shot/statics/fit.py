"""From a measured bow to the bow as built.

Brace height and the two tillers say where the string stands beside the riser: the distance of its line
from the pivot and from both roots. Three distances fix a line (two numbers) and how far the roots stand
in front of or behind the pivot (one). The pockets' difference, or the limbs' stiffness over each other, then follows
from the split (`fit_split`), the string's length from the brace height, and one common factor on both limbs' stiffness
from the draw weight. The mean of both pocket angles cannot be told from these measures; it is ``bow.pocket_angle``.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field
from dataclasses import replace as dataclass_replace
from typing import Any, NamedTuple

import numpy as np
from msgspec.structs import asdict, replace

from archerysim.equipment import Setup, SetupError, field_info
from archerysim.equipment.filled_records import BuiltLimb, BuiltRiser, BuiltString, FilledBow, FilledLimb
from archerysim.equipment.filled_setup import BuiltSetup, MeasuredSetup, filled_as_built, filled_as_measured
from archerysim.errors import TWO_BOWS, ShotError, UsageError
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.build import LimbsAndArrow, limb_tables, make_limbs_and_arrow, make_throat
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.statics.brace import Braced, brace_to_height, brace_with_string
from archerysim.shot.statics.draw import TRADE, Drawing, weigh_at
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.fit_continued import Matched, Wanted, matched
from archerysim.shot.statics.fit_split import HALF, SAME_ANGLE, Laid, RatioSearch, refuse_ratio, settle
from archerysim.shot.statics.given_modulus import modulus_remarks
from archerysim.shot.statics.lay_arrow import held_both_ways
from archerysim.shot.statics.stability import tips_over
from archerysim.status import NO_CONVERGENCE, UNSTABLE

CLOSE = 1e-9  # relative miss of the draw weight
MISS = 1e-6  # of a measure, relative: the bow as built, braced and drawn again, has them so nearly
MOST = 30


@dataclass(frozen=True)
class Met:
    """How well one measured number is met.

    Attributes
    ----------
    path : str
        Dotted path of the measured field.
    wanted, found : float
        In SI.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
    >>> weight = next(met for met in bow.met if met.path == "bow.draw_weight")
    >>> round(weight.wanted, 1), round(weight.found, 1)  # [N]
    (151.2, 151.2)
    """

    path: str
    wanted: float
    found: float

    @property
    def miss(self) -> float:
        """Found minus wanted, in SI."""
        return self.found - self.wanted

    def words(self) -> str:
        """Both numbers in the field's unit.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> print(bow.met[0].words())
        bow.brace_height 220 mm in place of 220 mm
        """
        unit = field_info(self.path).unit
        return f"{self.path} {show(self.found, unit)} in place of {show(self.wanted, unit)}"


@result("setup.name", "stiffness_factor", "laid", "draws", "met", "remarks")
@dataclass(frozen=True)
class Fit:
    """A measured bow as built.

    Attributes
    ----------
    setup : Setup
        Form "built": string length, pocket angles, stiffness tables and roots given; locators tied at their
        place on the string.
    met : tuple of Met
        Brace height, tillers, draw weight, with the bolts as they stood when these were measured; then the draw forces
        that were given, met as nearly as the size of the limbs' curve allows.
    stiffness_factor : float
        What both limbs' given (or usual) stiffness was multiplied by.
    draws : int
        Draws tried.
    laid : Laid or None
        To what the difference of the tillers was laid; None where the bow was given as built.
    remarks : tuple of str
        Where the modulus given and the measures disagree.
    drawing, drawn : Drawing or None, Drawn or None
        The bow braced, and drawn to where its weight was measured; None where its bolts have been turned since, where
        fingers pinch the nock, as a scale does not, and where it was given as built.
    moving_factor : float
        What the mass of both limbs in front of their roots was multiplied by.
    shape_factor : float
        What both limbs' natural curvature was multiplied by to meet the draw forces given.
    """

    setup: Setup
    met: tuple[Met, ...]
    stiffness_factor: float
    draws: int
    laid: Laid | None = None
    remarks: tuple[str, ...] = ()
    drawing: Drawing | None = field(default=None, compare=False, repr=False)
    drawn: Drawn | None = field(default=None, compare=False, repr=False)
    moving_factor: float = 1.0
    shape_factor: float = 1.0


def fit(setup: Setup, mesh: str | Mesh = "default", moving: float = 1.0) -> Fit:
    """The bow as built whose brace height, tillers and draw weight are the measured ones.

    Bolt turns in the setup are turns since the bow was measured: it is fitted without them, and they are then turned.

    Parameters
    ----------
    setup : Setup
        Form "measured". One of form "built" comes back as it is.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`. The stiffness found belongs to the mesh to some 0.05 %.
    moving : float
        Multiplies the mass of both limbs in front of their roots (`fit_to_speed` finds it).

    Returns
    -------
    Fit

    Raises
    ------
    SetupError
        Where the measured numbers contradict each other.
    ShotError
        Where no such bow is found.
    UsageError
        Where it is no setup, or the mesh is not known.
    """
    if not isinstance(setup, Setup):
        raise UsageError("setup", f"a Setup is needed, not {type(setup).__name__}", 'load it: load("bow.toml")')
    cells = mesh_of(mesh)
    if setup.form == "built":
        return Fit(setup, (), 1.0, 0)
    full = filled_as_measured(setup)
    full = full if moving == 1.0 else with_moving_mass(full, moving)
    bow = full.bow
    wanted_weight = bow.draw_weight
    target = -(bow.draw_weight_at - TRADE)
    split, root_x = string_beside_riser(full)
    wanted = Wanted(bow.brace_height, split, wanted_weight, target)
    first = _ready(full, root_x)
    ratio = _ratio_search(setup, full, cells)
    limbs_and_arrow = make_limbs_and_arrow(first, cells)
    factor = (
        20.0
        * (wanted_weight / 150.0)
        / float(np.sqrt(np.prod([limb_tables(limb)[1][0] for limb in (first.upper_limb, first.lower_limb)])))
    )
    near = None
    if held_both_ways(make_throat(first.nock)):
        # one trial from scratch, the others from it
        near = _from_one(first, limbs_and_arrow.stiffer(factor), cells, wanted, ratio)
    if near is not None:
        answer = _Answer.of(factor * near.factor, ratio, near.drawing.braced, near.draws + 1)
        return _result(setup, full, root_x, answer, target, cells)
    if ratio is not None:
        ratio = RatioSearch(full, ratio.wanted)
    return _result(
        setup, full, root_x, _from_scratch(first, limbs_and_arrow, factor, cells, wanted, ratio), target, cells
    )


class _Answer(NamedTuple):
    """What was found."""

    factor: float  # on both limbs' stiffness
    leaning: float  # of the upper pocket forward against the lower [rad]
    ratio: float | None  # of the upper limb's stiffness over the lower's, where that was looked for
    braced: Braced
    draws: int

    @classmethod
    def of(cls, factor: float, ratio: RatioSearch | None, braced: Braced, draws: int) -> _Answer:
        """With the pockets' difference that was wanted, or else as found."""
        if ratio is None:
            return cls(factor, braced.leans[0] - braced.leans[1], None, braced, draws)
        return cls(factor, ratio.wanted, ratio.ratio, braced, draws)


def _ratio_search(setup: Setup, full: MeasuredSetup, mesh: Mesh) -> RatioSearch | None:
    """The search for the stiffness ratio; None where it is given or assumed."""
    how = full.bow.split_from
    if how == "pockets" or full.given.bow.stiffness_ratio is not None:
        return None
    if how == "stiffness":
        return RatioSearch(full, 0.0)
    alone = fit(setup.with_si(**{"bow.split_from": "pockets"}), mesh).laid
    assert alone is not None
    return RatioSearch(full, HALF * alone.pockets)


def _from_one(
    first: BuiltSetup, limbs_and_arrow: LimbsAndArrow, mesh: Mesh, wanted: Wanted, ratio: RatioSearch | None
) -> Matched | None:
    """The fit by one trial from scratch and others from it; None where that does not succeed."""
    if ratio is None:
        braced = brace_to_height(first, wanted.height, mesh, wanted.split, limbs_and_arrow, 0)
        return matched(first, limbs_and_arrow, mesh, wanted, *weigh_at(first, braced, wanted.target, trial=True))
    with contextlib.suppress(SetupError, ShotError):
        braced = brace_to_height(
            first, wanted.height, mesh, wanted.split, limbs_and_arrow, 0,
            lambda bare: settle(bare, ratio, wanted.height, wanted.split, True),
        )  # fmt: skip
        drawing, drawn = weigh_at(first, braced, wanted.target, trial=True)
        return matched(first, limbs_and_arrow, mesh, wanted, drawing, drawn, ratio)
    return None


def with_moving_mass(full: MeasuredSetup, factor: float) -> MeasuredSetup:
    """The setup with the mass of both limbs in front of their roots multiplied.

    A limb whose mass was given keeps it: its butt has what is left; else the butt stays as it is.
    """

    def limb(old: FilledLimb, mass: float | None) -> FilledLimb:
        moving = (old.mass - old.butt_mass) * factor
        held = old.butt_mass if mass is None else max(mass - moving, 0.0)
        table = tuple(factor * m for m in old.mass_per_length)
        return replace(old, mass=held + moving, butt_mass=held, mass_per_length=table, density=factor * old.density)

    upper, lower = limb(full.upper_limb, full.given.upper_limb.mass), limb(full.lower_limb, full.given.lower_limb.mass)
    return replace(full, upper_limb=upper, lower_limb=lower)


def _from_scratch(
    first: BuiltSetup,
    limbs_and_arrow: LimbsAndArrow,
    factor: float,
    mesh: Mesh,
    wanted: Wanted,
    ratio: RatioSearch | None,
) -> _Answer:
    """The fit with each trial braced and drawn from scratch; ``first`` and its cells with the stiffness as given."""
    tried: list[tuple[float, float]] = []
    for count in range(1, MOST + 1):
        unlike = 1.0 if ratio is None else ratio.ratio
        braced = brace_to_height(first, wanted.height, mesh, wanted.split, limbs_and_arrow.stiffer(factor, unlike))
        _, drawn = weigh_at(first, braced, wanted.target, trial=True)
        tried.append((float(np.log(factor)), float(np.log(drawn.weight / wanted.weight))))
        settled_too = ratio is None or abs(ratio.miss(braced.leans)) < SAME_ANGLE
        if abs(tried[-1][1]) < CLOSE and settled_too:
            return _Answer.of(factor, ratio, braced, count)
        factor = float(np.exp(_next(tried)))
        if ratio is not None and not settled_too:
            ratio.moved(braced.leans)
    raise ShotError("fit", NO_CONVERGENCE, f"the draw weight is matched only to {tried[-1][1]:.1e} of its value")


def _next(tried: list[tuple[float, float]]) -> float:
    """Next logarithm of the factor: weight grows about as stiffness, then a straight line through two trials."""
    (x1, y1) = tried[-1]
    if len(tried) == 1:
        return x1 - float(np.clip(y1, -1.0, 1.0))
    x0, y0 = tried[-2]
    slope = (y1 - y0) / (x1 - x0) if x1 != x0 else 1.0
    slope = float(np.clip(slope, 0.2, 3.0))
    return x1 - float(np.clip(y1 / slope, -1.0, 1.0))


def string_beside_riser(full: MeasuredSetup) -> tuple[float, float]:
    """Split of the roots' distances from the string, and x of both roots [m].

    With the line's forward normal (cos t, -sin t) at the brace height from the pivot, a root at (x, y)
    stands cos(t) x - sin(t) y + brace height in front of it, which is its tiller plus half its thickness.

    Raises
    ------
    SetupError
    """
    bow, riser = full.bow, full.riser
    for name in ("upper_root_x", "lower_root_x"):
        if getattr(full.given.riser, name) is not None:
            raise SetupError(
                f"riser.{name}",
                "is one number too many beside brace height and both tillers, which already fix where the roots are",
                'Remove it, or set form = "built"',
            )
    upper = bow.upper_tiller + 0.5 * full.upper_limb.root_thickness
    lower = bow.lower_tiller + 0.5 * full.lower_limb.root_thickness
    split = float(upper - lower)
    between = riser.upper_root_y - riser.lower_root_y
    sine = -split / between
    root_x = (upper - bow.brace_height + sine * riser.upper_root_y) / np.sqrt(1.0 - sine * sine)
    return split, float(root_x)


NOT_BUILT = (
    "brace_height", "upper_tiller", "lower_tiller", "draw_weight", "draw_weight_at", "draw_forces", "draw_forces_at",
    "arrow_speed", "pocket_angle", "stiffness_ratio", "split_from",
)  # fmt: skip


def _changes(
    full: MeasuredSetup, root_x: float, factor: float, stiffness_ratio: float, leaning: float, string: float
) -> dict[str, Any]:
    """What makes a measured bow a built one, by dotted path; ``leaning`` and string length as in `_Answer`."""
    given_bow = full.given.bow
    changes: dict[str, Any] = {f"bow.{name}": None for name in NOT_BUILT if getattr(given_bow, name) is not None}
    changes["riser.upper_root_x"] = changes["riser.lower_root_x"] = root_x
    changes["string.length"] = string
    ratio = float(np.sqrt(stiffness_ratio))
    for name, limb, given, times, side in (
        ("upper_limb", full.upper_limb, full.given.upper_limb, ratio, 0.5),
        ("lower_limb", full.lower_limb, full.given.lower_limb, 1.0 / ratio, -0.5),
    ):
        changes[f"{name}.length"] = limb.length
        changes[f"{name}.root_thickness"] = limb.root_thickness
        changes[f"{name}.side_stiffness"] = limb.side_stiffness
        changes[f"{name}.pocket_angle"] = full.bow.pocket_angle + side * leaning
        if limb.width:
            changes[f"{name}.modulus"] = limb.modulus * factor * times
        else:
            changes[f"{name}.bending_stiffness"] = tuple(factor * times * v for v in limb.bending_stiffness)
        if not limb.density:
            changes[f"{name}.mass_per_length"] = limb.mass_per_length
        if full.bow.arrow_speed or given.balance is not None:
            changes[f"{name}.butt_mass"] = limb.butt_mass
            if limb.density:
                changes[f"{name}.density"] = limb.density
        if limb.curvature_at:
            changes[f"{name}.natural_curvature"] = limb.natural_curvature
            changes[f"{name}.curvature_at"] = limb.curvature_at
    return changes


def _ready(full: MeasuredSetup, root_x: float) -> BuiltSetup:
    """The bow to be fitted, as built: stiffness as given, its bolts as they stood when measured."""
    tables: dict[str, dict[str, Any]] = {}
    for path, value in _changes(full, root_x, 1.0, full.bow.stiffness_ratio, 0.0, 1.0).items():
        table, name = path.split(".")
        tables.setdefault(table, {})[name] = value

    def limb(given: FilledLimb, new: dict[str, Any]) -> BuiltLimb:
        if given.width:
            times = new["modulus"] / given.modulus
            new["bending_stiffness"] = tuple(times * v for v in given.bending_stiffness)
        return BuiltLimb(**(asdict(given) | new | {"bolt_turns": 0.0}))

    return BuiltSetup(
        given=full.given, name=full.name, category=full.category, form="built", invented=full.invented,
        bow=FilledBow(length=full.bow.length, kind=full.bow.kind),
        upper_limb=limb(full.upper_limb, tables["upper_limb"]), lower_limb=limb(full.lower_limb, tables["lower_limb"]),
        riser=BuiltRiser(**(asdict(full.riser) | tables["riser"])),
        string=BuiltString(**(asdict(full.string) | tables["string"])),
        nock=full.nock, rest=full.rest, side=full.side, arrow=full.arrow, archer=full.archer, air=full.air,
    )  # fmt: skip


def _result(setup: Setup, full: MeasuredSetup, root_x: float, answer: _Answer, target: float, mesh: Mesh) -> Fit:
    """The fit, with the misses of the bow as built: braced and drawn anew as every shot does.

    Raises
    ------
    SetupError
        Where the stiffness ratio found is none that is allowed.
    ShotError
        Where that is another bow than the one that was measured, or would not last.
    """
    factor, leaning, found, braced, draws = answer
    if tips_over(braced.chain, braced.marks, braced.x, braced.y):
        raise ShotError("brace", UNSTABLE)
    ratio = full.bow.stiffness_ratio if found is None else found
    if found is not None:
        refuse_ratio(found)
    changes = _changes(full, root_x, factor, ratio, leaning, braced.string_length)
    changes |= {"form": "built", "nock.locators.place": braced.throat}
    for name in ("upper_limb", "lower_limb"):
        if not getattr(full, name).density and getattr(setup, name).mass is not None:
            changes[f"{name}.mass"] = None
    built = setup.with_si(**changes)
    ready = filled_as_built(built)
    turned = bool(ready.upper_limb.bolt_turns or ready.lower_limb.bolt_turns)
    if turned:
        upper, lower = (replace(limb, bolt_turns=0.0) for limb in (ready.upper_limb, ready.lower_limb))
        ready = replace(ready, upper_limb=upper, lower_limb=lower)
    again = brace_with_string(ready, ready.string.length, mesh)
    drawing, drawn = weigh_at(ready, again, target)
    bow = full.bow
    met = (
        Met("bow.brace_height", bow.brace_height, again.brace_height),
        Met("bow.upper_tiller", bow.upper_tiller, again.upper_tiller),
        Met("bow.lower_tiller", bow.lower_tiller, again.lower_tiller),
        Met("bow.draw_weight", bow.draw_weight, drawn.weight),
    )
    for one in met:
        if not abs(one.miss) < MISS * one.wanted:
            raise ShotError("fit", TWO_BOWS, one.words())
    laid = Laid(bow.split_from, leaning, ratio, found is not None)
    done = Fit(built, met, factor, draws, laid, modulus_remarks(setup, built))
    turned = turned or bool(ready.archer.pinch)
    return done if turned else dataclass_replace(done, drawing=drawing, drawn=drawn)
