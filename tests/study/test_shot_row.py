"""Rows of shots as an archer writes them, in files and at the prompt."""

from __future__ import annotations

from pathlib import Path

import pytest

from archerysim.equipment import SetupError
from archerysim.study.notes.added_entry import with_entries
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import loads_notes
from archerysim.study.notes.quick_group import notes_with, save_text
from archerysim.study.notes.shot_row import row_of

GROUP = {"distance": "18 m", "reading": "5/16 in", "bare": "9 12 7 cm", "fletched": "1 0 -2 cm"}


def read(**rows: str) -> NotedGroup:
    """The last group of a file with these rows in it."""
    lines = "".join(f'{name} = "{row}"\n' for name, row in ({"fletched": "0 0 0 cm"} | rows).items())
    return loads_notes(f'name = "day"\n[[group]]\ndistance = "18 m"\nreading = "8 mm"\n{lines}').group[-1]


@pytest.mark.parametrize(
    ("text", "shots"),
    [
        ("9 12 7 cm", ["9 cm", "12 cm", "7 cm"]),
        ("9 cm 12 mm 7", None),
        ("9 12 7cm miss", ["9 cm", "12 cm", "7 cm", "miss"]),
        ("9 12 bad -7 cm", ["9 cm", "12 cm bad", "-7 cm"]),
        ("+1.5, -.5, \u22122 in", ["+1.5 in", "-.5 in", "-2 in"]),
        ("3 1/2, 4 1/4 in", ["3 1/2 in", "4 1/4 in"]),
        ("1/2 in 3 cm", ["1/2 in", "3 cm"]),
        ('9 12"', ['9 "', '12 "']),
        ("miss miss", ["miss", "miss"]),
    ],
)
def test_a_row_in_one_text(text: str, shots: list[str] | None) -> None:
    if shots is None:
        with pytest.raises(SetupError, match="has no unit at its end"):
            row_of("bare", text)
    else:
        assert row_of("bare", text) == shots


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "holds no shot"),
        ("cm", "is not after a number"),
        ("bad 9 cm", "is not after a number"),
        ("miss bad", "is not after a number"),
        ("9 cm mm", "has two units"),
        ("9 . 3 cm", 'holds "."'),
        ("3 1/2 4 cm", "can be read in two ways"),
    ],
)
def test_a_row_that_cannot_be_read_is_one_error(text: str, part: str) -> None:
    with pytest.raises(SetupError) as said:
        row_of("bare", text)
    assert part in said.value.problem
    assert said.value.path == "bare"
    assert said.value.remedy


def test_misses_and_bad_shots_are_sorted_out_with_their_places_sideways() -> None:
    one = read(bare="9 12 bad miss 7 cm", bare_right="3 4 miss -2 cm", bare_bad="30 cm")
    assert one.bare == (0.09, 0.07)
    assert one.bare_right == (0.03, -0.02)
    assert one.bare_bad == (0.30, 0.12)
    assert one.bare_missed == 1
    assert read(bare="9 12 cm", bare_right="3 4 bad cm").bare_bad == (0.12,)  # called bad in either row


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ({"bare": "9 12 cm", "bare_right": "3 cm"}, r"^group\.1\.bare_right: 1 places sideways for 2 shafts"),
        ({"bare": "9 miss cm", "bare_right": "3 4 cm"}, r"^group\.1\.bare_right: shaft 2 missed by its height"),
        ({"bare": "9 12 cm", "bare_right": "3 miss cm"}, r"^group\.1\.bare_right: shaft 2 has a height and no place"),
        ({"bare": "9 12 cm", "bare_right": "3 4 cm", "sideways": "4 cm"}, r"^group\.1\.sideways: given together with"),
        ({"fletched_right": "3 cm"}, r"^group\.1\.fletched_right: 1 places sideways for 3 shafts"),
        ({"bare": "9 m 3 cm"}, r'^group\.1\.bare: "9 m" = .* outside the allowed range'),
    ],
)
def test_places_sideways_that_do_not_fit_are_refused(rows: dict[str, str], message: str) -> None:
    with pytest.raises(SetupError, match=message):
        read(**rows)


def test_a_group_is_added_to_a_file_and_leaves_the_rest_as_it_stands(tmp_path: Path) -> None:
    file = tmp_path / "season.toml"
    notes, text = notes_with(file, "club bow", GROUP | {"date": "2026-05-03"})
    assert (notes.name, len(notes.group)) == ("club bow", 1)
    save_text(file, text + '# after the rain\n[[change]]\nwhat = "side.preload"\nto = "3 N"\n')
    notes, text = notes_with(
        file, "", GROUP | {"date": "2026-05-10", "bare_right": "1 2 cm miss", "bare": "9 12 cm miss"}
    )
    assert text.startswith(file.read_text(encoding="utf-8").rstrip())
    assert "# after the rain" in text
    assert [one.date for one in notes.group] == ["2026-05-03", "2026-05-10"]
    assert [dict(notes.changed_before(k)) for k in (0, 1)] == [{}, {"side.preload": 3.0}]
    assert loads_notes(text) == notes


@pytest.mark.parametrize(
    ("more", "path"),
    [
        ({"bare": "9 12"}, "bare"),
        ({"reading": "8"}, "reading"),
        ({"distance": "800 m"}, "distance"),
        ({"date": "3 May"}, "date"),
        ({"date": "2026-05-01"}, "date"),
        ({"bare_right": "1 cm"}, "bare_right"),
    ],
)
def test_a_group_that_is_not_usable_names_its_field_alone(more: dict[str, str], path: str) -> None:
    before = with_entries("", "day", "group", [GROUP | {"date": "2026-05-03"}])
    with pytest.raises(SetupError) as said:
        with_entries(before, "", "group", [GROUP | more])
    assert said.value.path == path


def test_a_file_whose_groups_stand_in_a_list_takes_no_further_one() -> None:
    listed = 'name = "day"\ngroup = [{distance = "18 m", reading = "8 mm", bare = ["1 cm"]}]\n'
    with pytest.raises(SetupError, match="cannot be added"):
        with_entries(listed, "", "group", [GROUP])
