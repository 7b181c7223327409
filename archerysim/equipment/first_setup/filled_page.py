"""A page of measures that was filled in: a Markdown table whose first cell names what was measured."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from archerysim.equipment.first_setup.interview import Interview
from archerysim.equipment.first_setup.questions import BY_NAME, PLAIN, QUESTIONS, checked, with_unit
from archerysim.errors import SetupError
from archerysim.fields.file_reading import text_of
from archerysim.fields.quantity import quoted

EMPTY = re.compile(r"[\s_.\-–…]*")  # a cell that nobody has written into
ROW = re.compile(r"^\s*\|\s*`([^`|]+)`\s*\|(.*)\|\s*$", re.MULTILINE)
TOLD = 4  # rows told in one sentence
UNITS_OF = {"gr": ("g", "gr"), "gr/in": ("g", "gr/in"), "lb": ("lb",), "in": ("in",)}  # for an example
Wrong = tuple[str, SetupError]  # a row, as it is called on the page, and what is wrong with it


class FilledPage(NamedTuple):
    """What was filled in.

    Attributes
    ----------
    answers : dict of str to str
        To questions, by their names.
    fields : dict of str to str
        Further fields, by their paths.
    rows : dict of str to str
        What the page calls each of both: "7 point".
    """

    answers: dict[str, str]
    fields: dict[str, str]
    rows: dict[str, str]


def read_filled(path: str | os.PathLike[str]) -> FilledPage:
    """Read a page of measures in Markdown: of each row its name, in code letters, and its last cell.

    Raises
    ------
    SetupError
        If it cannot be read, holds no such table, names what is neither a question nor a field, or has a number
        without its unit; all such rows in one sentence.
    """
    page, wrong = FilledPage({}, {}, {}), list[Wrong]()
    found = ROW.findall(text_of(path))
    if not found:
        raise SetupError(
            "from",
            f"{os.fspath(path)} has no table of measurements",
            "Fill in the page that archerysim measures --out page.md writes",
        )
    for name, rest in found:
        cells = [cell.strip() for cell in rest.split("|")]
        row, value = cells[0] if len(cells) > 1 and cells[0] else name, cells[-1]
        if EMPTY.fullmatch(value):
            continue
        try:
            if name in page.rows:
                raise SetupError(name, "it appears twice", "Keep one row")
            page.rows[name] = row
            if name in BY_NAME:
                page.answers[name] = _with_own_unit(name, value)
            else:
                page.fields[name] = checked(name, value)
        except SetupError as error:
            wrong.append((row, error))
    refuse_rows(path, wrong)
    return page


def wrong_answers(page: FilledPage, interview: Interview, answers: Mapping[str, str]) -> list[Wrong]:
    """The rows whose answers cannot be used.

    Parameters
    ----------
    page : FilledPage
    interview : Interview
        For this trial alone.
    answers : mapping of str to str
        All that is answered, the page's and what an option says in its place.
    """
    wrong: list[Wrong] = []
    for question in QUESTIONS:
        answer = answers.get(question.name)
        mine = answer is not None and page.answers.get(question.name) == answer
        try:
            if answer is not None:
                interview.take(question, answer)
        except SetupError as error:
            if mine:
                wrong.append((page.rows[question.name], error))
        if interview.is_open(question):
            interview.take_usual(question)
    return wrong


def refuse_rows(path: str | os.PathLike[str], wrong: Sequence[Wrong]) -> None:
    """One sentence for all rows that cannot be used, where there are any.

    Raises
    ------
    SetupError
    """
    if not wrong:
        return
    if len(wrong) == 1:
        row, error = wrong[0]
        raise SetupError(f'{os.fspath(path)}, row "{row}"', error.problem, error.remedy)
    told = "; ".join(f'"{row}": {error.problem}' for row, error in wrong[:TOLD])
    more = f"; and {len(wrong) - TOLD} more" if len(wrong) > TOLD else ""
    problem = f"{len(wrong)} rows cannot be used: {told}{more}"
    raise SetupError(os.fspath(path), problem, "Put them right in the last column")


def _with_own_unit(name: str, value: str) -> str:
    """An answer; on paper nobody sees which unit would be taken, so that each number needs its own."""
    unit, value = BY_NAME[name].unit({"units": "in"}), " ".join(value.split())
    if not unit or (with_unit(BY_NAME[name], value, {"units": "in"}) == value and not re.fullmatch(PLAIN, value)):
        return value
    found = re.match(PLAIN, value)
    number = found[0].strip() if found else value
    fitting = ("in",) if "/" in number else UNITS_OF.get(BY_NAME[name].unit({"units": "mm"}), ("mm",))
    examples = " or ".join(quoted(f"{number} {one}") for one in fitting)
    raise SetupError(name, f"{number} has no unit", f"Write it with one, for example {examples}")
