"""The journal at the prompt: changes written down, groups beside them, what was seen, and what is refused."""

from __future__ import annotations

import datetime
from functools import partial
from pathlib import Path

import pytest

from archerysim.study.case_sheet.case_sheet import case_sheet
from archerysim.study.journal.landing import read_landing
from archerysim.study.notes.notes_file import load_notes
from tests.support.cli.run_commands import Ran, here
from tests.support.shot.example_bows import FOLDER, path_of

Capture = pytest.CaptureFixture[str]
COARSE = ("--mesh", "coarse")
FLAT = (*COARSE, "--planes", "1", "--workers", "1")
GROUP = ("--at", "18 m", "--bare", "-9 -12 -7 cm", "--fletched", "1 0 -2 cm")
DAY = ("--date", "2026-05-06")


@pytest.fixture
def bow(tmp_path: Path) -> Path:
    path = tmp_path / "bow.toml"
    path.write_text(path_of("club-outdoor").read_text(encoding="utf-8"), encoding="utf-8")
    return path


def words(done: Ran) -> str:
    return " ".join(done.out.split())


def test_from_the_first_change_to_what_was_seen(bow: Path, capsys: Capture) -> None:
    """A group, a change with its prediction, a group after it: one file, which the reader of groups takes too."""
    file = bow.with_name("bow-journal.toml")
    first = here(capsys, "read-group", bow, *GROUP, "--reading", "8 mm", *DAY, "--save", *FLAT)
    assert (first.status, first.err) == (0, "")
    file.write_text(file.read_text(encoding="utf-8") + "\n# a still evening\n", encoding="utf-8")
    setup = bow.read_text(encoding="utf-8")
    done = here(
        capsys, "journal", bow, "--changed", "nock.locators.reading=6 mm", "--why", "bare shafts low", *DAY, *COARSE
    )
    assert (done.status, done.err) == (0, "")
    assert "nock.locators.reading from 8.0 mm (5/16 in) to 6.0 mm (1/4 in) by the underside" in words(done)
    assert '[nock.locators] reading = "6 mm"' in words(done)
    assert "not a promise that the bow is safe" in words(done)
    assert bow.read_text(encoding="utf-8") == setup
    change = load_notes(file).change[0]
    assert (change.what, change.was, change.to, change.after) == ("nock.locators.reading", "8 mm", "6 mm", 1)
    told = read_landing(change.predicted)
    assert told.up is not None
    assert told.up.by > 0.02  # lower locators put a bare shaft higher, some 2 cm a millimetre
    assert told.distance == 18.0
    assert "# a still evening" in file.read_text(encoding="utf-8")

    again = ("--at", "18 m", "--bare", "-4 -6 -3 cm", "--fletched", "1 0 -2 cm", "--reading", "6 mm")
    here(capsys, "read-group", bow, *again, "--date", "2026-05-07", "--save", *FLAT)
    shown = here(capsys, "journal", bow)
    text = words(shown)
    assert text.index("3 bare 9.0 cm below 3 fletched") < text.index("changed nock") < text.index("3 bare 4.0 cm below")
    assert "by the groups, at 18 m bare 5.0 cm higher (give or take" in text
    assert text.count("!") == 1  # where to look next, nothing odd
    assert "! the locators: powder on rest and shelf" in text
    read = here(capsys, "read-group", bow, *FLAT)  # the journal beside the setup
    assert (read.status, read.err) == (0, "")
    assert "from 6.0 mm (1/4 in) to" in words(read)


def test_what_was_seen_comes_later(bow: Path, capsys: Capture) -> None:
    file = bow.with_name("bow-journal.toml")
    here(capsys, "journal", bow, "--changed", "arrow.point_mass=100 gr", *DAY, *COARSE)
    file.write_text(file.read_text(encoding="utf-8").replace('to = "100 gr"', 'to = "100 gr"  # screwed in'), "utf-8")
    done = here(capsys, "journal", bow, "--seen", "bare 3 cm low")
    assert (done.status, "seen bare 3 cm low" in words(done)) == (0, True)
    text = file.read_text(encoding="utf-8")
    assert "# screwed in" in text
    assert load_notes(file).change[0].seen == "bare 3 cm low"
    twice = here(capsys, "journal", bow, "--seen", "no, 2 cm")
    assert (twice.status, "has it already" in twice.err) == (2, True)
    assert file.read_text(encoding="utf-8") == text


