"""The pages of measures: every measurement once, its drawing, no text beyond the page or over another."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from archerysim.equipment import SetupError, field_info
from archerysim.equipment.first_setup.filled_page import read_filled
from archerysim.equipment.first_setup.interview import first_setup
from archerysim.equipment.first_setup.questions import BY_NAME
from archerysim.show.measures.measures import MEASURES, NOT_DRAWN, well
from archerysim.show.measures.pages import measures_markdown, measures_pages, save_measures
from tests.support.shot.example_bows import measured


def test_every_question_stands_on_the_page_once() -> None:
    named = [name for measure in MEASURES for name, _ in measure.rows] + list(NOT_DRAWN)
    assert sorted(set(named)) == sorted(named)
    assert set(BY_NAME) <= set(named)
    for name in set(named) - set(BY_NAME):
        assert field_info(name).text
    assert well("brace-height") == "1 mm"
    assert well("draw-weight") == "0.25 lb"
    assert well("spine") == "10"  # as it is printed, 600
    drawn = [name for measure in MEASURES for name, _ in measure.rows if name in BY_NAME]
    assert [*NOT_DRAWN, *drawn] == list(BY_NAME)  # in the order in which they are asked


@pytest.mark.parametrize("name", ["club-outdoor", "longbow"])
def test_no_text_leaves_the_page_or_lies_over_another(name: str) -> None:
    from archerysim.equipment import load
    from tests.support.shot.example_bows import path_of

    for page in measures_pages(load(path_of(name)), ("bow.brace_height",)):
        canvas = FigureCanvasAgg(page)
        canvas.draw()
        texts = [one for one in (*page.texts, *(text for ax in page.axes for text in ax.texts)) if one.get_text()]
        boxes = [(one.get_text(), one.get_window_extent(canvas.get_renderer())) for one in texts]
        for text, box in boxes:
            assert page.bbox.x0 <= box.x0 < box.x1 <= page.bbox.x1, text
            assert page.bbox.y0 <= box.y0 < box.y1 <= page.bbox.y1, text
        for (one, a), (other, b) in combinations(boxes, 2):
            assert not a.overlaps(b), (one, other)


def test_all_that_is_asked_stands_on_the_printed_page() -> None:
    page = measures_pages()[0]
    told = " ".join(text.get_text() for text in page.texts)
    for label in NOT_DRAWN.values():
        assert label in told
    for question in BY_NAME.values():
        assert not question.choices or " / ".join(question.choices) in told


def test_what_the_setup_says_stands_beside_the_line() -> None:
    text = measures_markdown(measured("club-outdoor"), ("bow.brace_height",))
    assert "| 1 mm | 220 mm (assumed) |  |" in text
    assert "| 34 lb |" in text
    assert "| club recurve |  |" in text
    assert "| long rod |  |" in measures_markdown(first_setup().setup)
    assert "| 700 |" in text
    assert "8 mm underside" in text


def test_an_empty_page_says_nothing(tmp_path: Path) -> None:
    files = save_measures(tmp_path / "m.md")
    assert [Path(one).name for one in files] == ["m.md", "m-1.png", "m-2.png"]
    assert read_filled(tmp_path / "m.md") == ({}, {}, {})
    assert save_measures(tmp_path / "m.pdf") == [str(tmp_path / "m.pdf")]
    assert (tmp_path / "m.pdf").read_bytes().count(b"/Type /Page\n") + (tmp_path / "m.pdf").read_bytes().count(
        b"/Type /Page "
    ) == 2


def test_a_page_without_a_table_is_refused(tmp_path: Path) -> None:
    (tmp_path / "m.md").write_text("# nothing\n")
    with pytest.raises(SetupError, match="has no table of measurements"):
        read_filled(tmp_path / "m.md")
    (tmp_path / "m.md").write_text("| `brace-height` | a | 1 mm |\n| `brace-height` | b | 2 mm |\n")
    with pytest.raises(SetupError, match='row "b": it appears twice'):
        read_filled(tmp_path / "m.md")
