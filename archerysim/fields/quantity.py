"""What a field of a record is: declared once, beside the field, and used for every check and label."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal
from unicodedata import bidirectional, category

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.given import spelled

Form = Literal["measured", "built"]
Value = float | int | tuple[float, ...]
Bare = Literal["in SI", "refused", "in changes"]  # what a number without a unit is; refused in changes: see the DOOR
DOOR = "; numbers in SI go through with_si"

TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}  # turn the direction of the letters around
OTHER_UNITS = ("in", "mm", "cm", "lb", "gr", "g")  # tried for an example, after the field's own


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A number, or a row of numbers, with a unit."""

    text: str  # meaning, with the sign convention
    unit: str = ""  # in which archers write it, also in files and messages; "" for a plain number
    low: str  # ends of the allowed range, with units
    high: str
    default: str | tuple[str, ...] | None = None  # value assumed when none is given
    basis: str = "common practice"  # where that comes from
    example: str = ""  # shown where a needed value is missing
    count: int = 1  # 1 = one number, 3 = one for each finger, 0 = a table along the limb
    spread: bool = False  # with count 3: one value stands for all three
    whole: bool = False  # only whole numbers
    only: Form | None = None  # the only form of setup that may give it
    required: Form | None = None  # the form of setup that must
    words: Callable[[Fraction, str], Fraction | None] | None = (
        None  # number and unit of a special way of writing, to SI
    )
    caution: str = ""  # what has to be minded by whoever changes it on a real bow

    @cached_property
    def low_si(self) -> float:
        """Least value allowed, in SI."""
        return units.to_si(self.low, self.unit)

    @cached_property
    def high_si(self) -> float:
        """Largest value allowed, in SI."""
        return units.to_si(self.high, self.unit)

    @cached_property
    def default_si(self) -> Value | None:
        """The default, in SI."""
        return None if self.default is None else self.read("default", self.default)

    @property
    def allowed(self) -> str:
        """The allowed range in words."""
        return f"{self.low} to {self.high}"

    def read(self, path: str, value: object, *, bare: Bare = "in SI") -> Value:
        """Turn what was given into SI and check it against the allowed range.

        Parameters
        ----------
        path : str
            Of the field, for the message.
        value : object
            What carries its unit (`archerysim.fields.given.spelled`), a number, or (for rows) a sequence of them.
        bare : {"in SI", "refused", "in changes"}
            What a number without a unit is, unless the field is a plain number.

        Raises
        ------
        SetupError
            If it cannot be read or is out of range.
        """
        if self.count == 1:
            return self.single(path, value, bare)
        value = spelled(path, value, self.unit)
        if isinstance(value, str) or not isinstance(value, Iterable):
            if not self.spread:
                remedy = f"Write a list in square brackets{', of three' if self.count else ''}"
                raise SetupError(path, f"{quoted(value)} is one value where a row is wanted", remedy)
            return (self.single(path, value, bare),) * self.count
        row = tuple(self.single(path, item, bare) for item in value)
        if self.count and len(row) != self.count:
            problem = f"{len(row)} values given where {self.count} are wanted"
            raise SetupError(path, problem, "Give one each for index, middle and ring finger")
        if not row:
            raise SetupError(path, "the list is empty", "Give its values or leave the field out")
        return row

    def single(self, path: str, value: object, bare: Bare) -> float:
        """One value, as of `read`: of a row too."""
        if bare == "in SI" and type(value) is float and not self.whole and self.low_si <= value <= self.high_si:
            return value + 0.0  # as below, for what is read most: numbers that were checked before
        value = spelled(path, value, self.unit)
        number = self.number(path, value, bare)
        if not self.low_si <= number <= self.high_si:
            shown = units.show(number, self.unit, 6)
            written = f'"{value}"' if isinstance(value, str) else shown
            if isinstance(value, str) and " ".join(value.split()) != shown:
                written += f" = {shown}"
            problem = f"{written} is outside the allowed range {self.allowed}"
            raise SetupError(path, problem, "Check the number and its unit")
        if not self.whole:
            return number + 0.0  # no negative zero
        if number != int(number):
            raise SetupError(path, f"{number:g} is not a whole number", f"Give a whole number, {self.allowed}")
        return int(number)

    def number(self, path: str, value: object, bare: Bare) -> float:
        """One value, as of `read`, allowed or not; one that carries its unit is a text."""
        if isinstance(value, str):
            return self._from_text(path, value)
        number = as_number(value)
        if number is None:
            raise SetupError(path, f"{value!r} is not a number", f"Give a value from {self.allowed}")
        if not math.isfinite(number):
            raise SetupError(path, f"{value} is not a usable number", f"Give a value from {self.allowed}")
        if bare == "in SI" or self.unit == "":
            return number
        special = self.words(Fraction(repr(number)), "") if self.words else None
        if special is not None:
            return float(special)
        remedy = self._with_unit(f"{value}") + (DOOR if bare == "in changes" else "")
        raise SetupError(path, f"{value} has no unit", remedy)

    def _from_text(self, path: str, text: str) -> float:
        if re.match(r"\s*[+-]?\s*(nan|inf)", text, re.IGNORECASE):
            raise SetupError(path, f'"{text}" is not a usable number', f"Give a value from {self.allowed}")
        try:
            special = self.words(*units.split(text)) if self.words else None
            return units.to_si(text, self.unit) if special is None else float(special)
        except units.UnitError as error:
            remedy = self._with_unit(text.strip()) if error.problem.endswith("has no unit") else error.remedy
            raise SetupError(path, error.problem, remedy) from None

    def _with_unit(self, number: str) -> str:
        """How to write a number that has no unit: with one that makes it an allowed value."""
        for unit in (self.unit, *OTHER_UNITS):
            try:
                if self.low_si <= units.to_si(f"{number} {unit}", self.unit) <= self.high_si:
                    return f'Write it with one, for example "{number} {unit}"'
            except units.UnitError:
                continue
        return f'Write it with one, for example "{number} {self.unit}"'


