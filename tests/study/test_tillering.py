"""A stave on the tillering tree: never past the weight, longer only when even, never adding; outlines; refusals."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim import Tillering
from archerysim.equipment import filled, filled_as_built
from archerysim.study.bench.wood.judged import judged
from archerysim.study.bench.wood.outline import outline, target_bend

LONGBOW = archerysim.load("examples/longbow.toml")
POUND = 4.4482216152605
DEFAULT = {"draw_weight": "34 lb", "brace_height": "155 mm", "stages": 3, "even": "5 %"}
UNEVEN = tuple(1e-3 * one for one in (14.2, 12.9, 11.8, 11.0, 10.2, 9.0))  # thicker than the finished bow, stiff tips


@cache
def stave() -> archerysim.Setup:
    built = archerysim.fit(LONGBOW, mesh="coarse").setup
    return built.with_si(**{"limbs.thickness": UNEVEN})


@cache
def tillered(**wish: Any) -> Tillering:
    return archerysim.tillering(stave(), mesh="coarse", **{**DEFAULT, **wish})


def test_never_past_the_weight_and_longer_only_when_even() -> None:
    found = tillered()
    for stage in found.stages:
        assert stage.weight_first <= 34.0 * POUND * (1.0 + 1e-3)
        assert stage.drawn_first <= stage.draw_length
        assert stage.weight <= 34.0 * POUND * (1.0 + 1e-3)
        assert stage.uneven <= 0.05 + 1e-3  # the string is fitted anew after it was scraped
        assert stage.uneven_first > stage.uneven or not stage.steps
    lengths = [stage.draw_length for stage in found.stages]
    assert all(low < high for low, high in pairwise(lengths))
    assert lengths[-1] == pytest.approx(28 * 0.0254)
    assert found.stages[0].drawn_first == found.stages[0].draw_length
    assert found.stages[-1].drawn_first < lengths[-1]  # too heavy as yet: it is stopped before


def test_the_intended_weight_is_reached_from_above_at_the_intended_brace() -> None:
    found = tillered()
    curve = archerysim.draw(archerysim.loads(found.setup.to_toml()), 2, "coarse")
    assert 34.0 * POUND <= curve.force[-1] <= 34.03 * POUND
    assert curve.braced.brace_height == pytest.approx(0.155, abs=1e-5)
    assert [stage.long_string for stage in found.stages] == [True, False, False]
    assert found.stages[0].brace_height == pytest.approx(0.65 * 0.155, abs=1e-5)


def test_wood_is_only_taken() -> None:
    found = tillered()
    full = filled(found.setup)
    for k, limb in enumerate((full.upper_limb, full.lower_limb)):
        off = sum(stage.off[k] for stage in found.stages)
        at = found.stages[0].at[k] / limb.length
        before = np.interp(at, LONGBOW.upper_limb.places, UNEVEN)
        assert np.interp(at, limb.at, limb.thickness) == pytest.approx(before - off, abs=1e-9)
        assert all((stage.off[k] >= 0.0).all() for stage in found.stages)
    assert float(found.stages[0].off[0][-3:].max()) > 0.1e-3  # first off the tips, which bend too little
    assert float(found.stages[0].off[0][:4].max()) < 0.05e-3


def test_outlines_are_those_of_the_drawn_limbs() -> None:
    """Tips by summing up how the limbs bend stand where the statics has them, within what its cells leave open."""
    found = tillered()
    curve = archerysim.draw(found.setup, 2, "coarse")
    marks, drawn = curve.braced.marks, curve.drawn[-1]
    for tip, line in zip((marks.tip_u, marks.tip_l), found.stages[-1].after, strict=True):
        assert line[-1] == pytest.approx([drawn.x[tip], drawn.y[tip]], abs=1.5e-3)
    for stage in found.stages:
        assert stage.target[:, 0] == pytest.approx(stage.after[:, 0], abs=1e-9)  # from the same roots
        assert stage.from_target < 0.02


def test_an_arc_is_the_outline_of_even_curvature() -> None:
    full = filled_as_built(stave())
    place = np.linspace(0.0, 1.0, 21)
    one = judged(full, archerysim.MESHES["coarse"], 0.6, place)
    bend = target_bend(full, "arc", one, place)
    inside = (place >= 0.1) & (place <= 0.8)
    assert bend[:, inside] == pytest.approx(np.full((2, int(inside.sum())), one.bend[:, inside].mean()))
    line = outline(full, "upper", place, np.full(21, 1.2))
    chord = float(np.hypot(*(line[-1] - line[0])))
    assert chord == pytest.approx(2.0 / 1.2 * np.sin(0.5 * 1.2 * 0.73), rel=1e-5)  # of a circle of that curvature


def test_set_costs_weight_and_leaves_the_limbs_bent() -> None:
    """What takes set follows the string: curved towards the archer when it is unstrung."""
    straight, bent = tillered(), tillered(set_share=0.3)
    assert all(stage.set_taken == 0.0 for stage in straight.stages)
    assert bent.stages[-1].set_taken > 0.0
    assert min(filled(bent.setup).upper_limb.natural_curvature) < 0.0
    assert bent.stages[-1].weight >= 34.0 * POUND
    less = sum(float(stage.off[0].sum()) for stage in bent.stages)
    assert less < sum(float(stage.off[0].sum()) for stage in straight.stages)  # set has taken some of the weight


@pytest.mark.parametrize(
    ("wish", "message"),
    [
        ({"draw_weight": "60 lb"}, "60 lbf is more than the stave would pull at 28 in"),
        ({"even": "90 %"}, "even: 0.9 is outside 0.01 to 0.5"),
        ({"law": "ellipse"}, "law: 'ellipse' is not known"),
        ({"stages": 1}, "stages: 1 is not a number of stages"),
        ({"set_share": 2.0}, "set_share: 2 is outside 0 to 1"),
    ],
)
def test_what_is_refused(wish: dict[str, Any], message: str) -> None:
    with pytest.raises(archerysim.ArcherysimError, match=message):
        tillered(**wish)


def test_a_stave_with_too_little_left_names_the_bound() -> None:
    """Its tips far too thick, its weight hardly above the intended one."""
    thick = stave().with_si(**{"limbs.thickness": tuple(1e-3 * t for t in (12.5, 11.5, 11.0, 12.0, 13.0, 13.0))})
    pulls = archerysim.draw(archerysim.FittedBow.of(thick, "coarse").setup, 2, "coarse").force[-1]
    with pytest.raises(archerysim.SetupError, match=r"does not come to bend evenly within 2 %: .* in the way"):
        archerysim.tillering(thick, draw_weight=(0.98 * pulls, "N"), stages=2, even="2 %", mesh="coarse")


def test_only_solid_wood() -> None:
    with pytest.raises(archerysim.SetupError, match="only solid wood may be scraped"):
        archerysim.tillering(archerysim.load("examples/club-outdoor.toml"), draw_weight="30 lb", mesh="coarse")


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    file, bow, picture = tmp_path / "stave.toml", tmp_path / "bow.toml", tmp_path / "tree.png"
    file.write_text(stave().to_toml())
    arguments = ["tillering-tree", str(file), "--stages", "2", "--mesh", "coarse", "--even", "30 %"]
    assert main([*arguments, "--draw-weight", "34 lb", "--bow", str(bow), "--plot", str(picture)]) == 0
    out = capsys.readouterr().out
    assert "on the tillering tree" in out
    assert "Scraped at 28.0 in" in out
    assert "Scraping: only the belly" in out
    assert "promise that the bow is safe" in out
    assert picture.stat().st_size > 20_000
    assert archerysim.load(bow).form == "built"
    assert main([*arguments, "--draw-weight", "60 lb"]) == 2
    assert "no wood can be put back" in capsys.readouterr().err
