"""Reading groups at the prompt: a group told in a line, kept in a file, and what is refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from archerysim.equipment import load
from archerysim.study.notes.group_means import read_groups
from archerysim.study.notes.notes_file import load_notes
from tests.support.cli.run_commands import ROOT, here
from tests.support.shot.example_bows import FOLDER, path_of

Capture = pytest.CaptureFixture[str]
COARSE = ("--mesh", "coarse", "--workers", "1")
FLAT = (*COARSE, "--planes", "1")
BOW = path_of("club-outdoor")
LINE = {
    "--at": "20 yd", "--reading": "5/16 in", "--bare": "-9 -12 miss -7 cm", "--fletched": "1 0 -2 cm",
}  # fmt: skip


def words(line: dict[str, str]) -> tuple[str, ...]:
    return tuple(part for pair in line.items() for part in pair)


def test_a_group_told_in_a_line(capsys: Capture) -> None:
    done = here(capsys, "read-group", BOW, *words(LINE), *FLAT)
    assert (done.status, done.err) == (0, "")
    out = " ".join(done.out.split())
    assert out.index("Repeat before acting; if it stays so: locators DOWN") < out.index("Next: shoot")
    assert "at 20 yd" in out
    assert "18.288" not in out
    answer = done.out.split("The move\n")[1].split("Before shooting")[0].strip().splitlines()
    assert len(answer) <= 12
    assert "What the groups show" not in out


def test_all_tells_the_groups_and_what_they_speak_for(capsys: Capture) -> None:
    more = {"--bare-right": "-9 -12 miss -7 cm", "--fletched-right": "1 0 -2 cm"}
    out = here(capsys, "read-group", BOW, *words(LINE | more), "--all", *COARSE).out
    told = ("The groups", "What the groups show", "roll of the string off the fingers", "show a move of 1 mm", "-9 cm")
    for part in told:
        assert part in " ".join(out.split())
    assert "lie 9 cm left of fletched ones at 20 yd" in " ".join(out.split())


def test_a_group_is_kept_and_read_with_the_next(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "season.toml"
    first = words(LINE | {"--date": "2026-05-03"})
    assert here(capsys, "read-group", BOW, *first, "--save", file, *FLAT).status == 0
    again = words(LINE | {"--date": "2026-05-10", "--bare": "-9 -8 -10 cm"})
    out = here(capsys, "read-group", BOW, *again, "--save", file, *FLAT).out
    assert "Repeat before acting" not in out  # three and three bare shafts
    notes = load_notes(file)
    assert notes.name == "club recurve, outdoor"
    assert [one.date for one in notes.group] == ["2026-05-03", "2026-05-10"]
    assert [one.bare_missed for one in notes.group] == [1, None]
    text = file.read_text(encoding="utf-8")
    assert 'bare = "-9 -12 miss -7 cm"' in text  # as it was written
    beside = here(capsys, "read-group", BOW, file, *words(LINE), *FLAT)
    assert beside.status == 0
    assert file.read_text(encoding="utf-8") == text  # only --save writes


def test_it_ends_with_what_to_write_into_the_setup_file(tmp_path: Path, capsys: Capture) -> None:
    """The archer's last words are Hold, at a reading that the file does not have."""
    notes, bow = tmp_path / "n.toml", tmp_path / "bow.toml"
    bow.write_text(BOW.read_text(encoding="utf-8"), encoding="utf-8")
    shot = 'distance = "18 m"\nreading = "6 mm"\nfletched = "1 -1 0 2 -2 0 cm"\nbare = "0 1 -1 cm"\n'
    notes.write_text(f'name = "level"\n[[group]]\n{shot}[[group]]\n{shot}', encoding="utf-8")
    out = here(capsys, "read-group", bow, notes, *FLAT).out
    assert "Hold: " in out
    assert out.rstrip().splitlines()[-1] == '  [nock.locators]  reading = "6 mm"'
    assert f"Not yet in {bow}" in out
    bow.write_text(bow.read_text(encoding="utf-8").replace('reading = "8 mm"', 'reading = "6 mm"'), encoding="utf-8")
    assert "[nock.locators]" not in here(capsys, "read-group", bow, notes, *FLAT).out


