"""Wild command lines end with status 0 or 2, one line of error, and no half-written file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from archerysim.cli.main import main
from archerysim.equipment import load
from archerysim.shot.statics.fit import fit
from tests.fuzz.test_setup_reader import EXAMPLES, spoil
from tests.support.cli.run_commands import bows_shared, compiled

COMMANDS = (
    "check", "brace", "draw", "strain", "shoot", "explain", "sweep", "fly", "tune", "group", "read-group",
    "journal", "own-data", "", "shot",
    "--help",
)  # fmt: skip
SETS = (
    "nock.locators.reading=9 mm", "nock.locators.reading=900 mm", "nock.locators.reading", "=", "a=b", "bow.length=",
    "arrow.spine=nan", "archer.draw_length=5 in", "riser.rods.9.end_mass=1 g", "limbs.mass=1 kg", "string.length=1 m",
)  # fmt: skip
OVERS = (
    "nock.locators.reading=4 mm:5 mm:-1 mm", "nock.locators.reading=4:5:1", "nock.locators.reading=::", "x=1:2:3",
    "nock.locators.reading=4 mm:5 mm:0 mm", "nock.locators.reading=1 mm:2 mm:1e-12 mm", "nock.slope=a,b", "nock=1",
)  # fmt: skip
OUTS = ("missing/folder/x.csv", "x.txt", "x", ".", "x.csv.part/..", "\x00.csv")


@pytest.mark.parametrize("batch", range(2))
def test_wild_command_lines(
    batch: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    rng = np.random.default_rng(100 + batch)

    def one(words: tuple[str, ...]) -> str:
        return words[int(rng.integers(len(words)))]

    bad = tmp_path / "bad.toml"
    for case in range(150):
        text = EXAMPLES[case % len(EXAMPLES)].read_text(encoding="utf-8")
        bad.write_text("[" + spoil(text, rng), encoding="utf-8")  # never a good file: no shot is computed
        words = [one(COMMANDS), one((str(bad), "none.toml", "", str(tmp_path), "\x00"))]
        if words[0] == "read-group":
            words.append(one((str(bad), "none.toml", "")))
        for _ in range(int(rng.integers(0, 4))):
            words += (
                ["--set", one(SETS)], ["--over", one(OVERS)], ["--out", one(OUTS)], ["--mesh", one(("fine", "x"))],
                ["--plot", one(OUTS)], ["--hold", one(("reading", "x"))], ["--workers", one(("0", "-1", "x"))], ["-z"],
            )[int(rng.integers(8))]  # fmt: skip
        try:
            status = main(words)
        except SystemExit as stop:  # argparse: help or usage
            status = int(stop.code or 0)
        told = capsys.readouterr()
        assert status in (0, 2), words
        assert "Traceback" not in told.err
        if status == 2 and not told.err.startswith("usage:"):
            assert len(told.err.strip().splitlines()) == 1, told.err
        assert [path.name for path in tmp_path.iterdir()] == ["bad.toml"], words


JUNIOR = next(path for path in EXAMPLES if path.stem == "junior")
WITHIN = ("4 mm:12 mm", "12 mm:4 mm", "nan mm:8 mm", "4 mm", ":", "4 mm:12 kg", "6 mm:6 mm", "4 mm:900 mm", "1:2:3")
SIZES = ("5 mm", "0 mm", "-5 mm", "nan mm", "5 kg", "", "1e300 mm", "2 deg")
PATHS = (
    "nock.locators.reading", "nock.locators.readin", "rest.height", "archer.finger_shares", "arrow.spine", "rest.kind",
    "rest", "bow.brace_height", "upper_limb.bolt_turns",
)  # fmt: skip
HOLDS = ("reading", "brace-height", "refit", "x", "")
DISTANCES = ("18 m", "20 yd", "nan m", "-18 m", "0 m", "150 m", "1e9 m", "18", "18 kg", "inf m", "")
ODD_SETS = (
    "nock.locators.reading=9 mm", "archer.draw_length=15 in", "arrow.point_mass=0.1 g", "archer.release_time=0.1 ms",
    "arrow.spine=0.2 in", "archer.finger_shares=1,0,0", "air.head_wind=20 m/s", "rest.support_travel=10 mm",
)  # fmt: skip
AIMS = ("bare-slightly-low", "no-angle-of-attack", "no-pitch-rate", "least-swing", "x")
TUNE = (("--within", WITHIN), ("--size", SIZES), ("--path", PATHS), ("--hold", HOLDS), ("--distance", DISTANCES),
        ("--aim", AIMS))  # fmt: skip
CASES = 26
ENDED: dict[int, int] = {}  # exit status of each case so far


def odd_words(case: int, setup: str) -> list[str]:
    """A command over a good setup with some odd values."""
    rng = np.random.default_rng(2000 + case)

    def one(words: tuple[str, ...]) -> str:
        return words[int(rng.integers(len(words)))]

    command = ("tune", "tune", "fly", "explain")[case % 4]
    words = [command, setup, "--mesh", "coarse"]
    if command == "tune":
        words += ["--no-others", "--draws", "8"]
        for name, values in (TUNE[k] for k in rng.permutation(len(TUNE))[: 1 + case % 3]):
            words += [name, one(values)]
    elif command == "fly":
        words += ["--distance", one(DISTANCES), *(["--bare"] if rng.random() < 0.5 else [])]
    if command != "tune" or rng.random() < 0.3:
        words += ["--set", one(ODD_SETS)]
    return words


@pytest.mark.parametrize("case", range(CASES))
def test_odd_values_over_a_good_setup(case: int, junior: str, ended: Callable[[list[str]], int]) -> None:
    """An answer, or one line that says what is wrong."""
    ENDED[case] = ended(odd_words(case, junior))
    assert ENDED[case] in (0, 2)


def test_some_odd_values_are_answered_and_some_refused(junior: str, ended: Callable[[list[str]], int]) -> None:
    for case in range(CASES):
        if case not in ENDED:  # this test alone, or before the others
            ENDED[case] = ended(odd_words(case, junior))
    assert set(ENDED.values()) == {0, 2}


@pytest.mark.parametrize(
    "words", [("tune", "--no-others", "--draws", "8"), ("fly", "--distance", "18 m"), ("explain",)], ids=" ".join
)
def test_the_good_setup_is_answered(words: tuple[str, ...], junior: str, ended: Callable[[list[str]], int]) -> None:
    command, *more = words
    assert ended([command, junior, "--mesh", "coarse", *more]) == 0


BEYOND = ("--set", "limits.most_bolt_turns=0.5", "--path", "upper_limb.bolt_turns", "--within", "1 turn:2 turn")


@pytest.mark.parametrize(
    "more",
    [
        ("--within", "nan mm:8 mm"), ("--within", "12 mm:4 mm"), ("--size", "nan mm"), ("--distance", "nan m"),
        ("--path", "rest.kind"), ("--path", "archer.finger_shares"), ("--path", "archer.finger_shares.0"),
        ("--path", "archer.pressure_point"), BEYOND,
    ],
    ids=" ".join,
)  # fmt: skip
def test_what_cannot_be_tuned(more: tuple[str, ...], junior: str, ended: Callable[[list[str]], int]) -> None:
    assert ended(["tune", junior, "--mesh", "coarse", "--no-others", *more]) == 2


@pytest.fixture(scope="module")
def junior(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The setup as built: it need not be fitted again in each case."""
    compiled()
    path = tmp_path_factory.mktemp("good") / "junior.toml"
    fit(load(JUNIOR), "coarse").setup.save(path)
    return str(path)


@pytest.fixture
def ended(capsys: pytest.CaptureFixture[str]) -> Callable[[list[str]], int]:
    """The exit status of a command line; a failure is told in one line."""
    capsys.readouterr()  # what compiling says

    def run(words: list[str]) -> int:
        try:
            with bows_shared():
                status = main(words)
        except SystemExit as stop:
            status = int(stop.code or 0)
        told = capsys.readouterr()
        assert "Traceback" not in told.err
        if status == 2:
            assert len(told.err.strip().splitlines()) == 1, told.err
        else:
            assert told.out.strip(), words
            assert not told.err.strip(), told.err
        return status

    return run
