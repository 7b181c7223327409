"""The points of a sweep: what is varied, over which values, in which order."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import InSi, Setup, SetupError, field_info
from archerysim.fields.given import listed, spelled, unit_of
from archerysim.fields.paths import resolve
from archerysim.fields.quantity import Bare, Quantity, in_si
from archerysim.fields.units import from_si
from archerysim.shot.fitted_bow import FittedBow

MOST = 10_000_000
HEAD = re.compile(r"(?P<path>[^\[\]]*?)\s*\[(?P<unit>[^\[\]]*)\]\s*")  # of a column, as tables on disk have it


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
        As `Setup.with_si` takes them: numbers in SI, or words.
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
        What every change holds, as of `archerysim.shot.hold.hold_words`.
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

    def __getitem__(self, index: int) -> InSi:
        """What is changed at a point, counted in order."""
        places: Sequence[Any] = (index,) * len(self.axes) if self.paired else np.unravel_index(index, self.shape)
        return InSi({axis.path: axis.values[place] for axis, place in zip(self.axes, places, strict=True)})


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
        axes = tuple(_column(head, values, bow, hold, isinstance(cases, InSi)) for head, values in table.items())
    else:
        if not isinstance(over, Mapping):
            raise SetupError("over", "is not a mapping of paths to values", 'Give {"path": values}')
        bare: Bare = "in SI" if isinstance(over, InSi) else "in changes"
        axes = tuple(axis_of(path, values, bow.home(path, hold), bare) for path, values in over.items())
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
    """The table's columns by their heads; a pair or an array with its unit as texts."""
    if isinstance(cases, Mapping):
        return {str(head): list(_spelled(str(head), values)) for head, values in cases.items()}
    if hasattr(cases, "to_dict") and hasattr(cases, "columns"):
        return {str(head): list(cases[head]) for head in cases.columns}
    rows = list(cases)
    if not rows or not all(isinstance(row, Mapping) for row in rows):
        raise SetupError("cases", "is not a table", "Give a mapping of columns, a data frame or a list of mappings")
    heads = list(rows[0])
    if any(set(row) != set(heads) for row in rows):
        raise SetupError("cases", "its rows differ in their fields", "Name the same fields in every row")
    return {str(head): [row[head] for row in rows] for head in heads}


def _spelled(head: str, values: Any) -> Any:
    match = HEAD.fullmatch(head)
    path = match["path"] if match else head
    return spelled(path, values, field_info(path).unit)


def _column(head: str, values: Sequence[Any], bow: FittedBow, hold: tuple[str, ...], in_si: bool) -> Axis:
    """The axis of a column of a table; a head like "arrow.point_mass [gr]" says the unit of its bare numbers."""
    match = HEAD.fullmatch(head)
    if match is not None:
        path, unit = match["path"], match["unit"].strip()
        numbers = [one if isinstance(one, str) else spelled(path, (one, unit), field_info(path).unit) for one in values]
        return axis_of(path, numbers, bow.home(path, hold), "refused")
    try:
        return axis_of(head, list(values), bow.home(head, hold), "in SI" if in_si else "refused")
    except SetupError as error:
        if not error.problem.endswith("has no unit") or any(isinstance(one, str) for one in values):
            raise
        unit = field_info(head).unit
        remedy = f'Say it in the column\'s name, for example "{head} [{unit}]"; numbers in SI go through with_si'
        raise SetupError(head, error.problem, remedy) from None


def axis_of(path: str, values: Any, setup: Setup, bare: Bare = "in changes") -> Axis:
    """An axis from a range in words, or from values.

    Parameters
    ----------
    values : str or sequence
        "start:stop:step" with units ("4 mm:12 mm:0.5 mm", or the unit once at the end), or texts with units, or other
        numbers that carry theirs: ``([4, 5], "mm")``.
    bare : {"in SI", "refused", "in changes"}
        What numbers without a unit are.
    """
    unit = field_info(path).unit
    values = spelled(path, values, unit)
    if isinstance(values, str):
        values = spread(path, values) if ":" in values else listed(path, values)
        bare = "in SI" if values and isinstance(values[0], float) else bare
    elif isinstance(values, (int, float)):
        values = [values]
    read = tuple(_in_si(setup, path, value, unit, bare) for value in values)
    if all(isinstance(value, float) for value in read):
        return Axis(path, unit, read)
    return Axis(path, "", tuple(value if isinstance(value, (bool, str, tuple)) else f"{value:g}" for value in read))


def _in_si(setup: Setup, path: str, value: Any, unit: str, bare: Bare) -> Any:
    """A value as `Setup.with_si` takes it; whether it is allowed is decided at its point."""
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    value = spelled(path, value, unit)
    about = resolve(Setup, path)[0].field.about
    if isinstance(about, Quantity) and about.count != 1 and not about.spread and not isinstance(value, (tuple, list)):
        remedy = f'Vary one of its values, "{path}.0", or all by a factor, "{path}.all" as "0.9 times, 1.1 times"'
        raise SetupError(path, f"{value!r} is one value where a whole row is needed", remedy)
    if isinstance(value, (tuple, list)):
        return tuple(in_si(path, one, unit, bare) for one in value)  # a whole row, as finger shares
    if isinstance(value, str):
        if unit:
            return in_si(path, value, unit, bare, _quantity(path)) + 0.0
        kept = setup.replace({path: value}).get(path)
        return float(kept) if isinstance(kept, (int, float)) and not isinstance(kept, bool) else kept
    try:
        number = float(value) if isinstance(value, (int, float, np.integer, np.floating)) else math.nan
    except OverflowError:  # a whole number of 400 digits
        number = math.nan
    if not math.isfinite(number):
        raise SetupError(path, f"{value!r} is not a value to sweep over", "Give numbers with units")
    return in_si(path, number, unit, bare, _quantity(path)) if unit else number


def _quantity(path: str) -> Quantity:
    """What the field of a number is."""
    about = resolve(Setup, path)[0].field.about
    if not isinstance(about, Quantity):
        raise SetupError(path, "is a word, not a number", "Give a list of its words")
    return about


def spread(path: str, text: str) -> list[float]:
    """Values of "start:stop:step", both ends included where the step fits [SI].

    Raises
    ------
    SetupError
    """
    parts = [part.strip() for part in text.split(":")]
    if len(parts) != 3:
        raise SetupError(path, f"{text!r} is not a range", 'Write start:stop:step, for example "4 mm:12 mm:0.5 mm"')
    tail = unit_of(parts[2])
    about = _quantity(path)
    start, stop, step = (
        in_si(
            path, part if part.lstrip("+-0123456789.eE/ ") else f"{part} {tail}".strip(), about.unit, "refused", about
        )
        for part in parts
    )
    if step == 0.0 or (stop - start) / step < 0.0:
        raise SetupError(path, f"{text!r} never reaches its end", "Give the step the sign of stop minus start")
    steps = (stop - start) / step + 1e-9  # infinite where the ends are too far apart to subtract
    if steps >= MOST:
        raise SetupError(path, f"{text!r} holds more than {MOST:,} values", "Widen the step")
    count = math.floor(steps) + 1
    return [start + k * step for k in range(count)]