def test_a_move_is_to_be_written_once_the_locators_are_tied_there(capsys: Capture) -> None:
    out = here(capsys, "read-group", BOW, FOLDER / "notes.toml", *FLAT).out
    to = re.search(r"from 8\.0 mm \(5/16 in\) to ([\d.]+) mm", " ".join(out.split()))
    assert to is not None
    assert out.rstrip().endswith(f'[nock.locators]  reading = "{float(to[1]):g} mm"')
    assert "Once the locators are tied there, write into" in out


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ({}, "notes: neither a file nor a group is given"),
        ({"--save": "x.toml"}, "save: there is no group to write"),
        ({"--bare": "9 cm"}, "--at: missing. A group told here needs --at, --reading, --bare and --fletched"),
        (LINE | {"--bare": "9 12"}, 'bare: "9 12" has no unit at its end'),
        (LINE | {"--bare": "9 1/2 7 cm"}, "bare: "),
        (LINE | {"--bare-right": "1 2 cm"}, "bare_right: 2 places sideways for 4 shafts"),
        (LINE | {"--reading": "8"}, "reading: 8 has no unit"),
        (LINE | {"--reading": "8 top"}, "reading: 8 has no unit"),
        (LINE | {"--bare": "3 cm high"}, '"high" is no unit. High needs no word, low is a minus; give one number for'),
        (LINE | {"--bare": "3 cm low"}, "Low is a minus"),
        (LINE | {"--fletched": "3 cm left"}, "Places sideways have an option of their own"),
        (LINE | {"--at": "2 m"}, 'distance: "2 m" is outside the allowed range'),
        (LINE | {"--date": "yesterday"}, 'date: "yesterday" is not a day'),
        (LINE | {"--butt": "5 cm"}, 'butt: "5 cm" is outside the allowed range'),
    ],
)
def test_a_line_that_cannot_be_read_is_refused(
    line: dict[str, str], message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    done = here(capsys, "read-group", BOW, *words(line), *COARSE)
    assert done.status == 2
    assert message in done.err
    assert list(tmp_path.iterdir()) == []


def saved(capsys: Capture, setup: Path, notes: Path, reading: str) -> tuple[int, str]:
    done = here(capsys, "read-group", setup, *words(LINE | {"--reading": reading}), "--save", notes, *FLAT)
    return done.status, done.err


def test_what_is_saved_says_how_its_readings_are_told(tmp_path: Path, capsys: Capture) -> None:
    """Read with a setup of the other convention, they still mean the same height."""
    top = tmp_path / "top.toml"
    text = BOW.read_text(encoding="utf-8")
    told = text.replace("[nock.locators]\n", '[nock.locators]\nconvention = "top"\n')
    assert told != text
    top.write_text(told, encoding="utf-8")
    by_top, by_underside = tmp_path / "a.toml", tmp_path / "b.toml"
    assert saved(capsys, top, by_top, "11.4 mm") == (0, "")
    assert saved(capsys, BOW, by_underside, "8 mm") == (0, "")
    assert load_notes(by_top).convention == "top"
    assert load_notes(by_underside).convention == "underside"
    assert saved(capsys, BOW, by_top, "11.0 mm") == (0, "")  # counts as these notes do
    assert by_top.read_text(encoding="utf-8").count("convention") == 1
    assert read_groups(load(BOW), load_notes(by_top))[1].reading == pytest.approx((11.0 - 5.8) * 1e-3)


def test_older_notes_are_told_as_they_were_read(tmp_path: Path, capsys: Capture) -> None:
    notes = tmp_path / "notes.toml"
    notes.write_text((ROOT / "examples" / "notes.toml").read_text(encoding="utf-8"), encoding="utf-8")
    before = load_notes(notes)
    assert before.convention is None
    assert saved(capsys, BOW, notes, "8 mm") == (0, "")
    assert load_notes(notes).convention == "underside"
    assert load_notes(notes).group[:-1] == before.group
    assert "# Notes of one outdoor morning" in notes.read_text(encoding="utf-8")


def test_a_reading_may_name_its_edge(tmp_path: Path, capsys: Capture) -> None:
    notes = tmp_path / "notes.toml"
    assert saved(capsys, BOW, notes, "13.8 mm top") == (0, "")
    assert load_notes(notes).convention == "top"
    assert load_notes(notes).group[0].reading == pytest.approx(13.8e-3)
    assert read_groups(load(BOW), load_notes(notes))[0].reading == pytest.approx(8e-3)
    status, said = saved(capsys, BOW, notes, "8 mm underside")
    assert status == 2
    assert 'reading: these notes tell readings by the top. Write "13.8 mm"' in said
    assert len(load_notes(notes).group) == 1


def test_a_group_is_never_written_over_other_files(tmp_path: Path, capsys: Capture) -> None:
    bow, other = tmp_path / "bow.toml", tmp_path / "other.toml"
    bow.write_text(BOW.read_text(encoding="utf-8"), encoding="utf-8")
    other.write_text('name = "x"\n[[group]]\ndistance = "18 m"\nreading = "8 mm"\nbare = "1 cm"\n', encoding="utf-8")
    before = bow.read_text(encoding="utf-8"), other.read_text(encoding="utf-8")
    done = here(capsys, "read-group", bow, *words(LINE), "--save", bow, *COARSE)
    assert (done.status, "same file as the setup" in done.err) == (2, True)
    notes = tmp_path / "notes.toml"
    notes.write_text(before[1], encoding="utf-8")
    done = here(capsys, "read-group", bow, notes, *words(LINE), "--save", other, *COARSE)
    assert (done.status, "holds other notes" in done.err) == (2, True)
    assert (bow.read_text(encoding="utf-8"), other.read_text(encoding="utf-8")) == before
