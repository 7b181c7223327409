"""The page for a class: numbers, texts, style and script put together in one file that needs nothing else."""

from __future__ import annotations

import html
import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show.lesson.texts import ENGLISH, checked_texts
from archerysim.show.page.one_file import one_file
from archerysim.study.lesson.missed import WANTED

if TYPE_CHECKING:
    from archerysim.shot.flight.start import Start
    from archerysim.study.lesson.lesson import Lesson
    from archerysim.study.lesson.response import Response
    from archerysim.study.lesson.sliders import Slider

SCRIPTS = (
    "texts", "words", "response", "flight", "drawing", "arrows", "strips", "target", "square", "handout",
    "clock", "lesson",
)  # fmt: skip
STYLES = ("style", "lesson", "print")
STEPS = {"reading": 1e-4, "split": 5e-4, "slope": math.radians(0.5), "spine": 1.27e-4, "rest": 20.0, "preload": 0.1}
YARD = 0.9144  # [m]
LARGEST = 1e300
FIGURES = 9  # of the numbers behind the response


def lesson_page(lesson: Lesson, texts: Mapping[str, str] = ENGLISH) -> str:
    """The page of a lesson.

    Parameters
    ----------
    lesson : Lesson
        As `archerysim.lesson` makes it.
    texts : mapping of str to str
        Every sentence of the page: the table ``archerysim.show.lesson.texts.ENGLISH``, or one of another language with
        the same keys, the same words in braces, and the language's code under "language".

    Returns
    -------
    str
        HTML. Its numbers stand as JSON in the element "numbers", its texts in the element "texts".

    Raises
    ------
    SetupError
        If a sentence is missing or unknown, or is filled in otherwise.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> page = archerysim.lesson(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", shots=40)
    >>> text = show.lesson_page(page)
    >>> text[:15], "</html>" in text
    ('<!doctype html>', True)
    """
    words = checked_texts(texts)
    fill = {
        "BOW": html.escape(words["bow"].format(name=lesson.name or "-", distance=_both(lesson.distance)), quote=False),
        "WHOSE": _whose(lesson, words, ""),
        "WHOSE_HANDOUT": _whose(lesson, words, "_handout"),
        "DOUBTS": "".join(f"<p><strong>{html.escape(one)}</strong></p>" for one in _doubts(lesson, words)),
    }
    return one_file("archerysim.show.lesson", numbers(lesson), words, fill, SCRIPTS, STYLES)


def numbers(lesson: Lesson) -> dict[str, Any]:
    """What the page's script needs, as plain numbers in SI.

    Returns
    -------
    dict
        The fields of `Lesson`; a slider has its step.
    """
    return {
        "distance": lesson.distance,
        "distanceWords": _both(lesson.distance),
        "leftHanded": lesson.handed == "left",
        "convention": lesson.by.convention,
        "nockHeight": lesson.nock_height,
        "shaft": lesson.shaft,
        "sliders": [_slider(one) for one in lesson.sliders],
        "up": _response(lesson.up),
        "side": _response(lesson.side),
        "body": _flyer(lesson.fletched),
        "bare": _flyer(lesson.bare),
        "nose": lesson.fletched.nose,
        "tail": lesson.fletched.tail,
        "dragAndMass": lesson.drag_and_mass,
        "missed": [
            {"name": one.name.replace(" ", "_"), "unit": one.unit, "range": one.range, "usual": one.usual,
             "worst": one.worst}
            for one in lesson.missed
        ],
        "shots": lesson.shots,
        "fresh": lesson.fresh,
    }  # fmt: skip


def _whose(lesson: Lesson, words: Mapping[str, str], where: str) -> str:
    """Whose numbers these are, so that nobody takes them for those of a bow in the hand."""
    text = words[("invented" if lesson.invented else "own") + where]
    return html.escape(text.format(name=lesson.name or "-"), quote=False)


def _doubts(lesson: Lesson, words: Mapping[str, str]) -> Iterator[str]:
    """What the table of errors does not say by itself."""
    over = [words["missed_" + one.name.replace(" ", "_")] for one in lesson.missed if one.usual > WANTED]
    if over:
        yield words["about_over"].format(numbers=", ".join(over))
    if any(one.worst > WANTED for one in lesson.missed):
        yield words["about_jumps"]


def _both(distance: float) -> str:
    """A distance [m] in metres and yards."""
    told = target_distance(distance)
    return f"{told} ({distance:.1f} m)" if told.endswith("yd") else f"{told} ({distance / YARD:.0f} yd)"


def _slider(one: Slider) -> dict[str, Any]:
    return {
        "name": one.name, "low": one.low, "high": one.high, "today": one.today, "times": one.times,
        "step": STEPS[one.name],
    }  # fmt: skip


def _response(one: Response) -> dict[str, Any]:
    return {name: _short(getattr(one, name)) for name in ("places", "narrow", "trend", "bumps")}


def _flyer(arrow: Start) -> dict[str, Any]:
    """An arrow in its air, as the library's flight takes it; numbers that JSON lacks are as large as it has them."""
    told = {}
    for name, value in arrow.body._asdict().items():
        told[name] = _short(value) if isinstance(value, np.ndarray) else min(value, LARGEST)
    return told


def _short(values: np.ndarray) -> Any:
    """Numbers as lists, with nine figures."""
    if values.ndim > 1:
        return [_short(row) for row in values]
    return [float(f"{float(value):.{FIGURES}g}") for value in values]
