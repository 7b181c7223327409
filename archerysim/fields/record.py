"""Base of all records: immutable, checked when made, described by their annotations; made from tables."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from archerysim.errors import SetupError
from archerysim.fields.given import InSi
from archerysim.fields.quantity import Bare, Note, Quantity, quoted

RENAMED = {"strand_density": "strand_mass_per_length"}  # names that files of old may hold


@dataclass(frozen=True)
class Rivals:
    """Alternative ways to say one thing: fields of one alternative exclude those of the others."""

    ways: tuple[tuple[str, ...], ...]
    needed: str = ""  # the remedy to print when none is given; "" if none has to be


@dataclass(frozen=True)
class Field:
    """What the code knows about one field of a record: a quantity, a word, a record or a list of records."""

    name: str
    about: Quantity | Note | None = None
    record: type[Record] | None = None
    many: bool = False
    needed: bool = False
    quick: tuple[float, float] = (1.0, 0.0)  # a number from the one to the other needs no further reading

    @property
    def default(self) -> Any:
        """Value assumed where none is given, in SI; None if there is none."""
        return self.about.default_si if isinstance(self.about, Quantity) else self.about and self.about.default

    def read(self, path: str, value: Any, *, bare: Bare = "in SI") -> Any:
        """Value in SI, checked; tables as records, a list of them as a tuple."""
        if self.about is not None:
            return self.about.read(path, value, bare=bare)
        if not self.many:
            return self._record(path, value, bare, f"[{path}]")
        if isinstance(value, (list, tuple)):
            return tuple(self._record(join(path, i), one, bare, f"[[{path}]]") for i, one in enumerate(value))
        if bare == "refused":
            problem = f"a list of tables is needed, not {quoted(value)}"
            raise SetupError(path, problem, f"Write [[{path}]] above each one")
        raise SetupError(path, "a list is needed", "Give a list, [] for none")

    def each(self, path: str, value: Any) -> list[tuple[str, Any]]:
        """The records, or tables, that a field at a path holds, each with its own path."""
        return [(f"{path}.{i}", one) for i, one in enumerate(value)] if self.many else [(path, value)]

    def _record(self, path: str, value: Any, bare: Bare, heading: str) -> Record:
        assert self.record is not None
        if isinstance(value, self.record):
            return value
        if isinstance(value, Mapping):
            bare = "in SI" if isinstance(value, InSi) else bare
            return made(self.record, table_in_si(self.record, value, path, bare), path)
        if bare == "refused":
            problem = f"a table is needed, not {quoted(value)}"
            raise SetupError(path, problem, f"Write {heading} and its fields below it")
        kind = self.record.__name__
        raise SetupError(path, f"{value!r} is not a {kind}", f"Give a {kind} or a table of its fields")


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
    dropped_with: ClassVar[dict[str, tuple[str, ...]]] = {}  # what goes when a field is set anew without it

    def __post_init__(self) -> None:
        for value, item in zip(msgspec.structs.astuple(self), fields_of(type(self)).values(), strict=True):
            if type(value) is item.record or (value is None and not item.needed):
                continue
            if type(value) is float and value and item.quick[0] <= value <= item.quick[1]:
                continue  # what is read most: numbers that were checked before (zero may be a negative one)
            path = f"{self.label}.{item.name}".lstrip(".")
            if value is None:
                raise missing(path, item)
            new = item.read(path, value) if item.about else _records(item, path, value)
            msgspec.structs.force_setattr(self, item.name, new)

    def relations(self, path: str) -> None:
        """Check the fields against one another; `path` is the record's own place in the setup."""


R = TypeVar("R", bound=Record)


def _records(item: Field, path: str, value: Any) -> Any:
    """The records that a record is made with; a list of them as a tuple."""
    assert item.record is not None
    each = value if isinstance(value, (list, tuple)) and item.many else [value]
    if item.many != (each is value) or not all(isinstance(one, item.record) for one in each):
        kind = f"a {'list of ' * item.many}{item.record.__name__}"
        raise SetupError(path, f"is {value!r}, not {kind}", f"Give {kind}")
    return tuple(each) if item.many else value


def table_in_si(record: type[Record], table: Mapping[str, Any], path: str, bare: Bare) -> dict[str, Any]:
    """Every value of the table at a path that describes a record, read into SI; no unknown name (SetupError)."""
    known, out = fields_of(record), {}
    for name, value in table.items():
        if name not in known:
            inside = next((one.name for one in tables_of(record) if name in fields_of(one.record or Record)), None)
            hint = f"It belongs in the table [{join(path, inside)}]" if inside else suggestion(name, list(known))
            raise SetupError(join(path, name), "unknown name", hint)
        out[name] = known[name].read(join(path, name), value, bare=bare)
    return out


