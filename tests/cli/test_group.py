"""archerysim group: the library's numbers, its picture, bad input in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from archerysim.equipment import load
from archerysim.show.groups.table import group_table
from archerysim.study.groups.compare import compare_locators, group_by_reading
from archerysim.study.groups.group import group
from archerysim.study.groups.scatter import Scatter
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import path_of

FILE = str(path_of("club-outdoor"))
FEW = ("--shots", "3", "--workers", "1", "--mesh", "coarse")
Capture = pytest.CaptureFixture[str]


def test_it_prints_the_library_s_table(capsys: Capture, tmp_path: Path) -> None:
    picture = tmp_path / "group.png"
    options = ("--distance", "20 yd", "--seed", "4", "--scatter", "release-time=2 ms", "--scatter", "nock_fit=0 N")
    done = here(capsys, "group", FILE, *options, *FEW, "--plot", picture)
    assert (done.status, done.err) == (0, "")
    scatter = Scatter(release_time="2 ms", nock_fit="0 N")
    found = group(load(FILE), 3, scatter=scatter, distance="20 yd", seed=4, workers=1, mesh="coarse")
    assert done.out == group_table(found) + "\n"
    assert picture.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("what", ["readings", "locators"])
def test_groups_compared(what: str, capsys: Capture, tmp_path: Path) -> None:
    picture = tmp_path / "groups.svg"
    done = here(capsys, "group", FILE, "--compare", what, *FEW, "--plot", picture)
    assert (done.status, done.err) == (0, "")
    study = {"readings": group_by_reading, "locators": compare_locators}[what]
    assert done.out == group_table(study(load(FILE), 3, workers=1, mesh="coarse")) + "\n"
    assert "<svg" in picture.read_text()


BAD = {
    "one shot": (("--shots", "1"), "n: 1 is not a number of shots"),
    "a negative seed": (("--seed", "-1"), "seed: -1"),
    "no workers": (("--workers", "0"), "0 is not a number of processes"),
    "unknown scatter": (("--scatter", "wind=1 m/s"), "scatter.wind: unknown name. Use one of draw_length, "),
    "scatter in another unit": (("--scatter", "release_time=2 mm"), 'the unit "mm" does not fit'),
    "scatter given twice": (("--scatter", "nock_fit=1 N", "--scatter", "nock-fit=2 N"), "nock_fit: is given twice"),
    "too near": (("--distance", "1 m"), "allowed range 3 m to 150 m"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_line(case: str, capsys: Capture) -> None:
    arguments, said = BAD[case]
    done = here(capsys, "group", FILE, *FEW, *arguments)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert done.err.count("\n") == 1
    assert said in done.err
    assert done.out == ""
