"""Tables of numbers in CSV files.

The header says what stands in a column and in which unit, ``draw_length [in],force [lb]``; a cell is a number
(``27 1/4`` too). Columns may stand in any order; commas, semicolons or tabs separate them; lines that begin
with # and empty lines are passed over.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.file_reading import FilePath, text_of
from archerysim.fields.quantity import Quantity

_HEAD = re.compile(r"\s*(?P<name>[A-Za-z_ ]+?)\s*(?:\[(?P<unit>[^\]]*)\])?\s*\Z")


def read_table(
    path: FilePath,
    columns: Mapping[str, Quantity],
    optional: frozenset[str] = frozenset(),
    gaps: frozenset[str] = frozenset(),
) -> dict[str, list[float]]:
    """The columns of a file that it has, by name, in SI.

    Parameters
    ----------
    path : path
    columns : mapping of name to Quantity
        Those that are known.
    optional : set of str
        Those that need not be there.
    gaps : set of str
        Those whose cells may be empty (nan).

    Raises
    ------
    SetupError
        One that names file, row, column, value and what is allowed.
    """
    name = Path(path).name
    example = ",".join(f"{column} [{about.unit}]" for column, about in columns.items() if column not in optional)
    lines = list(_lines(path))
    if not lines:
        raise SetupError(name, "it is empty", f"Begin with a line such as {example}")
    places = _header(columns, optional, example, name, lines[0][1])
    found: dict[str, list[float]] = {column: [] for column, _ in places}
    for number, row in lines[1:]:
        if len(row) != len(places):
            raise SetupError(
                f"{name}, row {number}", f"it has {len(row)} cells, the header has {len(places)}", "Give one for each"
            )
        for (column, unit), cell in zip(places, row, strict=True):
            where = f"{name}, row {number}, {column}"
            found[column].append(_read(columns[column], where, cell, unit, column in gaps))
    if len(lines) == 1:
        raise SetupError(name, "it has a header and no rows", "Give at least one row")
    return found


def _lines(path: FilePath) -> Iterator[tuple[int, list[str]]]:
    """(row of the file, cells) of every line that says something."""
    text = text_of(path)
    filled = [
        (k, line) for k, line in enumerate(text.splitlines(), 1) if line.strip(" ,;\t") and line.lstrip()[0] != "#"
    ]
    between = next((mark for mark in (";", "\t") if filled and mark in filled[0][1]), ",")
    for number, line in filled:
        try:
            cells = next(csv.reader([line], delimiter=between))
        except csv.Error as error:
            raise SetupError(f"{Path(path).name}, row {number}", f"it is not CSV ({error})", "Save it anew") from None
        yield number, [cell.strip() for cell in cells]


def _header(
    columns: Mapping[str, Quantity], optional: frozenset[str], example: str, name: str, cells: list[str]
) -> list[tuple[str, str]]:
    """Column and unit of every cell of the header."""
    places: list[tuple[str, str]] = []
    known = ", ".join(f'"{column} [{about.unit}]"' for column, about in columns.items())
    for cell in cells:
        where = f"{name}, header"
        match = _HEAD.match(cell)
        column = re.sub(r"\s+", "_", match["name"].strip().lower()) if match else ""
        if match is None or column not in columns:
            raise SetupError(where, f'"{cell}" is not a column known here', f"Use {known}")
        unit = columns[column].unit
        if not (match["unit"] or "").strip():
            raise SetupError(where, f'"{cell}" has no unit', f'Write it as "{column} [{unit}]"')
        if column in (one for one, _ in places):
            raise SetupError(where, f'"{column}" appears twice', "Leave one out")
        try:
            units.to_si(f"1 {match['unit']}", unit)
        except units.UnitError as error:
            raise SetupError(where, f'"{cell}": {error.problem}', error.remedy) from None
        places.append((column, match["unit"].strip()))
    given = {column for column, _ in places}
    for column in columns:
        if column not in given and column not in optional:
            raise SetupError(f"{name}, header", f'there is no column "{column}"', f"Begin with {example}")
    return places


def _read(about: Quantity, where: str, cell: str, unit: str, gap: bool) -> float:
    allowed = f"allowed is {about.allowed}"
    if not cell:
        if gap:
            return math.nan
        raise SetupError(where, f"the cell is empty; {allowed}", "Fill it in or take the row out")
    try:
        if units.split(cell)[1]:
            raise SetupError(where, f'"{cell}" is not a plain number', "")
        value = about.single(where, f"{cell} {unit}", "refused")
    except units.UnitError as error:
        remedy = error.remedy if "comma" in error.remedy else "Give a plain number in the header's unit"
        raise SetupError(where, f'"{cell}" is not a plain number; {allowed}', remedy) from None
    except SetupError as error:
        problem = error.problem if "allowed" in error.problem else f"{error.problem}; {allowed}"
        raise SetupError(where, problem, "Give a plain number in the header's unit") from None
    return value
