"""Writing a setup as TOML, in archers' units, without losing a bit."""

from __future__ import annotations

from typing import Any

from archerysim.fields import units
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import Field, Record, fields_of, opened


def dumps(record: Record) -> str:
    """The given values of a record as TOML; what both of a pair share stands in one table for both."""
    import tomlkit

    return tomlkit.dumps(_share(_table(record)))


def _table(record: Record) -> dict[str, Any]:
    known = fields_of(type(record))
    out = {name: _written(known[name], value) for name, value in opened(record).items()}
    return {name: value for name, value in out.items() if known[name].record is None or value}


def _written(item: Field, value: Any) -> Any:
    if item.record is not None:
        return [_table(one) for one in value] if item.many else _table(value)
    if not isinstance(item.about, Quantity):
        return value
    if isinstance(value, tuple):
        alike = item.about.spread and len(set(value)) == 1
        return _written(item, value[0]) if alike else [_written(item, one) for one in value]
    return units.write(value, item.about.unit) if item.about.unit else value


def _share(table: dict[str, Any]) -> dict[str, Any]:
    """Move what both of a pair have alike into one table named after the pair."""
    out: dict[str, Any] = {}
    for name, value in table.items():
        pair = next((pair for pair, twins in PAIRS.items() if name in twins), None)
        if pair is None:
            out[name] = value
            continue
        twins = [table.get(twin, {}) for twin in PAIRS[pair]]
        shared = {key: one for key, one in value.items() if all(twin.get(key) == one for twin in twins)}
        own = {key: one for key, one in value.items() if key not in shared}
        if shared:
            out.setdefault(pair, shared)
        if own:
            out[name] = own
    return out
