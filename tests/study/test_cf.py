"""A sweep's netCDF against the CF conventions, by a general checker that knows nothing of bows."""

from __future__ import annotations

import json
import shutil
import subprocess
import sysconfig
from collections.abc import Callable
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

CHECKER = shutil.which("compliance-checker", path=sysconfig.get_path("scripts")) or "compliance-checker"
PATHS = all_paths(Setup)
# The checker cannot subtract words. CF's "coordinate variables" are numbers; a dimension labelled by words is common
# practice, and is what `.sel(moment="clear")` goes by.
OF_WORDS = "check_coordinate_variables_strict_monotonicity: unsupported operand type(s) for -: 'str' and 'str'"


def cases() -> xarray.Dataset:
    columns = {READING: ["8 mm", "5 mm"], "archer.hold": ["split", "three under"], "rest.unlimited_support": [True] * 2}
    return run(built("club-outdoor", MESH), cases=columns)


def words() -> xarray.Dataset:
    return run(built("club-outdoor", MESH), {"archer.hold": ["split", "three under"], "arrow.point_mass": ["90 gr"]})


def yes_and_no() -> xarray.Dataset:
    return run(
        built("club-outdoor", MESH), {"rest.unlimited_support": [True, False], "limbs.bolt_turns": ([0.5, 0.0], "turn")}
    )


SWEEPS: dict[str, Callable[[], xarray.Dataset]] = {
    "readings": readings,
    "grid": grid,
    "failing": failing,  # and its lengths in no order
    "cases": cases,
    "words": words,
    "yes and no": yes_and_no,
}


def checked(path: Path) -> tuple[dict[str, Any], list[str]]:
    """What the checker found in a file, and which of its checks broke down.

    In a process of its own: it brings a second copy of the library that netCDF is written with.
    """
    name = CONVENTIONS.lower().replace("-", ":")
    command = [
        CHECKER, f"--test={name}", "--criteria=strict", "--format=json", "--output=-", str(path),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, cwd=path.parent)
    broken = [line for line in done.stderr.splitlines() if line.startswith(name)]
    return json.loads(done.stdout)[name], [line.removeprefix(f"{name}.") for line in broken]


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
