"""Dotted paths into a setup: reading, changing, and what a field is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.decode import construct, to_si
from archerysim.fields.given import InSi
from archerysim.fields.quantity import Bare, Note, Quantity, Value
from archerysim.fields.record import Field, Record, drop_rivals, fields_of, join, opened, plain, suggestion

R = TypeVar("R", bound=Record)

# One name for both: "limbs.mass" stands for the same field of each limb.
PAIRS: dict[str, tuple[str, ...]] = {"limbs": ("upper_limb", "lower_limb")}


@dataclass(frozen=True)
class FieldInfo:
    """What a field is, for labels of plots and attributes of arrays.

    Attributes
    ----------
    path : str
        Dotted path.
    unit : str
        Unit in which archers write it ("" for plain numbers and words).
    si_unit : str
        Unit in which it is stored.
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
    """One place in a setup: the steps to the field, its record, the field, and an index if it is one value of a row."""

    path: str
    steps: tuple[str | int, ...]
    owner: type[Record]
    field: Field
    index: int | None = None


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
    owner: type[Record] = root
    record: type[Record] | None = root
    item: Field | None = None
    expects_index = False
    for part in path.split("."):
        if expects_index and part.isdigit():
            steps.append(int(part))
            expects_index = False
            if item is not None and item.record is None:
                count = item.about.count if isinstance(item.about, Quantity) else 0
                if ".".join(map(str, steps)) != path or (count and int(part) >= count):
                    raise _unknown(root, asked)
                return Place(path, tuple(steps[:-1]), owner, item, int(part))
            continue
        if record is None or expects_index or part not in fields_of(record):
            raise _unknown(root, asked)
        owner, item = record, fields_of(record)[part]
        steps.append(part)
        record = item.record
        expects_index = item.many or (isinstance(item.about, Quantity) and item.about.count != 1)
    assert item is not None
    if isinstance(steps[-1], int):  # a whole record of a list
        item = Field(item.name, record=item.record)
    return Place(path, tuple(steps), owner, item)


def _unknown(root: type[Record], path: str) -> SetupError:
    known = all_paths(root)
    word = path.rpartition(".")[2]
    same = [one for one in known if one.rpartition(".")[2] == word]
    if same:
        hint = "Did you mean " + " or ".join(f'"{one}"' for one in same[:3]) + "?"
    else:
        hint = suggestion(path, list(known))
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
    """Value at a place in a record, or in something with attributes of the same names."""
    value: Any = top
    for step in place.steps:
        value = nth(value, step, place.path) if isinstance(step, int) else getattr(value, step)
    return row_value(value, place)


def row_value(value: Any, place: Place) -> Any:
    """A field's value, or the one of its row that the place means."""
    return value if place.index is None or value is None else nth(value, place.index, place.path)


def nth(row: Any, index: int, path: str) -> Any:
    """One member of a list or row.

    Raises
    ------
    SetupError
        If it is shorter.
    """
    if index >= len(row):
        last = f"The last index is {len(row) - 1}" if row else "The list is empty"
        raise SetupError(path, f"there is no number {index}", last)
    return row[index]


def read(root: type[Record], changes: Mapping[str, Any]) -> InSi:
    """Changes as users give them, in SI; those that are already stay as they are.

    Raises
    ------
    SetupError
        If a path is unknown, or a value has no unit, cannot be read or is out of range.
    """
    if isinstance(changes, InSi):
        return changes
    return InSi({path: _read(resolve(root, path)[0], value) for path, value in changes.items()})


def _read(place: Place, value: Any) -> Any:
    item = place.field
    if value is None:
        return None
    if place.index is not None:
        assert isinstance(item.about, Quantity)
        return item.about.one(place.path, value, "in changes")
    if item.record is None:
        return item.read(place.path, value, bare="in changes")
    if item.many:
        return _rows(item.record, value, place.path, "in changes")
    return _inner(item.record, value, place.path, "in changes")


def changed(record: R, changes: Mapping[str, Any]) -> R:
    """The record with some values changed, all together; rivals of what is set are dropped.

    Only the records on the way to a change are made anew.

    Raises
    ------
    SetupError
        If a path is unknown, a value cannot be read or is out of range, or the result contradicts itself.
    """
    values = opened(record)
    kept: dict[tuple[str | int, ...], set[str]] = {}
    for path, value in read(type(record), changes).items():
        for place in resolve(type(record), path):
            home = _home(values, place)
            _set(home, place, value)
            if place.field.record is None and value is not None:
                names = kept.setdefault(place.steps[:-1], set())
                names.add(place.field.name)
                drop_rivals(home, place.owner, names)
    return construct(type(record), values)


def _home(values: dict[str, Any], place: Place) -> Any:
    """The table or list that holds the place; on the way to it, records are opened."""
    home: Any = values
    for step in place.steps[:-1]:
        inner = nth(home, step, place.path) if isinstance(step, int) else home.get(step, {})
        home[step] = opened(inner) if isinstance(inner, Record) else list(inner) if isinstance(inner, tuple) else inner
        home = home[step]
    return home


def _set(home: Any, place: Place, value: Any) -> None:
    last, item = place.steps[-1], place.field
    if place.index is not None:
        assert isinstance(item.about, Quantity)
        row = home.get(item.name, item.about.default_si)
        if row is None:
            raise SetupError(place.path, f"{item.name} is not given as a whole", "Give all its values at once")
        nth(row, place.index, place.path)
        value = [value if i == place.index else one for i, one in enumerate(row)]
    if isinstance(last, int):
        nth(home, last, place.path)
        if value is None:
            raise SetupError(place.path, "one member of a list cannot be taken out", "Give the whole list without it")
    if value is None:
        home.pop(last, None)
    elif item.record is None:
        home[last] = item.read(place.path, value)
    elif item.many:
        home[last] = _rows(item.record, value, place.path, "in SI")
    else:
        home[last] = _inner(item.record, value, place.path, "in SI")


def _rows(record: type[Record], value: Any, path: str, bare: Bare) -> list[dict[str, Any]]:
    if isinstance(value, (str, Mapping, Record)) or not isinstance(value, (list, tuple)):
        raise SetupError(path, "a list is wanted", "Give a list, [] for none")
    return [_inner(record, one, join(path, i), bare) for i, one in enumerate(value)]


def _inner(record: type[Record], value: Any, path: str, bare: Bare) -> dict[str, Any]:
    if isinstance(value, record):
        return plain(value)
    if isinstance(value, Mapping):
        return to_si(record, value, path, bare="in SI" if isinstance(value, InSi) else bare)
    raise SetupError(
        path, f"{value!r} is not a {record.__name__}", f"Give a {record.__name__} or a table of its fields"
    )


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
