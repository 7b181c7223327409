"""Tables of a limb that stand in files of their own beside the setup: a traced profile, sections by caliper."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from pathlib import Path
from typing import Any

from archerysim.equipment.limbs.limb import Limb
from archerysim.errors import SetupError
from archerysim.fields.csv_table import read_table
from archerysim.fields.paths import PAIRS
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import fields_of

# What a setup file names them, the columns, and the limb's fields that hold these.
FILES: dict[str, dict[str, str]] = {
    "profile": {"x": "profile_x", "y": "profile_y"},
    "sections": {"station": "stations", "width": "width", "thickness": "thickness"},
}
OPTIONAL = frozenset({"thickness"})  # laminations say it


def with_files(tables: dict[str, Any], folder: Path | None) -> dict[str, Any]:
    """A setup file's tables, with what stands in the limbs' own files in place of the files' names.

    Raises
    ------
    SetupError
    """
    out = dict(tables)
    for limb in (*PAIRS["limbs"], "limbs"):
        table = tables.get(limb)
        if not isinstance(table, Mapping):
            continue
        for name in FILES:
            if name in table:
                rest = {key: value for key, value in out[limb].items() if key != name}
                out[limb] = rest | _read(limb, name, table, folder)
    return out


def _read(limb: str, name: str, table: Mapping[str, Any], folder: Path | None) -> dict[str, Any]:
    """A limb's fields that hold what stands in a file."""
    columns = FILES[name]
    if not isinstance(table[name], str):
        raise SetupError(f"{limb}.{name}", "is not a file name", f'Write {name} = "limb.csv"')
    if folder is None:
        fields = " and ".join(columns.values())
        raise SetupError(f"{limb}.{name}", "a setup given as text has no folder to read it from", f"Give {fields}")
    twice = next((field for field in columns.values() if field in table), "")
    if twice:
        raise SetupError(f"{limb}.{name}", f"given together with {twice}", "Give one or the other")
    known = {
        column: about
        for column, field in columns.items()
        if isinstance(about := fields_of(Limb)[field].about, Quantity)
    }
    rows = read_table(folder / table[name], known, OPTIONAL)
    if name == "sections":
        rows = _averaged(rows)
    return {columns[column]: [f"{1e3 * value!r} mm" for value in row] for column, row in rows.items()}


def _averaged(rows: dict[str, list[float]]) -> dict[str, list[float]]:
    """Readings taken more than once at a station, one below the other, as their mean."""
    at = rows["station"]
    groups = [[k for k, _ in group] for _, group in groupby(enumerate(at), key=lambda one: one[1])]
    return {column: [sum(row[k] for k in group) / len(group) for group in groups] for column, row in rows.items()}
