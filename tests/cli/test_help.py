"""Help and version."""

from __future__ import annotations

from itertools import pairwise

import pytest

from archerysim import __version__
from archerysim.cli import main, parser

COMMANDS = ("check", "brace", "draw", "shoot", "explain", "fly", "tune", "read-group", "sweep")
MORE = {"sweep": ["--over", "a=b"], "fly": ["--distance", "18 m"], "read-group": ["notes.toml"]}
Capture = pytest.CaptureFixture[str]


def said(capsys: Capture, *arguments: str) -> str:
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == 0
    return capsys.readouterr().out


def test_help_names_every_command(capsys: Capture) -> None:
    text = said(capsys, "--help")
    lines = [line.split() for line in text.splitlines() if line.strip()]
    for command in COMMANDS:  # a long name stands on a line of its own, its text below
        told = [line + below for line, below in pairwise(lines) if line[0] == command]
        assert any(len(words) > 4 for words in told), command
    assert "maker's limits" in " ".join(text.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_each_command(command: str, capsys: Capture) -> None:
    text = said(capsys, command, "--help")
    for option in ("SETUP", "--set", "--plot", "--mesh"):
        assert option in text
    assert all(len(line) <= 120 for line in text.splitlines())


def test_help_of_sweep(capsys: Capture) -> None:
    text = " ".join(said(capsys, "sweep", "--help").split())
    for option in ("--over", "--out", "--hold", "--workers", "brace-height", "refit", ".csv or .nc"):
        assert option in text


def test_version(capsys: Capture) -> None:
    assert said(capsys, "--version").strip() == f"archerysim {__version__}"


def test_every_command_runs_something() -> None:
    for command in COMMANDS:
        assert callable(parser().parse_args([command, "bow.toml", *MORE.get(command, [])]).run)
