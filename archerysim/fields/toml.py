"""Writing a setup as TOML, in archers' units, without losing a bit."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from archerysim.fields import units
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Field, Record, fields_of, join


def dumps(record: Record) -> str:
    """The given values of a record as TOML; what both of a pair share stands in one table for both."""
    return "\n".join(_lines(_share(_table(record)), "")).lstrip("\n") + "\n"


def _lines(table: dict[str, Any], path: str) -> Iterator[str]:
    """The lines of a table: its own values first, then its inner tables under their headings."""
    inner = {name: value for name, value in table.items() if _is_table(value)}
    for name, value in table.items():
        if name not in inner:
            yield f"{name} = {_literal(value)}"
    for name, value in inner.items():
        where = join(path, name)
        for one in value if isinstance(value, list) else [value]:
            if any(not _is_table(item) for item in one.values()):
                yield f"\n[[{where}]]" if isinstance(value, list) else f"\n[{where}]"
            yield from _lines(one, where)


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and isinstance(value[0], dict))


def _literal(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return f"[{', '.join(_literal(one) for one in value)}]"
    return repr(value)


def _table(record: Record) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for item in fields_of(type(record)).values():
        value = getattr(record, item.name)
        if value is None:
            continue
        if item.many:
            rows = [_table(one) for one in value]
            if rows:
                out[item.name] = rows
        elif item.record is not None:
            inner = _table(value)
            if inner:
                out[item.name] = inner
        else:
            out[item.name] = _written(item, value)
    return out


def _written(item: Field, value: Any) -> Any:
    if not isinstance(item.about, Quantity):
        return value
    if item.about.spread and len(set(value)) == 1:
        return _one(item.about, value[0])
    if isinstance(value, tuple):
        return [_one(item.about, one) for one in value]
    return _one(item.about, value)


def _one(about: Quantity, value: float) -> float | str:
    return units.write(value, about.unit) if about.unit else value


def _share(table: dict[str, Any]) -> dict[str, Any]:
    """Move what both of a pair have alike into one table named after the pair."""
    out: dict[str, Any] = {}
    for name, value in table.items():
        pair = next((pair for pair, twins in PAIRS.items() if name in twins), None)
        if pair is None:
            out[name] = value
        elif name == PAIRS[pair][0] or pair not in out:
            first, second = (table.get(twin, {}) for twin in PAIRS[pair])
            shared = {key: first[key] for key in first if key in second and first[key] == second[key]}
            for key, inner in (
                (pair, shared),
                (PAIRS[pair][0], _without(first, shared)),
                (PAIRS[pair][1], _without(second, shared)),
            ):
                if inner:
                    out.setdefault(key, inner)
    return out


def _without(table: dict[str, Any], shared: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in table.items() if key not in shared}
