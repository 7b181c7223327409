"""Limbs as thick as they have to be: built and drawn they come back, directions, what is refused, the command."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim import LimbDesign
from archerysim.equipment import filled
from archerysim.equipment.limbs.natural_shape import limb_line
from archerysim.study.bench.wood.limb_design import END

LONGBOW = archerysim.load("examples/longbow.toml")
REFLEXED = LONGBOW.replace({"limbs.shape": "reflexed"})
POUND = 4.4482216152605


@cache
def designed(setup: archerysim.Setup = LONGBOW, **wish: Any) -> LimbDesign:
    return archerysim.limb_design(setup, mesh="coarse", **{"draw_weight": "40 lb", "material": "ash", **wish})


def lawful(found: LimbDesign, values: np.ndarray) -> np.ndarray:
    return values[:, found.place <= END + 1e-6]


# it comes back


@pytest.mark.parametrize("law", ["even strain", "arc"])
@pytest.mark.parametrize("setup", [LONGBOW, REFLEXED], ids=["straight", "reflexed"])
def test_built_and_drawn_it_has_the_weight_and_is_even(setup: archerysim.Setup, law: Any) -> None:
    found = designed(setup, law=law, material="yew")
    again = archerysim.draw(archerysim.loads(found.setup.to_toml()), mesh="coarse")
    assert again.force[-1] == pytest.approx(40.0 * POUND, rel=1e-5)
    assert again.braced.brace_height == pytest.approx(0.155, abs=1e-6)
    strain = archerysim.strain_along(again)
    inside = strain.place <= END + 1e-6
    if law == "even strain":
        even = np.maximum(np.abs(strain.back[:, 1]), np.abs(strain.belly[:, 1]))[:, inside]
    else:
        full = filled(found.setup)
        natural = [
            np.interp(strain.from_root[k], *(lambda line: (line.place, line.curvature))(limb_line(limb)))
            for k, limb in enumerate((full.upper_limb, full.lower_limb))
        ]
        even = (strain.curvature[:, 1] - np.array(natural))[:, inside]
    assert float(np.abs(even / even.mean() - 1.0).max()) < 0.01  # stations joined by straight lines
    assert found.uneven < 0.01


def test_finer_cells_tell_the_same() -> None:
    """The same thickness on the default mesh: the weight within what the mesh leaves open."""
    found = designed()
    assert archerysim.draw(found.setup, 2).force[-1] == pytest.approx(40.0 * POUND, rel=5e-3)


def test_an_arc_is_a_circle() -> None:
    """The drawn limb's nodes, from root to eight tenths, lie on a circle of the curvature told."""
    found = designed(law="arc")
    curve = archerysim.draw(found.setup, 2, "coarse")
    marks, drawn = curve.braced.marks, curve.drawn[-1]
    nodes = slice(marks.root_u, marks.root_u + int(END * (marks.tip_u - marks.root_u)) + 1)
    x, y = drawn.x[nodes], drawn.y[nodes]
    rows = np.column_stack([2.0 * x, 2.0 * y, np.ones(x.size)])
    cx, cy, rest = np.linalg.lstsq(rows, x**2 + y**2, rcond=None)[0]
    radius = float(np.sqrt(rest + cx**2 + cy**2))
    assert np.hypot(x - cx, y - cy) == pytest.approx(np.full(x.size, radius), abs=0.3e-3)
    assert 1.0 / radius == pytest.approx(lawful(found, found.curvature)[0].mean(), rel=0.01)


def test_a_split_is_met_and_each_limb_is_even() -> None:
    found = designed(split="5 mm")
    assert found.split == pytest.approx(5e-3, abs=1e-6)
    assert found.weight == pytest.approx(40.0 * POUND, rel=1e-5)
    for row in lawful(found, found.strain):
        assert float(np.abs(row / row.mean() - 1.0).max()) < 0.01


def test_written_and_read_back(tmp_path: Path) -> None:
    from archerysim.show.csv import write_sections

    found = designed()
    write_sections(found.rough, "upper", tmp_path / "rough.csv")
    write_sections(found.setup, "upper", tmp_path / "limb.csv")
    text = LONGBOW.to_toml().splitlines()
    lines = [one for one in text if not one.startswith(("stations", "width", "thickness"))]
    lines.insert(lines.index("[limbs]") + 1, 'sections = "limb.csv"')
    (tmp_path / "bow.toml").write_text("\n".join(lines))
    again = filled(archerysim.load(tmp_path / "bow.toml")).upper_limb
    assert again.at == pytest.approx(found.stations[0] / found.stations[0][-1], rel=1e-9)
    assert again.thickness == pytest.approx(found.thickness[0], rel=1e-9)
    rows = [[float(cell) for cell in row.split(",")] for row in (tmp_path / "rough.csv").read_text().splitlines()[1:]]
    assert np.array(rows)[:, 2] == pytest.approx(1e3 * found.thickness[0] + 0.5)


