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
    assert notes.group[2].sideways == pytest.approx(0.04)
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
