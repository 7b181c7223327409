"""Help and version."""

from __future__ import annotations

import re

import pytest

from archerysim import __version__
from archerysim.cli.main import main, parser

COMMANDS = (
    "check", "brace", "draw", "strain", "shoot", "explain", "fly", "flights", "bare-shaft", "tune",
    "sideways", "group", "sensitivity", "uncertainty", "read-group", "own-data", "lesson", "sweep", "sheet",
    "compare", "animate", "flight-path", "target", "journal", "change", "even-tiller", "limb-design",
    "tillering-tree", "map", "timed-tiller", "after-shot", "let-down",
)  # fmt: skip
MORE = {
    "sweep": ["--over", "a=b"],
    "fly": ["--distance", "18 m"],
    "read-group": ["notes.toml"],
    "lesson": ["-o", "a.html"],
    "animate": ["-o", "a.html"],
    "flight-path": ["-o", "a.html"],
    "sheet": ["--out", "sheet.pdf"],
    "compare": ["new.toml"],
    "change": ["swap limbs"],
    "limb-design": ["--draw-weight", "40 lb"],
    "tillering-tree": ["--draw-weight", "40 lb"],
}
Capture = pytest.CaptureFixture[str]


def said(capsys: Capture, *arguments: str) -> str:
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == 0
    return capsys.readouterr().out


def test_help_names_every_command(capsys: Capture) -> None:
    text = said(capsys, "--help")
    lines = text.splitlines()
    for command in (*COMMANDS, "new", "measures", "warmup"):
        (k,) = [k for k, line in enumerate(lines) if re.match(rf"    {command}( |$)", line)]
        words = lines[k].split()[1:]
        if not words:  # a long name stands on a line of its own, its text below
            words = lines[k + 1].split()
            assert lines[k + 1].startswith(" " * 14), command  # not the next command's line
            assert words[0] not in (*COMMANDS, "warmup"), command
        assert len(words) > 4, command
    assert "maker's limits" in " ".join(text.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_each_command(command: str, capsys: Capture) -> None:
    text = said(capsys, command, "--help")
    for option in ("SETUP", "--mesh"):
        assert option in text
    pictureless = ("uncertainty", "sideways", "lesson", "sheet", "animate", "flight-path", "journal")
    assert ("--plot" in text) == (command not in pictureless)
    # what was measured goes with the file as it is, and two setups too
    assert ("--set" in text) == (command not in ("own-data", "compare", "journal"))
    assert all(len(line) <= 120 for line in text.splitlines())


def test_help_of_warmup(capsys: Capture) -> None:
    assert "Compile in advance what the first shot would have to wait for." in said(capsys, "warmup", "--help")


@pytest.mark.parametrize("command", ["new", "measures"])
def test_help_of_what_begins_without_a_bow(command: str, capsys: Capture) -> None:
    text = said(capsys, command, "--help")
    assert "SETUP" in text
    assert "--mesh" not in text
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
    assert callable(parser().parse_args(["warmup"]).run)
