"""Questions answered one after another: by the archer, by a file from before, or by what is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from archerysim.equipment.first_setup.questions import (
    QUESTIONS,
    ROD,
    Answers,
    Question,
    fields_of_answer,
    split_reading,
)
from archerysim.equipment.first_setup.setup_text import setup_text
from archerysim.equipment.first_setup.usual import BEYOND, BOWS, RODS, in_unit
from archerysim.equipment.readings import CONVENTION, READING
from archerysim.equipment.setup import Setup
from archerysim.equipment.setup_file import loads
from archerysim.equipment.typical import TABLE
from archerysim.errors import SetupError
from archerysim.fields.result import result

KIND_OF: dict[str, str] = {one.category: kind for kind, one in BOWS.items()}
KIND_OF["elite"] = "club recurve"
TOLD_BY = ("bow.brace_height", "nock.locators.reading", "bow.upper_tiller")  # how these are written says the units


@result("setup.name", "setup.category", "assumed")
@dataclass(frozen=True)
class FirstSetup:
    """A setup file in which every value that nobody gave is marked.

    Attributes
    ----------
    text : str
        Of the file.
    setup : Setup
        What the file says.
    assumed : dict of path to str
        The values that are only assumed, each with the reason.
    told_by : str
        How the file from before tells its readings, "underside" or "top"; "" where it has none.

    Examples
    --------
    >>> import archerysim
    >>> made = archerysim.first_setup(kind="traditional", draw_weight="38 lb")
    >>> "bow.brace_height" in made.assumed, "bow.draw_weight" in made.assumed
    (True, False)
    >>> archerysim.loads(made.text) == made.setup
    True
    """

    text: str
    setup: Setup
    assumed: dict[str, str]
    told_by: str = ""


class Interview:
    """A setup file in the making.

    Parameters
    ----------
    name : str
        Of the setup.
    said : mapping of path to text, number or list
        What a file from before, a page of measures or options say of single fields.
    assumed : mapping of path to str
        Those of them that were only assumed there, each with its ground.
    """

    def __init__(self, name: str, said: Mapping[str, Any], assumed: Mapping[str, str]) -> None:
        if said.get("form", "measured") != "measured":
            raise SetupError("form", 'is "built"; the questions are for a bow as measured', "Edit the file itself")
        self.fields: dict[str, Any] = {"name": name, **said, "form": "measured"}
        self.assumed = dict(assumed)
        self._told_by = str(said.get(CONVENTION, "underside" if READING in said else ""))
        self.answers: dict[str, str] = {}
        self._begun = "category" in said
        self._done: set[str] = set()
        self._before: dict[str, tuple[Answers, dict[str, tuple[Any, str | None]]]] = {}  # what each answer replaced
        if self._begun:
            self.answers["kind"] = KIND_OF.get(str(said["category"]), next(iter(BOWS)))
        written = next((str(said[path]) for path in TOLD_BY if path in said), "")
        if written:
            self.answers["units"] = "in" if written.rstrip(' "').endswith(("in", "inch", "inches")) else "mm"

    def is_open(self, question: Question) -> bool:
        """Whether nobody has answered a question yet."""
        if question.name in self._done:
            return False
        if question.name in ("kind", "units"):
            return question.name not in self.answers or (question.name == "kind" and "category" in self.assumed)
        told = any(path in self.fields and path not in self.assumed for path in question.fields)
        return not told and (self._marked(question) or not (question.has_default and self._begun))

    def _marked(self, question: Question) -> bool:
        """Whether the file from before has an answer that is only assumed."""
        return any(path in self.assumed for path in question.fields) or (
            question.name == "kind" and "category" in self.assumed
        )

    def usual(self, question: Question) -> str:
        """What is taken without an answer: the assumption of the file from before, else what is usual."""
        if question.name in self.answers:
            return self.answers[question.name]
        if question.name == "stabiliser" and self._marked(question):
            return next((kind for kind, rod in RODS.items() if rod and self._has(rod)), "as in the file")
        before = self.fields.get(question.fields[0]) if question.fields and question.name != "stabiliser" else None
        if before is None:
            return question.usual(self.answers, self.fields)
        behind = {"reading": CONVENTION, "string": "string.material"}.get(question.name, "")
        return f"{before} {self.fields.get(behind, '')}".rstrip()

    def _has(self, rod: Mapping[str, str]) -> bool:
        return all(self.fields.get(f"{ROD}.{name}") == value for name, value in rod.items())

    def take(self, question: Question, answer: str) -> None:
        """Take an answer.

        Raises
        ------
        SetupError
            Where it cannot be read, is out of range, or is no such word.
        """
        for path, value in self._put(question, answer).items():
            self.assumed.pop(path, None)
            self.fields[path] = value

    def take_usual(self, question: Question) -> None:
        """Take what is usual, and mark it; what a file from before has stays as it is, with its marks."""
        if self._marked(question):
            self._remember(question, question.all_fields)
            return
        for path, value in self._put(question, self.usual(question)).items():
            why = "not told" if path == "category" else f"usual for {self.answers['kind']}"
            self.assumed.setdefault(path, why)
            self.fields[path] = value

    def confirm(self, question: Question) -> None:
        """Take what is usual, or what a file from before has, as told: the archer saw or measured it.

        Raises
        ------
        SetupError
        """
        if not self._marked(question) or question.name == "kind":
            self.take(question, self.usual(question))
            return
        self._remember(question, question.all_fields)
        for path in question.all_fields:
            self.assumed.pop(path, None)

    def reopen(self, question: Question) -> None:
        """Ask a question again: nobody has answered it."""
        self._done.discard(question.name)
        self.answers, values = dict(self._before[question.name][0]), self._before[question.name][1]
        for path, (value, why) in values.items():
            for table, old in ((self.fields, value), (self.assumed, why)):
                if old is None:
                    table.pop(path, None)
                else:
                    table[path] = old

    def odd(self, question: Question) -> str:
        """A remark on an answer that is outside what is usual for the kind of bow; "" where it is not."""
        row = next((one for one in TABLE if one.path == question.path), None)
        category = self.fields.get("category")
        if row is None or category not in row.ranges or question.path in ("", "bow.upper_tiller", READING):
            return ""
        low, high = row.ranges[category]
        value = in_unit(self.fields, question.path, row.unit)
        if low <= value <= high:
            return ""
        usual = f"{low:g} to {high:g} {row.unit}"
        return f"{value:.4g} {row.unit} is outside {usual}, usual for {category}; accepted all the same"

    def edge(self, question: Question, answer: str) -> str:
        """A remark on a reading that names no edge of the nock: how it was taken; "" else."""
        if question.name != "reading" or split_reading(answer)[1]:
            return ""
        return f"taken by the {self.fields[CONVENTION]}{', as in the file' if self._told_by else ''}"

    def _put(self, question: Question, answer: str) -> dict[str, str]:
        found = fields_of_answer(question, answer, self.answers, self.fields)
        self._remember(question, ("category",) if question.name == "kind" else tuple(found))
        if question.name in ("kind", "units"):
            self.answers = self.answers | found
            return {"category": BOWS[found["kind"]].category} if question.name == "kind" else {}
        return found

    def _remember(self, question: Question, paths: tuple[str, ...]) -> None:
        """Note that a question is answered, and what stood there before."""
        self._done.add(question.name)
        old = {path: (self.fields.get(path), self.assumed.get(path)) for path in paths}
        self._before[question.name] = self.answers, old

    def finished(self) -> FirstSetup:
        """The file, all that is still open taken as usual.

        Raises
        ------
        SetupError
            Where the answers contradict each other.
        """
        assumed = self._close()
        text = setup_text(self.fields, assumed)
        return FirstSetup(text, loads(text), assumed, self._told_by)

    def unfinished(self) -> str:
        """The text of a file with the answers so far, which may contradict each other; the rest is marked."""
        return setup_text(self.fields, self._close())

    def _close(self) -> dict[str, str]:
        """Take as usual all that is still open; what is assumed."""
        for question in QUESTIONS:
            if self.is_open(question):
                self.take_usual(question)
        kind = self.answers["kind"]
        for path, value in () if self._begun else BEYOND.get(kind, {}).items():
            if path not in self.fields:
                self.fields[path], self.assumed[path] = value, f"usual for {kind}"
        return {path: why for path, why in self.assumed.items() if path in self.fields}


def first_setup(name: str = "my bow", said: Mapping[str, Any] | None = None, **answers: str) -> FirstSetup:
    """Make a setup from what is known so far; the rest is taken as usual, and marked.

    Parameters
    ----------
    name : str
        Of the setup.
    said : mapping of dotted path to value, optional
        Further fields, written as in a setup file.
    **answers : str
        Answers to the questions of ``archerysim new`` by name, with _ for -: ``kind="barebow"``,
        ``brace_height="222 mm"``, ``reading="1/2 in top"``, ``string="18 HMPE"``.

    Returns
    -------
    FirstSetup

    Raises
    ------
    SetupError
        If there is no such question, or an answer cannot be used.

    Examples
    --------
    >>> import archerysim
    >>> made = archerysim.first_setup(kind="barebow", brace_height="222 mm")
    >>> made.setup.category, made.assumed["bow.upper_tiller"]
    ('barebow', 'usual for barebow')
    """
    by_name = {question.name.replace("-", "_"): question for question in QUESTIONS}
    for one in answers:
        if one not in by_name:
            raise SetupError(one, "is no question", f"Use one of {', '.join(by_name)}")
    interview = Interview(name, said or {}, {})
    for one, question in by_name.items():
        if one in answers:
            interview.take(question, answers[one])
        elif interview.is_open(question):
            interview.take_usual(question)
    return interview.finished()
