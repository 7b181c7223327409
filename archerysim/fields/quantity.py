"""What a field of a record is: declared once, beside the field, and used for every check and label."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal
from unicodedata import bidirectional, category

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.given import spelled

Form = Literal["measured", "built"]
Value = float | int | tuple[float, ...]
Bare = Literal[
    "in SI", "refused", "in changes"
]  # what a number without a unit is; in changes refused, for a door is there
DOOR = "; numbers in SI go through with_si"

TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}  # turn the direction of the letters around
OTHER_UNITS = ("in", "mm", "cm", "lb", "gr", "g")  # tried for an example, after the field's own


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A number, or a row of numbers, with a unit.

    Parameters
    ----------
    text : str
        Meaning, with the sign convention.
    unit : str
        Unit in which archers write it ("" for a plain number); also used when saving and in messages.
    low, high : str
        Allowed range, ends included, with units.
    default : str or tuple of str, optional
        Value assumed when none is given.
    basis : str
        Where the default comes from.
    example : str
        What to show when a required value is missing.
    count : int
        1 = one number, 3 = one for each finger, 0 = a table along the limb.
    spread : bool
        With count 3: one value stands for all three.
    whole : bool
        Only whole numbers.
    only : {"measured", "built"}, optional
        The only form of setup that may give this field.
    required : {"measured", "built"}, optional
        The form of setup that must give this field.
    words : callable, optional
        ``words(number, unit)`` returns the value [SI] of a special way of writing, or None.
    caution : str
        What has to be minded by whoever changes it on a real bow.
    """

    text: str
    unit: str = ""
    low: str
    high: str
    default: str | tuple[str, ...] | None = None
    basis: str = "common practice"
    example: str = ""
    count: int = 1
    spread: bool = False
    whole: bool = False
    only: Form | None = None
    required: Form | None = None
    words: Callable[[Fraction, str], Fraction | None] | None = None
    caution: str = ""
    low_si: float = field(init=False)
    high_si: float = field(init=False)
    default_si: Value | None = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "low_si", units.to_si(self.low, self.unit))
        object.__setattr__(self, "high_si", units.to_si(self.high, self.unit))
        object.__setattr__(self, "default_si", None)
        if self.default is not None:
            object.__setattr__(self, "default_si", self.read("default", self.default))

    @property
    def allowed(self) -> str:
        """The allowed range in words."""
        return f"{self.low} to {self.high}"

    def read(self, path: str, value: object, *, bare: Bare = "in SI") -> Value:
        """Turn what was given into SI and check it against the allowed range.

        Parameters
        ----------
        path : str
            Dotted path of the field, for the message.
        value : object
            A text with a unit, what else carries one (`archerysim.fields.given.spelled`), a number, or (for rows) a
            sequence of them.
        bare : {"in SI", "refused", "in changes"}
            What a number without a unit is, unless the field is a plain number. In changes it is refused, with the way
            to hand over SI.

        Raises
        ------
        SetupError
            If it cannot be read or is out of range.
        """
        if self.count == 1:
            return self.one(path, value, bare)
        value = spelled(path, value, self.unit)
        if isinstance(value, str) or not isinstance(value, Iterable):
            if not self.spread:
                raise SetupError(
                    path,
                    f"{quoted(value)} is one value where a row is wanted",
                    f"Write a list in square brackets{', of three' if self.count else ''}",
                )
            return (self.one(path, value, bare),) * self.count
        row = tuple(self.one(path, item, bare) for item in value)
        if self.count and len(row) != self.count:
            raise SetupError(
                path,
                f"{len(row)} values given where {self.count} are wanted",
                "Give one each for index, middle and ring finger",
            )
        if not row:
            raise SetupError(path, "the list is empty", "Give its values or leave the field out")
        return row

    def one(self, path: str, value: object, bare: Bare) -> float:
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
            raise SetupError(
                path,
                f"{written} is outside the allowed range {self.allowed}",
                "Check the number and its unit",
            )
        if self.whole:
            if number != int(number):
                raise SetupError(path, f"{number:g} is not a whole number", f"Give a whole number, {self.allowed}")
            return int(number)
        return number + 0.0  # no negative zero

    def number(self, path: str, value: object, bare: Bare) -> float:
        """One value, as of `read`, allowed or not; one that carries its unit is a text."""
        if isinstance(value, str):
            return self._from_text(path, value)
        if isinstance(value, bool) or not hasattr(value, "__float__"):
            raise SetupError(path, f"{value!r} is not a number", f"Give a value from {self.allowed}")
        try:
            number = float(value)
        except (TypeError, ValueError, OverflowError):
            raise SetupError(path, f"{value!r} is not a number", f"Give a value from {self.allowed}") from None
        if not math.isfinite(number):
            raise SetupError(path, f"{value} is not a usable number", f"Give a value from {self.allowed}")
        if bare == "in SI" or self.unit == "":
            return number
        special = self.words(Fraction(repr(number)), "") if self.words else None
        if special is not None:
            return float(special)
        raise SetupError(
            path, f"{value} has no unit", f"{self._with_unit(f'{value}')}{DOOR if bare == 'in changes' else ''}"
        )

    def _from_text(self, path: str, text: str) -> float:
        if re.match(r"\s*[+-]?\s*(nan|inf)", text, re.IGNORECASE):
            raise SetupError(path, f'"{text}" is not a usable number', f"Give a value from {self.allowed}")
        try:
            if self.words:
                special = self.words(*units.split(text))
                if special is not None:
                    return float(special)
            return units.to_si(text, self.unit)
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
            from difflib import get_close_matches

            near = get_close_matches(value.lower(), [choice.lower() for choice in choices], 1, 0.6)
            named = next((choice for choice in choices if near and choice.lower() == near[0]), None)
            hint = f'Did you mean "{named}"? ' if named else ""
            listed = ", ".join(f'"{choice}"' for choice in choices)
            raise SetupError(path, f'"{value}" is not known', f"{hint}Use one of {listed}")
        return value


def in_si(path: str, value: Any, unit: str, bare: Bare = "refused") -> float:
    """An argument that carries a unit like ``unit``, in SI; a number alone only where ``bare`` or ``unit`` lets it.

    Raises
    ------
    SetupError
        If it cannot be read, has no unit, or is not finite.
    """
    value = spelled(path, value, unit)
    try:
        number = units.to_si(value, unit) if isinstance(value, str) else float(value)
    except units.UnitError as error:
        raise SetupError(path, error.problem, error.remedy) from None
    except (TypeError, ValueError):
        raise SetupError(path, f"{value!r} is not a number", f'Write for example "5 {unit}"') from None
    if not math.isfinite(number):
        raise SetupError(path, f"{value} is not a usable number", "Give a finite one")
    if not isinstance(value, str) and bare != "in SI" and units.kind_of(unit) != "number":
        door = DOOR if bare == "in changes" else ""
        raise SetupError(path, f"{value} has no unit", f'Write it with one, for example "{value} {unit}"{door}')
    return number


def whole_number(path: str, value: object, what: str, low: int, high: int | None = None) -> int:
    """A whole number given in code; neither 2.0 nor "2" nor True is one.

    Parameters
    ----------
    what : str
        What it should be, for the message: "a number of shots".
    low, high : int
        Allowed range, ends included; no upper end if left out.

    Raises
    ------
    SetupError
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
