"""The example scripts run as a reader runs them."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from tests.support.shot.example_bows import FOLDER


@pytest.mark.parametrize("name", ["bowmaker", "researcher"])  # coach.py draws a film
def test_an_example_runs(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "examples").symlink_to(FOLDER)
    monkeypatch.chdir(tmp_path)
    runpy.run_path(str(FOLDER / f"{name}.py"), run_name="__main__")
    assert "clear" in capsys.readouterr().out
