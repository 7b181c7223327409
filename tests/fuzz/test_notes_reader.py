"""Bad notes: each file is read or refused with one sentence; nothing else ever comes out."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import SetupError
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
