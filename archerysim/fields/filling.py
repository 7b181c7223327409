"""One record of a setup while it is filled in: what is given, what is usual, what is derived, and on what grounds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from archerysim.errors import SetupError
from archerysim.fields.paths import Place, member
from archerysim.fields.quantity import Form, Quantity
from archerysim.fields.record import Record, fields_of, join, opened, rivals_of, tables_of

Kind = Literal["given", "derived", "assumed"]
Grounds = tuple[Kind, str]  # how a value was found, and from what or why
GIVEN: Grounds = ("given", "given")


class Filling:
    """The values of the record at a path of a setup so far, with their grounds: given, then usual, then added."""

    def __init__(self, record: Record, path: str, form: Form) -> None:
        self.record, self.path = record, path
        self.values: dict[str, Any] = {}
        self.grounds: dict[str, Grounds] = {}
        self.inside: dict[str, Filling | tuple[Filling, ...]] = {}
        self.made: dict[type[Any], Any] = {}  # records made of the values, when nothing more is added
        given = opened(record)
        for name, usual in _values_of(type(record), form):
            if name in given:
                self.values[name], self.grounds[name] = given[name], GIVEN
            elif usual is not None and usual.rivals.isdisjoint(given) and usual.companions <= given.keys():
                self.values[name], self.grounds[name] = usual.value, ("assumed", usual.basis)
        for item in tables_of(type(record)):
            inner, where = given[item.name], join(path, item.name)
            fillings = tuple(Filling(one, join(where, i), form) for i, one in enumerate(inner)) if item.many else None
            self.inside[item.name] = Filling(inner, where, form) if fillings is None else fillings

    def __contains__(self, name: str) -> bool:
        return name in self.values

    def __getitem__(self, name: str) -> Any:
        return self.values[name]

    def derive(self, name: str, value: Any, how: str) -> None:
        """Take a value that follows from others, if there is none.

        Raises
        ------
        SetupError
            If it is out of range.
        """
        if name in self.values:
            return
        path = join(self.path, name)
        try:
            checked = fields_of(type(self.record))[name].read(path, value)
        except SetupError as error:
            raise SetupError(path, f"{error.problem}; it was derived {how}", f"Give {path}, or check these") from None
        self.values[name], self.grounds[name] = checked, ("derived", how)

    def assume(self, name: str, value: Any, how: str) -> None:
        """Take an assumed value, if there is none."""
        if name not in self.values:
            self.values[name], self.grounds[name] = value, ("assumed", how)

    def one_inside(self, name: str) -> Filling:
        """The record inside of that name."""
        inner = self.inside[name]
        assert isinstance(inner, Filling)
        return inner

    def all_inside(self, name: str) -> tuple[Filling, ...]:
        """The records of the list inside of that name."""
        inner = self.inside[name]
        assert isinstance(inner, tuple)
        return inner

    def sources(self) -> Iterator[tuple[str, Any, Grounds]]:
        """Dotted path, value and grounds of all values, then of those of the records inside."""
        for name, value in self.values.items():
            yield join(self.path, name), value, self.grounds[name]
        for inner in self.inside.values():
            for filling in (inner,) if isinstance(inner, Filling) else inner:
                yield from filling.sources()


def value_at(filling: Filling, steps: Sequence[str | int], place: Place) -> Any:
    """The value at a place in a record that has been filled in, from its own steps; None where none is known.

    Raises
    ------
    SetupError
        If a list or a row there is shorter.
    """
    here: Any = filling
    for step in steps:
        if isinstance(step, int):
            here = None if here is None else member(here, step, place.path)
        else:
            here = here.inside[step] if step in here.inside else here.values.get(step)
    return here


@dataclass(frozen=True)
class _Usual:
    """What is assumed for a field that is not given, and when."""

    value: Any  # in SI
    basis: str
    rivals: frozenset[str]  # fields of the same record that must not be given
    companions: frozenset[str]  # and those that must


@cache
def _values_of(record: type[Record], form: Form) -> tuple[tuple[str, _Usual | None], ...]:
    """The fields of a record that hold values, and what is usual for each in a setup of that form."""
    out: list[tuple[str, _Usual | None]] = []
    for name, item in fields_of(record).items():
        about, usual = item.about, None
        if item.default is not None and about and not (isinstance(about, Quantity) and about.only not in (None, form)):
            companions = frozenset(record.needs.get(name, ()))
            usual = _Usual(item.default, f"usual value [{about.basis}]", rivals_of(record, name), companions)
        if about:
            out.append((name, usual))
    return tuple(out)
