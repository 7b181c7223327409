"""Dotted paths into a setup: reading, changing, and what a field is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar, cast

from msgspec import structs

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.given import InSi
from archerysim.fields.quantity import Bare, Note, Quantity, Value
from archerysim.fields.record import Field, Record, fields_of, join, missing, rivals_of, suggestion

R = TypeVar("R", bound=Record)

# One name for both: "limbs.mass" stands for the same field of each limb.
PAIRS: dict[str, tuple[str, ...]] = {"limbs": ("upper_limb", "lower_limb")}


@dataclass(frozen=True)
class FieldInfo:
    """What the field at a dotted path is, for labels of plots and attributes of arrays.

    Attributes
    ----------
    unit, si_unit : str
        In which archers write it ("" for plain numbers and words), and in which it is stored.
    text : str
        Meaning, with the sign convention.
    low, high : float or None
        Allowed range in SI, ends included.
    default : number, tuple, str, bool or None
        Value assumed when none is given, in SI.
    caution : str
        What has to be minded by whoever changes it on a real bow; "" for most.
    """

    path: str
    unit: str
    si_unit: str
    text: str
    low: float | None
    high: float | None
    default: Value | str | bool | None
    caution: str = ""

    @property
    def label(self) -> str:
        """Name and unit, for example ``"reading [mm]"``."""
        name = next(part for part in reversed(self.path.split(".")) if not part.isdigit()).replace("_", " ")
        return f"{name} [{self.unit}]" if self.unit else name


@dataclass(frozen=True)
class Place:
    """One place in a setup: the steps to it, the record that holds its field, and the field."""

    path: str
    steps: tuple[str | int, ...]
    owner: type[Record]
    field: Field

    @property
    def in_row(self) -> bool:
        """Whether it is one value of a row."""
        return self.field.record is None and isinstance(self.steps[-1], int)


@lru_cache(maxsize=1024)
def resolve(root: type[Record], path: str) -> tuple[Place, ...]:
    """The places that a dotted path means: one, or two for a name that stands for a pair.

    Raises
    ------
    SetupError
        If there is no such field, with the closest path as a suggestion.
    """
    head, _, rest = path.partition(".")
    if head in PAIRS and head not in fields_of(root):
        return tuple(_resolve(root, join(twin, rest) if rest else twin, path) for twin in PAIRS[head])
    return (_resolve(root, path, path),)


def _resolve(root: type[Record], path: str, asked: str) -> Place:
    steps: list[str | int] = []
    owner, record, item = root, cast(type[Record] | None, root), Field("")
    count = 1  # of what the last step named, 0 for any
    for part in path.split("."):
        if count != 1 and part.isdecimal() and (count == 0 or int(part) < count):
            steps.append(int(part))
            count = 1
        elif count == 1 and record is not None and part in fields_of(record):
            owner, item = record, fields_of(record)[part]
            steps.append(part)
            record, count = item.record, item.about.count if isinstance(item.about, Quantity) else int(not item.many)
        else:
            raise _unknown(root, asked)
    if item.many and isinstance(steps[-1], int):
        item = Field(item.name, record=item.record)
    return Place(path, tuple(steps), owner, item)


def _unknown(root: type[Record], path: str) -> SetupError:
    known = all_paths(root)
    same = [one for one in known if one.rpartition(".")[2] == path.rpartition(".")[2]]
    hint = (
        "Did you mean " + " or ".join(f'"{one}"' for one in same[:3]) + "?" if same else suggestion(path, list(known))
    )
    if hint.startswith("Known"):
        hint = "Known first names: " + ", ".join(fields_of(root))
    return SetupError(path, "unknown path", hint)


@lru_cache(maxsize=8)
def all_paths(root: type[Record]) -> tuple[str, ...]:
    """Dotted paths of all fields; members of lists with index 0."""
    out: list[str] = []
    for name, item in fields_of(root).items():
        if item.record is None:
            out.append(name)
        else:
            inner = f"{name}.0" if item.many else name
            out.extend(f"{inner}.{one}" for one in all_paths(item.record))
    return tuple(out)


def get(record: Record, path: str) -> Any:
    """Value at a dotted path, in SI; None if it is not given.

    Raises
    ------
    SetupError
        If there is no such field, or the path means two limbs that differ.
    """
    return common(path, [value_of(record, place) for place in resolve(type(record), path)])


def common(path: str, values: list[Any]) -> Any:
    """The value that all places of a path have.

    Raises
    ------
    SetupError
        If the path means two limbs that differ.
    """
    if any(value != values[0] for value in values):
        raise SetupError(path, "the two limbs differ", "Ask for upper_limb or lower_limb")
    return values[0]


def number(path: str, value: Any) -> float:
    """The number that stands at a path.

    Raises
    ------
    SetupError
        If there is none, or not one.
    """
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        problem = "has no value" if value is None else "is not one number"
        raise SetupError(path, problem, "Give it, or ask the filled setup for it")
    return value


def value_of(top: object, place: Place) -> Any:
    """Value at a place in a record, or in something with attributes of the same names; None where none is given."""
    value: Any = top
    for step in place.steps:
        value = None if value is None else member(value, step, place.path)
    return value


def member(home: Any, step: str | int, path: str) -> Any:
    """A record's field, or one of a list or row.

    Raises
    ------
    SetupError
        If the list is shorter.
    """
    if isinstance(step, str):
        return getattr(home, step)
    if step >= len(home):
        last = f"The last index is {len(home) - 1}" if home else "The list is empty"
        raise SetupError(path, f"there is no number {step}", last)
    return home[step]


def read(root: type[Record], changes: Mapping[str, Any]) -> InSi:
    """Changes as users give them, in SI; those that are already stay as they are.

    Raises
    ------
    SetupError
        If a path is unknown, or a value has no unit, cannot be read or is out of range.
    """
    if isinstance(changes, InSi):
        return changes
    return InSi({path: _read(resolve(root, path)[0], value, "in changes") for path, value in changes.items()})


def _read(place: Place, value: Any, bare: Bare) -> Any:
    if value is None:
        return None
    if place.in_row and isinstance(place.field.about, Quantity):
        return place.field.about.single(place.path, value, bare)
    return place.field.read(place.path, value, bare=bare)


def changed(record: R, changes: Mapping[str, Any]) -> R:
    """The record with some values changed, all together; rivals of what is set are dropped.

    Only the records on the way to a change are made anew.

    Raises
    ------
    SetupError
        If a path is unknown, a value cannot be read or is out of range, or the result contradicts itself.
    """
    bare: Bare = "in SI" if isinstance(changes, InSi) else "in changes"
    new: dict[str, Any] = {}  # the record's own fields, as they are by now
    kept: dict[tuple[str | int, ...], set[str]] = {}
    for path, given in changes.items():
        for place in resolve(type(record), path):
            value, first = _read(place, given, bare), str(place.steps[0])
            dropped: frozenset[str] = frozenset()
            if place.field.record is None and value is not None:
                names = kept.setdefault(place.steps[: -2 if place.in_row else -1], set())
                names.add(place.field.name)
                dropped = rivals_of(place.owner, place.field.name) - names
                if not place.in_row:
                    dropped |= frozenset(place.owner.dropped_with.get(place.field.name, ())) - names
            value = _nothing(place) if value is None else value
            home = new.get(first, getattr(record, first))
            new[first] = value if len(place.steps) == 1 else _put(home, place, 1, value, dropped)
    return structs.replace(record, **new)


def _nothing(place: Place) -> Any:
    """What a field holds that is no longer given."""
    if isinstance(place.steps[-1], int):
        raise SetupError(place.path, "one member of a list cannot be taken out", "Give the whole list without it")
    if place.field.needed:
        raise missing(place.path, place.field)
    if place.field.record is None:
        return None
    return () if place.field.many else place.field.record()


def _put(home: Any, place: Place, at: int, value: Any, dropped: frozenset[str]) -> Any:
    """What stands after some of the steps to a place, with the value there and without what is dropped beside it."""
    step = place.steps[at]
    home = place.field.default if home is None else home  # a row that is not given
    if home is None:
        raise SetupError(place.path, f"{place.field.name} is not given as a whole", "Give all its values at once")
    inner = member(home, step, place.path)
    inner = value if at == len(place.steps) - 1 else _put(inner, place, at + 1, value, dropped)
    if isinstance(step, int):
        return (*home[:step], inner, *home[step + 1 :])
    gone = dropped if step == place.field.name else ()
    return structs.replace(home, **{step: inner}, **dict.fromkeys(gone))


def info(root: type[Record], path: str) -> FieldInfo:
    """What the field at a dotted path is.

    Raises
    ------
    SetupError
        If there is no such field.
    """
    about = resolve(root, path)[0].field.about
    if about is None:
        raise SetupError(path, "this is a table, not a value", "Name one of its fields")
    if isinstance(about, Note):
        return FieldInfo(path, "", "", about.text, None, None, about.default)
    unit, si, default = about.unit, units.si_unit(about.unit), about.default_si
    return FieldInfo(path, unit, si, about.text, about.low_si, about.high_si, default, about.caution)
