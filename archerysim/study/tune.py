"""The best reading - or any other one or two settings - by a chosen aim."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, field_info, filled
from archerysim.equipment.quantity import in_si
from archerysim.equipment.units import from_si
from archerysim.shot.errors import ShotError
from archerysim.shot.flight import check_distance
from archerysim.shot.launch import Launch
from archerysim.shot.mesh import Mesh
from archerysim.shot.shoot import shoot_built
from archerysim.study.aims import AIMS, DEFAULT_AIM, Aim, aim_of
from archerysim.study.allowed import allowed_range, fit_to_shoot, within_limits
from archerysim.study.held import MEASURED, READING, Base, base_of, changed

LOOKS = 5  # shots over the range before the search closes in
CLOSE = 2e-5  # of the range


@dataclass(frozen=True)
class Tuned:
    """A tuned setting.

    Attributes
    ----------
    path, unit : str
        What was tuned, and the unit of the numbers below.
    value : float
        The best value.
    aim : str
    slope : float
        Change of the aim's measure per unit, at the best value.
    window : (float, float)
        Values between which the measure stays within ``size``; nan where it does not leave it in range.
    size : float
        The measure's tolerance, in its own unit.
    measure_unit : str
    reading, reading_top, axis_above_square : float
        Locator height there [mm].
    others : dict of str to float
        What the other aims would have said; nan where they say nothing in range.
    touches_rest : bool
        Whether the shaft touches the rest on its way out there, or would have, had the support not ended.
    distance : float
        Of the target [m].
    launch : Launch
    setup : Setup
        As built and tuned.
    shots : int
    looked : (k, 2) array
        Values tried and the aim's measure at each, values rising.
    """

    path: str
    unit: str
    value: float
    aim: str
    slope: float
    window: tuple[float, float]
    size: float
    measure_unit: str
    reading: float
    reading_top: float
    axis_above_square: float
    others: dict[str, float]
    touches_rest: bool
    distance: float
    launch: Launch
    setup: Setup
    shots: int
    looked: np.ndarray


class Response:
    """Launches over one setting, each shot once."""

    def __init__(self, base: Base, path: str, distance: float, crawls: tuple[float, ...]) -> None:
        self.base, self.path, self.distance, self.crawls = base, path, distance, crawls
        self.kept: dict[tuple[float, float | None], Launch] = {}
        self.seen: dict[tuple[str, float], float] = {}

    def launch(self, value: float, crawl: float | None = None) -> Launch:
        """The launch with the setting at ``value`` [SI]."""
        key = (value, crawl)
        if key not in self.kept:
            changes: dict[str, Any] = {self.path: value}
            if crawl is not None:
                changes["archer.crawl"] = crawl
            self.kept[key] = shoot_built(
                changed(self.base, changes), self.base.mesh, trace=False, before=self.base.before
            )
        return self.kept[key]

    def measure(self, aim: Aim, value: float) -> float:
        """The aim's measure; over several crawls their mean (mean square where it is to be least)."""
        key = (aim.name, value)
        if key not in self.seen:
            found = [aim.measure(self.launch(value, crawl), self.distance) for crawl in self.crawls or (None,)]
            self.seen[key] = float(np.mean(found))
        return self.seen[key]

    def looked(self, aim: Aim, unit: str) -> np.ndarray:
        """Values tried, in a unit, and the aim's measure at each (k, 2)."""
        return np.array(sorted((from_si(v, unit), m) for (name, v), m in self.seen.items() if name == aim.name))


