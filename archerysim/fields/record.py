"""Base of all records: immutable, checked when made, described by the metadata of their fields."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Literal, Union, get_args, get_origin, get_type_hints

import msgspec

from archerysim.errors import SetupError
from archerysim.fields.quantity import Bare, Note, Quantity


@dataclass(frozen=True)
class Rivals:
    """Alternative ways to say one thing: fields of one alternative exclude those of the others.

    `needed` is the remedy to print when none is given; "" if none has to be.
    """

    ways: tuple[tuple[str, ...], ...]
    needed: str = ""


@dataclass(frozen=True)
class Field:
    """What the code knows about one field of a record."""

    name: str
    about: Quantity | Note | None = None
    record: type[Record] | None = None
    many: bool = False
    choices: tuple[Any, ...] = ()
    yes_no: bool = False
    needed: bool = False

    def read(self, path: str, value: object, *, bare: Bare = "in SI") -> Any:
        """Value in SI, checked; records pass as they are, a list of them as a tuple."""
        if isinstance(self.about, Quantity):
            return self.about.read(path, value, bare=bare)
        if isinstance(self.about, Note):
            return self.about.read(path, value, self.choices, self.yes_no)
        if self.record is None:
            return value
        each = value if isinstance(value, (list, tuple)) else [value]
        if (self.many and each is not value) or not all(isinstance(one, self.record) for one in each):
            kind = f"a list of {self.record.__name__}" if self.many else f"a {self.record.__name__}"
            raise SetupError(path, f"is {value!r}, not {kind}", f"Give {kind}")
        return tuple(each) if self.many else value


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of the records of a setup. All quantities in SI, angles in radians; None = not given.

    A record is made from numbers in SI, which is what it holds: ``Nock(slope=0.4, ...)`` has a slope of 0.4 rad. What
    carries its unit, as "0.4 deg" or ``(0.4, "deg")``, is read; `Setup.replace` takes nothing else.

    Raises
    ------
    SetupError
        When made with a value that cannot be read or is outside its allowed range.
    """

    label: ClassVar[str] = ""
    rivals: ClassVar[tuple[Rivals, ...]] = ()
    needs: ClassVar[dict[str, tuple[str, ...]]] = {}

    def __post_init__(self) -> None:
        for value, (item, low, high) in zip(msgspec.structs.astuple(self), _checks_of(type(self)), strict=True):
            if value is None and not item.needed:
                continue
            if type(value) is float and value and low <= value <= high:
                continue  # what is read most: numbers that were checked before (nil may be a negative one)
            if item.about is None and (item.record is None or type(value) is item.record):
                continue
            path = f"{self.label}.{item.name}".lstrip(".")
            if value is None:
                raise missing(path, item)
            new = item.read(path, value)
            if new is not value:
                msgspec.structs.force_setattr(self, item.name, new)

    def relations(self, path: str) -> None:
        """Check the fields against one another; `path` is the record's own place in the setup."""


@cache
def fields_of(record: type[Record]) -> dict[str, Field]:
    """The fields of a record by name, in order of declaration."""
    hints = get_type_hints(record, include_extras=True)
    optional = {item.name for item in msgspec.structs.fields(record) if not item.required}
    return {name: _field(name, hints[name], name not in optional) for name in record.__struct_fields__}


@cache
def _checks_of(record: type[Record]) -> tuple[tuple[Field, float, float], ...]:
    """The fields of a record with the range in which a number needs no further reading; an empty one for words."""
    checks = []
    for item in fields_of(record).values():
        about = item.about
        if isinstance(about, Quantity) and about.count == 1 and not about.whole:
            checks.append((item, about.low_si, about.high_si))
        else:
            checks.append((item, math.inf, -math.inf))
    return tuple(checks)


@cache
def needed_of(record: type[Record]) -> tuple[Field, ...]:
    """The fields of a record that must be given."""
    return tuple(item for item in fields_of(record).values() if item.needed)


@cache
def tables_of(record: type[Record]) -> tuple[Field, ...]:
    """The fields of a record that are records, or lists of them."""
    return tuple(item for item in fields_of(record).values() if item.record is not None)


def _field(name: str, hint: Any, needed: bool) -> Field:
    about = None
    if get_origin(hint) is Annotated:
        hint, about = get_args(hint)
    if get_origin(hint) in (Union, UnionType):
        hint = next(part for part in get_args(hint) if part is not NoneType)
    if get_origin(hint) is Literal:
        return Field(name, about, choices=get_args(hint), needed=needed)
    if isinstance(hint, type) and issubclass(hint, Record):
        return Field(name, record=hint, needed=needed)
    if about is None:
        return Field(name, record=get_args(hint)[0], many=True)
    return Field(name, about, yes_no=hint is bool, needed=needed)


