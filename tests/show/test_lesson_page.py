"""The page for a class as a file: one table of texts, nothing from outside, what the command says."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from archerysim.cli.main import main
from archerysim.errors import SetupError
from archerysim.show.lesson.page import lesson_page
from archerysim.show.lesson.texts import ENGLISH
from archerysim.show.lesson.told import lesson_told
from archerysim.study.lesson.lesson import Lesson
from tests.support.shot.example_bows import measured
from tests.support.show.made_lessons import club_lesson, rough_lesson
from tests.support.show.pages_read_back import outside

FOLDER = Path(__file__).parents[2] / "archerysim" / "show" / "lesson" / "page"
SHARED = FOLDER.parents[1] / "page"
SIDES = ("above", "below", "left", "right", "nose", "goes")  # ... of something, put together in the script
PARTS = re.compile(r"\$[a-z]+|@@[A-Za-z_0-9]+@@")


@pytest.fixture(scope="module")
def made() -> Lesson:
    return club_lesson()


@pytest.fixture(scope="module")
def page(made: Lesson) -> str:
    return lesson_page(made)


def test_everything_is_filled_in(page: str) -> None:
    assert PARTS.findall(page) == []
    assert page.count("<script") == 3


def test_nothing_comes_from_outside(page: str) -> None:
    assert outside(page) == []
    assert len(page.encode()) < 3e6


def test_numbers_are_read_back(page: str, made: Lesson) -> None:
    found = json.loads(re.search(r'id="numbers" type="application/json">(.*?)</script>', page, re.S)[1])  # type: ignore[index]
    assert [one["name"] for one in found["sliders"]] == [one.name for one in made.sliders]
    assert np.array(found["up"]["bumps"]) == pytest.approx(made.up.bumps, rel=1e-8)
    assert found["bare"]["fin_lift"] == 0.0
    assert found["body"]["fin_lift"] > 0.0


def test_every_sentence_is_used() -> None:
    parts = [one for home in (FOLDER, SHARED) for one in home.glob("*.[chj]*")]
    used = "".join(one.read_text(encoding="utf-8") for one in (*parts, FOLDER.with_suffix(".py")))
    for key in ENGLISH:
        first, _, last = key.partition("_")
        put_together = f'"{first}_"' in used or (last and f"_{last}" in used) or first in SIDES
        assert re.search(rf"\b{key}\b", used) or put_together, key


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("play", None, "texts.play: this sentence is missing"),
        ("flight", "Fly", "texts.flight: no such sentence"),
        ("close", "close up", "texts.close: 'close up' is filled in otherwise than in English. Hold {times}"),
        ("ends_rest", "soft", r"Hold | in it"),
    ],
)
def test_a_table_of_texts_that_does_not_fit_is_refused(made: Lesson, key: str, text: str | None, words: str) -> None:
    texts = {one: old for one, old in (ENGLISH | {key: text}).items() if old is not None}  # type: ignore[operator]
    with pytest.raises(SetupError, match=re.escape(words)):
        lesson_page(made, texts)


def test_an_invented_bow_is_called_so_and_another_is_not(made: Lesson, page: str) -> None:
    assert made.invented
    assert page.count(">An invented bow: not your bow's numbers.") == 3
    assert "calls the bow invented" in lesson_told(made, "a.html")
    bow = measured("club-outdoor").replace({"invented": None, "name": "Anna's"})
    mine = rough_lesson(bow)
    told = lesson_page(mine)
    assert not mine.invented
    assert told.count(">Anna's, as the model has it: a move can be trusted") == 2
    assert told.count(">This bow as the model has it; another bow has other numbers.") == 1
    assert ">An invented bow" not in told
    assert "Another bow has other numbers." in told
    assert "absolute height is worth a few millimetres" in told
    assert "no other's" in lesson_told(mine, "a.html")


def test_all_example_bows_say_that_they_are_invented() -> None:
    for name in ("club-outdoor", "club-indoor", "barebow", "junior", "longbow"):
        assert measured(name).invented is True


def test_the_page_says_what_it_meets_badly(made: Lesson) -> None:
    from dataclasses import replace

    def of(usual: float, worst: float) -> str:
        return lesson_page(replace(made, missed=tuple(replace(one, usual=usual, worst=worst) for one in made.missed)))

    assert ">More than 2 % off: bare above fletched, " in of(0.03, 0.05)
    assert ">More than 2 % off" not in of(0.01, 0.05)
    assert ">The worst are mostly" in of(0.01, 0.05)
    assert ">The worst are mostly" not in of(0.01, 0.015)


def test_a_name_cannot_become_a_part_of_the_page(made: Lesson) -> None:
    from dataclasses import replace

    page = lesson_page(replace(made, name='</script><b>"&'))
    assert '&lt;/script&gt;&lt;b&gt;"&amp;' in page
    assert page.count("<script") == 3


def test_the_terminal_tells_the_error_and_what_is_over(made: Lesson) -> None:
    from dataclasses import replace

    told = lesson_told(made, "a.html")
    assert "bare and fletched come together at 18 m at reading" in told
    assert len(told.splitlines()) <= 13
    rough = replace(made, missed=tuple(replace(one, usual=0.03) for one in made.missed))
    assert "Over 2 %: bare above fletched" in lesson_told(rough, "a.html")
    fine = replace(made, missed=tuple(replace(one, usual=0.01) for one in made.missed))
    assert "Over 2 %" not in lesson_told(fine, "a.html")


def test_the_command_refuses_another_ending_before_it_shoots(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lesson", "examples/club-outdoor.toml", "-o", "lesson.txt"]) == 2
    assert ".html" in capsys.readouterr().err
