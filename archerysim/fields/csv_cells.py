"""Texts in CSV files, written so that no spreadsheet runs them.

A spreadsheet takes a cell that begins with = + - @, a tab or a line's end for a formula. An apostrophe before it makes
it text; `plain` takes that off again, so that every text comes back as it was. Where lists are parted by semicolons a
spreadsheet cuts a line there, within a text too: what follows is treated as a cell of its own.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable
from typing import Any

_SIGN = "=+\\-@＝＋－＠"  # wide ones too: some spreadsheets take them for narrow ones
_FORMULA = re.compile(rf"""["'\s]*[{_SIGN}]""")
_BLANK = re.compile(r"""["'\s]*[\t\r\n]""")
_NUMBER = re.compile(r" *[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)? *", re.ASCII)
_PARTING = re.compile(r"([;|\t\r\n])")
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')  # of JSON
_CUT = re.compile(r"""[,;|](?=[\\"'\s]*[=+\-@])|(?<=^")[=+\-@]""")  # in such a string: where a cell may begin


def _runs(text: str) -> bool:
    """Whether a spreadsheet may take a text for a formula; a number it takes for a number."""
    return _FORMULA.match(text) is not None and _NUMBER.fullmatch(text) is None


def harmless(text: str) -> str:
    """The text as it stands in a cell."""
    parts = _PARTING.split(text)
    parts[::2] = [f"'{part}" if _runs(part) else part for part in parts[::2]]
    return ("'" if _BLANK.match(text) else "") + "".join(parts)


def plain(cell: str) -> str:
    """The text that `harmless` made this cell from."""
    parts = _PARTING.split(cell[1:] if cell.startswith("'") and _BLANK.match(cell[1:]) else cell)
    parts[::2] = [part[1:] if part.startswith("'") and _runs(part[1:]) else part for part in parts[::2]]
    return "".join(parts)


def line(cells: Iterable[str]) -> str:
    """A line of CSV. A text with a carriage return is quoted too, which `csv` does only where lines end with one."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow(cells)
    return out.getvalue().removesuffix("\r\n") + "\n"


def harmless_json(value: Any) -> str:
    """A value as JSON on one line; where a spreadsheet may cut its texts into cells, none begins like a formula."""

    def escaped(found: re.Match[str]) -> str:
        return f"\\u{ord(found.group()):04x}"

    return _STRING.sub(lambda text: _CUT.sub(escaped, text.group()), json.dumps(value))