def tune(
    setup: Setup,
    aim: str = DEFAULT_AIM,
    *,
    distance: str | float = "18 m",
    path: str = READING,
    within: tuple[str | float, str | float] | None = None,
    size: float | str | None = None,
    crawls: tuple[str | float, ...] = (),
    hold: str | tuple[str, ...] | None = None,
    others: bool = True,
    mesh: str | Mesh = "default",
    before: Setup | None = None,
) -> Tuned:
    """Find the value of a setting that is best by an aim.

    Parameters
    ----------
    setup : Setup
        Measured (fitted once) or built.
    aim : str
        "bare and fletched together" (the default), "bare slightly low", "no angle of attack", "no pitch
        rate" or "least swing".
    distance : str or float
        Of the target, where the aim needs one ("18 m", or a number in m).
    path : str
        What is tuned; the locators' reading by default.
    within : (low, high), optional
        Range searched, texts with units or SI. Default: 0 to 25 mm for the reading, two turns either way for
        a bolt (never past the file's limits), else the field's allowed range.
    size : float or str, optional
        Tolerance of the measure for the window, in the measure's unit or a text with one. Default: the shaft's diameter
        for heights on the target, 0.1 deg, 0.2 rad/s.
    crawls : tuple, optional
        Several crawls of a string-walker: the compromise that is best in the mean over them.
    hold : as for `sweep`
    others : bool
        Whether to say what the other aims would have said.
    mesh : str or Mesh
    before : Setup, optional
        The bow before it was changed to ``setup``; see `archerysim.shoot`. Default: ``setup`` itself.

    Returns
    -------
    Tuned

    Raises
    ------
    SetupError
        Where no value in range is best, with what happens at its ends.
    ShotError
    """
    goal = aim_of(aim)
    unit = field_info(path).unit
    far, set_crawls = check_distance(distance), tuple(in_si("crawls", c, "mm") for c in crawls)
    wanted = None if size is None else size_of(size, goal)
    base = base_of(setup, hold, mesh, before)
    fit_to_shoot(base)
    low, high = allowed_range(base, path, within)
    response = Response(base, path, far, set_crawls)
    try:
        value = _best(response, goal, low, high)
    except SetupError as error:
        if within is not None or error.path == path:
            raise
        ends = " to ".join(f"{from_si(end, unit):.4g}" for end in (low, high))
        raise SetupError(
            path, f"its whole range, {ends} {unit}, cannot be tried: {error}", "Give within=(low, high), --within"
        ) from None
    width = 0.02 * (high - low)
    slope = (response.measure(goal, min(value + width, high)) - response.measure(goal, max(value - width, low))) / (
        min(value + width, high) - max(value - width, low)
    )
    tolerance = wanted if wanted is not None else _usual_size(goal, filled(base.built))
    window = _window(response, goal, value, low, high, tolerance)
    said: dict[str, float] = {}
    for name, other in AIMS.items():
        if others and name != goal.name:
            try:
                said[name] = from_si(_best(response, other, low, high), unit)
            except (SetupError, ShotError):
                said[name] = float("nan")
    launch = response.launch(value, response.crawls[0] if response.crawls else None)
    within_limits(base, launch, (path,), f"{from_si(value, unit):.4g} {unit}".rstrip())
    return Tuned(
        path, unit, from_si(value, unit), goal.name, slope * _unit_size(unit),
        (_shown(window[0], unit), _shown(window[1], unit)), tolerance, goal.unit, launch.reading,
        launch.reading_top, launch.axis_above_square, said, bool(launch.events), far, launch, launch.setup,
        len(response.kept), response.looked(goal, unit),
    )  # fmt: skip


def tune_two(
    setup: Setup,
    paths: tuple[str, str],
    aims: tuple[str, str] = ("no angle of attack", "no pitch rate"),
    *,
    distance: str | float = "18 m",
    within: tuple[tuple[str | float, str | float] | None, tuple[str | float, str | float] | None] = (None, None),
    hold: str | tuple[str, ...] | None = None,
    mesh: str | Mesh = "default",
    before: Setup | None = None,
) -> tuple[dict[str, float], Launch]:
    """Two settings that make two measures nil together.

    Returns
    -------
    values : dict of path to value
        In each field's unit.
    launch : Launch

    Raises
    ------
    SetupError
        Where nothing in range does it.
    """
    from scipy.optimize import least_squares

    goals = [aim_of(aim) for aim in aims]
    for name, pair in (("path", paths), ("aim", [goal.name for goal in goals])):
        if len(set(pair)) < 2:
            raise SetupError(name, f"{pair[0]!r} is given twice", "Give two that differ")
    base = base_of(setup, hold, mesh, before)
    fit_to_shoot(base)
    spans = [allowed_range(base, path, span) for path, span in zip(paths, within, strict=True)]
    lows, highs = (np.array(side) for side in zip(*spans, strict=True))
    far = check_distance(distance)
    sizes = [_usual_size(goal, filled(base.built)) for goal in goals]

    def shot(share: np.ndarray) -> Launch:
        values = lows + share * (highs - lows)
        changes: dict[str, Any] = {path: float(v) for path, v in zip(paths, values, strict=True)}
        return shoot_built(changed(base, changes), base.mesh, trace=False, before=base.before)

    def misses(share: np.ndarray) -> np.ndarray:
        launch = shot(share)
        return np.array([goal.measure(launch, far) / size for goal, size in zip(goals, sizes, strict=True)])

    found = least_squares(misses, [0.5, 0.5], bounds=(0.0, 1.0), diff_step=0.02, xtol=1e-6, ftol=1e-8)
    if np.abs(found.fun).max() > 0.05:
        left = ", ".join(
            f"{goal.name} {miss * size:.3g} {goal.unit}"
            for goal, miss, size in zip(goals, found.fun, sizes, strict=True)
        )
        raise SetupError(" and ".join(paths), f"nothing in range meets both aims; the nearest leaves {left}",
                         "Widen the ranges, or change something else first")  # fmt: skip
    values = {
        path: from_si(float(v), field_info(path).unit)
        for path, v in zip(paths, lows + found.x * (highs - lows), strict=True)
    }
    launch = shot(found.x)
    told = " and ".join(f"{v:.4g} {field_info(path).unit}".rstrip() for path, v in values.items())
    within_limits(base, launch, paths, told)
    return values, launch


