"""The points of a sweep: what is varied, over which values, in which order."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, field_info
from archerysim.fields.paths import resolve
from archerysim.fields.quantity import Quantity, in_si
from archerysim.fields.units import UnitError, from_si, split, to_si
from archerysim.shot.fitted_bow import FittedBow

MOST = 10_000_000


@dataclass(frozen=True)
class Axis:
    """One varied field.

    Attributes
    ----------
    path : str
        Dotted path.
    unit : str
        In which its values are shown; empty for plain numbers and words.
    values : tuple
        As `Setup.replace` takes them: numbers in SI, or words.
    """

    path: str
    unit: str
    values: tuple[Any, ...]

    def shown(self) -> np.ndarray:
        """The values in the axis' unit."""
        if isinstance(self.values[0], float):
            return np.array([float(f"{from_si(v, self.unit):.12g}") for v in self.values])
        plain = [v if isinstance(v, (bool, str)) else ", ".join(f"{one:g}" for one in v) for v in self.values]
        return np.array(plain)


@dataclass(frozen=True)
class Points:
    """All points of a sweep.

    Attributes
    ----------
    axes : tuple of Axis
    paired : bool
        False: every combination of the axes' values, the last axis fastest. True: row by row.
    hold : tuple of str
        What every change holds, as of `archerysim.shot.hold.held`.
    """

    axes: tuple[Axis, ...]
    paired: bool
    hold: tuple[str, ...] = ()

    @property
    def shape(self) -> tuple[int, ...]:
        if self.paired:
            return (len(self.axes[0].values),)
        return tuple(len(axis.values) for axis in self.axes)

    def __len__(self) -> int:
        return math.prod(self.shape)

    def __getitem__(self, index: int) -> dict[str, Any]:
        """What is changed at a point, counted in order."""
        places: Sequence[Any] = (index,) * len(self.axes) if self.paired else np.unravel_index(index, self.shape)
        return {axis.path: axis.values[place] for axis, place in zip(self.axes, places, strict=True)}


def points_of(over: Mapping[str, Any] | None, cases: Any, bow: FittedBow, hold: tuple[str, ...] = ()) -> Points:
    """Points from ``over`` (combinations) or ``cases`` (a table).

    Raises
    ------
    SetupError
    """
    if (over is None) == (cases is None):
        raise SetupError(
            "over",
            "a sweep needs either over= or cases=",
            'For example over={"nock.locators.reading": "4 mm:12 mm:1 mm"}',
        )
    if cases is not None:
        table = _columns(cases)
        sizes = {len(values) for values in table.values()}
        if len(sizes) != 1:
            raise SetupError("cases", "its columns differ in length", "Give every column a value in every row")
        axes = tuple(axis_of(path, list(values), bow.home(path, hold)) for path, values in table.items())
    else:
        if not isinstance(over, Mapping):
            raise SetupError("over", "is not a mapping of paths to values", 'Give {"path": values}')
        axes = tuple(axis_of(path, values, bow.home(path, hold)) for path, values in over.items())
    points = Points(axes, cases is not None, hold)
    for axis in () if points.paired else axes:
        if len(set(axis.values)) < len(axis.values):
            raise SetupError(axis.path, "holds a value twice", "Give every value once")
    if not axes or 0 in points.shape:
        raise SetupError("over" if cases is None else "cases", "holds no point", "Give at least one value")
    if int(np.prod(points.shape, dtype=float)) > MOST:
        raise SetupError("over", f"holds more than {MOST:,} points", "Widen the steps")
    return points


