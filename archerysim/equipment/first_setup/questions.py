"""The questions behind a first setup file: what each asks, what is usual, how an answer becomes fields of the file."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import get_args

from archerysim.equipment.archer import Handed, Hold
from archerysim.equipment.bowstring import Material
from archerysim.equipment.first_setup.usual import (
    BOWS,
    KINDS,
    RODS,
    Fields,
    in_unit,
    length_words,
    usual_brace_height,
    usual_spine,
)
from archerysim.equipment.readings import CONVENTION, READING, sixteenths
from archerysim.equipment.setup import Setup
from archerysim.errors import SetupError
from archerysim.fields import units
from archerysim.fields.paths import resolve
from archerysim.fields.quantity import Note, quoted

Answers = Mapping[str, str]  # question's name to what was answered, or is usual
UNITS = ("mm", "in")
ROD = "riser.rods.0"
ROD_END = f"{ROD}.end_mass"
GRAIN_PER_GRAM = 15.4323583529
PLAIN = r"\d[\d\s./-]*|\.\d+"  # a number alone, fractions too
NOCK = 5.8  # height of a usual nock [mm]
_EDGE = re.compile(r"(.*\S)\s+(?:by\s+|to\s+)?(?:the\s+)?(underside|top)\s*", re.IGNORECASE)
_NO_EDGE = re.compile(r"(.*\S)\s+(?:above|over|below|under|high|up)(?:\s+(?:the\s+)?square)?\s*", re.IGNORECASE)
OTHER_PARTS = 1.3  # nock and fletching of a usual arrow [g], what the file's defaults come to


@dataclass(frozen=True)
class Question:
    """One question.

    Attributes
    ----------
    name : str
        Also the option's, and the word in a page of measures.
    ask : str
        What stands at the prompt.
    how : str
        How it is measured, for who asks back.
    usual : callable
        From the kind of bow and the answers so far to what is usual.
    read : callable
        From an answer and the fields so far to the fields that follow from it; SetupError where it cannot be read.
    unit : callable
        The unit of a plain number, from the answers so far; "" where none is taken.
    choices : tuple of str
        All that can be answered, where that is few.
    spread : str
        How far the true value may be from what is usual (one standard deviation) [judgement]; "" for what is no number.
    path : str
        Field that the spread is of.
    said_by : tuple of str
        Fields any of which, in a file, answers the question, where it is not `path` alone.
    beside : tuple of str
        Fields that the answer says too.
    """

    name: str
    ask: str
    how: str
    usual: Callable[[Answers, Fields], str]
    read: Callable[[str, Fields], dict[str, str]]
    unit: Callable[[Answers], str] = lambda answers: ""
    choices: tuple[str, ...] = ()
    spread: str = ""
    path: str = ""
    said_by: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    @property
    def seen(self) -> bool:
        """Whether an archer sees the answer without measuring: who confirms it at a prompt has told it."""
        return bool(self.choices) and self.name != "stabiliser"  # whose masses nobody sees

    @property
    def has_default(self) -> bool:
        """Whether a file that says nothing of it is complete."""
        return not self.fields or self.fields[0] in ("archer.handed", "archer.hold", ROD_END)

    @property
    def fields(self) -> tuple[str, ...]:
        """Fields any of which, in a file, answers the question."""
        return self.said_by or ((self.path,) if self.path else ())

    @property
    def all_fields(self) -> tuple[str, ...]:
        """All fields that an answer says."""
        return (*self.fields, *(one for one in self.beside if one not in self.fields))


def checked(path: str, text: str) -> str:
    """A text that the field at a path takes; SetupError otherwise."""
    about = resolve(Setup, path)[0].field.about
    assert about is not None
    if isinstance(about, Note) or about.unit:
        about.read(path, text, bare="refused")
    else:
        about.read(path, float(text) if re.fullmatch(r"[\d.]+", text) else text)
    return text


def split_reading(text: str) -> tuple[str, str]:
    """A reading and the edge of the nock named behind it: "1/2 in top" is "1/2 in" and "top"; "" where none is."""
    found = _EDGE.fullmatch(text)
    return (found[1], found[2].lower()) if found else (text, "")


def _choice(name: str, choices: tuple[str, ...], path: str = "") -> Callable[[str, Fields], dict[str, str]]:
    """Reads one of a few words, or its beginning."""

    def read(answer: str, fields: Fields) -> dict[str, str]:
        found = [one for one in choices if one == answer.lower()] or [
            one for one in choices if answer and one.startswith(answer.lower())
        ]
        if len(found) != 1:
            raise SetupError(name, f"{quoted(answer)} is not known", f"Use one of {', '.join(map(quoted, choices))}")
        return {path: found[0]} if path else {name: found[0]}

    return read


def _number(path: str) -> Callable[[str, Fields], dict[str, str]]:
    return lambda answer, fields: {path: checked(path, answer)}


def _draw_weight(answer: str, fields: Fields) -> dict[str, str]:
    """ "34 lb", at the archer's own draw, or "34 lb at 28 in"."""
    weight, _, at = (part.strip() for part in answer.partition(" at "))
    at = f"{at} in" if re.fullmatch(PLAIN, at) else at or fields["archer.draw_length"]
    path = "bow.draw_weight"
    return {path: checked(path, weight), f"{path}_at": checked(f"{path}_at", at)}


