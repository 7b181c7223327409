"""The invented season: its notes are what the hidden bow shoots, and reading them leads to a tuned bow."""

from __future__ import annotations

import runpy
from functools import cache
from typing import Any

import numpy as np

from archerysim.study.notes.group_means import read_groups
from archerysim.study.notes.notes_file import load_notes
from archerysim.study.notes.read_group import Diagnosis
from tests.support.shot.example_bows import FOLDER, measured


@cache
def season() -> dict[str, Any]:
    return runpy.run_path(str(FOLDER / "season.py"))


@cache
def told() -> tuple[Diagnosis, ...]:
    return tuple(found for _, found in season()["read_all"]())


def test_the_notes_are_what_the_hidden_bow_shoots() -> None:
    """The middles of each evening's groups lie within three standard deviations of the true gap."""
    notes = load_notes(FOLDER / "season.toml")
    groups = read_groups(measured("club-outdoor"), notes)
    for day, up, right in season()["true_gaps"]():
        those = [group for group in groups if notes.group[group.index].date == day]
        assert len(those) == 2
        spread = 100.0 * those[0].sigma / np.sqrt(2.0)
        assert abs(100.0 * np.mean([group.difference for group in those]) - up) < 3.0 * spread
        assert abs(-100.0 * np.mean([group.beside for group in those]) - right) < 3.0 * spread


def test_from_the_first_group_to_the_tuned_bow() -> None:
    first, second, third = told()
    assert first.move is not None
    assert second.move is not None
    assert third.move is not None
    assert (first.move.way, round(1e3 * first.move.to)) == ("down", 6)
    assert (second.move.way, third.move.way) == ("hold", "hold")
    sides = [found.left_right for found in told()]
    assert [side is not None and side.contact for side in sides] == ["", "", ""]
    assert [side is not None and side.told for side in sides] == [True, True, False]
    assert second.left_right is not None
    assert "too stiff" in second.left_right.words
    assert third.left_right is not None
    assert "leave it" in third.left_right.words
    assert third.next_end is not None
    assert third.next_end.distance == 30.0  # the butt is known, and all landed inside half of it


def test_what_the_season_says_of_the_hands_is_true() -> None:
    truth = {
        "archer.side_roll": 3.8,
        "archer.side_hold": 1.0,
        "archer.release_time": 4.5,
        "archer.finger_shares.0": 28.0,
    }
    shown = {one.cause.path: one for one in told()[-1].causes}
    for path, value in truth.items():
        assert shown[path].low <= value <= shown[path].high
    roll = shown["archer.side_roll"]
    assert roll.narrowed < 0.8
    assert roll.high < 8.0  # what the setup file takes


def test_the_script_prints_the_evenings_and_the_truth(capsys: Any) -> None:
    season()["main"]()
    out = capsys.readouterr().out
    assert out.index("2026-05-06") < out.index("Locators DOWN") < out.index("what was true")
    assert "3.5 cm left" in out
