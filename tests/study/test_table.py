"""Sweeps on disk: netCDF and CSV come back as they were, whole or not at all."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray

from archerysim.equipment import SetupError
from archerysim.study.sweeps.table_file import check_ending, csv_text, read, save
from tests.equipment.test_cells import begins_a_formula
from tests.support.shot.example_bows import READING, built
from tests.support.study.shared_sweeps import MESH, bolts, failing, grid, readings, run


def rows() -> xarray.Dataset:
    return run(built("club-outdoor", MESH), cases={READING: ["5 mm", "5 mm"], "arrow.point_mass": ["80 gr", "90 gr"]})


def words() -> xarray.Dataset:
    return run(built("club-outdoor", MESH), {"archer.hold": ["split", "three under"]})


SWEEPS: dict[str, Callable[[], xarray.Dataset]] = {
    "readings": readings,
    "grid": grid,
    "bolts": bolts,
    "failing": failing,
    "rows": rows,
    "words": words,
}


@pytest.mark.parametrize(
    ("name", "ending"),
    [*((name, ".csv") for name in SWEEPS), *((name, ".nc") for name in ("bolts", "failing", "rows", "words"))],
)
def test_round_trip(name: str, ending: str, tmp_path: Path) -> None:
    data = SWEEPS[name]()
    save(data, tmp_path / f"sweep{ending}")
    again = read(tmp_path / f"sweep{ending}")
    if (name, ending) == ("failing", ".nc"):  # CF: numbers along a dimension in order
        data = data.sortby("arrow_length")
    xarray.testing.assert_identical(again, data)
    assert [p.name for p in tmp_path.iterdir()] == [f"sweep{ending}"]


def test_saved_twice_is_the_same_text(tmp_path: Path) -> None:
    save(grid(), tmp_path / "a.csv")
    save(read(tmp_path / "a.csv"), tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def test_csv_reads_in_a_spreadsheet() -> None:
    """Comment lines, a header with units, a row a point."""
    lines = csv_text(grid()).splitlines()
    table = list(csv.reader(line for line in lines if not line.startswith("#")))
    head, body = table[0], table[1:]
    assert head[:2] == [f"{READING} [mm]", "arrow.point_mass [gr]"]
    assert "pitch at separation [deg]" in head
    assert "pitch at clear [deg]" in head
    assert "reason" in head
    assert len(body) == 6
    assert all(len(row) == len(head) for row in body)
    assert [row[:2] for row in body[:3]] == [["6.0", "80.0"], ["6.0", "90.0"], ["7.0", "80.0"]]
    column = head.index("pitch at clear [deg]")
    assert float(body[0][column]) == float(grid().pitch[0, 0, 1])


def test_csv_has_every_row_on_one_line_and_what_is_looked_for_in_front() -> None:
    data = grid().copy(deep=True)
    data["warnings"][0, 0] = "One thing.\nAnother: a | b || c.\n|No limit known here was passed."
    data["pitch_low"] = data["pitch"] - 1.0
    lines = [line for line in csv_text(data).splitlines() if not line.startswith("#")]
    assert len(lines) == 1 + 6
    table = [line.split(",") for line in lines]
    assert table[0][2:6] == [
        "status",
        "pitch at clear [deg]",
        "pitch_low at clear [deg]",
        "pitch_rate at clear [rad/s]",
    ]
    assert sorted(table[0]) == sorted(set(table[0]))
    assert "One thing. | Another: a || b |||| c. | ||No limit" in lines[1]


def test_sentences_come_back_with_their_lines(tmp_path: Path) -> None:
    data = grid().copy(deep=True)
    for k, text in enumerate(
        ("One.\nTwo: a | b || c.\n|No limit.", "a |\n| b", "= a\n = b | = c", "|", " |\n\n| ", "")
    ):
        data["warnings"][k % 3, k // 3] = text
    save(data, tmp_path / "a.csv")
    xarray.testing.assert_identical(read(tmp_path / "a.csv"), data)


def test_csv_of_failed_points_has_empty_cells() -> None:
    table = list(csv.DictReader(line for line in csv_text(failing()).splitlines() if not line.startswith("#")))
    assert table[0]["pitch at clear [deg]"] == ""
    assert table[0]["reason"].startswith("draw: ")
    assert table[1]["pitch at clear [deg]"] != ""
    assert "nan" not in csv_text(failing()).lower().replace("nano", "")


def test_endings() -> None:
    with pytest.raises(SetupError, match=r"out: 'a.xlsx': unknown ending '.xlsx'. Use .csv or .nc"):
        check_ending("a.xlsx")
    with pytest.raises(SetupError, match="unknown ending ''"):
        check_ending("table")
    check_ending("table.CSV")


def test_no_such_folder(tmp_path: Path) -> None:
    with pytest.raises(SetupError, match="there is no such folder"):
        save(readings(), tmp_path / "none" / "a.csv")


@pytest.mark.parametrize("ending", [".nc", ".csv"])
def test_an_older_file_is_replaced_whole(ending: str, tmp_path: Path) -> None:
    target = tmp_path / f"a{ending}"
    target.write_text("old", encoding="utf-8")
    save(readings(), target)
    xarray.testing.assert_identical(read(target), readings())
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("name", ["none.csv", "none.nc"])
def test_no_such_file(name: str, tmp_path: Path) -> None:
    with pytest.raises(SetupError, match="cannot be read"):
        read(tmp_path / name)


@pytest.mark.parametrize("text", ["a,b\n1,2\n", "# attributes: {\n"])
@pytest.mark.parametrize("ending", [".csv", ".nc"])
def test_not_a_sweep(text: str, ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"a{ending}"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SetupError, match="cannot be read"):
        read(path)


def test_yes_and_no_come_back(tmp_path: Path) -> None:
    data = run(built("club-outdoor", MESH), {"riser.rods.0.rigid": [True, False]})
    save(data, tmp_path / "a.csv")
    xarray.testing.assert_identical(read(tmp_path / "a.csv"), data)


@pytest.mark.parametrize("text", ["", "# attributes: {}\n", "a,b\n1,2\n"])
def test_a_file_that_no_sweep_wrote(text: str, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(text, encoding="utf-8")
    with pytest.raises(SetupError, match="Give a file that a sweep wrote"):
        read(tmp_path / "a.csv")


HOSTILE = '=cmd|"/C calc"!A0,=1+1;@SUM(A1)|-2+3'
NAMES = ("=1+1", "+2", "-0.5", "@here", "'=quoted", '"=quoted"', " -3 mm", "plain")


def cells_of(text: str) -> list[str]:
    """Every cell of the file, its first lines too, by any of the signs that spreadsheets cut at."""
    return [cell for mark in ",;|" for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark) for cell in row]


def test_no_cell_is_run_by_a_spreadsheet(tmp_path: Path) -> None:
    """A name and texts as from a stranger's setup; numbers stay numbers, and all comes back as it was."""
    setup = built("club-outdoor", MESH).replace(name=HOSTILE)
    data = run(setup, {"arrow.point_mass": ["90 gr"], "name": list(NAMES)})
    data["reason"].values[:] = [[f"{HOSTILE}\t=2", "@a", "-1 is\r\n-not", "'-'", "=", "\t=1", "-5", ""]]
    target = tmp_path / "a.csv"
    save(data, target)
    again = read(target)
    xarray.testing.assert_identical(again, data)
    assert again["name"].values.tolist() == list(NAMES)
    assert HOSTILE in again.attrs["title"]
    cells = cells_of(target.read_bytes().decode())
    assert "'=1+1" in cells
    assert "-0.5" in cells
    assert [cell for cell in cells if begins_a_formula(cell)] == []


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # of h5netcdf, for a file half opened
@pytest.mark.parametrize("ending", [".csv", ".nc"])
def test_damaged_files_are_read_or_refused_in_a_sentence(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"a{ending}"
    save(readings(), path)
    good, rng, told = path.read_bytes(), np.random.default_rng(4), []
    for _ in range(150 if ending == ".csv" else 80):
        data = bytearray(good)
        for at in rng.integers(0, len(good), 3):
            data[at] = rng.integers(256)
        if rng.random() < 0.3:
            at = int(rng.integers(len(data)))
            del data[at : at + 100]
        path.write_bytes(bytes(data))
        try:
            read(path)
        except SetupError as error:
            told.append(str(error))
    assert len(told) > 50
    assert all(one.startswith(f"in: {path} cannot be read: ") and one.isprintable() for one in told)
