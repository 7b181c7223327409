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
from archerysim.show.lesson.texts import LANGUAGES, texts_of
from archerysim.show.lesson.told import lesson_told
from archerysim.study.lesson.lesson import Lesson, lesson
from tests.support.shot.example_bows import measured
from tests.support.show.pages_read_back import outside

FOLDER = Path(__file__).parents[2] / "archerysim" / "show" / "lesson" / "page"
SHARED = FOLDER.parents[1] / "page"
SIDES = ("above", "below", "left", "right", "nose", "goes")  # ... of something, put together in the script
PARTS = re.compile(r"\$[a-z]+|@@[A-Za-z_0-9]+@@")


@pytest.fixture(scope="module")
def made() -> Lesson:
    return lesson(measured("club-outdoor"), mesh="coarse", shots=120, workers=1)


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


def test_every_sentence_is_used_and_every_language_has_it() -> None:
    used = "".join(one.read_text(encoding="utf-8") for home in (FOLDER, SHARED) for one in home.glob("*.[chj]*"))
    used += '"bow"'
    for key in texts_of("en"):
        first, _, last = key.partition("_")
        put_together = f'"{first}_"' in used or (last and f"_{last}" in used) or first in SIDES
        assert re.search(rf"\b{key}\b", used) or put_together, key
    for language, texts in LANGUAGES.items():
        assert texts.keys() == LANGUAGES["en"].keys(), language


def test_what_is_filled_in_is_the_same_in_every_language() -> None:
    for texts in LANGUAGES.values():
        for key, text in texts.items():
            assert set(re.findall(r"\{(\w+)\}", text)) == set(re.findall(r"\{(\w+)\}", LANGUAGES["en"][key])), key


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(SetupError, match="'xx' is not known"):
        texts_of("xx")


def test_a_name_cannot_become_a_part_of_the_page(made: Lesson) -> None:
    from dataclasses import replace

    page = lesson_page(replace(made, name='</script><b>"&'))
    assert '&lt;/script&gt;&lt;b&gt;"&amp;' in page
    assert page.count("<script") == 3


def test_the_terminal_tells_the_error_and_what_is_over(made: Lesson) -> None:
    from dataclasses import replace

    told = lesson_told(made, "a.html")
    assert "bare and fletched come together at 18 m at reading" in told
    assert len(told.splitlines()) <= 12
    rough = replace(made, missed=tuple(replace(one, usual=0.03) for one in made.missed))
    assert "Over 2 %: bare above fletched" in lesson_told(rough, "a.html")
    fine = replace(made, missed=tuple(replace(one, usual=0.01) for one in made.missed))
    assert "Over 2 %" not in lesson_told(fine, "a.html")


def test_the_command_refuses_another_ending_before_it_shoots(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lesson", "examples/club-outdoor.toml", "-o", "lesson.txt"]) == 2
    assert ".html" in capsys.readouterr().err
