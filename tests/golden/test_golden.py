"""The library answers as the record says; and what would be wrong is seen."""

from __future__ import annotations

import shutil
from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.golden import calls, record
from tests.golden.check import add, check_piece, lost_pieces, recorded, tolerance_here, write_pieces
from tests.golden.compare import Comparison, fails, report
from tests.golden.pieces import RECORD, Piece, pieces
from tests.support.cli.run_commands import bows_shared

LONGER = ("read-group", "least swing", "bare slightly low")  # left to `python -m tests.golden --check`
ULP = np.finfo(float).eps


@cache
def some() -> dict[str, list[Piece]]:
    """Pieces for a short time: one example's studies and commands each by itself, and all others by kind and bow."""
    found = defaultdict(list)
    for piece in pieces():
        alone = piece.kind in ("studies", "commands")
        if not alone:
            found[f"{piece.kind} / {piece.bow}"].append(piece)
        elif piece.bow == "club-outdoor" and not any(word in piece.name for word in LONGER):
            found[piece.words].append(piece)
    return dict(found)


@pytest.mark.parametrize("words", list(some()))
def test_the_library_answers_as_recorded(words: str) -> None:
    comparison = Comparison(tolerance_here()[0])
    with bows_shared():  # what the pieces of one bow ask for is fitted and shot once
        for piece in some()[words]:
            check_piece(piece, comparison)
    assert comparison.count > 0
    assert not fails(comparison), f"\n{tolerance_here()[1]}\n{report(comparison)}"


def test_every_piece_is_recorded_and_nothing_else() -> None:
    missing = [piece.words for piece in pieces() if piece.name not in recorded(RECORD, piece.kind).get(piece.bow, {})]
    assert not missing, "write the record anew: python -m tests.golden"
    assert not lost_pieces()


def test_what_is_added_touches_nothing_else(tmp_path: Path) -> None:
    folder = tmp_path / "record"
    shutil.copytree(RECORD, folder)
    fits = record.read(folder, "fits")
    del fits["junior"]["brace"]
    record.write(folder, "fits", fits)
    (new,) = add(folder, tell=lambda _: None)
    assert new.words == "fits / junior / brace"
    again = record.read(folder, "fits")
    assert set(again["junior"].pop("brace")) == set(record.read(RECORD, "fits")["junior"]["brace"])
    assert again == fits
    for path in RECORD.iterdir():
        assert path.stem == "fits" or (folder / path.name).read_bytes() == path.read_bytes()


def piece_of(name: str, make: Any) -> Piece:
    return Piece("shots", "club-outdoor", name, make)


def found_by(piece: Piece, tolerance: float | None, folder: Path = RECORD) -> Comparison:
    comparison = Comparison(tolerance)
    check_piece(piece, comparison, folder)
    return comparison


@pytest.mark.parametrize("tolerance", [None, 1e-9])
@pytest.mark.parametrize("name", ["shot", "trace"])
def test_a_bow_that_is_a_trifle_otherwise_is_seen(name: str, tolerance: float | None) -> None:
    """A ten-thousandth of a gram more on the point."""
    setup = calls.bow(calls.ROOT / "examples" / "club-outdoor.toml")
    heavier = setup.with_si(**{"arrow.point_mass": calls.value(setup, "arrow.point_mass") + 1e-7})
    launch = calls.shoot(heavier, "default", True)
    comparison = found_by(piece_of(name, lambda: getattr(calls, name)(launch)), tolerance)
    assert [one for one in fails(comparison) if one.kind == "number"]
    assert comparison.largest is not None
    assert comparison.largest.place.startswith(f"shots / club-outdoor / {name} / ")


def held(expected: Any, got: Any, tolerance: float | None) -> Comparison:
    comparison = Comparison(tolerance)
    comparison.compare(("fits", "bow"), record.encoded(expected), record.encoded(got))
    return comparison


@pytest.mark.parametrize(
    ("expected", "got"),
    [(0.3, 0.3 * (1 + ULP)), (0.0, 5e-324), (3, 4), (np.nan, 1.0), ([1.0, 2.0], [1.0, 2.0 + 4 * ULP])],
)
def test_the_last_bit_counts_on_the_same_machine(expected: Any, got: Any) -> None:
    (one,) = fails(held({"speed": expected}, {"speed": got}, None))
    assert one.kind == "number"
    assert one.place.startswith("fits / bow / speed")


