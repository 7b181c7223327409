"""Dotted paths into a setup: reading, changing, and what a field is."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar, cast

from msgspec import structs

from archerysim.errors import SetupError
from archerysim.fields.given import InSi
from archerysim.fields.quantity import Bare, Quantity, Value
from archerysim.fields.record import Field, Record, fields_of, missing, rivals_of, suggestion

R = TypeVar("R", bound=Record)

# One name for both: "limbs.mass" stands for the same field of each limb.
PAIRS: dict[str, tuple[str, ...]] = {"limbs": ("upper_limb", "lower_limb")}
# Behind the name of a row: a factor on all its values, "limbs.thickness.all" = "1.02 times".
ALL = "all"
FACTOR = Quantity(text="factor on every value", unit="times", low="-10 times", high="10 times")


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
        name = [part for part in self.path.split(".") if part != ALL and not part.isdigit()][-1].replace("_", " ")
        return f"{name} [{self.unit}]" if self.unit else name


@dataclass(frozen=True)
class Place:
    """One place in a setup: the steps to it, the record that holds its field, and the field."""

    path: str
    steps: tuple[str | int, ...]
    owner: type[Record]
    field: Field
    in_row: bool  # one value of a row, or the factor on all of them


@lru_cache(maxsize=1024)
def resolve(root: type[Record], path: str) -> tuple[Place, ...]:
    """The places that a dotted path means: one, or two for a name that stands for a pair; SetupError if none."""
    head, dot, rest = path.partition(".")
    twins = PAIRS.get(head, ()) if head not in fields_of(root) else ()
    return tuple(_resolve(root, f"{twin}{dot}{rest}", path) for twin in twins) or (_resolve(root, path, path),)


def _resolve(root: type[Record], path: str, asked: str) -> Place:
    steps: list[str | int] = []
    owner, record, item = root, cast(type[Record] | None, root), Field("")
    count = 1  # of what the last step named, 0 for any
    for part in path.split("."):
        if count != 1 and part.isdecimal() and (count == 0 or int(part) < count):
            steps.append(int(part))
            about = item.about
            if isinstance(about, Quantity):
                about = replace(about, count=1, default=about.default if isinstance(about.default, str) else None)
            item, count = Field(item.name, about, item.record), 1
        elif count != 1 and part == ALL and isinstance(item.about, Quantity):
            steps.append(ALL)
            about = replace(FACTOR, text=f"{FACTOR.text}: {item.about.text}", caution=item.about.caution)
            item, count = Field(item.name, about), 1
        elif count == 1 and record is not None and part in fields_of(record):
            owner, item = record, fields_of(record)[part]
            steps.append(part)
            record, count = item.record, item.about.count if isinstance(item.about, Quantity) else int(not item.many)
        else:
            known = all_paths(root)
            same = [f'"{one}"' for one in known if one.rpartition(".")[2] == asked.rpartition(".")[2]]
            hint = suggestion(asked, list(known), "Known first names", fields_of(root))
            raise SetupError(asked, "unknown path", f"Did you mean {' or '.join(same[:3])}?" if same else hint)
    return Place(path, tuple(steps), owner, item, item.about is not None and steps[-1] != item.name)


@lru_cache(maxsize=8)
def all_paths(root: type[Record]) -> tuple[str, ...]:
    """Dotted paths of all fields; members of lists with index 0."""
    out: list[str] = []
    for name, item in fields_of(root).items():
        inner = f"{name}.0" if item.many else name
        out += [f"{inner}.{one}" for one in all_paths(item.record)] if item.record else [name]
    return tuple(out)


def get(root: type[Record], path: str, find: Callable[[Place], Any]) -> Any:
    """What ``find`` gets at a dotted path; raises SetupError where the path means two limbs that differ."""
    values = [find(place) for place in resolve(root, path)]
    if any(value != values[0] for value in values):
        raise SetupError(path, "the two limbs differ", "Ask for upper_limb or lower_limb")
    return values[0]


def number(path: str, value: Any) -> float:
    """The number that stands at a path; raises SetupError where there is none, or not one."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        problem = "has no value" if value is None else "is not one number"
        raise SetupError(path, problem, "Give it, or ask the filled setup for it")
    return value


def value_of(top: object, place: Place, at: int = 0, inside: Callable[[Any, str], Any] = getattr) -> Any:
    """Value at a place in what stands after the first ``at`` steps to it, a record or what else ``inside`` looks into.

    None where none is given; the factor on a row is one. Raises SetupError where a list or row is shorter.
    """
    value: Any = top
    for step in place.steps[at:]:
        if value is None or (step == ALL and place.in_row):
            return None if value is None else 1.0
        value = inside(value, step) if isinstance(step, str) else member(value, step, place.path)
    return value


def member(home: Sequence[Any], step: int, path: str) -> Any:
    """One of a list or row; raises SetupError where it is shorter."""
    if step >= len(home):
        last = f"The last index is {len(home) - 1}" if home else "The list is empty"
        raise SetupError(path, f"there is no number {step}", last)
    return home[step]


def read(root: type[Record], changes: Mapping[str, Any]) -> InSi:
    """Changes as users give them, in SI; those that are already stay as they are. May raise SetupError."""
    if isinstance(changes, InSi):
        return changes
    return InSi({path: _read(resolve(root, path)[0], value, "in changes") for path, value in changes.items()})


def _read(place: Place, value: Any, bare: Bare) -> Any:
    """A value as it stands at a place; for None what it holds when it is no longer given."""
    if value is not None:
        return place.field.read(place.path, value, bare=bare)
    if place.steps[-1] != place.field.name:
        raise SetupError(place.path, "one member of a list cannot be taken out", "Give the whole list without it")
    if place.field.needed:
        raise missing(place.path, place.field)
    return place.field.record and (() if place.field.many else place.field.record())


def changed(record: R, changes: Mapping[str, Any]) -> R:
    """The record with some values changed, all together, without rivals of what is set; the others stay as they are."""
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
                along = () if place.in_row else place.owner.dropped_with.get(place.field.name, ())
                dropped = rivals_of(place.owner, place.field.name).union(along) - names
            home = new.get(first, getattr(record, first))
            new[first] = value if len(place.steps) == 1 else _put(home, place, 1, value, dropped)
    return structs.replace(record, **new)


def _put(home: Any, place: Place, at: int, value: Any, dropped: frozenset[str]) -> Any:
    """What stands after some of the steps to a place, with the value there and without what is dropped beside it."""
    step = place.steps[at]
    if home is None:
        raise SetupError(place.path, f"{place.field.name} is not given as a whole", "Give all its values at once")
    if step == ALL:
        return tuple(value * one for one in home)
    inner = getattr(home, step) if isinstance(step, str) else member(home, step, place.path)
    inner = value if at == len(place.steps) - 1 else _put(inner, place, at + 1, value, dropped)
    if isinstance(step, int):
        return (*home[:step], inner, *home[step + 1 :])
    gone = dropped if step == place.field.name else ()
    return structs.replace(home, **{step: inner}, **dict.fromkeys(gone))
