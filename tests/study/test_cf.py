"""A sweep's netCDF against the CF conventions, by a general checker that knows nothing of bows."""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import cf_units
import pytest
import xarray

from archerysim.equipment import Setup, field_info
from archerysim.fields.paths import all_paths
from archerysim.fields.udunits import shown, udunits
from archerysim.fields.units import FACTORS, kind_of
from archerysim.shot.columns import MOMENT, SHOT
from archerysim.study.sweeps.dataset import WORDS, dimension
from archerysim.study.sweeps.provenance import CONVENTIONS
from archerysim.study.sweeps.table_file import save
from archerysim.study.uncertainty.sensitivity import sensitivity
from tests.support.shot.example_bows import READING, built, measured
from tests.support.study.shared_sweeps import MESH, failing, grid, readings, run

PATHS = all_paths(Setup)
# The checker cannot subtract words. CF's "coordinate variables" are numbers; a dimension labelled by words is common
# practice, and is what `.sel(moment="clear")` goes by.
OF_WORDS = "check_coordinate_variables_strict_monotonicity: unsupported operand type(s) for -: 'str' and 'str'"


def cases() -> xarray.Dataset:
    columns = {READING: ["8 mm", "5 mm"], "archer.hold": ["split", "three under"], "riser.rods.0.rigid": [True] * 2}
    return run(built("club-outdoor", MESH), cases=columns)


def words() -> xarray.Dataset:
    return run(built("club-outdoor", MESH), {"archer.hold": ["split", "three under"], "arrow.point_mass": ["90 gr"]})


def yes_and_no() -> xarray.Dataset:
    return run(
        built("club-outdoor", MESH), {"riser.rods.0.rigid": [True, False], "limbs.bolt_turns": ([0.5, 0.0], "turn")}
    )


SWEEPS: dict[str, Callable[[], xarray.Dataset]] = {
    "grid": grid,
    "failing": failing,  # and its lengths in no order
    "cases": cases,
    "words": words,
    "yes and no": yes_and_no,
}


# Checks file after file, whose paths it is told, and answers a line each: what was found, and its second stream.
# What a file's variables are is asked of every variable about every other one, from the file: kept, once is enough.
CHECKER = """
import contextlib, functools, inspect, io, json, sys
from compliance_checker.cf import util
from compliance_checker.runner import CheckSuite, ComplianceChecker

for name, function in inspect.getmembers(util, inspect.isfunction):
    if list(inspect.signature(function).parameters) == ["nc"] or name == "is_geophysical":
        setattr(util, name, functools.cache(function))
CheckSuite.load_all_available_checkers()
answers, sys.stdout = sys.stdout, sys.stderr
for line in sys.stdin:
    path, name = json.loads(line)
    said = io.StringIO()
    with contextlib.redirect_stderr(said):
        ComplianceChecker.run_checker(path, [name], 0, "strict", output_filename=path + ".json", output_format="json")
    with open(path + ".json") as file:
        print(json.dumps([json.load(file)[name], said.getvalue().splitlines()]), file=answers, flush=True)
"""


@cache
def checker() -> subprocess.Popen[str]:
    """A process that checks: it brings a second copy of the library that netCDF is written with, and takes a second."""
    found = subprocess.Popen(
        [sys.executable, "-c", CHECKER], text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    atexit.register(found.communicate)
    return found


def checked(path: Path) -> tuple[dict[str, Any], list[str]]:
    """What the checker found in a file, and which of its checks broke down."""
    name = CONVENTIONS.lower().replace("-", ":")
    process = checker()
    assert process.stdin is not None
    assert process.stdout is not None
    print(json.dumps([str(path), name]), file=process.stdin, flush=True)
    found, said = json.loads(process.stdout.readline())
    broken = [line for line in said if line.startswith(name)]
    return found, [line.removeprefix(f"{name}.") for line in broken]


def complaints(found: dict[str, Any]) -> list[str]:
    kinds = ("high_priorities", "medium_priorities", "low_priorities")
    return [text for kind in kinds for one in found[kind] for text in one["msgs"]]


@pytest.mark.parametrize("name", SWEEPS)
def test_nothing_to_complain_of(name: str, tmp_path: Path) -> None:
    data = SWEEPS[name]()
    save(data, tmp_path / "whole.nc")
    found, broken = checked(tmp_path / "whole.nc")
    assert complaints(found) == []
    assert found["scored_points"] == found["possible_points"] > 100
    assert broken == [OF_WORDS]

    save(data.sel(moment="clear", drop=True).drop_vars("archer_hold", errors="ignore"), tmp_path / "numbers.nc")
    found, broken = checked(tmp_path / "numbers.nc")
    assert complaints(found) == []
    assert broken == []


def test_a_sensitivity_too(tmp_path: Path) -> None:
    unsure = {"nock.slope": "0.5 deg", "rest.height": "0.3 mm"}
    found = sensitivity(measured("club-outdoor"), unsure, mesh=MESH, progress=False)
    assert found["pitch"].attrs["units"] == "degree"
    save(found, tmp_path / "a.nc")
    assert complaints(checked(tmp_path / "a.nc")[0]) == []


def test_the_checker_sees_what_was_wrong(tmp_path: Path) -> None:
    data = readings().copy(deep=True).rename({dimension(READING): READING}).drop_attrs(deep=False)
    data["pitch"].attrs["units"] = "deg"
    data.to_netcdf(tmp_path / "a.nc", engine="h5netcdf")
    told = "\n".join(complaints(checked(tmp_path / "a.nc")[0]))
    for words in (
        '"deg" are not recognized',
        f"variable {READING} should begin",
        "Conventions",
        "history",
        "_FillValue",
    ):
        assert words in told, words


@pytest.mark.parametrize("unit", sorted({*(q.unit for q in (*MOMENT, *SHOT)), *(field_info(p).unit for p in PATHS)}))
def test_every_unit_is_one_of_udunits(unit: str) -> None:
    """And means the same: its size is that of our own table."""
    known = cf_units.Unit(udunits(unit))
    assert shown(udunits(unit)) == ("" if unit == "1" else unit)
    ours = {one for sizes in FACTORS.values() for one in sizes}
    if unit in ours - {"degC", "turn"}:  # an offset; a number of turns here, an angle there
        sizes = FACTORS[kind_of(unit)]
        assert known.convert(1.0, udunits(next(iter(sizes)))) == pytest.approx(float(sizes[unit]), rel=1e-12)


def test_names_of_dimensions() -> None:
    """No dots, no two paths alike, none that a column has."""
    names = [dimension(path) for path in PATHS]
    assert len(set(names)) == len(names)
    taken = {q.name for q in (*MOMENT, *SHOT)} | {name for name, _ in WORDS} | {"status", "case", "moment"}
    assert not taken & set(names)
    assert all(name.isidentifier() for name in names)
