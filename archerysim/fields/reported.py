"""What a result holds, said once at its field: unit, meaning, and along what an array runs.

A field says so as ``speed: Annotated[float, Reported("m/s", "speed of the mass centre")]``; tables, files of data,
headers and what is printed of a result take it from there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache, cached_property
from operator import attrgetter
from typing import Annotated, Any, NamedTuple, get_args, get_origin, get_type_hints


class Reported(NamedTuple):
    """What a field of a result is.

    Attributes
    ----------
    unit : str
        "" for a plain number.
    text : str
        Its meaning; "" where its name says it.
    along : tuple of str
        Of an array: the names of its axes.
    """

    unit: str = ""
    text: str = ""
    along: tuple[str, ...] = ()


class Column(NamedTuple):
    """A field that says what it is.

    Attributes
    ----------
    name, unit, text, along
        Of the field, as in `Reported`.
    """

    name: str
    unit: str
    text: str
    along: tuple[str, ...]

    @property
    def head(self) -> str:
        """Name and unit, for the head of a column: ``"speed [m/s]"``."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@cache
def columns_of(kind: type) -> tuple[Column, ...]:
    """The fields of a class of results that say what they are, in order."""
    assert is_dataclass(kind)
    hints = get_type_hints(kind, include_extras=True)
    reported = [(field.name, _reported_in(hints[field.name])) for field in fields(kind)]
    return tuple(Column(name, *about) for name, about in reported if about is not None)


def column(kind: type, name: str) -> Column:
    """One of `columns_of`."""
    return next(one for one in columns_of(kind) if one.name == name)


def unit_at(found: object, path: str) -> str:
    """Unit of what stands at a dotted path of a result; "" where none is reported."""
    home, _, name = path.rpartition(".")
    kind: type = type(attrgetter(home)(found) if home else found)
    return _unit(kind, name)


@cache
def _unit(kind: type, name: str) -> str:
    attribute = getattr(kind, name, None)
    if isinstance(attribute, property | cached_property):
        getter: Callable[..., Any] | None = attribute.fget if isinstance(attribute, property) else attribute.func
        about = _reported_in(get_type_hints(getter, include_extras=True).get("return"))
        return about.unit if about else ""
    units = {one.name: one.unit for one in columns_of(kind)} if is_dataclass(kind) else {}
    return units.get(name, "")


def _reported_in(hint: Any) -> Reported | None:
    if get_origin(hint) is not Annotated:
        return None
    return next((one for one in get_args(hint)[1:] if isinstance(one, Reported)), None)