@pytest.mark.parametrize("same", [0.3, -0.0, float("nan"), float("inf"), 7, True, None, "12.5 mm", [1.0, None, "a"]])
def test_what_is_the_same_is_found_to_be(same: Any) -> None:
    for tolerance in (None, 1e-9):
        comparison = held({"speed": same, "zero": 0.0}, {"zero": -0.0, "speed": same}, tolerance)
        assert not comparison.found
        assert comparison.largest is None
        assert comparison.count >= 2


@pytest.mark.parametrize(("by", "seen"), [(1e-10, False), (1e-8, True)])
def test_elsewhere_a_billionth_is_allowed(by: float, seen: bool) -> None:
    """Of the number, of the largest of its row, or of 1."""
    before, after = [5000.0, 1.0, 0.0], [5000.0 * (1 + by), 1.0 + 4000 * by, 4000 * by]
    long = np.linspace(1.0, 9.0, 500)
    for expected, got in ((before, after), (1e-3, 1e-3 + by), (long, long * (1 + by))):
        comparison = held({"speed": expected}, {"speed": got}, 1e-9)
        assert bool(fails(comparison)) is seen
        assert comparison.largest is not None
    assert (
        held({"swing on the way": {"decay": 50.0}}, {"swing on the way": {"decay": 50.0 * (1 + by)}}, 1e-9).found == []
    )


def test_a_long_array_is_known_by_its_hash() -> None:
    """One number among a thousand, at none of the samples' places."""
    long = np.linspace(0.1, 9.0, 1000)
    other = long.copy()
    other[7] *= 1 + ULP
    assert record.is_long(record.encoded(long))
    assert fails(held({"trace": long}, {"trace": other}, None))
    assert not fails(held({"trace": long}, {"trace": long + 0.0}, None))
    assert fails(held({"trace": long}, {"trace": long[1:]}, 1e-9))


def test_what_is_lost_fails_and_what_is_new_is_only_told() -> None:
    comparison = held({"speed": 1.0, "pitch": 2.0}, {"speed": 1.0, "yaw": 3.0}, None)
    assert {one.kind: one.place for one in comparison.found} == {
        "lost": "fits / bow / pitch",
        "new": "fits / bow / yaw",
    }
    assert [one.kind for one in fails(comparison)] == ["lost"]
    assert "fits / bow / yaw: not in the record: 3.0" in report(comparison)


@pytest.mark.parametrize(
    ("before", "after", "kind", "here", "elsewhere"),
    [
        ("speed  54.3 m/s", "speed 54.3 m/s at clear", "words", True, True),
        ("speed  54.3 m/s", "speed 54.4 m/s", "number", True, False),
        ("speed  54.3 m/s", "speed 54.5 m/s", "number", True, True),
        ("speed  54.3 m/s", "speed 54.3 m/s", "words", True, False),
        ("4-12 mm", "4-12 mm or so", "words", True, True),
        ("two lines\nof 1e-3 mm", "two lines\nof 1e-3 mm\nand a third", "words", True, True),
    ],
)
def test_words_and_numbers_of_a_text_are_told_apart(
    before: str, after: str, kind: str, here: bool, elsewhere: bool
) -> None:
    for tolerance, seen in ((None, here), (1e-9, elsewhere)):
        comparison = held({"text": before.splitlines()}, {"text": after.splitlines()}, tolerance)
        assert [one.kind for one in fails(comparison)] == [kind] * seen
        assert len(fails(comparison, words_too=False)) == (seen and kind == "number")


def test_a_failure_is_told_and_a_refusal_is_an_answer(tmp_path: Path) -> None:
    def refuse() -> Any:
        return calls.bow(tmp_path / "none.toml")

    def fail() -> Any:
        raise KeyError("gone")

    write_pieces([piece_of("refused", refuse)], tmp_path)
    assert not found_by(piece_of("refused", refuse), None, tmp_path).found
    (one,) = fails(found_by(piece_of("refused", lambda: {"speed": 3.0}), None, tmp_path))
    assert one.kind == "form"
    assert "refused" in one.expected
    assert "speed" in one.got
    (one,) = fails(found_by(piece_of("refused", fail), None, tmp_path))
    assert one.kind == "form"
    assert "KeyError" in one.got


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    answer = {"a": 0.1, "b": [1, None, True, "0.1 mm", [float("inf"), float("-inf")]], "c": np.arange(100) / 7, "d": {}}
    record.write(tmp_path, "some", record.encoded(answer))
    assert record.read(tmp_path, "some") == record.encoded(answer)
