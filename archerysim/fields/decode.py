"""From nested tables, as read from a file or made by a change, to checked records."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, TypeVar

import msgspec

from archerysim.errors import SetupError
from archerysim.fields.record import Field, Record, fields_of, missing, suggestion

R = TypeVar("R", bound=Record)


def join(path: str, name: str | int) -> str:
    """Dotted path of a field of the record at `path`."""
    return f"{path}.{name}" if path else str(name)


def to_si(record: type[Record], table: Mapping[str, Any], path: str = "", *, bare: bool = False) -> dict[str, Any]:
    """Read every value of a table into SI.

    Parameters
    ----------
    record : type of Record
        The record that the table describes.
    table : mapping
        Names to texts with units, numbers, lists, inner tables.
    path : str
        The table's own dotted path, for messages.
    bare : bool
        Whether plain numbers are taken as SI.

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


def value_to_si(item: Field, value: Any, path: str, *, bare: bool) -> Any:
    """Read one value of a table into SI: a quantity, a word, an inner table or a list of tables."""
    if item.record is None:
        return item.read(path, value, bare=bare)
    if not item.many:
        return to_si(item.record, _table(value, path, f"[{path}]"), path, bare=bare)
    if isinstance(value, (str, Mapping)) or not isinstance(value, (list, tuple)):
        raise SetupError(path, f"a list of tables is wanted, not {_kind(value)}", f"Write [[{path}]] above each one")
    return [
        to_si(item.record, _table(one, join(path, i), f"[[{path}]]"), join(path, i), bare=bare)
        for i, one in enumerate(value)
    ]


def construct(root: type[R], values: Mapping[str, Any]) -> R:
    """Make a record from nested tables in SI.

    Raises
    ------
    SetupError
        If something needed is missing, or values contradict one another.
    """
    try:
        return msgspec.convert(values, root)
    except msgspec.ValidationError as error:
        if isinstance(error.__cause__, SetupError):
            raise error.__cause__ from None
        raise _translate(str(error), root) from None


def _table(value: Any, path: str, heading: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise SetupError(path, f"a table is wanted, not {_kind(value)}", f"Write {heading} and its fields below it")
    return value


def _kind(value: Any) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value!r}"


def _translate(message: str, root: type[Record]) -> SetupError:
    """Turn msgspec's message, which ends in the field's path, into ours."""
    at = re.search(r"`\$\.?([^`]*)`\s*$", message)
    path = re.sub(r"\[(\d+)\]", r".\1", at.group(1)) if at else ""
    lacking = re.match(r"Object missing required field `([^`]+)`", message)
    if lacking is None:
        return SetupError(path, message.split(" - at ")[0], "Check this field")
    name = lacking.group(1)
    record = root
    for part in path.split("."):
        item = fields_of(record).get(part)
        record = item.record if item and item.record else record
    return missing(join(path, name), fields_of(record)[name])