def made(record: type[R], values: Mapping[str, Any], path: str) -> R:
    """The record at a path, made from values that were read; it refuses to lack what is needed."""
    for item in fields_of(record).values():
        if item.needed and item.name not in values:
            raise missing(join(path, item.name), item)
    return record(**values)


@cache
def fields_of(record: type[Record]) -> dict[str, Field]:
    """The fields of a record by name, in order of declaration."""
    hints = get_type_hints(record, include_extras=True)
    return {one.name: _field(one.name, hints[one.name], one.required) for one in msgspec.structs.fields(record)}


def _field(name: str, hint: Any, needed: bool) -> Field:
    about = None
    if get_origin(hint) is Annotated:
        hint, about = get_args(hint)
    if get_origin(hint) in (Union, UnionType):
        hint = next(part for part in get_args(hint) if part is not NoneType)
    if isinstance(about, Note):
        about = replace(about, choices=get_args(hint), yes_no=hint is bool)
    if about is not None:
        quick = about.range_si if isinstance(about, Quantity) and about.count == 1 and not about.whole else (1.0, 0.0)
        return Field(name, about, needed=needed, quick=quick)
    many = get_origin(hint) is tuple
    return Field(name, record=get_args(hint)[0] if many else hint, many=many, needed=needed and not many)


@cache
def tables_of(record: type[Record]) -> tuple[Field, ...]:
    """The fields of a record that are records, or lists of them."""
    return tuple(item for item in fields_of(record).values() if item.record is not None)


def join(path: str, name: str | int) -> str:
    """Dotted path of a field of the record at `path`."""
    return f"{path}.{name}" if path else str(name)


def walk(record: Record, path: str = "") -> list[tuple[str, Record]]:
    """Every record inside `record`, itself first, with its dotted path."""
    found = [(path, record)]
    for item in tables_of(type(record)):
        for where, inner in item.each(join(path, item.name), getattr(record, item.name)):
            found += walk(inner, where)
    return found


def plain(record: Record) -> dict[str, Any]:
    """The given values of a record as nested dictionaries and lists, in SI; what is not given is left out."""
    out = opened(record)
    for item in tables_of(type(record)):
        out[item.name] = [plain(one) for one in out[item.name]] if item.many else plain(out[item.name])
    return out


def opened(record: Record) -> dict[str, Any]:
    """The given values of a record by name, in SI, the records inside it as they are; what is not given is left out."""
    return {name: value for name, value in msgspec.structs.asdict(record).items() if value is not None}


def check_relations(record: Record) -> None:
    """Check rivals, companions and relations in every record inside; raises SetupError at the first contradiction."""
    for path, one in walk(record):
        given = opened(one) if one.rivals or one.needs else {}
        for group in one.rivals:
            used = [way for names in group.ways if (way := [name for name in names if name in given])]
            if len(used) > 1:
                first, second = used[0][0], used[1][0]
                problem = f"given together with {path}.{first}, which says the same thing in another way"
                raise SetupError(f"{path}.{second}", problem, f"Keep {first} or {second}, not both")
            if not used and group.needed:
                raise SetupError(f"{path}.{group.ways[0][0]}", "missing", group.needed)
        for name, companions in one.needs.items():
            if name in given and (lacking := [other for other in companions if other not in given]):
                problem = f"missing: {path}.{name} means nothing without it"
                raise SetupError(f"{path}.{lacking[0]}", problem, f"Give it too, or leave {name} out")
        one.relations(path)


@cache
def rivals_of(record: type[Record], name: str) -> frozenset[str]:
    """The fields that say in another way what the field `name` says."""
    groups = [group.ways for group in record.rivals if any(name in way for way in group.ways)]
    return frozenset(other for ways in groups for way in ways if name not in way for other in way)


def missing(path: str, item: Field) -> SetupError:
    """The error for a needed field that is not there."""
    if item.about is None:
        return SetupError(path, "missing", f"Add the table [{path}]")
    example = f'{path.rpartition(".")[2]} = "{item.about.example}"'
    return SetupError(path, "missing", f"Give it, for example {example} ({item.about.text})")


def suggestion(word: str, known: list[str], listed: str = "Known here", names: Iterable[str] = ()) -> str:
    """A hint naming the word's present form or the closest known word, or the list of all of them (or of ``names``)."""
    home, dot, name = word.rpartition(".")
    now = f"{home}{dot}{RENAMED.get(name, name)}"
    near = [now] if now in known else difflib.get_close_matches(word, known, 1, 0.6)
    return f'Did you mean "{near[0]}"?' if near else f"{listed}: " + ", ".join(names or known)