@dataclass(frozen=True, kw_only=True)
class Note:
    """A field that is a word, a yes or no, or a name."""

    text: str
    default: str | bool | None = None
    basis: str = "common practice"
    example: str = ""

    def read(self, path: str, value: object, choices: tuple[Any, ...], yes_no: bool) -> str | bool:
        """Check a word against `choices`, or a yes or no.

        Raises
        ------
        SetupError
            If it is neither one of them nor of the right type.
        """
        if yes_no:
            if value in ("true", "false"):  # as the command line gives them
                return value == "true"
            if not isinstance(value, bool):
                raise SetupError(path, f"{quoted(value)} is not a yes or no", "Write true or false")
            return value
        if not isinstance(value, str):
            raise SetupError(path, f"{value!r} is not a text", "Write it in quotation marks")
        for letter in "" if value.isprintable() else value:
            if "\ud800" <= letter <= "\udfff":
                raise SetupError(path, "it holds half a letter that no file can keep", "Write it again")
            if category(letter) in ("Cc", "Zl", "Zp") or bidirectional(letter) in TURNING:
                raise SetupError(path, f"it holds {_control(letter)}", "Write it in one line of plain letters")
        if choices and value not in choices:
            near = get_close_matches(value.lower(), [choice.lower() for choice in choices], 1, 0.6)
            named = next((choice for choice in choices if near and choice.lower() == near[0]), None)
            hint = f'Did you mean "{named}"? ' if named else ""
            listed = ", ".join(f'"{choice}"' for choice in choices)
            raise SetupError(path, f'"{value}" is not known', f"{hint}Use one of {listed}")
        return value


def as_number(value: object) -> float | None:
    """A number given in code; None for what is none, yes and no among it."""
    try:
        return None if isinstance(value, bool) or not hasattr(value, "__float__") else float(value)
    except (TypeError, ValueError, OverflowError):
        return None


def in_si(path: str, value: Any, unit: str, bare: Bare = "refused") -> float:
    """An argument that carries a unit like ``unit``, in SI; a number alone only where ``bare`` or ``unit`` lets it.

    Raises
    ------
    SetupError
        If it cannot be read, has no unit, or is not finite.
    """
    value = spelled(path, value, unit)
    try:
        number = units.to_si(value, unit) if isinstance(value, str) else as_number(value)
    except units.UnitError as error:
        raise SetupError(path, error.problem, error.remedy) from None
    if number is None:
        raise SetupError(path, f"{value!r} is not a number", f'Write for example "5 {unit}"')
    if not math.isfinite(number):
        raise SetupError(path, f"{value} is not a usable number", "Give a finite one")
    if not isinstance(value, str) and bare != "in SI" and units.kind_of(unit) != "number":
        door = DOOR if bare == "in changes" else ""
        raise SetupError(path, f"{value} has no unit", f'Write it with one, for example "{value} {unit}"{door}')
    return number


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


def several(path: str, value: Any, unit: str) -> list[Any]:
    """The items of what was given, each with its unit; a text, a number or None is one item."""
    value = spelled(path, value, unit)
    return list(value) if isinstance(value, Iterable) and not isinstance(value, str) else [value]


def _control(letter: str) -> str:
    """A control character in words."""
    if letter == "\t":
        return "a tab"
    return "a line break" if letter in "\n\r\u2028\u2029" else f"the control character U+{ord(letter):04X}"


def quoted(value: object) -> str:
    """A value as it is shown in messages: a text in double quotation marks."""
    return f'"{value}"' if isinstance(value, str) else repr(value)
