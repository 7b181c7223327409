"""The best reading - or another setting - by a chosen aim."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, field_info, filled, oddities
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.readings import BY_UNDERSIDE, READING, ReadBy, by_underside, read_by
from archerysim.fields.given import several
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variable, dataset, variables_of
from archerysim.fields.udunits import udunits
from archerysim.fields.units import from_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold, hold_words
from archerysim.shot.launch import TAIL, Launch
from archerysim.study.tuning.aims import AIMS, DEFAULT_AIM, Aim, aim_of
from archerysim.study.tuning.limits import allowed_range, fit_to_shoot, passed, refuse_light, within_limits
from archerysim.study.tuning.search import STEP, Best, Jump, NoShot, Response, best, slope_at, stays_within

if TYPE_CHECKING:
    import xarray


@result("setup.name", "path", "aim", "unit", "value", "window", "met", "reading", "shots")
@dataclass(frozen=True)
class Tuned:
    """A tuned setting, or the nearest to it in the range that was searched.

    Where ``path`` is the reading, ``value``, ``window``, ``slope``, ``looked``, ``searched``, ``others``, ``also``,
    ``jumps`` and ``failed`` are told by the setup's convention, ``by``.

    Attributes
    ----------
    path, unit : str
        What was tuned, and the unit of the numbers below.
    value : float
        The best value; where no value in range meets the aim, the one whose measure is nearest to it.
    aim : str
    slope : float
        Change of the aim's measure per unit, at that value.
    window : (float, float)
        Values between which the measure stays within ``size``; nan where it does not leave it in range. Both nan where
        the aim is not met.
    size : float
        The measure's tolerance, in its own unit.
    measure_unit : str
    reading, reading_top, axis_above_square : float
        Locator height there [mm], by the underside and by the top.
    others : dict of str to float
        What the other aims would have said; nan where they say nothing in range.
    touches_rest : bool
        Whether the shaft touches the rest on its way out there, or would have, had the support not ended; in
        both planes also from the side.
    distance : float
        Of the target [m].
    launch : Launch
        With that value.
    setup : Setup
        As built and tuned.
    shots : int
    looked : (k, 2) array
        Values tried and the aim's measure at each, values rising; nan where there was no shot.
    met : bool
        Whether the aim is met: its measure zero, or least, at ``value``.
    way : {"", "higher", "lower"}
        Where it is not: on which side of the range the answer lies, by the measure's slope at the ends; empty where
        neither end leads there.
    measure : float
        The aim's measure at ``value``, in ``measure_unit``.
    searched : (float, float)
        The range.
    asked : bool
        Whether that range was given by the user.
    also : tuple of float
        Other values in range that meet the aim.
    jumps : tuple of Jump
        Values, in the setting's unit, at which the measure only jumps over zero, and the measure on either side of
        each: none of them meets the aim.
    others_way : dict of str to {"", "higher", "lower"}
        For the other aims that say nothing in range, on which side they would.
    failed : tuple of (float, str)
        Values that gave no shot, and why: left out of the search.
    unusual : tuple of str
        What is then outside the usual range of the setup's category, in words.
    by : ReadBy
        How readings are told.
    """

    path: str
    unit: str
    value: float
    aim: str
    slope: float
    window: tuple[float, float]
    size: float
    measure_unit: str
    reading: Annotated[float, Reported("mm")]
    reading_top: Annotated[float, Reported("mm")]
    axis_above_square: Annotated[float, Reported("mm")]
    others: dict[str, float]
    touches_rest: bool
    distance: Annotated[float, Reported("m")]
    launch: Launch
    setup: Setup
    shots: int
    looked: np.ndarray
    met: bool = True
    way: str = ""
    measure: float = 0.0
    searched: tuple[float, float] = (float("nan"), float("nan"))
    asked: bool = False
    also: tuple[float, ...] = ()
    jumps: tuple[Jump, ...] = ()
    others_way: dict[str, str] = field(default_factory=dict)
    failed: tuple[tuple[float, str], ...] = ()
    unusual: tuple[str, ...] = ()
    by: ReadBy = BY_UNDERSIDE

    @property
    def good_enough(self) -> bool:
        """Whether the aim is met, or its measure within ``size`` of zero."""
        return self.met or (not AIMS[self.aim].least and abs(self.measure) <= self.size)

    def to_xarray(self) -> xarray.Dataset:
        """What was looked at along "tried", and what was found, with units.

        ``tried`` and ``measure_tried`` are the two columns of ``looked``; the others as the attributes of this class,
        ``window`` along "end".
        """

        def told(values: Any, text: str, unit: str, *axes: str) -> Variable:
            return axes, np.asarray(values), {"units": udunits(unit), "long_name": text}

        return dataset(
            {
                "tried": told(self.looked[:, 0], f"{self.path}: values tried", self.unit, "tried"),
                "measure_tried": told(self.looked[:, 1], f"{self.aim}: measure", self.measure_unit, "tried"),
                "value": told(self.value, f"{self.path}: value found", self.unit),
                "measure": told(self.measure, f"{self.aim}: measure at the value found", self.measure_unit),
                "window": told(self.window, f"{self.path}: the measure stays within its size", self.unit, "end"),
                "size": told(self.size, f"{self.aim}: tolerance of the measure", self.measure_unit),
                "slope": (
                    (), np.asarray(self.slope),
                    {
                        "units": f"{udunits(self.measure_unit)}/({udunits(self.unit)})",
                        "long_name": f"{self.aim}: change of the measure per unit of {self.path}",
                    },
                ),
                **variables_of(self),
            },
            "a tuned setting",
        )  # fmt: skip


def tune(
    bow: Setup | FittedBow,
    aim: str = DEFAULT_AIM,
    *,
    distance: Any = "18 m",
    path: str = READING,
    within: Any = None,
    size: Any = None,
    crawls: Any = (),
    hold: Hold = None,
    others: bool = True,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    changes: Changes = NO_CHANGES,
) -> Tuned:
    """Find the value of a setting that is best by an aim.

    Parameters
    ----------
    bow : Setup or FittedBow
        A setup, measured or built, is fitted once.
    aim : str
        "bare and fletched together" (the default), "bare slightly low", "no angle of attack", "no pitch
        rate" or "least swing".
    distance : str or another number with its unit
        Of the target, where the aim needs one.
    path : str
        What is tuned; the locators' reading by default.
    within : (low, high), optional
        Range searched, with units: ("4 mm", "12 mm"), ``([4, 12], "mm")``; a reading by the setup's convention.
        Default: for the reading 0 to 25 mm by the underside, two turns either way for a bolt (never past the file's
        limits), else the field's allowed range.
    size : str or another number with its unit, optional
        Tolerance of the measure for the window. Default: the shaft's diameter
        for heights on the target, 0.1 deg, 0.2 rad/s.
    crawls : sequence, optional
        Several crawls, with units, of a string-walker: the compromise that is best in the mean over them.
    hold : as for `sweep`
        A setting that is measured on the bow (a tiller, the brace height) has the bow fitted anew for every value.
    others : bool
        Whether to say what the other aims would have said.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.
    changes : mapping of dotted path to value, optional
        Made to the bow first, as of `archerysim.shoot`, holding the same.

    Returns
    -------
    Tuned
        Its ``met`` says whether a value in range meets the aim. If none does, it holds the nearest value that can be
        used and on which side of the range the answer lies. What gives no shot is left out, with its reason.

    Raises
    ------
    SetupError
        Where an argument is wrong, no value in range gives a shot, or the best value passes a limit.
    ShotError
        Where the bow cannot be fitted or braced, or no value of a range that was given can be shot.
    """
    goal = aim_of(aim)
    unit = field_info(path).unit
    far, set_crawls = check_distance(distance), tuple(in_si("crawls", c, "mm") for c in several("crawls", crawls, "mm"))
    wanted = None if size is None else size_of(size, goal)
    words, bow = hold_words(hold), FittedBow.of(bow, mesh, changes, hold, planes)
    fit_to_shoot(bow)
    low, high = allowed_range(bow, path, within)
    response = Response(bow, path, far, set_crawls, words)
    prefer = _prefer(bow, path)

    def shown(value: float) -> float:
        return from_si(value, unit) if np.isfinite(value) else value

    try:
        found = best(response, goal, low, high, prefer)
    except NoShot as none:
        raise _no_shot(none.first, path, within is not None, f"{shown(low):.4g} to {shown(high):.4g} {unit}") from None
    value = found.value if found.met else _usable(response, goal, found, STEP * (high - low))
    tolerance = wanted if wanted is not None else usual_size(goal, filled(bow.setup))
    slope = slope_at(response, goal, value, low, high) * _unit_size(unit)
    alone = (float("nan"), float("nan"))
    window = stays_within(response, goal, value, tolerance, high - low) if found.met else alone
    said: dict[str, Best] = {}
    for name, other in AIMS.items():
        if others and name != goal.name:
            try:
                said[name] = best(response, other, low, high, prefer)
            except NoShot:
                said[name] = Best(float("nan"), False)
    launch = response.launch(value, response.crawls[0] if response.crawls else None)
    refuse_light(launch)
    within_limits(bow, launch, (path,), f"{shown(value):.4g} {unit}".rstrip())
    return Tuned(
        path=path, unit=unit, value=shown(value), aim=goal.name, slope=slope,
        window=(shown(window[0]), shown(window[1])), size=tolerance, measure_unit=goal.unit, reading=launch.reading,
        reading_top=launch.reading_top, axis_above_square=launch.axis_above_square,
        others={name: shown(one.value) if one.met else float("nan") for name, one in said.items()},
        touches_rest=any(event != TAIL for event in launch.events), distance=far, launch=launch, setup=launch.setup,
        shots=len(response.shot_at), looked=response.looked(goal, unit), met=found.met, way=found.way,
        measure=response.measure(goal, value),
        searched=(shown(low), shown(high)), asked=within is not None, also=tuple(shown(one) for one in found.also),
        jumps=tuple(replace(one, value=shown(one.value)) for one in found.jumps),
        others_way={name: one.way for name, one in said.items() if not one.met},
        failed=tuple(sorted((shown(v), str(e)) for (name, v), e in response.failed.items() if name == goal.name)),
        unusual=unusual_there(launch, (path,)), by=read_by(bow.setup),
    )  # fmt: skip


def _prefer(bow: FittedBow, path: str) -> Callable[[list[float]], float]:
    """Chooses among several answers: the highest reading (come down to it), else the nearest to where it stands now."""
    if path == READING:
        return max
    try:
        now = filled(bow.setup).get(path)
    except SetupError:  # two limbs that differ
        now = None
    return lambda values: min(values, key=lambda one: abs(one - now)) if isinstance(now, float) else values[0]


def _no_shot(first: Exception, path: str, asked: bool, ends: str) -> Exception:
    """The error where nothing in a range gives a shot."""
    if asked or (isinstance(first, SetupError) and first.path in (path, "distance")):
        return first
    return SetupError(
        path, f"no value of its whole range, {ends.rstrip()}, can be tried: {first}",
        "Put that right, or give a range: within=(low, high), --within",
    )  # fmt: skip


def _usable(response: Response, aim: Aim, found: Best, apart: float) -> float:
    """The value [SI] nearest to an answer that passes no limit; the nearest of all where each passes one.

    It is so far apart from where the measure jumps that this does not decide what the arrow does [SI].
    """
    values, measures = response.shot(aim)
    for value in values[np.argsort(np.abs(measures), kind="stable")]:
        if any(abs(value - jump.value) < apart for jump in found.jumps):
            continue
        launch = response.launch(float(value), response.crawls[0] if response.crawls else None)
        if not passed(response.bow, launch, (response.path,)):
            return float(value)
    return found.value


def unusual_there(launch: Launch, paths: tuple[str, ...]) -> tuple[str, ...]:
    """What of some settings, and of the reading, is outside the usual range of the setup's category."""
    names = {READING, *paths}
    for path in paths:
        head, _, rest = path.partition(".")
        names |= {f"{twin}.{rest}" for twin in PAIRS.get(head, ())}
    setup = launch.setup.replace(by_underside(launch.setup, 1e-3 * launch.reading))
    return tuple(one.words for one in oddities(setup) if one.path in names)


