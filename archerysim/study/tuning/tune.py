"""The best reading - or another setting - by a chosen aim."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import replace
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, field_info, filled, oddities
from archerysim.equipment.readings import READING, by_underside, read_by
from archerysim.fields.given import several
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import in_si
from archerysim.fields.units import from_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import Hold, hold_words
from archerysim.shot.launch import Launch
from archerysim.study.notes.group_means import SCATTER
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.tuning.aims import AIMS, DEFAULT_AIM, Aim, aim_of
from archerysim.study.tuning.at_the_butt import at_the_butt
from archerysim.study.tuning.drawn_reading import touches
from archerysim.study.tuning.first_move import first_move
from archerysim.study.tuning.honest_range import DRAWS, HonestRange, asked_of, drawn_inputs, drawn_rows, range_of
from archerysim.study.tuning.limits import allowed_range, fit_to_shoot, passed, refuse_light, within_limits
from archerysim.study.tuning.search import STEP, Best, NoShot, Response, best, slope_at, stays_within
from archerysim.study.tuning.tuned import Tuned


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
    sure: bool = False,
    draws: int = DRAWS,
    uncertainty: Mapping[str, Any] | None = None,
    seed: int = 0,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
) -> Tuned:
    """Find the best value of a setting, by an aim.

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
        Tolerance of the measure for the window. Default: 0.1 deg, 0.2 rad/s; for heights on the target how far a club
        archer's arrows scatter, one standard deviation: 3 cm at 18 m (six arrows over some 8 cm), and in proportion to
        the distance.
    crawls : sequence, optional
        Several crawls, with units, of a string-walker: the compromise that is best on average.
    hold : as for `sweep`
        A setting that is measured on the bow (a tiller, the brace height) has the bow fitted anew for every value.
    others : bool
        Whether to find what the other aims would have given.
    sure : bool
        Whether to find the honest range of the reading too (`archerysim.honest_range`), and the move that follows: some
        150 shots more. Not available for another setting, over several crawls, or for "least swing".
    draws, uncertainty, seed
        As for `archerysim.honest_range`.
    mesh : str or Mesh
    planes : int, optional
        As for `archerysim.shoot`.
    workers, executor, progress
        As for `sweep`; used for the range.
    changes : mapping of dotted path to value, optional
        Made to the bow first, as for `archerysim.shoot`, with the same hold.

    Returns
    -------
    Tuned
        Its ``met`` says whether a value in range meets the aim. If none does, it holds the nearest value that can be
        used, and on which side of the range the answer lies. Values that give no shot are left out, with the reason.

    Raises
    ------
    SetupError
        Where an argument is wrong, no value in range can be shot, or the best value passes a limit.
    ShotError
        Where the bow cannot be fitted or braced, or no value of a range that was given can be shot.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.tune(archerysim.load("examples/club-outdoor.toml"), others=False, mesh="coarse")
    >>> found.met, round(found.value)  # [mm]
    (True, 4)
    >>> found.window[0] < found.value < found.window[1]
    True
    """
    goal = aim_of(aim)
    unit = field_info(path).unit
    far, set_crawls = check_distance(distance), tuple(in_si("crawls", c, "mm") for c in several("crawls", crawls, "mm"))
    wanted = None if size is None else size_of(size, goal)
    how = HowToRun(workers, executor, progress=progress)
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
    tolerance = wanted if wanted is not None else usual_size(goal, far)
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
    why = _no_range(goal, path, set_crawls) if sure else ""
    span = move = butt = None
    if sure and not why:
        try:
            span = _range(bow, goal, far, found if within is None else None, uncertainty, draws, seed, how)
        except SetupError as error:
            why = str(error)
        else:
            move = first_move(bow, span) if span.known else None
            butt = at_the_butt(bow, 1e-3 * span.best, far) if goal.unit == "mm" and span.known else None
    return Tuned(
        path=path, unit=unit, value=shown(value), aim=goal.name, slope=slope,
        window=(shown(window[0]), shown(window[1])), size=tolerance, measure_unit=goal.unit, reading=launch.reading,
        reading_top=launch.reading_top, axis_above_square=launch.axis_above_square,
        others={name: shown(one.value) if one.met else float("nan") for name, one in said.items()},
        touches_rest=touches(launch), distance=far, launch=launch, setup=launch.setup,
        shots=len(response.shot_at), looked=response.looked(goal, unit), met=found.met, way=found.way,
        measure=response.measure(goal, value),
        searched=(shown(low), shown(high)), asked=within is not None, also=tuple(shown(one) for one in found.also),
        jumps=tuple(replace(one, value=shown(one.value)) for one in found.jumps),
        others_way={name: one.way for name, one in said.items() if not one.met},
        failed=tuple(sorted((shown(v), str(e)) for (name, v), e in response.failed.items() if name == goal.name)),
        unusual=unusual_there(launch, (path,)), by=read_by(bow.setup), range=span, no_range=why, move=move, butt=butt,
    )  # fmt: skip


def _no_range(goal: Aim, path: str, crawls: tuple[float, ...]) -> str:
    """Why there is no honest range of a setting, in words; empty where there is one."""
    if path != READING:
        return "only the locators' reading has one"
    if crawls:
        return "a compromise over crawls has none"
    return f"{goal.name!r} has none" if goal.least else ""


def _range(
    bow: FittedBow, goal: Aim, far: float, found: Best | None, uncertainty: Mapping[str, Any] | None, draws: int,
    seed: int, how: HowToRun,
) -> HonestRange:  # fmt: skip
    question = asked_of(bow, goal, far, found=found)
    normal, inputs, by_reading = drawn_inputs(bow, uncertainty, draws, seed)
    return range_of(by_reading, question, inputs, normal, seed, drawn_rows(by_reading, question, inputs, normal, how))


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
        path, f"no value in its whole range, {ends.rstrip()}, can be tried: {first}",
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
    setup = launch.setup.replace(by_underside(launch.setup, round(1e-3 * launch.reading, 5)))
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


def usual_size(aim: Aim, distance: float) -> float:
    """The usual tolerance of an aim's measure, in its unit: for heights a club archer's scatter at a distance [m]."""
    return {"mm": 1e3 * SCATTER * distance, "deg": 0.1, "rad/s": 0.2}[aim.unit]