def _best(response: Response, aim: Aim, low: float, high: float) -> float:
    from scipy.optimize import brentq, minimize_scalar

    places = np.linspace(low, high, LOOKS)
    seen = np.array([response.measure(aim, float(p)) for p in places])
    if aim.least:
        k = int(np.argmin(seen))
        if k in (0, LOOKS - 1):
            raise _none(response, aim, places, seen)
        found = minimize_scalar(
            lambda v: response.measure(aim, float(v)), bounds=(places[k - 1], places[k + 1]), method="bounded",
            options={"xatol": 1e-3 * (high - low)},
        )  # fmt: skip
        return float(found.x)
    for a, b, ya, yb in zip(places, places[1:], seen, seen[1:], strict=False):
        if ya == 0.0 or ya * yb < 0.0:
            return float(brentq(lambda v: response.measure(aim, float(v)), a, b, xtol=CLOSE * (high - low), rtol=1e-12))
    raise _none(response, aim, places, seen)


def _none(response: Response, aim: Aim, places: np.ndarray, seen: np.ndarray) -> SetupError:
    unit = field_info(response.path).unit
    ends = [f"{seen[k]:+.3g} {aim.unit} at {from_si(float(places[k]), unit):.3g} {unit}" for k in (0, -1)]
    return SetupError(
        response.path,
        f"no value in range is best by {aim.name!r}: it is {ends[0]} and {ends[1]}",
        "Widen the range within the limits, or change shaft, rest or finger shares first",
    )


def _window(response: Response, aim: Aim, value: float, low: float, high: float, size: float) -> tuple[float, float]:
    from scipy.optimize import brentq

    middle = response.measure(aim, value)

    def over(v: float) -> float:
        return abs(response.measure(aim, float(v)) - middle) - size

    sides = []
    for end in (low, high):
        inside = over(end) < 0.0
        sides.append(float("nan") if inside else float(brentq(over, value, end, xtol=1e-3 * (high - low))))
    return sides[0], sides[1]


def size_of(size: float | str, aim: Aim) -> float:
    """A tolerance in the unit of the aim's measure, from a number or a text ("5 mm", "0.1 deg", "0.2 rad/s").

    Raises
    ------
    SetupError
    """
    if isinstance(size, str) and aim.unit == "rad/s":
        text = size.strip().removesuffix("rad/s").strip()
        number = in_si("size", text, "")
    elif isinstance(size, str):
        text = size if not _plain(size) else f"{size} {aim.unit}"
        number = from_si(in_si("size", text, aim.unit), aim.unit)
    else:
        number = in_si("size", size, "")
    if not number > 0.0:
        raise SetupError("size", f"a tolerance of {number:g} {aim.unit} is not positive", "Give a positive one")
    return number


def _plain(text: str) -> bool:
    """Whether a text is a number without a unit."""
    return re.fullmatch(r"\s*[+-]?[\d./ ]+\s*", text) is not None


def today(setup: Setup, path: str = READING, mesh: str | Mesh = "default") -> float:
    """Where a setting stands now, in the field's unit; a reading is the one by the underside.

    Raises
    ------
    SetupError, ShotError
    """
    unit = field_info(path).unit
    if path in MEASURED and setup.form == "measured":
        return from_si(filled(setup).number(path), unit)
    base = base_of(setup, None, mesh)
    return from_si(base.reading if path == READING else filled(base.built).number(path), unit)


def _shown(end: float, unit: str) -> float:
    """An end of a window in a unit; nan stays."""
    return end if np.isnan(end) else from_si(end, unit)


def _unit_size(unit: str) -> float:
    return 1.0 / from_si(1.0, unit)


def _usual_size(aim: Aim, full: Any) -> float:
    return {"mm": 1e3 * float(full.arrow.diameter), "deg": 0.1, "rad/s": 0.2}[aim.unit]
