"""``archerysim explain``."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import path_of

CLUB = path_of("club-outdoor")


def test_explains_in_words_and_draws(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for extra in (["--left-handed"], ["--picture", "parts"]):
        target = tmp_path / f"{len(extra)}.png"
        ran = here(capsys, "explain", CLUB, "--mesh", "coarse", "--set", "nock.slope=2 deg", "--plot", target, *extra)
        assert ran.status == 0, ran.err
        assert "floor +2.0 deg" in ran.out
        assert target.read_bytes().startswith(b"\x89PNG")


def test_refuses_before_the_work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = here(capsys, "explain", CLUB, "--plot", tmp_path / "a.gif")
    assert ran.status == 2
    assert ran.out == ""
    assert "plot" in ran.err
