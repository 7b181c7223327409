"""A page of measures that was filled in: a Markdown table whose first cell names what was measured."""

from __future__ import annotations

import os
import re
from typing import NamedTuple

from archerysim.equipment.first_setup.questions import BY_NAME, checked
from archerysim.errors import SetupError
from archerysim.fields.file_reading import text_of

EMPTY = re.compile(r"[\s_.\-–…]*")  # a cell that nobody has written into


class FilledPage(NamedTuple):
    """What was filled in: answers to questions by their names, further fields by their paths."""

    answers: dict[str, str]
    fields: dict[str, str]


def read_filled(path: str | os.PathLike[str]) -> FilledPage:
    """Read a page of measures in Markdown: of each row its name, in code letters, and its last cell.

    Raises
    ------
    SetupError
        If it cannot be read, holds no such table, or names what is neither a question nor a field.
    """
    answers: dict[str, str] = {}
    fields: dict[str, str] = {}
    rows = re.findall(r"^\s*\|\s*`([^`|]+)`\s*\|(?:.*\|)?([^|\n]*)\|\s*$", text_of(path), re.MULTILINE)
    if not rows:
        raise SetupError(
            "from",
            f"{os.fspath(path)} has no table of measurements",
            "Fill in the page that archerysim measures --out page.md writes",
        )
    for name, cell in rows:
        value = cell.strip()
        if EMPTY.fullmatch(value):
            continue
        if name in answers or name in fields:
            raise SetupError(name, f"appears twice in {os.fspath(path)}", "Keep one row")
        if name in BY_NAME:
            answers[name] = value
        else:
            fields[name] = checked(name, value)
    return FilledPage(answers, fields)
