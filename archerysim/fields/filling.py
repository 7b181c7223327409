"""One record of a setup while it is filled in: what is given, what is usual, what is derived, and on what grounds."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, Literal, NamedTuple

from archerysim.errors import SetupError
from archerysim.fields.quantity import Form, Note
from archerysim.fields.record import Record, fields_of, join, opened, rivals_of, tables_of

Kind = Literal["given", "derived", "assumed"]
Grounds = tuple[Kind, str]  # how a value was found, and from what or why
GIVEN: Grounds = ("given", "given")


class Filling(dict[str, Any]):
    """The values of the record at a path of a setup so far, with their grounds: given, then usual, then added."""

    def __init__(self, record: Record, path: str, form: Form) -> None:
        self.record, self.path = record, path
        self.grounds = grounds = dict[str, Grounds]()
        self.inside: dict[str, Any] = {}  # the records inside, a tuple of each list
        self.made: dict[type[Any], Any] = {}  # records made of the values, when nothing more is added
        given = opened(record)
        for name, usual in _values_of(type(record), form).items():
            if name in given:
                self[name], grounds[name] = given[name], GIVEN
            elif usual and (usual.free or (usual.rivals.isdisjoint(given) and usual.companions <= given.keys())):
                self[name], grounds[name] = usual.value, usual.grounds
        for item in tables_of(type(record)):
            inner, where = given[item.name], join(path, item.name)
            many = tuple(Filling(one, at, form) for at, one in item.each(where, inner)) if item.many else None
            self.inside[item.name] = Filling(inner, where, form) if many is None else many

    def derive(self, name: str, value: Any, how: str) -> None:
        """Take a value that follows from others, if there is none; raises SetupError where it is out of range."""
        if name in self:
            return
        path = join(self.path, name)
        try:
            checked = fields_of(type(self.record))[name].read(path, value)
        except SetupError as error:
            raise SetupError(path, f"{error.problem}; it was derived {how}", f"Give {path}, or check these") from None
        self[name], self.grounds[name] = checked, ("derived", how)

    def assume(self, name: str, value: Any, how: str) -> None:
        """Take an assumed value, if there is none."""
        if name not in self:
            self[name], self.grounds[name] = value, ("assumed", how)

    def inner(self, name: str) -> Any:
        """A value, or the records inside of that name; None where none is known."""
        return self.inside[name] if name in self.inside else self.get(name)

    def sources(self) -> Iterator[tuple[str, Any, Grounds]]:
        """Dotted path, value and grounds of all values, then of those of the records inside."""
        for name, value in self.items():
            yield join(self.path, name), value, self.grounds[name]
        for inner in self.inside.values():
            for filling in inner if isinstance(inner, tuple) else (inner,):
                yield from filling.sources()


class _Usual(NamedTuple):
    """What is assumed for a field that is not given, where no rival of it is given and all its companions are."""

    value: Any  # in SI
    grounds: Grounds
    rivals: frozenset[str]
    companions: frozenset[str]
    free: bool  # has neither


@cache
def _values_of(record: type[Record], form: Form) -> dict[str, _Usual | None]:
    """The fields of a record that hold values, and what is usual for each in a setup of that form."""
    out: dict[str, _Usual | None] = {}
    for name, item in fields_of(record).items():
        if item.about is not None:
            grounds: Grounds = ("assumed", f"usual value [{item.about.basis}]")
            rivals, companions = rivals_of(record, name), frozenset(record.needs.get(name, ()))
            usual = _Usual(item.default, grounds, rivals, companions, not rivals and not companions)
            of_form = isinstance(item.about, Note) or item.about.only in (None, form)
            out[name] = usual if item.default is not None and of_form else None
    return out
