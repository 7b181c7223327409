"""Writing a setup as TOML, in archers' units, without losing a bit."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from archerysim.fields import units
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Field, Record, fields_of, join, opened


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
        for inside in value if isinstance(value, list) else [value]:
            if any(not _is_table(item) for item in inside.values()):
                yield f"\n[[{where}]]" if isinstance(value, list) else f"\n[{where}]"
            yield from _lines(inside, where)


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
    known = fields_of(type(record))
    out = {name: _written(known[name], value) for name, value in opened(record).items()}
    return {name: value for name, value in out.items() if known[name].record is None or value}


def _written(item: Field, value: Any) -> Any:
    if item.record is not None:
        return [_table(one) for one in value] if item.many else _table(value)
    if not isinstance(item.about, Quantity):
        return value
    if item.about.spread and len(set(value)) == 1:
        value = value[0]
    if isinstance(value, tuple):
        return [_with_unit(item.about.unit, one) for one in value]
    return _with_unit(item.about.unit, value)


def _with_unit(unit: str, value: float) -> float | str:
    return units.write(value, unit) if unit else value


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
            own = [{key: one for key, one in twin.items() if key not in shared} for twin in (first, second)]
            for key, inner in zip((pair, *PAIRS[pair]), (shared, *own), strict=True):
                if inner:
                    out.setdefault(key, inner)
    return out
