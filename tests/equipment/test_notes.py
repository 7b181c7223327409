"""Notes files: values in SI, what they need, errors that name the place."""

from __future__ import annotations

from pathlib import Path

import pytest

from archerysim.equipment import SetupError
from archerysim.study.notes.notes_file import load_notes, loads_notes
from tests.support.shot.example_bows import FOLDER

HEAD = 'name = "day"\n[[group]]\ndistance = "20 yd"\nreading = "5/16 in"\n'


def test_values_arrive_in_si_and_round_trip(tmp_path: Path) -> None:
    notes = load_notes(FOLDER / "notes.toml")
    assert [len(one.bare or ()) for one in notes.group] == [3, 3, 3]
    assert notes.group[1].bare_bad == (-0.14,)
    assert notes.group[2].bare_right == pytest.approx((-0.12, -0.085, -0.15))
    assert notes.group[2].bare_missed == 1
    assert notes.taped is True
    notes.save(tmp_path / "again.toml")
    assert load_notes(tmp_path / "again.toml") == notes


def test_units_of_the_trade() -> None:
    one = loads_notes(HEAD + 'bare = ["1 in", "-12 mm", "0 cm"]\nwind = "10 km/h"').group[0]
    assert one.distance == pytest.approx(18.288)
    assert one.reading == pytest.approx(0.0079375)
    assert one.bare == (0.0254, -0.012, 0.0)
    assert one.wind == pytest.approx(2.7778, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('name = "day"', r"^group: missing"),
        (HEAD, r"^group\.1\.bare: missing: the group has no hit"),
        (HEAD + 'bare = ["1 cm", "2"]', r"^group\.1\.bare: 2 has no unit"),
        (HEAD + 'bare = ["1 cm", "9 m"]', r'^group\.1\.bare: "9 m" = .* outside the allowed range'),
        (HEAD + "bear = []", r"^group\.1\.bear: unknown name\. Did you mean"),
        (HEAD + 'bare = ["1 cm"]\n[[group]]\ndistance = "18 m"\nbare = ["1 cm"]', r"^group\.2\.reading: missing"),
        (HEAD.replace("20 yd", "200 m") + 'bare = ["1 cm"]', r"^group\.1\.distance: .*3 m to 90 m"),
        ('name = "day"\nspeed = "58"', r"^speed: 58 has no unit"),
    ],
)
def test_errors_name_the_place(text: str, message: str) -> None:
    with pytest.raises(SetupError, match=message):
        loads_notes(text)


def test_an_error_of_a_file_says_which(tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    path.write_text(HEAD + 'bare = ["1 cm", "2"]', encoding="utf-8")
    with pytest.raises(SetupError, match=r"^group\.1\.bare: 2 has no unit") as said:
        load_notes(path)
    assert said.value.problem.endswith(f" (in {path})")
    with pytest.raises(SetupError) as plain:
        loads_notes(path.read_text(encoding="utf-8"))
    assert (plain.value.path, plain.value.remedy) == (said.value.path, said.value.remedy)
    assert said.value.problem == f"{plain.value.problem} (in {path})"


def test_a_file_that_is_not_there() -> None:
    with pytest.raises(SetupError, match="cannot be read"):
        load_notes("nowhere.toml")


CHANGED = """
[[change]]
date = 2026-05-03
what = "side.preload"
was = "2 N"
to = "3 N"
[[change]]
what = "arrow.spine"
to = 600
[[group]]
date = 2026-05-10T18:30:00
distance = "18 m"
reading = "8 mm"
bare = ["1 cm"]
[[change]]
what = "nock.locators.reading"
to = "9 mm"
[[change]]
what = "side.preload"
to = "4 N"
"""


def test_changes_hold_for_the_groups_below_them(tmp_path: Path) -> None:
    notes = loads_notes(HEAD + 'bare = ["1 cm"]' + CHANGED)
    assert [one.after for one in notes.change] == [1, 1, 2, 2]
    assert notes.changed_before(0) == {}
    assert notes.changed_before(1) == {"side.preload": 3.0, "arrow.spine": pytest.approx(0.6 * 0.0254)}
    assert notes.changed_before(2)["side.preload"] == 4.0  # a reading each group has of its own
    assert "nock.locators.reading" not in notes.changed_before(2)
    assert notes.group[1].date == "2026-05-10"
    notes.save(tmp_path / "again.toml")
    assert load_notes(tmp_path / "again.toml") == notes


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"side.preload"\nwas', '"side.preloads"\nwas', r'^change\.1\.what: .* Did you mean "side\.preload"'),
        ('to = "3 N"', 'to = "3 kN"', r'^change\.1\.to: side\.preload: "3 kN" = .* outside the allowed range'),
        ('to = "3 N"', 'to = "3"', r"^change\.1\.to: side\.preload: 3 has no unit"),
        ('to = "3 N"', "", r"^change\.1\.to: missing"),
        ("2026-05-10T18:30:00", "2026-05-01", r"^group\.2\.date: 2026-05-01 is before 2026-05-03"),
        ("2026-05-10T18:30:00", '"10 May"', r'^group\.2\.date: "10 May" is not a day'),
        ("[[change]]\ndate", "[['change']]\ndate", r"^change\.1\.after: missing: it is not clear"),
    ],
)
def test_errors_of_changes_name_the_place(old: str, new: str, message: str) -> None:
    text = HEAD + 'bare = ["1 cm"]' + CHANGED
    assert old in text
    with pytest.raises(SetupError, match=message):
        loads_notes(text.replace(old, new, 1))