# directions


def test_heavier_is_thicker_and_strained_more() -> None:
    light, heavy = designed(), designed(draw_weight="45 lb")
    assert (heavy.thickness[0] > light.thickness[0]).all()
    assert heavy.largest > light.largest
    share = float((heavy.thickness[0] / light.thickness[0]).mean())
    assert share == pytest.approx((45 / 40) ** (1 / 3), rel=0.02)  # stiffness grows with the third power (beam)


def test_wider_is_thinner_and_strained_less() -> None:
    widths = tuple(1.3 * one for one in LONGBOW.upper_limb.width or ())
    wide = designed(LONGBOW.with_si(**{"limbs.width": widths}))
    assert (wide.thickness[0] < designed().thickness[0]).all()
    assert wide.largest < designed().largest


def test_a_stiffer_wood_is_thinner() -> None:
    assert (designed(material="hickory").thickness[0] < designed().thickness[0]).all()


def test_an_even_limb_is_strained_least() -> None:
    """Of two limbs of one width and weight, the evenly strained one is strained less at its worst than the arc."""
    assert designed().largest < designed(law="arc").largest


def test_the_allowance_is_left_everywhere_and_stops_the_draw() -> None:
    found = designed()
    for thick, rough in zip(found.thickness, found.rough_thickness, strict=True):
        assert rough - thick == pytest.approx(np.full(thick.size, 0.5e-3))
    assert filled(found.rough).upper_limb.thickness == pytest.approx(found.rough_thickness[0])
    assert found.rough_draw < found.draw_length
    weighed = archerysim.draw(found.rough, 2, "coarse", changes={"archer.draw_length": (found.rough_draw, "m")})
    assert weighed.force[-1] == pytest.approx(40.0 * POUND, rel=1e-3)
    assert designed(allowance="0 mm").rough_draw == designed().draw_length


# what is refused


@pytest.mark.parametrize(
    ("setup", "wish", "message"),
    [
        (LONGBOW, {"draw_weight": "120 lb"}, r"strained by \d\.\d\d %, over the 0\.86 % usual for ash"),
        (LONGBOW, {"law": "ellipse"}, "law: 'ellipse' is not known"),
        (LONGBOW, {"material": "pine"}, '"pine" is not known. Give one of ash'),
        (LONGBOW, {"material": "unidirectional glass"}, "cut back fibres break bows"),
        (LONGBOW, {"allowance": "20 mm"}, "allowance: 20 mm is outside 0 mm to 5 mm"),
        (LONGBOW, {"draw_weight": "1 lb"}, "draw_weight: 1 lb"),
        (LONGBOW.replace({"limits.highest_draw_weight": "36 lb"}), {}, "over limits.highest_draw_weight, 36 lb"),
        (archerysim.load("examples/club-outdoor.toml"), {"material": None}, "only solid wood may be made so"),
        (archerysim.load("examples/club-outdoor.toml"), {}, "width"),
    ],
    ids=lambda one: one.name if isinstance(one, archerysim.Setup) else str(one),
)  # fmt: skip
def test_what_is_refused(setup: archerysim.Setup, wish: dict[str, Any], message: str) -> None:
    with pytest.raises(archerysim.ArcherysimError, match=message) as refused:
        designed(setup, **wish)
    assert "\n" not in str(refused.value)


def test_through_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archerysim.cli.main import main

    table, bow, picture = tmp_path / "limb.csv", tmp_path / "bow.toml", tmp_path / "limb.png"
    arguments = [
        "limb-design",
        "examples/longbow.toml",
        "--draw-weight",
        "40 lb",
        "--material",
        "ash",
        "--mesh",
        "coarse",
    ]
    assert main([*arguments, "--sections", str(table), "--bow", str(bow), "--plot", str(picture)]) == 0
    out = capsys.readouterr().out
    assert "draw weight     40.0 lb (178 N) at 28.00 in" in out
    assert "Cut to the rough thickness" in out
    assert "Scraping: only the belly" in out
    assert "promise that the bow is safe" in out
    assert table.read_text().splitlines()[0] == "station [cm],width [mm],thickness [mm]"
    assert picture.stat().st_size > 20_000
    assert main(["draw", str(bow), "--mesh", "coarse"]) == 0
    assert "at full draw  40.0 lb" in capsys.readouterr().out
    assert main([*arguments, "--draw-weight", "120 lb"]) == 2
    assert "Make the limbs wider or longer" in capsys.readouterr().err


def test_an_unknown_ending(tmp_path: Path) -> None:
    from archerysim.cli.main import main

    arguments = ["limb-design", "examples/longbow.toml", "--draw-weight", "40 lb", "--mesh", "coarse"]
    assert main([*arguments, "--bow", str(tmp_path / "bow.csv")]) == 2
    assert not (tmp_path / "bow.csv").exists()
