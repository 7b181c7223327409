"""What can be changed for left and right: settings of the side support, parts of the arrow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import Any, Literal, NamedTuple

from archerysim.equipment import InSi, SetupError, field_info
from archerysim.equipment.arrow import Arrow
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.typical import typical
from archerysim.fields.given import listed, several
from archerysim.fields.record import fields_of
from archerysim.fields.units import from_si
from archerysim.shot.statics.draw import TRADE
from archerysim.shot.warnings import GRAIN, PAST_REST, PAST_REST_OTHERS

Kind = Literal["side support", "shaft", "point", "length", "parts"]
PRELOAD, STIFFNESS, OFFSET = "side.preload", "side.stiffness", "side.offset"
SPINE, POINT, LENGTH = "arrow.spine", "arrow.point_mass", "arrow.length"
SPRING = 1.0  # [N] of preload
OUT = 1e-3  # [m] of the side support
SPINE_STEP = 0.05 * 0.0254  # the usual one between shafts [m], common practice
POINT_STEP = 10.0 * GRAIN
CUT = 0.012  # [m], half an inch
GROWTH = {"junior": 0.025}  # of the draw, that a learner's shaft is to leave room for [m] [judgement]
MOST_PARTS = 24  # combinations at hand
SAME = 1e-9
PLATE = "No preload and stiffness: a plate has no spring, only its place can be set."


class Step(NamedTuple):
    """A change of one value against the bow's own: ``times`` it and ``by`` more [SI]."""

    path: str
    times: float = 1.0
    by: float = 0.0

    def value(self, full: FilledSetup) -> float:
        """The new value, kept within the allowed range."""
        info, value = field_info(self.path), self.times * full.number(self.path) + self.by
        return min(max(value, float(info.low or 0.0)), float(info.high or math.inf))


@dataclass(frozen=True)
class Trial:
    """A change to be tried.

    Attributes
    ----------
    name : str
        In words.
    kind : str
    steps : tuple of Step
    stiffer : bool
        Whether it acts as a stiffer shaft (common practice).
    """

    name: str
    kind: Kind
    steps: tuple[Step, ...]
    stiffer: bool = False

    def changes(self, full: FilledSetup) -> InSi:
        """For a filled bow, whose own values it starts from."""
        return InSi({step.path: step.value(full) for step in self.steps})


def usual_trials(full: FilledSetup) -> tuple[tuple[Trial, ...], tuple[str, ...]]:
    """The usual step of every setting and part, and in words why one is left out."""
    spring = (_preload(full, SPRING), _stiffness(full, 2.0)) if sprung(full) else ()
    refused = cut_refused(full, CUT)
    cut = () if refused else (Trial(f"shaft cut by {_mm(CUT)}", "length", (Step(LENGTH, by=-CUT),), True),)
    trials = (
        *spring, _offset(full, OUT), _spine(full, -SPINE_STEP), _spine(full, SPINE_STEP),
        _point(full, POINT_STEP), _point(full, -POINT_STEP), *cut,
    )  # fmt: skip
    left_out = (*(() if spring else (PLATE,)), *((refused,) if refused else ()))
    return tuple(one for one in trials if _moves(one, full)), left_out


def more_steps(full: FilledSetup) -> tuple[Trial, ...]:
    """Further steps, both ways: of the side support's settings within what is usual, and of the point."""
    trials = [_offset(full, share * OUT) for share in (-2.0, -1.0, -0.5, 0.5, 1.0, 2.0)]
    if sprung(full):
        trials += [_preload(full, share * SPRING) for share in (-2.0, -1.0, 1.0, 2.0)]
        trials += [_stiffness(full, times) for times in (0.5, 2.0)]
    trials += [_point(full, steps * POINT_STEP) for steps in (-3.0, -2.0, 2.0, 3.0)]
    return tuple(one for one in trials if _moves(one, full) and _usual(one, full))


def parts_at_hand(full: FilledSetup, spines: Any, points: Any) -> tuple[Trial, ...]:
    """Every combination of the spines and points given, but for today's; a list not given is today's value.

    Raises
    ------
    SetupError
        Where one is no spine or no mass of a point, or there are too many.
    """
    by_spine = _values("spines", SPINE, spines) or (full.arrow.spine,)
    by_point = _values("points", POINT, points) or (full.arrow.point_mass,)
    if len(by_spine) * len(by_point) > MOST_PARTS:
        raise SetupError(
            "spines", f"{len(by_spine)} spines and {len(by_point)} points make {len(by_spine) * len(by_point)} "
            "combinations", f"Give lists that make {MOST_PARTS} at most",
        )  # fmt: skip
    trials = []
    for spine, point in product(by_spine, by_point):
        new, heavier = spine - full.arrow.spine, point - full.arrow.point_mass
        steps = [Step(path, by=by) for path, by in ((SPINE, new), (POINT, heavier)) if abs(by) > SAME]
        words = [f"shaft {_inches(spine)}"] * bool(spines) + [f"point {_grains(point)}"] * bool(points)
        if steps:
            trials.append(
                Trial(", ".join(words), "parts", tuple(steps), new < -SAME or (abs(new) <= SAME and heavier < 0.0))
            )
    return tuple(trials)