def _reading(answer: str, fields: Fields) -> dict[str, str]:
    """ "8 mm", "1/2 in top": where the answer names no edge, by the file's convention, else by the underside."""
    height, edge = split_reading(answer)
    found = _NO_EDGE.fullmatch(height)
    if found:
        number = found[1]
        if re.fullmatch(PLAIN, number):
            number += " in" if "/" in number else " mm"
        raise SetupError(
            READING, f"{quoted(answer)} does not say up to which edge of the nock",
            f'Write "{number} top" for its top, or "{number} underside"',
        )  # fmt: skip
    return {READING: checked(READING, height), CONVENTION: edge or fields.get(CONVENTION, "underside")}


def _string(answer: str, fields: Fields) -> dict[str, str]:
    """ "18 HMPE", "12 strands of polyester"."""
    found = re.fullmatch(r"(\d{1,3})\s+(?:strands?\s+)?(?:of\s+)?(.+)", answer.strip())
    if not found:
        fibres = ", ".join(map(quoted, get_args(Material)))
        raise SetupError(
            "string", f"{quoted(answer)} is not a number of strands with a fibre",
            f'Write for example "18 HMPE"; fibres: {fibres}',
        )  # fmt: skip
    names = {one.lower(): one for one in get_args(Material)}
    fibre = names.get(found[2].strip().lower(), found[2].strip())
    return {
        "string.material": checked("string.material", fibre),
        "string.strands": checked("string.strands", found[1]),
    }


def _shaft(answer: str, fields: Fields) -> dict[str, str]:
    """ "6.4 gr/in" as printed on the shaft, or the mass of the whole arrow, "19 g", "300 gr"."""
    path = "arrow.mass_per_length"
    try:
        _, unit = units.split(answer)
    except units.UnitError:
        unit = ""
    if unit not in ("g", "gr", "grain", "grains", "kg", "oz"):
        return {path: checked(path, answer)}
    whole = 1e3 * units.to_si(answer, "g")
    shaft = whole - OTHER_PARTS - in_unit(fields, "arrow.point_mass", "g")
    inches = in_unit(fields, "arrow.length", "in")
    if shaft <= 0.0:
        raise SetupError(
            "shaft-mass", f"{answer} for the whole arrow leaves nothing for its shaft: the point alone has "
            f"{fields['arrow.point_mass']}", "Weigh the whole arrow, its point in it",
        )  # fmt: skip
    return {path: checked(path, f"{shaft * GRAIN_PER_GRAM / inches:.2f} gr/in")}