@cache
def tied_to_form(record: type[Record]) -> tuple[tuple[Field, Quantity], ...]:
    """The quantities of a record that one form of setup must give, or that only one may give."""
    return tuple(
        (item, item.about)
        for item in fields_of(record).values()
        if isinstance(item.about, Quantity) and (item.about.only is not None or item.about.required is not None)
    )


def default_of(record: type[Record], name: str) -> Any:
    """Value assumed for a field that is not given, in SI; None if there is none."""
    about = fields_of(record)[name].about
    return about.default_si if isinstance(about, Quantity) else about.default if about else None


def join(path: str, name: str | int) -> str:
    """Dotted path of a field of the record at `path`."""
    return f"{path}.{name}" if path else str(name)


def walk(record: Record, path: str = "") -> Iterator[tuple[str, Record]]:
    """Every record inside `record`, itself first, with its dotted path."""
    yield path, record
    for item in tables_of(type(record)):
        inner = getattr(record, item.name)
        where = f"{path}.{item.name}" if path else item.name
        if item.many:
            for i, one in enumerate(inner):
                yield from walk(one, f"{where}.{i}")
        else:
            yield from walk(inner, where)


def plain(record: Record) -> dict[str, Any]:
    """The given values of a record as nested dictionaries and lists, in SI; what is not given is left out."""
    out = opened(record)
    for item in tables_of(type(record)):
        inner = out[item.name]
        out[item.name] = [plain(one) for one in inner] if item.many else plain(inner)
    return out


def opened(record: Record) -> dict[str, Any]:
    """The given values of a record by name, in SI, the records inside it as they are; what is not given is left out."""
    return {name: value for name, value in msgspec.structs.asdict(record).items() if value is not None}


def check_relations(record: Record) -> None:
    """Check rivals, companions and further relations in every record inside `record`.

    Raises
    ------
    SetupError
        At the first contradiction.
    """
    for path, one in walk(record):
        for group in one.rivals:
            _check_rivals(path, one, group)
        for name, companions in one.needs.items():
            lacking = [other for other in companions if getattr(one, other) is None]
            if getattr(one, name) is not None and lacking:
                raise SetupError(
                    f"{path}.{lacking[0]}",
                    f"missing: {path}.{name} means nothing without it",
                    f"Give it too, or leave {name} out",
                )
        one.relations(path)


def _check_rivals(path: str, record: Record, group: Rivals) -> None:
    used = [names for way in group.ways if (names := [name for name in way if getattr(record, name) is not None])]
    if len(used) > 1:
        raise SetupError(
            f"{path}.{used[1][0]}",
            f"given together with {path}.{used[0][0]}, which says the same thing in another way",
            f"Keep {used[0][0]} or {used[1][0]}, not both",
        )
    if not used and group.needed:
        raise SetupError(f"{path}.{group.ways[0][0]}", "missing", group.needed)


@cache
def rivals_of(record: type[Record], name: str) -> frozenset[str]:
    """The fields that say in another way what the field `name` says."""
    groups = [group.ways for group in record.rivals if any(name in way for way in group.ways)]
    return frozenset(other for ways in groups for way in ways if name not in way for other in way)


def drop_rivals(values: dict[str, Any], record: type[Record], kept: set[str]) -> None:
    """Remove from `values` what is a rival of the names in `kept`, unless it is itself in `kept`."""
    for name in kept:
        for rival in rivals_of(record, name) - kept:
            values.pop(rival, None)


def missing(path: str, item: Field) -> SetupError:
    """The error for a needed field that is not there."""
    name = path.rpartition(".")[2]
    if item.record is not None:
        return SetupError(path, "missing", f"Add the table [{path}]")
    example = item.about.example if item.about else ""
    meaning = f" ({item.about.text})" if item.about else ""
    return SetupError(path, "missing", f'Give it, for example {name} = "{example}"{meaning}')


RENAMED = {"strand_density": "strand_mass_per_length"}  # names that files of old may hold


def suggestion(word: str, known: list[str]) -> str:
    """A hint naming the word's present form or the closest known word, or the list of all of them."""
    home, dot, name = word.rpartition(".")
    now = f"{home}{dot}{RENAMED.get(name, name)}"
    near = [now] if now in known else difflib.get_close_matches(word, known, 1, 0.6)
    return f'Did you mean "{near[0]}"?' if near else "Known here: " + ", ".join(known)