def _columns(cases: Any) -> dict[str, Sequence[Any]]:
    if isinstance(cases, Mapping):
        return {str(path): list(values) for path, values in cases.items()}
    if hasattr(cases, "to_dict") and hasattr(cases, "columns"):
        return {str(path): list(cases[path]) for path in cases.columns}
    rows = list(cases)
    if not rows or not all(isinstance(row, Mapping) for row in rows):
        raise SetupError("cases", "is not a table", "Give a mapping of columns, a data frame or a list of mappings")
    paths = list(rows[0])
    if any(set(row) != set(paths) for row in rows):
        raise SetupError("cases", "its rows differ in their fields", "Name the same fields in every row")
    return {str(path): [row[path] for row in rows] for path in paths}


def axis_of(path: str, values: Any, setup: Setup) -> Axis:
    """An axis from a range in words, or from values.

    Parameters
    ----------
    values : str or sequence
        "start:stop:step" with units ("4 mm:12 mm:0.5 mm", or the unit once at the end), or numbers in SI,
        or texts with units.
    """
    unit = field_info(path).unit
    if isinstance(values, str):
        values = spread(path, values, unit) if ":" in values else [part.strip() for part in values.split(",")]
    elif isinstance(values, (int, float)):
        values = [values]
    read = tuple(_in_si(setup, path, value, unit) for value in values)
    if all(isinstance(value, float) for value in read):
        return Axis(path, unit, read)
    return Axis(path, "", tuple(value if isinstance(value, (bool, str, tuple)) else f"{value:g}" for value in read))


def _in_si(setup: Setup, path: str, value: Any, unit: str) -> Any:
    """A value as `Setup.replace` takes it; whether it is allowed is decided at its point."""
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (tuple, list)):
        return tuple(in_si(path, one, unit) for one in value)  # a whole row, as finger shares
    if not isinstance(value, str):
        try:
            number = float(value) if isinstance(value, (int, float, np.integer, np.floating)) else math.nan
        except OverflowError:  # a whole number of 400 digits
            number = math.nan
        if not math.isfinite(number):
            raise SetupError(path, f"{value!r} is not a value to sweep over", "Give numbers in SI or texts with units")
        return number
    try:
        kept = setup.replace(**{path: value}).get(path)
        if isinstance(kept, tuple) and unit:
            return _number(path, value, unit)  # one value for all places of a row, as release times
        return float(kept) if isinstance(kept, (int, float)) and not isinstance(kept, bool) else kept
    except SetupError:
        if not unit:
            raise
        return _number(path, value, unit)


def _number(path: str, text: str, unit: str) -> float:
    try:
        return to_si(text, unit)
    except UnitError as error:
        special = _bare(path, text)
        if special is None:
            raise SetupError(path, error.problem, error.remedy) from None
        return special


def _bare(path: str, text: str) -> float | None:
    """The value of a number without a unit where the field has a way to read one, as the 700 of a spine."""
    about = resolve(Setup, path)[0].field.about
    if not isinstance(about, Quantity) or about.words is None:
        return None
    try:
        special = about.words(*split(text))
    except UnitError:
        return None
    return None if special is None else float(special)


def spread(path: str, text: str, unit: str) -> list[float]:
    """Values of "start:stop:step", both ends included where the step fits [SI].

    Raises
    ------
    SetupError
    """
    parts = [part.strip() for part in text.split(":")]
    if len(parts) != 3:
        raise SetupError(path, f"{text!r} is not a range", 'Write start:stop:step, for example "4 mm:12 mm:0.5 mm"')
    tail = parts[2].lstrip("+-0123456789.eE/ ").strip()
    start, stop, step = (
        _number(path, part if part.lstrip("+-0123456789.eE/ ") else f"{part} {tail}".strip(), unit) for part in parts
    )
    if step == 0.0 or (stop - start) / step < 0.0:
        raise SetupError(path, f"{text!r} never reaches its end", "Give the step the sign of stop minus start")
    steps = (stop - start) / step + 1e-9  # infinite where the ends are too far apart to subtract
    if steps >= MOST:
        raise SetupError(path, f"{text!r} holds more than {MOST:,} values", "Widen the step")
    count = math.floor(steps) + 1
    return [start + k * step for k in range(count)]
