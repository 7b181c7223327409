"""archerysim own-data: the library's tables, its picture, the setup as found, bad input in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from archerysim.equipment import load
from archerysim.show.measured.table import determined_table, residual_table
from archerysim.study.measured.data import OwnData
from archerysim.study.measured.fit_data import compare_data, fit_data
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import path_of

FILE = str(path_of("club-outdoor"))
COARSE = ("--mesh", "coarse")
DRAW_FORCE = "draw_length [in],force [lb]\n14.33,9.68\n18.33,16.93\n22.33,23.72\n26.33,31.01\n29.00,36.75\n"
SPEEDS = "arrow_mass [gr],speed [m/s]\n280,48.7\n330,46.4\n400,44.1\n"
TRACK = "time [ms],nock_x [mm],nock_y [mm]\n0.20,-662.8,64.3\n0.78,-663.1,64.1\n1.35,-662.5,62.8\n"
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """Three files of measured data, by what they hold."""
    found = {}
    for name, text in (("draw_force", DRAW_FORCE), ("speeds", SPEEDS), ("track", TRACK)):
        found[name] = tmp_path / f"{name}.csv"
        found[name].write_text(text, encoding="utf-8")
    return found


def named(files: dict[str, Path]) -> list[str]:
    """The files as options."""
    return [word for name, path in files.items() for word in (f"--{name.replace('_', '-')}", str(path))]


def test_data_beside_the_model(files: dict[str, Path], capsys: Capture, tmp_path: Path) -> None:
    picture = tmp_path / "own.png"
    done = here(capsys, "own-data", FILE, *named(files), "--error", "track=2 mm", *COARSE, "--plot", picture)
    assert (done.status, done.err) == (0, "")
    compared = compare_data(load(FILE), OwnData.read(**files), errors={"track": "2 mm"}, mesh="coarse")
    assert done.out == residual_table(compared) + "\n"
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_inputs_found_from_data(files: dict[str, Path], capsys: Capture, tmp_path: Path) -> None:
    del files["track"]
    target = tmp_path / "found.toml"
    free = ("--free", "bow.draw_weight", "--free", "limbs.mass", "--prior", "limbs.mass=10 %")
    done = here(capsys, "own-data", FILE, *named(files), *free, *COARSE, "--out", target)
    assert (done.status, done.err) == (0, "")
    found = fit_data(
        load(FILE), OwnData.read(**files), ("bow.draw_weight", "limbs.mass"), prior={"limbs.mass": "10 %"},
        mesh="coarse",
    )  # fmt: skip
    assert done.out == determined_table(found) + "\n"
    assert load(target) == found.setup


BAD = {
    "nothing measured": ((), "data: nothing was measured"),
    "no such file": (("--speeds", "none.csv"), "none.csv cannot be read"),
    "a prior of what is not free": (("--prior", "limbs.mass=10 %"), "prior: there is no input to find"),
    "nothing to write": (("--out", "found.toml"), "out: there is no input to find"),
    "another ending": (("--free", "limbs.mass", "--out", "found.csv"), "unknown ending"),
    "one file twice": (("--speeds", "a.csv", "--track", "a.csv"), "is the same file as the speeds"),
    "over the setup": (("--free", "limbs.mass", "--out", FILE), "is the same file as the setup"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_line(case: str, capsys: Capture) -> None:
    arguments, said = BAD[case]
    done = here(capsys, "own-data", FILE, *arguments, *COARSE)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert done.err.count("\n") == 1
    assert said in done.err
    assert done.out == ""


def test_data_in_wrong_words_are_told(files: dict[str, Path], capsys: Capture) -> None:
    for options, said in (
        (("--error", "wind=1 mm"), "errors.wind: is not a kind of data"),
        (("--free", "bow.draw_weigth"), 'Did you mean "bow.draw_weight"?'),
    ):
        done = here(capsys, "own-data", FILE, *named(files), *options, *COARSE)
        assert done.status == 2
        assert done.err.count("\n") == 1
        assert said in done.err
