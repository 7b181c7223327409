"""What is handed over in code: numbers that carry their unit, and those in SI, for which there is one door."""

from __future__ import annotations

import operator
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from typing import Any, final

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.udunits import shown


@final
class InSi(Mapping[str, Any]):
    """Changes, or other values by path, whose numbers are in SI: as `with_si` gives them. Not to be changed."""

    __slots__ = ("_values",)

    def __init__(self, values: Mapping[str, Any]) -> None:
        self._values = dict(values)

    def __getitem__(self, path: str) -> Any:
        return self._values[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __or__(self, more: InSi) -> InSi:
        return InSi({**self._values, **more._values})

    def __repr__(self) -> str:
        return f"with_si({self._values!r})"


NO_CHANGES = InSi({})


def with_si(changes: Mapping[str, Any]) -> InSi:
    """Say that the numbers in some changes are SI, angles in radians: the only way in for numbers without a unit.

    Whatever takes changes, values of a sweep or standard deviations by path also takes what this returns.

    Parameters
    ----------
    changes : mapping of dotted path to value
        Numbers in SI, or values that carry their own unit.

    Returns
    -------
    InSi
        The same mapping, which cannot be changed.

    Raises
    ------
    SetupError
        If it is not a mapping.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> launch = archerysim.shoot(setup, changes=archerysim.with_si({"nock.locators.reading": 0.009}))
    >>> round(launch.reading, 3)  # [mm]
    9.0
    """
    if not isinstance(changes, Mapping):
        raise SetupError("with_si", f"{changes!r} is not a set of changes", 'Give {"path": number in SI}')
    return InSi(changes)


def spelled(path: str, value: Any, unit: str) -> Any:
    """What carries its unit beside its numbers as texts: ``(4, "mm")`` as "4 mm", several as a list; all else as it is.

    A pair, a quantity of pint, or an array of xarray whose attributes name its units; none of these libraries is
    imported.

    Parameters
    ----------
    path : str
        For messages.
    unit : str
        Any unit of the kind that is wanted.

    Raises
    ------
    SetupError
        If a quantity is of another dimension, or not of numbers.
    """
    if isinstance(value, (str, float, int)):
        return value
    if isinstance(value, tuple):
        if len(value) != 2 or not isinstance(value[1], str) or isinstance(value[0], str):
            return value
        numbers, written = value
    elif hasattr(value, "magnitude") and hasattr(value, "units"):
        numbers, written = value.magnitude, f"{value.units:~}"
        if not value.dimensionless and not value.is_compatible_with(units.si_unit(unit)):
            raise SetupError(path, f'the unit "{written}" does not fit', units.remedy_for(unit))
    elif hasattr(value, "attrs") and hasattr(value, "values"):
        numbers, written = value.values, value.attrs.get("units")
        if written is None:
            return numbers.tolist()
        factor = written == "1" and units.kind_of(unit) == "factor"
        written = units.si_unit(unit) if factor else shown(written)
    else:
        return value
    numbers = numbers.tolist() if hasattr(numbers, "tolist") else numbers
    if isinstance(numbers, (list, tuple)):
        return [_text(path, one, written) for one in numbers]
    return _text(path, numbers, written)


def _text(path: str, number: Any, unit: str) -> str:
    if isinstance(number, bool) or not hasattr(number, "__float__"):
        raise SetupError(path, f"{number!r} is not a number", f'Give numbers beside the unit "{unit}"')
    return f"{number if isinstance(number, int) else float(number)!r} {unit}".rstrip()


def whole_number(path: str, value: object, what: str, low: int, high: int | None = None) -> int:
    """A whole number given in code, from ``low`` to ``high``; neither 2.0 nor "2" nor True is one.

    Raises
    ------
    SetupError
        It says ``what`` it should be: "a number of shots".
    """
    try:
        number = None if isinstance(value, bool) else operator.index(value)  # type: ignore[arg-type]
    except TypeError:
        number = None
    if number is None or number < low or (high is not None and number > high):
        range_ = f"from {low} up" if high is None else f"from {low} to {high}"
        raise SetupError(path, f"{value!r} is not {what}", f"Give a whole number {range_}")
    return number


def listed(path: str, text: str) -> list[str]:
    """The values of a text of several, each with its unit, or with the one at the end.

    As "0, 6, 6 1/m", "[0, 6, 6] 1/m" or '["0 1/m", "6 1/m"]'.

    Raises
    ------
    SetupError
        If a comma may stand between two values or within a number.
    """
    within, between = len(re.findall(r"\d,(?=\d)", text)), text.count(",")
    if within and (within < between or between == 1):
        remedy = "Write decimals with a point, and a space after each comma between two values"
        raise SetupError(path, f'"{text}" can be read in two ways', remedy)
    brackets = re.fullmatch(r"\s*\[([^\[\]]*)\]([^\[\]]*)", text)
    parts = (brackets[1] if brackets else text).split(",")
    parts = [re.sub(r"""^(["'])(.*)\1$""", r"\2", part.strip()) for part in parts]
    unit = brackets[2].strip() if brackets else unit_of(parts[-1])
    return [f"{part} {unit}" if part and unit and not unit_of(part) else part for part in parts if part or not brackets]


def unit_of(text: str) -> str:
    """The unit behind a number; "" if there is none."""
    with suppress(units.UnitError):
        return units.split(text)[1]
    return ""


def several(path: str, value: Any, unit: str) -> list[Any]:
    """The items of what was given, each with its unit; a text, a number or None is one item."""
    value = spelled(path, value, unit)
    return list(value) if isinstance(value, Iterable) and not isinstance(value, str) else [value]
