"""archerysim sheet: one page for the bow case, to print and as Markdown."""

from __future__ import annotations

import re
from functools import partial
from itertools import combinations
from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from archerysim.equipment import loads
from archerysim.show.case_sheet.markdown import sheet_markdown
from archerysim.show.case_sheet.page import sheet_page
from archerysim.show.case_sheet.rows import cautions, directions, last_lines, measurements, predicted
from archerysim.study.case_sheet.case_sheet import CaseSheet, case_sheet
from archerysim.study.notes.notes_file import load_notes
from archerysim.study.tuning.tune import tune
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import FOLDER, fitted, path_of

Capture = pytest.CaptureFixture[str]
NOTES = FOLDER / "notes.toml"


@pytest.fixture(scope="module")
def sheet() -> CaseSheet:
    return case_sheet(
        fitted("club-outdoor", "coarse"), load_notes(NOTES), assumed=("bow.brace_height",), draws=8, workers=1
    )


@pytest.fixture(scope="module")
def season() -> CaseSheet:
    return case_sheet(fitted("club-outdoor", "coarse"), load_notes(FOLDER / "season.toml"), draws=8, workers=1)


def test_the_page_is_written_and_its_markdown_tells_the_bow(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archerysim.study.case_sheet.case_sheet.case_sheet", partial(case_sheet, draws=8))
    for ending in ("pdf", "md"):
        done = here(
            capsys, "sheet", path_of("club-outdoor"), "--notes", NOTES, "--out", tmp_path / f"s.{ending}",
            "--mesh", "coarse", "--distance", "20 yd", "--workers", "1",
        )  # fmt: skip
        assert (done.status, done.err) == (0, "")
        assert "now    locators DOWN" in done.out
        assert "by your groups, from 8.0 mm (5/16 in) to" in " ".join(done.out.split())
    assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF")
    text = (tmp_path / "s.md").read_text()
    for told in (
        "| brace height | 220 mm | 8 11/16 in |  |", "| draw weight, at this draw | 151.2 N | 34.0 lb |  |",
        "| spine | 17.78 mm | 0.700 in |  |", "target at 20 yd",
        "2026-04-18: 18 m, 8.0 mm (5/16 in) by the underside: 3 bare 4.3 cm below and ",
        "No limit known here was passed",
    ):  # fmt: skip
        assert told in text
    assert re.search(r"\| range \| by the measures alone, without your groups: [\d.]+ to [\d.]+ mm, 90 % sure", text)


def test_its_numbers_are_those_of_shot_and_tune(sheet: CaseSheet) -> None:
    tuned = tune(fitted("club-outdoor", "coarse"), others=False, sure=True, draws=8, workers=1)
    assert tuned.range is not None
    assert (sheet.best, sheet.low, sheet.high) == (tuned.reading, tuned.range.low, tuned.range.high)
    assert sheet.speed == fitted("club-outdoor", "coarse").launch().clear.speed
    assert float(sheet.to_xarray()["low"]) == sheet.low
    marks = {row.name: row.mark for row in measurements(sheet)}
    assert marks["brace height"] == "assumed"
    assert marks["upper tiller"] == ""
    assert marks["centre shot"] == "assumed"  # the file does not tell it
    assert len(last_lines(sheet)) == 3
    assert any("limit" in one for one in cautions(sheet))


def test_now_is_what_the_groups_say_of_the_bow_as_they_leave_it(season: CaseSheet) -> None:
    """The archer holds at 6 mm with 120 gr; the file still has 8 mm and 90 gr, and asks by itself to go down."""
    told, shown = dict(predicted(season)), {row.name: row for row in measurements(season)}
    assert told["now"].startswith("hold: ")
    assert told["now"].endswith("by your groups, at 6.0 mm (1/4 in) by the underside")
    assert not any("DOWN" in text for text in told.values())
    assert "6.0 mm" in told["first tie"]
    assert shown["a  to the underside (yours)"].metric == "6.0 mm"
    assert shown["point"].trade == "120 gr"
    assert shown["centre shot"].mark == ""  # the file does not tell it, the journal does
    changes = {"nock.locators.reading": "6 mm", "arrow.point_mass": "120 gr", "side.offset": "0 mm"}
    launch = fitted("club-outdoor", "coarse").launch(changes)
    assert (season.reading, season.speed) == (launch.reading, launch.clear.speed)
    assert any("the setup file lacks nock.locators.reading = 6 mm" in one for one in cautions(season))
    alone = dict(predicted(case_sheet(fitted("club-outdoor", "coarse"), draws=8, workers=1)))
    assert alone["now"].startswith("locators DOWN")


def test_the_way_to_move_stands_on_the_page(sheet: CaseSheet) -> None:
    """Held against shots in tests/show/test_case_sheet_directions.py."""
    told = sheet_markdown(sheet)
    for seen, do in directions(sheet.setup):
        assert f"| {seen} | {do} |" in told


def test_the_square_is_in_its_true_size_and_no_text_lies_over_another(sheet: CaseSheet) -> None:
    page = sheet_page(sheet)
    canvas = FigureCanvasAgg(page)
    canvas.draw()
    (ax,) = page.axes
    (low, high), box = ax.get_ylim(), ax.get_window_extent()
    assert (box.y1 - box.y0) / page.dpi * 25.4 == pytest.approx(high - low, rel=1e-3)  # a millimetre is one
    boxes = [(one.get_text(), one.get_window_extent(canvas.get_renderer())) for one in page.texts if one.get_text()]
    for text, at in boxes:
        assert page.bbox.x0 <= at.x0 < at.x1 <= page.bbox.x1, text
        assert page.bbox.y0 <= at.y0, text
        assert not at.overlaps(box), text
    boxes += [(one.get_text(), one.get_window_extent(canvas.get_renderer())) for one in ax.texts if one.get_text()]
    for (one, a), (other, b) in combinations(boxes, 2):
        assert not a.overlaps(b), (one, other)


def test_a_bow_without_an_answer_still_gets_its_page() -> None:
    text = path_of("club-outdoor").read_text().replace("spine = 700 ", "spine = 1400 ")
    page = sheet_page(case_sheet(loads(text), draws=8, mesh="coarse", workers=1))
    assert any("locators" in one.get_text() or "range" in one.get_text() for one in page.texts)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--out", "s.txt"), "archerysim: out: 's.txt': unknown ending '.txt'. Use "),
        (("--out", "s.pdf", "--notes", "absent.toml"), "archerysim: absent.toml cannot be read"),
        (("--out", "s.pdf", "--distance", "far"), "archerysim: distance: "),
    ],
)
def test_bad_input_ends_in_one_line(
    given: tuple[str, ...], said: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = here(capsys, "sheet", path_of("club-outdoor"), *given, "--mesh", "coarse")
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith(said)
    assert done.err.count("\n") == 1