def _stabiliser(answer: str, fields: Fields) -> dict[str, str]:
    kind = _choice("stabiliser", tuple(RODS))(answer, fields)["stabiliser"]
    return {f"{ROD}.{name}": value for name, value in RODS[kind].items()}


def _bow(answers: Answers) -> str:
    return answers["kind"]


def _inches(answers: Answers) -> bool:
    return answers["units"] == "in"


def _own(answers: Answers) -> str:
    return answers["units"]


def _in(answers: Answers) -> str:
    return "in"


def _brace(answers: Answers, fields: Fields) -> str:
    return length_words(usual_brace_height(BOWS[_bow(answers)], fields), _inches(answers))


def _upper(answers: Answers, fields: Fields) -> str:
    bow = BOWS[_bow(answers)]
    return length_words(in_unit(fields, "bow.brace_height", "mm") - bow.below_brace, _inches(answers))


def _lower(answers: Answers, fields: Fields) -> str:
    return length_words(in_unit(fields, "bow.upper_tiller", "mm") - BOWS[_bow(answers)].split, _inches(answers))


def _usual_reading(answers: Answers, fields: Fields) -> str:
    reading = BOWS[_bow(answers)].reading
    return f"{reading:g} mm" if not _inches(answers) else f"{sixteenths((reading + NOCK) * 1e-3)} top"


def _usual_length(answers: Answers, fields: Fields) -> str:
    inches = in_unit(fields, "archer.draw_length", "in") + BOWS[_bow(answers)].longer
    return f"{inches:g} in"


def _of_bow(name: str, unit: str) -> Callable[[Answers, Fields], str]:
    return lambda answers, fields: f"{getattr(BOWS[_bow(answers)], name):g} {unit}"


def _word(name: str) -> Callable[[Answers, Fields], str]:
    return lambda answers, fields: str(getattr(BOWS[_bow(answers)], name))


