"""What is done at the bench: directions of the trade, steps undone, what is refused, what is held."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim import BenchChange, SetupError
from archerysim.equipment import filled
from archerysim.shot.arrays.build import limb_cells

CLUB = archerysim.load("examples/club-outdoor.toml")
LONGBOW = archerysim.load("examples/longbow.toml")
SCRAPE = "scrape lower belly 20 cm to 40 cm 0.3 mm"


@cache
def changed(setup: archerysim.Setup, *steps: str, hold: str | None = None) -> BenchChange:
    return archerysim.change(setup, steps, hold=hold, mesh="coarse", planes=1)


def moved(found: BenchChange, name: str) -> float:
    column = found.at[:, found.answer(name)]
    return float(column[-1] - column[0])


# directions (common practice)


def test_lower_bolt_in() -> None:
    """Its tiller shorter, the tied reading falls, more draw weight."""
    found = changed(CLUB, "turn lower 1/4 turn in")
    assert moved(found, "lower_tiller") < -0.3
    assert moved(found, "tiller_split") > 0.5
    assert moved(found, "reading") < -0.1
    assert moved(found, "draw_weight") > 0.0
    assert any("Bolts turned" in one for one in found.warnings)


def test_upper_bolt_in() -> None:
    """Its tiller shorter, the tied reading rises."""
    found = changed(CLUB, "turn upper 1/4 turn in")
    assert moved(found, "upper_tiller") < -0.3
    assert moved(found, "tiller_split") < -0.5
    assert moved(found, "reading") > 0.1


@pytest.mark.parametrize("limb", ["upper", "lower"])
@pytest.mark.parametrize("face", ["belly", "edges"])
def test_scraping_weakens(limb: str, face: str) -> None:
    """Its tiller grows; less draw weight and energy; it bends more there, and takes more of the work."""
    found = changed(LONGBOW, f"scrape {limb} {face} 20 cm to 40 cm {'0.3 mm' if face == 'belly' else '1 mm'}")
    assert moved(found, f"{limb}_tiller") > 0.3
    assert moved(found, "draw_weight") < 0.0
    assert moved(found, "stored_energy") < 0.0
    assert moved(found, "upper_share") * (1 if limb == "upper" else -1) > 0.0
    k = ["upper", "lower"].index(limb)
    before, after = found.strains
    there = (before.place * 0.73 > 0.25) & (before.place * 0.73 < 0.35)
    now = np.interp(before.place, after.place, after.curvature[k, 1])
    assert (now[there] > before.curvature[k, 1][there]).all()
    assert any("Scraping" in one for one in found.warnings)


def test_twisting_the_string_raises_the_brace_height() -> None:
    found = changed(CLUB, "twist string 3 mm shorter")
    assert moved(found, "brace_height") > 2.0
    assert moved(changed(CLUB, "twist string 3 mm longer"), "brace_height") < -2.0


def test_reflex_by_heat_raises_weight_and_lowers_the_brace_height() -> None:
    found = changed(LONGBOW, "heat both 30 cm to 50 cm 0.2 1/m")
    assert moved(found, "draw_weight") > 0.0
    assert moved(found, "stored_energy") > 0.0


def test_shorter_limbs_are_heavier_to_draw() -> None:
    found = changed(LONGBOW, "cut both 10 mm", hold="brace height")
    assert moved(found, "draw_weight") > 0.0
    assert moved(found, "brace_height") == pytest.approx(0.0, abs=1e-3)
    assert found.bow.setup.upper_limb.length == pytest.approx(0.72)


# undone, it is the same bow


@pytest.mark.parametrize(
    ("step", "back"),
    [
        ("turn lower 1/4 turn in", "turn lower 1/4 turn out"),
        ("turn both 1/2 turn out", "turn both 1/2 turn in"),
        ("swap limbs", "swap limbs"),
    ],
)
def test_a_step_undone_is_the_same_bow_to_the_last_digit(step: str, back: str) -> None:
    found = changed(CLUB, step, back)
    assert not np.array_equal(found.at[1], found.at[0], equal_nan=True) or step == "swap limbs"  # limbs alike
    assert np.array_equal(found.at[2], found.at[0], equal_nan=True)


def test_nothing_scraped_from_nowhere_is_left_in_the_tables() -> None:
    """A table taken to more places, straight lines between, is the same limb: what is not scraped stays as thick."""
    built = archerysim.fit(LONGBOW, mesh="coarse").setup
    found = changed(LONGBOW, SCRAPE)
    old, new = (filled(one).lower_limb for one in (built, found.bow.setup))
    place = np.linspace(0, 1, 400)
    off = np.interp(place, old.at, old.thickness) - np.interp(place, new.at, new.thickness)
    at = place * old.length
    outside, inside = (at < 0.199) | (at > 0.401), (at > 0.221) & (at < 0.379)
    assert np.abs(off[outside]).max() < 1e-6
    assert off[inside] == pytest.approx(0.3e-3, abs=1e-9)
    assert (off > -1e-6).all()
    assert (np.diff(off[(at >= 0.199) & (at <= 0.221)]) >= -1e-12).all()  # smooth edges, rising
    assert filled(found.bow.setup).upper_limb == filled(built).upper_limb


def test_wood_taken_off_is_gone() -> None:
    """The scraped limb is lighter by density times volume: 18 cm between half-deep edges."""
    built, after = archerysim.fit(LONGBOW, mesh="coarse").setup, changed(LONGBOW, SCRAPE).bow.setup
    full = filled(built).lower_limb
    lighter = sum(
        (-1) ** k * limb_cells(filled(one).lower_limb, 24)["mass"].sum() for k, one in enumerate((built, after))
    )
    width = np.interp(0.3 / full.length, full.at, full.width)
    assert lighter == pytest.approx(full.density * width * 0.3e-3 * 0.18, rel=0.01)


def test_limbs_of_another_bow_keep_this_risers_pockets() -> None:
    found = changed(CLUB, "limbs from examples/barebow.toml")
    new, old = found.bow.setup, found.before.setup
    other = archerysim.fit(archerysim.load("examples/barebow.toml"), mesh="coarse").setup
    for name in ("upper_limb", "lower_limb"):
        assert getattr(new, name).pocket_angle == getattr(old, name).pocket_angle
        assert getattr(new, name).bending_stiffness == getattr(other, name).bending_stiffness
    assert new.riser == old.riser
    assert changed(CLUB, "riser from examples/barebow.toml").bow.setup.riser == other.riser


def test_unlike_limbs_swapped_go_the_other_way() -> None:
    unlike = CLUB.replace({"bow.split_from": "both", "bow.stiffness_ratio": 1.03})
    found = changed(unlike, "swap limbs")
    assert abs(moved(found, "best_reading")) > 0.1
    assert moved(found, "upper_share") != pytest.approx(0.0, abs=1e-3)


# what is told


def test_a_row_for_every_step_and_the_range_moves_along() -> None:
    found = archerysim.change(
        CLUB, ["turn lower 1/4 turn in", "twist string 2 mm shorter"], draws=8, mesh="coarse", planes=1
    )
    assert found.at.shape[0] == 3
    assert math.isnan(changed(CLUB, "swap limbs").best_range(0)[0])
    low, high = found.best_range(0)
    assert low < found.at[0, found.answer("best_reading")] < high
    moved_by = moved(found, "best_reading")
    assert found.best_range(-1) == pytest.approx((low + moved_by, high + moved_by))
    data = found.to_xarray()
    assert list(data["after"].values) == ["", *found.steps]
    assert float(data.draw_weight[0]) == found.at[0, found.answer("draw_weight")]


def test_a_bow_between_that_cannot_be_shot_is_a_row_with_its_reason() -> None:
    found = changed(CLUB, "twist string 60 mm longer", "twist string 60 mm shorter")
    assert np.isnan(found.at[1]).all()
    assert np.isfinite(found.at[2, found.answer("speed")])
    assert list(found.reasons) == ["untwist the string, longer by 60 mm"]


def test_limbs_share_the_work_that_the_limbs_take_up() -> None:
    found = changed(LONGBOW, SCRAPE)
    for launch, limbs in zip(found.launches, found.limbs, strict=True):
        both = limbs.upper_work + limbs.lower_work
        assert both == pytest.approx(launch.stored_energy, rel=0.05)  # the string gives some back
    assert changed(CLUB, "swap limbs").limbs[0].riser_impulse > 0.0


# what is refused


@pytest.mark.parametrize(
    ("setup", "step", "message"),
    [
        (CLUB, SCRAPE, r"lower_limb\.material: not given: only solid wood may be scraped"),
        (LONGBOW, "scrape lower back 20 cm to 40 cm 0.3 mm", "the back is never scraped. Cut back fibres break bows"),
        (LONGBOW, "scrape lower belly 20 cm to 40 cm 3 mm", "off 12 mm is more than 20 % in one pass"),
        (LONGBOW, "scrape lower belly 40 cm to 20 cm 0.3 mm", "40 cm to 20 cm from the root is no stretch"),
        (LONGBOW, "scrape lower belly 60 cm to 80 cm 0.3 mm", "is no stretch of a limb of 730 mm"),
        (LONGBOW, "scrape lower belly 20 cm to 40 cm -0.3 mm", "no wood can be put back"),
        (LONGBOW, "cut both 700 mm", "no size for it"),
        (CLUB, "twist string 60 mm longer", "after: untwist the string, longer by 60 mm"),
        (LONGBOW, "sand lower 3 mm", '"sand lower 3 mm" is not known here. Begin with turn, shim'),
        (LONGBOW, "turn lower 1/4", '1/4 has no unit. Write it with one, for example "1/4 turn"'),
        (LONGBOW, "turn left 1/4 turn", 'is not understood. Say it like "turn lower 1/4 turn in"'),
        (LONGBOW, "turn lower -1/4 turn out", "has a sign and a way"),
        (LONGBOW, "limbs from nowhere.toml", "nowhere.toml"),
    ],
)  # fmt: skip
def test_what_is_refused(setup: archerysim.Setup, step: str, message: str) -> None:
    with pytest.raises((SetupError, archerysim.ShotError), match=message):
        changed(setup, step)


@pytest.mark.parametrize("material", ["glass on wood core", "unidirectional carbon"])
def test_glass_and_carbon_are_never_scraped(material: str) -> None:
    with pytest.raises(SetupError, match="or one of glass or carbon, is not scraped: cut back fibres break bows"):
        changed(LONGBOW.replace({"limbs.material": material}), SCRAPE)


def test_laminations_are_never_scraped() -> None:
    strip = {"material": "maple", "thickness": "6 mm"}
    faced = LONGBOW.replace({"limbs.laminations": [strip, strip], "limbs.thickness": None, "limbs.material": None})
    with pytest.raises(SetupError, match=r"lower_limb\.laminations: a laminated limb"):
        changed(faced, SCRAPE)


def test_nothing_to_do_and_nothing_to_fit_anew() -> None:
    with pytest.raises(archerysim.UsageError, match="there are none"):
        archerysim.change(CLUB, [])
    with pytest.raises(SetupError, match="'refit' measures the bow anew"):
        archerysim.change(CLUB, "swap limbs", hold="refit")


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    table, picture = tmp_path / "bench.csv", tmp_path / "bench.png"
    assert main([
        "change", "examples/longbow.toml", SCRAPE, "scrape upper belly 20 cm to 40 cm 0.1 mm",
        "--mesh", "coarse", "--planes", "1", "--draws", "0", "--hold", "brace-height", "--all",
        "--out", str(table), "--plot", str(picture),
    ]) == 0  # fmt: skip
    out = capsys.readouterr().out
    assert "1  scrape 0.3 mm off the belly of the lower limb, 20 cm to 40 cm from the root" in out
    assert "held: string twisted back to the same brace height" in out
    assert out.split("before", 1)[1].split()[:5] == ["after", "1", "after", "2", "moved"]
    assert "Scraping: only the belly" in out
    rows = table.read_text().splitlines()
    assert len(rows) == 4
    assert rows[0].startswith("after,brace height [mm],")
    assert picture.stat().st_size > 20_000
    assert main(["change", "examples/longbow.toml", "scrape lower back 20 cm to 40 cm 0.3 mm"]) == 2
    assert "the back is never scraped" in capsys.readouterr().err
