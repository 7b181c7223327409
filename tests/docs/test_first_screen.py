"""README's first screen: what is asked in the trade's words, one command, and what really comes out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.support.cli.run_commands import here

README = Path(__file__).resolve().parents[2] / "README.md"
LINES = 25


def test_the_first_screen_shows_a_command_and_its_answer(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    screen = "\n".join(README.read_text(encoding="utf-8").splitlines()[:LINES])
    found = re.search(r"```text\n\$ archerysim (.*)\n((?:.*\n)*)```", screen)
    assert found is not None
    monkeypatch.chdir(README.parent)
    done = here(capsys, *found[1].split())
    assert (done.status, done.err) == (0, "")
    assert done.out.partition("\nWarnings\n")[0].rstrip().splitlines() == found[2].splitlines()
    for word in ("porpoise", "fishtail", "nocking point", "tail low", "tail high"):
        assert word in screen
