"""The picture, the table and the file of how limbs bend and are strained."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import xarray

from archerysim import show
from archerysim.equipment.cautions import SCRAPING
from archerysim.shot.strain_along import StrainAlong, strain_along
from archerysim.show.shots.strain_table import strain_table
from archerysim.show.text import WIDTH
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import measured, path_of
from tests.support.show.legible_pictures import assert_legible

TABLES = {"limbs.width": ("42 mm", "16 mm"), "limbs.thickness": ("8 mm", "5 mm"), "limbs.modulus": "30 GPa"}
MESH = "coarse"
Capture = pytest.CaptureFixture[str]


@cache
def found(limit: float | None = None) -> StrainAlong:
    return strain_along(measured("club-outdoor").with_si(**TABLES, **{"limbs.strain_limit": limit}), MESH)


def test_every_line_is_the_result_s() -> None:
    figure = show.strain(found(0.012))
    top, bottom = figure.axes
    figure.canvas.draw()
    assert_legible(figure)
    lines = {line.get_gid(): line for ax in (top, bottom) for line in ax.get_lines()}
    for k, limb in enumerate(("upper", "lower")):
        for m, state in enumerate(("brace", "full draw")):
            for side in ("back", "belly"):
                line = lines[f"{side} of the {limb} limb at {state}"]
                np.testing.assert_allclose(line.get_xdata(), 1e3 * found(0.012).from_root[k], rtol=1e-15)
                np.testing.assert_array_equal(line.get_ydata(), 100 * getattr(found(0.012), side)[k, m])
            line = lines[f"curvature of the {limb} limb at {state}"]
            np.testing.assert_array_equal(line.get_ydata(), found(0.012).curvature[k, m])
    limits = sorted(float(line.get_ydata()[0]) for line in top.get_lines() if line.get_gid() == "limit")
    assert limits == [-1.2, 1.2]
    assert all(top.get_ylim()[0] < one < top.get_ylim()[1] for one in limits)


def test_a_limit_that_is_passed_stands_at_the_foot() -> None:
    figure = show.strain(found(0.002))
    assert any(text.get_text().startswith("! The upper limb's") for text in figure.texts)
    assert not any(text.get_text().startswith("!") for text in show.strain(found(0.012)).texts)


def test_without_limit_or_table_it_says_so() -> None:
    assert "no limit given" in show.strain(found()).axes[0].get_title(loc="left")
    plain = strain_along(measured("junior"), MESH)
    words = [text.get_text() for text in show.strain(plain).axes[0].texts]
    assert words == ["no strain known:\nno width, thickness and modulus given"]
    table = strain_table(plain)
    assert "No strain is given: no width, thickness and modulus given." in table
    assert "back" not in table.splitlines()[3]
    assert SCRAPING[:30] not in table


def test_into_axes_of_ones_own() -> None:
    from matplotlib.figure import Figure

    axes = Figure().subplots(2, 1)
    assert show.strain(found(), axes).axes == list(axes)


@pytest.mark.parametrize("limit", [None, 0.012, 0.002])
def test_the_table(limit: float | None) -> None:
    table = strain_table(found(limit))
    assert all(len(line) <= WIDTH for line in table.splitlines())
    row = next(line for line in table.splitlines() if line.startswith("  0.500"))
    k = int(np.abs(found(limit).place - 0.5).argmin())
    assert row.split()[4:6] == [f"{one:+.2f}" for one in found(limit).curvature[0, :, k]]
    assert row.split()[-1] == f"{100 * found(limit).belly[0, 1, k]:+.3f}"
    assert "Scraping: only the belly" in table
    assert ("limit 1.20 %" in table) == (limit == 0.012)
    assert ("no strain_limit given" in table) == (limit is None)
    assert table.startswith("Warnings") == (limit == 0.002)


def test_from_the_command_line(tmp_path: Path, capsys: Capture) -> None:
    sets = [
        part for path, value in TABLES.items()
        for part in ("--set", f"{path}={value if isinstance(value, str) else '[' + ', '.join(value) + ']'}")
    ]  # fmt: skip
    for name in ("strain.csv", "strain.nc"):
        job = ("strain", path_of("club-outdoor"), "--mesh", MESH, *sets, "--all", "--out", tmp_path / name)
        done = here(capsys, *job, "--plot", tmp_path / "strain.svg")
        assert done.status == 0, done.err
        assert "Upper limb" in done.out
    assert (tmp_path / "strain.svg").stat().st_size > 1000
    rows = list(csv.DictReader((tmp_path / "strain.csv").read_text().splitlines()))
    with xarray.open_dataset(tmp_path / "strain.nc") as data:
        assert len(rows) == data.back.size
        assert float(rows[-1]["belly"]) == float(data.belly[-1, -1, -1])
    assert (rows[0]["limb"], rows[0]["moment"], rows[-1]["limb"], rows[-1]["moment"]) == (
        "upper", "brace", "lower", "full draw",
    )  # fmt: skip


def test_the_caution_for_scraping_stands_once_and_bends_are_told_as_they_are_drawn(capsys: Capture) -> None:
    for factor in ("0.98", "1.02"):
        for everything in ((), ("--all",)):
            job = ("strain", path_of("longbow"), "--mesh", MESH, "--set", f"limbs.thickness.all={factor} times")
            out = here(capsys, *job, *everything).out
            assert out.count("Scraping:") == 1, (factor, everything)
    told = " ".join(here(capsys, "strain", path_of("longbow"), "--mesh", MESH).out.split())
    along = strain_along(measured("longbow"), MESH)
    drawn, since = along.curvature[0, 1], along.curvature[0, 1] - along.curvature[0, 0]
    for words, values in (("from brace to full draw", since), ("from the unstrung limb", drawn)):
        place = 1e3 * along.from_root[0, int(values.argmax())]
        assert f"{words} most at {place:.0f} mm from the root, by {values.max():.2f} 1/m" in told
    assert "unstrung limb" in show.strain(along).axes[1].get_ylabel()