# In the order in which one walks round a bow, and of the pages of measures: as it is, strung, drawn; then the arrow.
QUESTIONS: tuple[Question, ...] = (
    Question(
        "kind", "Which kind of bow", "It only decides what is usual.",
        lambda answers, fields: KINDS[0], _choice("kind", KINDS), choices=KINDS,
    ),
    Question(
        "units", "Do you read your square in mm or in", "A number without a unit is then taken in it.",
        lambda answers, fields: "mm", _choice("units", UNITS), choices=UNITS,
    ),
    Question(
        "hand", "Which hand draws the string", "Left and right in every answer are told for this hand.",
        lambda answers, fields: "right", _choice("hand", get_args(Handed), "archer.handed"), choices=get_args(Handed),
        said_by=("archer.handed",),
    ),
    Question(
        "bow-length", "Length of the bow", "Printed on the lower limb.",
        _of_bow("length", "in"), _number("bow.length"), _in, spread="1 in", path="bow.length",
    ),
    Question(
        "hold", "Fingers on the string", "Split: one above the nock, two below. Three under: all below.",
        _word("hold"), _choice("hold", get_args(Hold), "archer.hold"), choices=get_args(Hold),
        said_by=("archer.hold",),
    ),
    Question(
        "stabiliser", "Stabiliser", "A long rod of 28 in, a weight on the riser, or none; yours can be described in "
        "the file.",
        _word("stabiliser"), _stabiliser, choices=tuple(RODS),
        said_by=(ROD_END,), beside=tuple(f"{ROD}.{one}" for one in ("start_x", "start_y", "length", "rod_mass")),
    ),
    Question(
        "string", "Strands and fibre of the string", "Count the strands in a loop and double them, or ask who made it.",
        _word("string"), _string, said_by=("string.strands", "string.axial_stiffness"),
        beside=("string.material",),
    ),
    Question(
        "brace-height", "Brace height", "Bow strung: square from the string to the deepest part of the grip.",
        _brace, _number("bow.brace_height"), _own, spread="6 mm", path="bow.brace_height",
    ),
    Question(
        "upper-tiller", "Upper tiller",
        "Bow strung: square from the string to the belly of the upper limb where it leaves riser or pocket.",
        _upper, _number("bow.upper_tiller"), _own, spread="2 mm", path="bow.upper_tiller",
    ),
    Question(
        "lower-tiller", "Lower tiller", "The same at the lower limb.",
        _lower, _number("bow.lower_tiller"), _own, spread="2 mm", path="bow.lower_tiller",
    ),
    Question(
        "reading", 'Locator height by the square, "... underside" or "... top" of the nock',
        "Square clipped to the string, its arm lying on the rest without pressing. From the arm's lower edge up to the "
        "underside of the nock, or to its top: say which.",
        _usual_reading, _reading, _own, spread="2 mm", path=READING,
        said_by=(READING, "nock.locators.place"), beside=(CONVENTION,),
    ),
    Question(
        "draw-length", "Draw length (AMO)",
        "At full draw from the throat of the nock along the arrow to above the deepest part of the grip, and 1 3/4 in "
        "more. A helper marks the arrow above the deepest part of the grip.",
        _of_bow("draw_length", "in"), _number("archer.draw_length"), _in, spread="1 in", path="archer.draw_length",
    ),
    Question(
        "draw-weight", "Draw weight on the fingers, at that draw",
        'A bow scale on the string, drawn to the mark on the arrow and let down slowly. "34 lb at 28 in" gives it at '
        "another draw.",
        _of_bow("draw_weight", "lb"), _draw_weight, lambda answers: "lb", spread="4 lb", path="bow.draw_weight",
        beside=("bow.draw_weight_at",),
    ),
    Question(
        "arrow-length", "Arrow length", "From the throat of the nock to the front end of the shaft, without the point.",
        _usual_length, _number("arrow.length"), _in, spread="1 in", path="arrow.length",
    ),
    Question(
        "diameter", "Outer diameter of the shaft", "Calliper, or the maker's table.",
        _of_bow("diameter", "mm"), _number("arrow.diameter"), lambda answers: "mm", spread="0.5 mm",
        path="arrow.diameter",
    ),
    Question(
        "spine", "Spine, as printed on the shaft", "700 means 0.700 in; pounds of a wooden shaft are written 40 lb.",
        lambda answers, fields: usual_spine(fields), _number("arrow.spine"), spread="0.1 in", path="arrow.spine",
    ),
    Question(
        "point-mass", "Mass of the point, including its insert", "A scale, or as printed on it.",
        _of_bow("point", "gr"), _number("arrow.point_mass"), lambda answers: "gr", spread="15 gr",
        path="arrow.point_mass",
    ),
    Question(
        "shaft-mass", "Mass of the shaft for each inch, or of the whole arrow (19 g)",
        "From the maker's table, or weigh the whole arrow: kitchen scale, five arrows at once, a fifth of it.",
        _of_bow("shaft", "gr/in"), _shaft, lambda answers: "gr/in", spread="0.8 gr/in", path="arrow.mass_per_length",
    ),
)  # fmt: skip
BY_NAME = {one.name: one for one in QUESTIONS}


def with_unit(question: Question, answer: str, answers: Answers) -> str:
    """An answer with the prompt's unit where it is a number alone: "220" is "220 mm"; also before " top", " at".

    A fraction is not taken as millimetres, which nobody reads so.
    """
    unit = question.unit(answers)
    found = re.fullmatch(rf"\s*({PLAIN})(\s+(?:at|top|underside|by|to|above|over|below|under|high|up)\b.*)?\s*", answer)
    if not unit or not found or (unit == "mm" and "/" in found[1]):
        return " ".join(answer.split())
    return " ".join(f"{found[1].strip()} {unit} {found[2] or ''}".split())


def fields_of_answer(question: Question, answer: str, answers: Answers, fields: Fields) -> dict[str, str]:
    """What an answer says of the setup.

    Raises
    ------
    SetupError
        Where it cannot be read, is out of range, or is no such word.
    """
    return question.read(with_unit(question, answer, answers), fields)
