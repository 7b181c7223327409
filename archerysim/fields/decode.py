"""From nested tables, as read from a file or made by a change, to checked records."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from archerysim.errors import SetupError
from archerysim.fields.quantity import Bare, quoted
from archerysim.fields.record import Field, Record, fields_of, join, missing, needed_of, suggestion

R = TypeVar("R", bound=Record)


def to_si(record: type[Record], table: Mapping[str, Any], path: str = "", *, bare: Bare) -> dict[str, Any]:
    """Read every value of a table into SI.

    Parameters
    ----------
    record : type of Record
        The record that the table describes.
    table : mapping
        Names to texts with units, numbers, lists, inner tables.
    path : str
        The table's own dotted path, for messages.
    bare : {"in SI", "refused", "in changes"}
        As of `Quantity.read`.

    Raises
    ------
    SetupError
        For an unknown name, or a value that cannot be read or is out of range.
    """
    known = fields_of(record)
    out: dict[str, Any] = {}
    for name, value in table.items():
        if name not in known:
            raise SetupError(
                join(path, name), "unknown name", _inside(record, name, path) or suggestion(name, list(known))
            )
        out[name] = value_to_si(known[name], value, join(path, name), bare=bare)
    return out


def _inside(record: type[Record], name: str, path: str) -> str:
    """Where a name belongs that stands one table too far out; "" if it does not."""
    for item in fields_of(record).values():
        if item.record is not None and name in fields_of(item.record):
            return f"It belongs in the table [{join(path, item.name)}]"
    return ""


def value_to_si(item: Field, value: Any, path: str, *, bare: Bare) -> Any:
    """Read one value of a table into SI: a quantity, a word, an inner table or a list of tables."""
    if item.record is None:
        return item.read(path, value, bare=bare)
    if not item.many:
        return to_si(item.record, _table(value, path, f"[{path}]"), path, bare=bare)
    if isinstance(value, (str, Mapping)) or not isinstance(value, (list, tuple)):
        raise SetupError(path, f"a list of tables is wanted, not {quoted(value)}", f"Write [[{path}]] above each one")
    return [
        to_si(item.record, _table(one, join(path, i), f"[[{path}]]"), join(path, i), bare=bare)
        for i, one in enumerate(value)
    ]


def construct(root: type[R], values: Mapping[str, Any], path: str = "") -> R:
    """Make a record from nested tables in SI; what is a record already stays as it is.

    Parameters
    ----------
    root : type of Record
    values : mapping
        As `to_si` gives them.
    path : str
        The record's own dotted path, for messages.

    Raises
    ------
    SetupError
        If something needed is missing, or values contradict one another.
    """
    made = dict(values)
    for name, value in values.items():
        if isinstance(value, (dict, list)):
            inner = fields_of(root)[name].record
            assert inner is not None
            made[name] = _constructed(inner, value, join(path, name))
    for item in needed_of(root):
        if item.name not in made:
            raise missing(join(path, item.name), item)
    return root(**made)


def _constructed(record: type[Record], value: Any, path: str) -> Any:
    """The record of an inner table, or the records of a list of tables."""
    if isinstance(value, list):
        return tuple(_constructed(record, one, join(path, i)) for i, one in enumerate(value))
    return value if isinstance(value, record) else construct(record, value, path)


def _table(value: Any, path: str, heading: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise SetupError(path, f"a table is wanted, not {quoted(value)}", f"Write {heading} and its fields below it")
    return value
