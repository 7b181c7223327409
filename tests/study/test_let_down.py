"""Drawn and let down: the area between the curves, materials, what a file that names one gets, the command."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim.equipment import filled
from archerysim.study.bench.let_down import LetDown


@cache
def told(name: str) -> LetDown:
    return archerysim.let_down(archerysim.load(f"examples/{name}.toml"), mesh="coarse", planes=1)


@pytest.mark.parametrize("name", ["longbow", "club-outdoor"])
def test_the_area_between_the_curves_is_the_work_kept(name: str) -> None:
    found = told(name)
    apart = found.curve.force - found.curve.let_down
    area = np.sum(0.5 * (apart[1:] + apart[:-1]) * np.diff(found.curve.draw_length))
    assert found.kept == pytest.approx(area, rel=0.03)  # first order in the loop, see kept_from_fingers
    assert found.kept == pytest.approx(found.losses[0].kept)


def test_wood_keeps_more_than_glass_and_glass_more_than_carbon_and_the_arrow_tells() -> None:
    """Direction: common practice; sizes by measurement of bows and judgement."""
    _, wood, glass, carbon = told("club-outdoor").losses
    assert wood.kept > glass.kept > carbon.kept > 0.0
    assert wood.speed < glass.speed < carbon.speed
    assert wood.kept / glass.kept == pytest.approx(wood.share / glass.share, rel=1e-3)


def test_a_file_that_names_a_material_gets_its_share_and_one_that_gives_it_keeps_it() -> None:
    longbow = archerysim.load("examples/longbow.toml")
    assert filled(longbow).upper_limb.hysteresis == 0.03  # yew; as before, when it was that of traditional bows
    assert archerysim.sources(longbow)["upper_limb.hysteresis"].how == "usual for yew [wood, judgement]"
    glass = longbow.replace({"limbs.material": "glass on wood core"})
    assert filled(glass).lower_limb.hysteresis == 0.005
    assert filled(glass.replace({"limbs.hysteresis": 0.01})).upper_limb.hysteresis == 0.01


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    table, picture = tmp_path / "curve.csv", tmp_path / "curve.png"
    assert main(["let-down", "examples/longbow.toml", "--mesh", "coarse", "--planes", "1", "--out", str(table),
                 "--plot", str(picture)]) == 0  # fmt: skip
    out = capsys.readouterr().out
    assert "The limbs keep" in out
    assert "carbon on wood core" in out
    assert "are not in it" in out
    assert table.read_text().startswith("draw_length")
    assert picture.stat().st_size > 20_000