def size_of(size: Any, aim: Aim) -> float:
    """A tolerance in the unit of the aim's measure, from what carries its unit ("5 mm", "0.1 deg", "0.2 rad/s").

    Raises
    ------
    SetupError
    """
    number = from_si(in_si("size", size, aim.unit), aim.unit)
    if not number > 0.0:
        raise SetupError("size", f"a tolerance of {number:g} {aim.unit} is not positive", "Give a positive one")
    return number


def today(bow: Setup | FittedBow, path: str = READING, mesh: str | Mesh = "default") -> float:
    """Where a setting stands now, in the field's unit; a reading as the setup tells it.

    Raises
    ------
    SetupError, ShotError
    """
    unit = field_info(path).unit
    bow = FittedBow.of(bow, mesh)
    if bow.refits((path,)):
        return from_si(filled(bow.given).number(path), unit)
    if path == READING:
        return from_si(read_by(bow.setup).reading(bow.reading), unit)
    if not isinstance(filled(bow.setup).get(path), (int, float)):
        raise SetupError(path, "has no single number to tune", "Name a field with one value")
    return from_si(filled(bow.setup).number(path), unit)


def _unit_size(unit: str) -> float:
    return 1.0 / from_si(1.0, unit)


def usual_size(aim: Aim, full: FilledSetup) -> float:
    """The usual tolerance of an aim's measure, in its unit."""
    return {"mm": 1e3 * full.arrow.diameter, "deg": 0.1, "rad/s": 0.2}[aim.unit]