def cut_refused(full: FilledSetup, by: float) -> str:
    """Why a shaft must not be cut by so much [m]; "" where it may.

    A cut cannot be undone: the shaft has to reach past the rest at full draw as every arrow has to, and a learner's for
    a draw that grows.
    """
    least = PAST_REST.get(full.category, PAST_REST_OTHERS)
    grows = GROWTH.get(full.category, 0.0)
    past = full.arrow.length - by - (full.archer.draw_length - TRADE) - full.rest.forward
    if past >= least + grows - SAME:
        return ""
    for_whom = "a growing learner's least" if grows else "the least"
    needs = f"under {for_whom}, {_mm(least + grows)}"
    return f"Not cut by {_mm(by)}: it would reach {_mm(past)} past the rest at full draw, {needs}."


def sprung(full: FilledSetup) -> bool:
    """Whether the side support gives."""
    return bool(full.side.kind == "sprung")


def _values(name: str, path: str, given: Any) -> tuple[float, ...]:
    """The values of a list in words, or of a sequence; none of them twice."""
    if given is None:
        return ()
    field = fields_of(Arrow)[path.rpartition(".")[2]]
    items = listed(name, given) if isinstance(given, str) else several(name, given, field_info(path).unit)
    values = tuple(float(field.read(name, one, bare="refused")) for one in items)
    if not values or len(set(values)) < len(values):
        raise SetupError(name, "none is given, or one twice", 'Give for example "0.600, 0.650 in" or "90, 100 gr"')
    return values


def _preload(full: FilledSetup, by: float) -> Trial:
    step = Step(PRELOAD, by=by)
    return Trial(f"side support: preload {full.side.preload:.3g} to {step.value(full):.3g} N", "side support", (step,))


def _stiffness(full: FilledSetup, times: float) -> Trial:
    words = "twice as stiff" if times == 2.0 else "half as stiff"
    return Trial(f"side support: spring {words}", "side support", (Step(STIFFNESS, times=times),))


def _offset(full: FilledSetup, by: float) -> Trial:
    return Trial(
        f"side support: {_mm(abs(by))} further {'out' if by > 0.0 else 'in'}", "side support", (Step(OFFSET, by=by),)
    )


def _spine(full: FilledSetup, by: float) -> Trial:
    step = Step(SPINE, by=by)
    words = "stiffer" if by < 0.0 else "weaker"
    return Trial(
        f"{words} shaft: {_inches(full.arrow.spine, '')} to {_inches(step.value(full))}", "shaft", (step,), by < 0.0
    )


def _point(full: FilledSetup, by: float) -> Trial:
    step = Step(POINT, by=by)
    words = "lighter" if by < 0.0 else "heavier"
    return Trial(
        f"{words} point: {_grains(full.arrow.point_mass, '')} to {_grains(step.value(full))}",
        "point",
        (step,),
        by < 0.0,
    )


def _moves(trial: Trial, full: FilledSetup) -> bool:
    """Whether a trial leaves the range allowed where it began."""
    return all(abs(step.value(full) - full.number(step.path)) > SAME for step in trial.steps)


def _usual(trial: Trial, full: FilledSetup) -> bool:
    """Whether a setting stays in what is usual, or comes nearer to it."""
    ranges = {row.path: row.range_si(full) for row in typical(full)}
    for step in trial.steps:
        low, high = ranges.get(step.path, (-math.inf, math.inf))
        now, new = full.number(step.path), step.value(full)
        if not min(low, now) - SAME <= new <= max(high, now) + SAME:
            return False
    return True


def _mm(length: float) -> str:
    return f"{1e3 * length:.3g} mm"


def _inches(spine: float, unit: str = " in") -> str:
    return f"{from_si(spine, 'in'):.3f}{unit}"


def _grains(mass: float, unit: str = " gr") -> str:
    return f"{from_si(mass, 'gr'):.3g}{unit}"