def test_two_at_once_and_a_new_string(bow: Path, capsys: Capture) -> None:
    both = ("--changed", "arrow.point_mass=100 gr", "--changed", "side.offset=2 mm")
    done = here(capsys, "journal", bow, *both, *DAY, *COARSE)
    assert "2 things were changed at one time (arrow.point_mass, side.offset): what each" in words(done)
    assert "together at 18 m bare" in words(done)
    string = here(capsys, "journal", bow, "--changed", "string.strands=16", "--date", "2026-05-09", *COARSE)
    assert (
        "a new string: measure again brace height, upper tiller, lower tiller, draw weight and the locators' reading"
        in words(string)
    )
    measured = here(capsys, "journal", bow, "--changed", "bow.brace_height=222 mm", "--date", "2026-05-09", *COARSE)
    assert "measure again upper tiller, lower tiller, draw weight and the locators' reading" in words(measured)
    assert "things were changed at one time" not in words(measured)  # it was measured again, as asked
    assert "from 220 mm to 222 mm" in words(measured)


def test_a_change_is_dated_today_and_follows_those_before_it(bow: Path, capsys: Capture) -> None:
    file = bow.with_name("other.toml")
    for reading in ("9 mm", "5/16 in"):
        change = f"nock.locators.reading={reading}"
        assert here(capsys, "journal", bow, "--file", file, "--changed", change, *COARSE).status == 0
    first, second = load_notes(file).change
    assert (first.was, second.was) == ("8 mm", "9 mm")
    assert first.date == datetime.date.today().isoformat()


def test_readings_are_told_as_the_journal_tells_them(bow: Path, capsys: Capture) -> None:
    """The nock is 5.8 mm high: 14.8 mm by the top is 9 mm by the underside."""
    file = bow.with_name("bow-journal.toml")
    file.write_text(
        'name = "by the top"\nconvention = "top"\n[[group]]\ndistance = "18 m"\nreading = "13.8 mm"\n'
        'bare = "1 2 3 cm"\nfletched = "0 0 0 cm"\n', "utf-8",
    )  # fmt: skip
    done = here(capsys, "journal", bow, "--changed", "nock.locators.reading=14.8 mm", *COARSE)
    assert "from 13.8 mm (9/16 in) to 14.8 mm (9/16 in) by the top" in words(done)
    assert '[nock.locators] reading = "9 mm"' in words(done)  # as the setup file tells it
    own = here(
        capsys, "journal", bow, "--file", bow.with_name("u.toml"), "--changed", "nock.locators.reading=9 mm", *COARSE
    )
    assert load_notes(file).change[0].predicted == load_notes(bow.with_name("u.toml")).change[0].predicted, own.out


