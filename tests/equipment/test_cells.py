"""Texts in CSV: no spreadsheet runs them, and every one comes back as it was."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archerysim.fields.csv_cells import harmless, harmless_json, line, plain

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
STARTS = "=+-@\t\r\n＝＋－＠"  # common practice: what spreadsheets are known to take for a formula's beginning
TEXTS = st.text(alphabet=st.one_of(st.sampled_from("=+-@\t\r\n'\" ,;|\\#5.e＝"), st.characters(codec="utf-8")))


def begins_a_formula(cell: str) -> bool:
    """As a spreadsheet might look: past spaces and double quotes, but not past an apostrophe, which means text."""
    return cell.lstrip(' "').startswith(tuple(STARTS)) and NUMBER.fullmatch(cell.strip()) is None


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "+1+1", "-1+1", "@SUM(A1)", '"=1+1', '"=1+1"', " =1+1", "'=1+1", "''=1", "＝1+1", "-", "=", "-inf",
        "+cmd|' /C calc'!A0", "-0.5 mm", "--5", "-1_0", "\tstill", "\rstill", "\nstill",
    ],
)  # fmt: skip
def test_formulas_become_text(text: str) -> None:
    assert harmless(text) == f"'{text}"
    assert plain(harmless(text)) == text


def test_after_a_sign_that_parts_cells_too() -> None:
    assert harmless("a;=1+1|@b;-2;c") == "a;'=1+1|'@b;-2;c"
    assert harmless("first\n=second") == "first\n'=second"


@pytest.mark.parametrize(
    "text",
    [
        "-0.5",
        "+3",
        "-1e-05",
        "-.5",
        "5",
        " -5",
        "0.3, -0.2",
        "split",
        "a=b",
        "three-under",
        "'quoted'",
        "",
        "#",
        "a; b",
    ],
)
def test_numbers_and_plain_words_stay(text: str) -> None:
    assert harmless(text) == text == plain(text)


@given(TEXTS)
def test_every_text_comes_back(text: str) -> None:
    cell = harmless(text)
    assert plain(cell) == text
    for part in (cell, *re.split("[;|\t\r\n]", cell)):
        assert not begins_a_formula(part)
    assert list(csv.reader(io.StringIO(line([cell, "-0.5", ""]), newline=""))) == [[cell, "-0.5", ""]]


@given(TEXTS, TEXTS)
def test_json_in_a_line_comes_back_and_holds_no_formula(one: str, other: str) -> None:
    value = {"name": one, "list": [other, one, -1.5], "inner": {"number": -2}}
    text = harmless_json(value)
    assert json.loads(text) == value
    assert "\n" not in text
    for separator in ",;|\t":
        for cell in f"# about: {text}".split(separator):  # as a spreadsheet that heeds no quotes within a cell
            assert not begins_a_formula(cell.rstrip("]} ")), cell
