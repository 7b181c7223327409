"""Wild command lines end with status 0 or 2, one line of error, and no half-written file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archerysim.cli import main
from tests.fuzz.test_setup_reader import EXAMPLES, spoil

COMMANDS = ("check", "brace", "draw", "shoot", "sweep", "fly", "tune", "", "shot", "--help")
SETS = (
    "nock.locators.reading=9 mm", "nock.locators.reading=900 mm", "nock.locators.reading", "=", "a=b", "bow.length=",
    "arrow.spine=nan", "archer.draw_length=5 in", "riser.rods.9.end_mass=1 g", "limbs.mass=1 kg", "string.length=1 m",
)  # fmt: skip
OVERS = (
    "nock.locators.reading=4 mm:5 mm:-1 mm", "nock.locators.reading=4:5:1", "nock.locators.reading=::", "x=1:2:3",
    "nock.locators.reading=4 mm:5 mm:0 mm", "nock.locators.reading=1 mm:2 mm:1e-12 mm", "nock.slope=a,b", "nock=1",
)  # fmt: skip
OUTS = ("missing/folder/x.csv", "x.txt", "x", ".", "x.csv.part/..", "\x00.csv")


@pytest.mark.parametrize("batch", range(4))
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
