"""Bad notes: each file is read or refused with one sentence; nothing else ever comes out."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.study.notes.added_entry import with_seen
from archerysim.study.notes.notes_file import Notes, loads_notes
from tests.fuzz.test_setup_reader import spoil
from tests.support.shot.example_bows import FOLDER

BATCHES, CASES = 3, 200


def read(text: str) -> Notes | SetupError:
    try:
        return loads_notes(text)
    except SetupError as error:
        return error


def test_the_notes_themselves_are_read() -> None:
    assert len(loads_notes((FOLDER / "notes.toml").read_text(encoding="utf-8")).group) == 3


@pytest.mark.parametrize("batch", range(BATCHES))
def test_spoiled_notes(batch: int) -> None:
    rng = np.random.default_rng(300 + batch)
    good = (FOLDER / "notes.toml").read_text(encoding="utf-8")
    refused = 0
    for _ in range(CASES):
        text = spoil(good, rng)
        found = read(text)
        if isinstance(found, Notes):
            assert loads_notes(found.to_toml()) == found
            continue
        refused += 1
        message = str(found)
        assert found.problem.strip(), text
        assert message.endswith((".", "?")), message
        assert len(message.splitlines()) == 1, message
        assert "Traceback" not in message
        assert len(message) < 2000
    assert CASES // 3 < refused < CASES  # the files are really spoiled, and not all beyond reading


def told_seen(text: str) -> str | SetupError:
    try:
        return with_seen(text, "bare 3 cm low")
    except SetupError as error:
        return error


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_spoiled_journal_takes_a_line_or_refuses_it(batch: int) -> None:
    """What the last change did comes into the file and nothing else in it moves; or one sentence says why not."""
    rng = np.random.default_rng(700 + batch)
    good = (FOLDER / "season.toml").read_text(encoding="utf-8")
    taken = 0
    for _ in range(CASES):
        text = spoil(good, rng)
        before = read(text)
        after = told_seen(text)
        if isinstance(after, SetupError):
            assert len(str(after).splitlines()) == 1
            continue
        taken += 1
        assert isinstance(before, Notes)
        (line,) = set(after.splitlines()) - set(text.splitlines())
        assert line == 'seen = "bare 3 cm low"'
        told = loads_notes(after)
        assert told.change[-1].seen == "bare 3 cm low"
        assert (told.group, told.change[:-1]) == (before.group, before.change[:-1])
    assert 0 < taken < CASES
