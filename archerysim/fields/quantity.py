"""What a field of a record is: declared once, beside the field, and used for every check and label."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal
from unicodedata import bidirectional, category

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.given import listed, spelled

Form = Literal["measured", "built"]
Value = float | int | tuple[float, ...]
Bare = Literal["in SI", "refused", "in changes"]  # what a number without a unit is; refused in changes: see the DOOR
DOOR = "; numbers in SI go through with_si"
BREAKS = "\n\r\u2028\u2029"
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
    spread: bool = False  # one value stands for all three, or is a table of one
    whole: bool = False  # only whole numbers
    only: Form | None = None  # the only form of setup that may give it
    required: Form | None = None  # the form of setup that must
    words: Callable[[Fraction, str], Fraction | None] | None = None  # a special way of writing: number and unit to SI
    caution: str = ""  # what has to be minded by whoever changes it on a real bow

    @cached_property
    def range_si(self) -> tuple[float, float]:
        """Least and largest value allowed, in SI."""
        return units.to_si(self.low, self.unit), units.to_si(self.high, self.unit)

    @cached_property
    def default_si(self) -> Value | None:
        """The default, in SI."""
        return None if self.default is None else self.read("default", self.default)

    @property
    def allowed(self) -> str:
        """The allowed range in words."""
        return f"{self.low} to {self.high}"

    def read(self, path: str, value: object, *, bare: Bare = "in SI") -> Value:
        """What was given in SI, checked against the allowed range; may raise SetupError, which names the path.

        It is what carries its unit (``fields.given``), a number, or for rows a sequence of them; ``bare`` says what a
        number without a unit is, unless the field is a plain number.
        """
        if self.count == 1:
            return self.single(path, value, bare)
        value = spelled(path, value, self.unit)
        if isinstance(value, str) and any(mark in value for mark in ",[]"):
            value = listed(path, value)
        if isinstance(value, str) or not isinstance(value, Iterable):
            if not self.spread:
                remedy = f"Write a list in square brackets{', of three' if self.count else ''}"
                raise SetupError(path, f"{quoted(value)} is one value where a row is needed", remedy)
            return (self.single(path, value, bare),) * max(self.count, 1)
        row = tuple(self.single(path, item, bare) for item in value)
        if self.count and len(row) != self.count:
            problem = f"{len(row)} values given where {self.count} are needed"
            raise SetupError(path, problem, "Give one each for index, middle and ring finger")
        if not row:
            raise SetupError(path, "the list is empty", "Give its values or leave the field out")
        return row

    def single(self, path: str, value: object, bare: Bare) -> float:
        """One value, as of `read`: of a row too."""
        low, high = self.range_si
        if bare == "in SI" and type(value) is float and not self.whole and low <= value <= high:
            return value + 0.0  # as below, for what is read most: numbers that were checked before
        value = spelled(path, value, self.unit)
        number = in_si(path, value, self.unit, bare, self)
        if not low <= number <= high:
            shown = units.show(number, self.unit, 6)
            text = " ".join(value.split()) if isinstance(value, str) else None
            said = " = ".join([f'"{value}"'] * (text is not None) + [shown] * (text != shown))
            problem = f"{said} is outside the allowed range {self.allowed}"
            raise SetupError(path, problem, "Check the number and its unit")
        if not self.whole:
            return number + 0.0  # no negative zero
        if number != int(number):
            raise SetupError(path, f"{number:g} is not a whole number", f"Give a whole number, {self.allowed}")
        return int(number)


@dataclass(frozen=True, kw_only=True)
class Note:
    """A field that is a word, a yes or no, or a name."""

    text: str
    default: str | bool | None = None
    basis: str = "common practice"
    example: str = ""
    choices: tuple[str, ...] = ()  # these two by the field's type
    yes_no: bool = False

    def read(self, path: str, value: object, *, bare: Bare = "in SI") -> str | bool:
        """A word, checked against the choices, or a yes or no; may raise SetupError."""
        if self.yes_no:
            if value in ("true", "false"):  # as the command line gives them
                return value == "true"
            if not isinstance(value, bool):
                raise SetupError(path, f"{quoted(value)} is neither true nor false", "Write true or false")
            return value
        if not isinstance(value, str):
            raise SetupError(path, f"{value!r} is not a text", "Write it in quotation marks")
        for letter in "" if value.isprintable() else value:
            if "\ud800" <= letter <= "\udfff":
                raise SetupError(path, "it contains half a letter, which no file can hold", "Write it again")
            if category(letter) in ("Cc", "Zl", "Zp") or bidirectional(letter) in TURNING:
                control = "a line break" if letter in BREAKS else f"the control character U+{ord(letter):04X}"
                letter_name = "a tab" if letter == "\t" else control
                raise SetupError(path, f"it holds {letter_name}", "Write it in one line of plain letters")
        if self.choices and value not in self.choices:
            near = get_close_matches(value.lower(), [choice.lower() for choice in self.choices], 1, 0.6)
            named = [f'Did you mean "{choice}"? ' for choice in self.choices if choice.lower() in near]
            listed = ", ".join(f'"{choice}"' for choice in self.choices)
            raise SetupError(path, f'"{value}" is not known', f"{''.join(named[:1])}Use one of {listed}")
        return value


def in_si(path: str, value: Any, unit: str, bare: Bare = "refused", about: Quantity | None = None) -> float:
    """What carries a unit like ``unit`` in SI; a number alone only where ``bare`` or ``unit`` lets it.

    With ``about``, whose value it is to be, allowed or not, its special way of writing is read too, and messages tell
    its range. Raises SetupError where it cannot be read, has no unit, or is not finite.
    """
    value = spelled(path, value, unit)
    words = about.words if about else None
    if isinstance(value, str):
        if about and re.match(r"\s*[+-]?\s*(nan|inf)", value, re.IGNORECASE):
            raise SetupError(path, f'"{value}" is not a usable number', f"Give a value from {about.allowed}")
        try:
            special = words(*units.split(value)) if words else None
            return units.to_si(value, unit) if special is None else float(special)
        except units.UnitError as error:
            lacking = error.problem.endswith("has no unit")
            remedy = _with_unit(value.strip(), unit, about) if lacking else error.remedy
            raise SetupError(path, error.problem, remedy) from None
    try:
        number = float(value) if hasattr(value, "__float__") and not isinstance(value, bool) else None
    except (TypeError, ValueError, OverflowError):
        number = None
    if number is None or not math.isfinite(number):
        problem = f"{value!r} is not a number" if number is None else f"{value} is not a usable number"
        remedy = "Give a finite one" if number is not None else f'Write for example "5 {unit}"'
        raise SetupError(path, problem, f"Give a value from {about.allowed}" if about else remedy)
    if bare == "in SI" or units.kind_of(unit) == "number":
        return number
    special = words(Fraction(repr(number)), "") if words else None
    if special is not None:
        return float(special)
    door = DOOR if bare == "in changes" else ""
    raise SetupError(path, f"{value} has no unit", _with_unit(f"{value}", unit, about) + door)


def _with_unit(number: str, unit: str, about: Quantity | None) -> str:
    """How to write a number that has no unit: with one that makes it an allowed value."""
    low, high = about.range_si if about else (-math.inf, math.inf)
    for fitting in (*(("in",) if "/" in number else ()), unit, *OTHER_UNITS):  # who writes fractions has inches
        with suppress(units.UnitError):
            if low <= units.to_si(f"{number} {fitting}", unit) <= high:
                return f'Write it with one, for example "{number} {fitting}"'
    return f'Write it with one, for example "{number} {unit}"'


def quoted(value: object) -> str:
    """A value as it is shown in messages: a text in double quotation marks."""
    return f'"{value}"' if isinstance(value, str) else repr(value)
