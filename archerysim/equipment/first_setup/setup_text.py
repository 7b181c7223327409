"""A setup file as text, what is assumed in it marked by a comment; and the marks read again."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping
from typing import Any

from archerysim.equipment.setup import Setup
from archerysim.equipment.setup_file import load, parse
from archerysim.fields.file_reading import text_of
from archerysim.fields.paths import PAIRS
from archerysim.fields.record import fields_of

MARK = "assumed"
HEAD = """\
# Written by archerysim new. What is marked "assumed" is only usual for such a bow: measure it, write it in, take the
# mark away (or: archerysim new NEW.toml --from THIS.toml). Everything it can say: docs/setup-file.md.
"""
COMMENT_AT = 34  # column of the marks
Tables = dict[str, dict[str, Any]]


def setup_text(fields: Mapping[str, Any], assumed: Mapping[str, str]) -> str:
    """The text of a setup file.

    Parameters
    ----------
    fields : mapping of dotted path to text, number, yes or no, or list
        As in a file: ``riser.rods.0.length`` for one of a list.
    assumed : mapping of path to str
        Which of them nobody has told, each with its ground.
    """
    tables: Tables = {}
    for path, value in fields.items():
        table, _, name = path.rpartition(".")
        tables.setdefault(table, {})[name] = _line(name, value, assumed.get(path))
    lines = [HEAD, *(tables.get("", {})[name] for name in _in_order(tables.get("", {})))]
    for table in sorted((one for one in tables if one), key=_place):
        head = re.sub(r"\.\d+$", "", table)
        lines += ["", f"[[{head}]]" if head != table else f"[{table}]", *tables[table].values()]
    return "\n".join(lines) + "\n"


def _in_order(top: Mapping[str, Any]) -> list[str]:
    return sorted(top, key=list(fields_of(Setup)).index)


def _place(table: str) -> tuple[int, str]:
    """Where a table stands: as in the record of a setup, what both limbs share before what is one's own."""
    order = list(fields_of(Setup))
    first = table.partition(".")[0]
    return order.index(PAIRS[first][0]) * 2 - 1 if first in PAIRS else order.index(first) * 2, table


def _line(name: str, value: Any, why: str | None) -> str:
    import tomlkit

    if isinstance(value, str) and re.fullmatch(r"\d+(\.\d+)?", value) and name not in ("name",):
        value = float(value) if "." in value else int(value)
    line = f"{name} = {tomlkit.item(value).as_string()}"
    return line if why is None else f"{line.ljust(COMMENT_AT)} # {MARK}: {why}"


def read_marked(path: str | os.PathLike[str]) -> tuple[dict[str, Any], dict[str, str]]:
    """The fields of a setup file by dotted path, as they are written, and which of them are marked as assumed.

    Raises
    ------
    SetupError
        As of `load`.
    """
    import tomlkit

    load(path)  # refuses what is no setup
    text = text_of(path)
    return dict(_flat(parse(text), "")), dict(_marks(tomlkit.parse(text), ""))


def _flat(tables: Mapping[str, Any], where: str) -> Iterator[tuple[str, Any]]:
    for name, value in tables.items():
        path = f"{where}{name}"
        if isinstance(value, Mapping):
            yield from _flat(value, f"{path}.")
        elif isinstance(value, list) and value and all(isinstance(one, Mapping) for one in value):
            for k, one in enumerate(value):
                yield from _flat(one, f"{path}.{k}.")
        else:
            yield path, value


def _marks(tables: Any, where: str) -> Iterator[tuple[str, str]]:
    for name, value in tables.items():
        path = f"{where}{name}"
        if hasattr(value, "items"):
            yield from _marks(value, f"{path}.")
        elif isinstance(value, list) and value and all(hasattr(one, "items") for one in value):
            for k, one in enumerate(value):
                yield from _marks(one, f"{path}.{k}.")
        elif hasattr(value, "trivia"):
            found = re.match(rf"#\s*{MARK}\b:?\s*(.*)", value.trivia.comment, re.IGNORECASE)
            if found:
                yield path, found[1].strip() or "as it was in the file"