def test_the_page_for_the_case_has_the_last_lines(bow: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("archerysim.study.case_sheet.case_sheet.case_sheet", partial(case_sheet, draws=8))
    out = bow.with_name("sheet.md")
    for change, day in (("nock.locators.reading=9 mm", "2026-05-06"), ("arrow.point_mass=100 gr", "2026-05-08")):
        here(capsys, "journal", bow, "--changed", change, "--date", day, "--why", "a trial", *COARSE)
    assert here(capsys, "sheet", bow, "--out", out, *FLAT).status == 0
    text = out.read_text(encoding="utf-8")
    lines = text.partition("## Last journal lines\n\n")[2].splitlines()
    assert lines[0].startswith(
        "- 2026-05-06: changed nock.locators.reading from 8.0 mm (5/16 in) to 9.0 mm (3/8 in) by"
    )
    assert lines[1].startswith("- 2026-05-08: changed arrow.point_mass from 90 gr to 100 gr; why: a trial; predicted: ")
    assert "the setup file lacks nock.locators.reading = 9 mm, arrow.point_mass = 100 gr" in text


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ((), "journal: there is none beside the setup yet: "),
        (("--seen", "bare low"), "journal: there is none beside the setup yet: "),
        (("--changed", "nock.locators.readin=9 mm"), 'nock.locators.readin: unknown path. Did you mean "nock.'),
        (("--changed", "nock.locators.reading=9"), "nock.locators.reading: 9 has no unit"),
        (("--changed", "nock.locators.reading=90 mm"), 'nock.locators.reading: "90 mm" is outside the allowed range'),
        (("--changed", "nock.locators.convention=top"), "nock.locators.convention: is how readings are told"),
        (("--changed", "side.offset=0 mm", "--date", "yesterday"), 'date: "yesterday" is not a day'),
        (("--changed", "side.offset=0 mm", "--why", "a\nb"), "why: it holds a line break"),
        (("--changed", "side.offset=0 mm", "--distance", "1 m"), 'distance: "1 m" is outside'),
        (("--changed", "side.offset=0 mm", "--changed", "side.offset=1 mm"), "side.offset: is given twice"),
        (("--why", "x"), "--why: belongs to a change"),
        (("--last", "0"), "--last: 0 is no number of entries"),
        (("--file", "bow.toml"), "file: bow.toml is the same file as the setup"),
        (("--file", "absent.toml"), "absent.toml cannot be read"),
    ],
)
def test_bad_input_ends_in_one_line_and_writes_nothing(
    given: tuple[str, ...], message: str, bow: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(bow.parent)
    done = here(capsys, "journal", "bow.toml", *given, *COARSE)
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith(f"archerysim: {message}")
    assert done.err.count("\n") == 1
    assert [one.name for one in bow.parent.iterdir()] == ["bow.toml"]


def test_a_broken_journal_and_a_day_too_early_leave_it_as_it_is(bow: Path, capsys: Capture) -> None:
    file = bow.with_name("bow-journal.toml")
    for text, said in (
        ("name = ", "is not a TOML file"),
        ('name = "x"\n[[change]]\nwhat = "side.offset"\nto = "90 m"\n', "change.1.to: side.offset: "),
        (
            'name = "x"\n[[change]]\ndate = 2026-06-01\nwhat = "side.offset"\nto = "1 mm"\n',
            "date: 2026-05-06 is before",
        ),
    ):
        file.write_text(text, encoding="utf-8")
        done = here(capsys, "journal", bow, "--changed", "side.offset=0 mm", *DAY, *COARSE)
        assert (done.status, said in done.err) == (2, True), done.err
        assert file.read_text(encoding="utf-8") == text
    assert "(in " in here(capsys, "journal", bow, "--file", path_of("junior"), *COARSE).err  # a setup is no journal


def test_what_the_season_says_was_predicted_is_what_is_computed(bow: Path, capsys: Capture) -> None:
    """Each evening's journal as it stood, and the change made once more."""
    text = (FOLDER / "season.toml").read_text(encoding="utf-8")
    parts = text.split("[[change]]")
    file = bow.with_name("season.toml")
    noted = load_notes(FOLDER / "season.toml").change
    for so_far, made in ((parts[0], noted[:1]), ("[[change]]".join(parts[:2]), noted[1:])):
        file.write_text(so_far, encoding="utf-8")
        asked = [word for one in made for word in ("--changed", f"{one.what}={one.to}")]
        assert here(capsys, "journal", bow, "--file", file, *asked, "--date", made[0].date or "").status == 0
        for told, one in zip(load_notes(file).change[-len(made) :], made, strict=True):
            found, wanted = read_landing(told.predicted), read_landing(one.predicted)
            assert (told.was, found.distance) == (one.was, wanted.distance)
            for a, b in ((found.up, wanted.up), (found.right, wanted.right)):
                assert a is not None
                assert b is not None
                assert a.by == pytest.approx(b.by, abs=1.5e-3)
