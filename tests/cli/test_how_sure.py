"""archerysim sensitivity, uncertainty and bare-shaft: the library's numbers, files, stores, bad input in one line."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from archerysim.equipment import load, loads
from archerysim.shot.shoot import shoot
from archerysim.show.bare_shaft.table import bare_shaft_table, flights_table
from archerysim.show.uncertainty.table import sensitivity_table, uncertainty_table
from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
from archerysim.study.bare_shaft.flights import flights
from archerysim.study.sweeps.table_file import read
from archerysim.study.uncertainty.sensitivity import ANSWERS, sensitivity
from archerysim.study.uncertainty.uncertainty import uncertainty
from tests.support.cli.run_commands import here, once
from tests.support.shot.example_bows import fitted, path_of

FILE = str(path_of("club-outdoor"))
COARSE = ("--mesh", "coarse", "--workers", "1")
UNSURE = {"nock.slope": "1 deg", "archer.release_time": "20 %"}
KNOWN = tuple(part for path, size in UNSURE.items() for part in ("--known-to", f"{path}={size}"))
NEAR = ("--distance", "18 m", "--readings", "6 mm:10 mm:2 mm", "--draws", "2")
COMMANDS: dict[str, tuple[str, ...]] = {
    "sensitivity": KNOWN, "uncertainty": (*KNOWN, "--draws", "2"), "bare-shaft": (*KNOWN, *NEAR),
}  # fmt: skip
Capture = pytest.CaptureFixture[str]


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def test_sensitivity_prints_writes_and_draws(capsys: Capture, tmp_path: Path) -> None:
    table, picture = tmp_path / "slips.csv", tmp_path / "slips.png"
    done = here(capsys, "sensitivity", FILE, *KNOWN, *COARSE, "--out", table, "--plot", picture)
    assert (done.status, done.err) == (0, "")
    found = sensitivity(fitted("club-outdoor", "coarse"), UNSURE, workers=1)
    assert done.out == sensitivity_table(found) + "\n"
    assert picture.read_bytes().startswith(b"\x89PNG")
    rows = rows_of(table)
    assert [row["input"] for row in rows] == list(found["input"].values)
    assert [float(row["together_reading_per_spread [mm]"]) for row in rows] == list(
        found["together_reading_per_spread"].values
    )
    assert rows[0]["unit"] == str(found["unit"].values[0])


def test_sensitivity_as_netcdf(capsys: Capture, tmp_path: Path) -> None:
    table = tmp_path / "slips.nc"
    done = here(capsys, "sensitivity", FILE, "--known-to", "nock.slope=1 deg", *COARSE, "--out", table)
    assert (done.status, done.err) == (0, "")
    again = read(table)
    assert list(again["input"].values) == ["nock.slope"]
    assert "warnings" in again.attrs


def test_uncertainty_prints_and_writes_every_draw(capsys: Capture, tmp_path: Path) -> None:
    table = tmp_path / "draws.csv"
    done = here(
        capsys, "uncertainty", FILE, *KNOWN, *COARSE, "--draws", "2", "--seed", "2", "--indices", "--out", table
    )  # fmt: skip
    assert (done.status, done.err) == (0, "")
    found = uncertainty(fitted("club-outdoor", "coarse"), UNSURE, draws=2, seed=2, indices=True, workers=1)
    assert done.out == uncertainty_table(found) + "\n"
    assert "by Sobol's total indices" in done.out
    sample = [[float(cell) for cell in row.values()] for row in rows_of(table)]
    np.testing.assert_array_equal(sample, np.column_stack((found.drawn, found.sample)))
    assert list(rows_of(table)[0])[:3] == ["nock.slope [deg]", "archer.release_time [ms]", "together_reading [mm]"]


def test_a_draw_can_be_shot_again_by_its_row(capsys: Capture, tmp_path: Path) -> None:
    table = tmp_path / "draws.csv"
    here(capsys, "uncertainty", FILE, *KNOWN, *COARSE, "--draws", "2", "--seed", "3", "--out", table)
    about = dict(line[2:].split(": ", 1) for line in table.read_text(encoding="utf-8").splitlines() if line[:2] == "# ")
    attributes = json.loads(about["attributes"])
    assert (attributes["seed"], attributes["draws"], attributes["reading_convention"]) == (3, 2, "underside")
    assert {"physics_hash", "archerysim_version"} <= set(attributes)
    assert set(json.loads(about["inputs"])) == set(UNSURE)
    setup = loads(attributes["setup"])
    for row in rows_of(table):
        times = f"{row['archer.release_time [ms]']} ms"
        changes = {"nock.slope": f"{row['nock.slope [deg]']} deg", "archer.release_time": [times] * 3}
        again = shoot(setup.replace(changes), "coarse")
        assert again.clear.pitch == pytest.approx(float(row["pitch [deg]"]), abs=1e-6)
        assert again.clear.speed == pytest.approx(float(row["speed [m/s]"]), rel=1e-7)


@pytest.mark.parametrize("picture", ["lines", "card"])
def test_bare_shaft_prints_writes_and_draws(picture: str, capsys: Capture, tmp_path: Path) -> None:
    table, drawn = tmp_path / "band.csv", tmp_path / "band.svg"
    done = here(
        capsys, "bare-shaft", FILE, *KNOWN, *NEAR, *COARSE, "--untaped", "--out", table, "--plot", drawn,
        "--picture", picture,
    )  # fmt: skip
    assert (done.status, done.err) == (0, "")
    found = bare_against_fletched(
        fitted("club-outdoor", "coarse"), "6 mm:10 mm:2 mm", "18 m", draws=2, uncertainty=UNSURE, taped=False, workers=1
    )
    assert done.out == bare_shaft_table(found, ("18 m",), full=False) + "\n"
    rows = rows_of(table)
    assert [float(row["bare above fletched, as given [m]"]) for row in rows] == found.value[:, 0].tolist()
    assert [float(row["95 % point [m]"]) for row in rows] == found.upper[:, 0].tolist()
    assert "<svg" in drawn.read_text()


@pytest.mark.parametrize("command", COMMANDS)
def test_the_answer_comes_first_and_the_cautions_last(command: str, capsys: Capture) -> None:
    lines = once(capsys, command, FILE, *COMMANDS[command], *COARSE).out.splitlines()
    first = {
        "sensitivity": "reading by the underside that brings bare and fletched together",
        "uncertainty": "reading by the underside that brings bare and fletched together",
        "bare-shaft": "  now          locators ",
    }[command]
    assert any(first in line for line in lines[1:6])
    assert any(line.startswith("  ! Bare shafts fly less steadily") for line in lines[-6:])
    assert all(len(line) <= 140 for line in lines)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_store_is_read_again(command: str, capsys: Capture, tmp_path: Path) -> None:
    store = tmp_path / "runs.sqlite"
    plain = once(capsys, command, FILE, *COMMANDS[command], *COARSE)
    first, again = (here(capsys, command, FILE, *COMMANDS[command], *COARSE, "--store", store) for _ in range(2))
    assert plain.out == first.out == again.out
    assert (again.status, again.err) == (0, "")
    assert store.stat().st_size > 0


BAD: dict[str, tuple[tuple[str, ...], str]] = {
    "no workers": (("--workers", "0"), "0 is not a number of processes"),
    "unknown input": (("--known-to", "nock.slop=1 deg"), 'nock.slop: unknown path. Did you mean "nock.slope"?'),
    "one input twice": (("--known-to", "nock.slope=1 deg"), "nock.slope: is given twice"),
    "another unit": (("--known-to", "rest.height=1 kg"), 'the unit "kg" does not fit'),
    "of no size": (("--known-to", "rest.height=0 mm"), "is not positive"),
    "another ending": (("--out", "a.txt"), "a.txt"),
}


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_line(case: str, command: str, capsys: Capture) -> None:
    arguments, said = BAD[case]
    done = here(capsys, command, FILE, *COMMANDS[command], *COARSE, *arguments)
    assert done.status == 2
    assert done.err.startswith("archerysim: ")
    assert done.err.count("\n") == 1
    assert said in done.err
    assert done.out == ""


def test_draws_that_are_no_power_of_two(capsys: Capture) -> None:
    done = here(capsys, "uncertainty", FILE, *COARSE, "--draws", "10")
    assert (done.status, done.out) == (2, "")
    assert "10 is not a power of two" in done.err


def test_flights_prints_writes_and_draws(capsys: Capture, tmp_path: Path) -> None:
    table, strips = tmp_path / "flights.csv", tmp_path / "flights.svg"
    readings = ("--readings", "6 mm, 8 mm, 2 m", "--distance", "20 m", "--untaped")
    done = here(capsys, "flights", FILE, *readings, *COARSE, "--out", table, "--plot", strips, "--left-handed")
    assert (done.status, done.err) == (0, "")
    flown = flights(load(FILE), "6 mm, 8 mm, 2 m", distance="20 m", taped=False, mesh="coarse")
    assert done.out == flights_table(flown) + "\n"
    assert "today" in done.out
    assert "2000.0 mm: nock.locators.reading: " in done.out
    rows = rows_of(table)
    assert [float(row["bare above fletched [m]"]) for row in rows[:2]] == [row.apart for row in flown.rows[:2]]
    assert rows[2]["bare above fletched [m]"] == ""
    assert rows[2]["reason"] == flown.rows[2].reason
    assert "<svg" in strips.read_text()


@pytest.mark.parametrize(
    ("arguments", "said"), [(("--workers", "0"), "0 is not a number of processes"), (("--distance", "1 m"), "3 m to")]
)
def test_bad_flights_are_one_line(arguments: tuple[str, ...], said: str, capsys: Capture) -> None:
    done = here(capsys, "flights", FILE, *arguments)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert done.err.count("\n") == 1


def test_the_answers_table_names_every_answer(capsys: Capture) -> None:
    out = here(capsys, "uncertainty", FILE, *COMMANDS["uncertainty"], *COARSE).out
    assert all(text in out for _, _, text in ANSWERS)


def test_a_sweep_with_a_band(capsys: Capture, tmp_path: Path) -> None:
    table = tmp_path / "band.csv"
    arguments = ("sweep", path_of("club-outdoor"), "--over", "nock.locators.reading=6 mm, 8 mm", "--mesh", "coarse")
    done = here(capsys, *arguments, "--band", "4", "--known-to", "rest.height=0.5 mm", "--out", table)
    assert done.status == 0
    assert "Band, at clear: 90 % of 4 bows that all fit what was measured." in done.out
    assert read(table).attrs["draws"] == 4
    refused = here(capsys, *arguments, "--known-to", "rest.height=0.5 mm")
    assert refused.status != 0
    assert "uncertainty: says how wide a band is, but no band was asked for" in refused.err
