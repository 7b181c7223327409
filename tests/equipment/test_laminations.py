"""Laminated limbs: the transformed section against closed forms and an integral of its own, masses, files, refusals."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archerysim.equipment import Setup, SetupError, filled, load, loads, sources
from archerysim.equipment.limbs.laminated import laminated
from archerysim.equipment.limbs.materials import MATERIALS

WIDTH = {"limbs.width": ["40 mm", "16 mm"], "limbs.mass": None}
GLASS, MAPLE = MATERIALS["unidirectional glass"], MATERIALS["maple"]


def faced(face: str = "1 mm", core: Any = "5 mm", **more: Any) -> dict[str, Any]:
    """Glass on both sides of a maple core."""
    strip = {"material": "unidirectional glass", "thickness": face}
    return {"limbs.laminations": [strip, {"material": "maple", "thickness": core, **more}, strip]}


def by_strips(thicknesses: list[float], ratios: list[float], count: int = 20_000) -> tuple[float, float]:
    """Where bending strains nothing, and the second moment about it, summed over thin strips."""
    edges = np.concatenate(([0.0], np.cumsum(thicknesses)))
    y = (np.arange(count) + 0.5) * edges[-1] / count
    n = np.array(ratios)[np.searchsorted(edges[1:-1], y)]
    neutral = (n * y).sum() / n.sum()
    return float(neutral), float((n * (y - neutral) ** 2).sum() * edges[-1] / count)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.floats(0.5, 8.0), st.floats(0.1, 10.0)), min_size=1, max_size=5))
def test_the_transformed_section_is_the_sum_of_thin_strips(layers: list[tuple[float, float]]) -> None:
    thicknesses, ratios = [t for t, _ in layers], [n for _, n in layers]
    found = laminated(thicknesses, ratios)
    neutral, second = by_strips(thicknesses, ratios)
    assert found.neutral == pytest.approx(neutral, rel=2e-3)
    assert found.second == pytest.approx(second, rel=5e-3)
    assert found.thickness == pytest.approx(sum(thicknesses), rel=1e-12)


def test_laminations_of_one_wood_are_the_solid_limb(measured: Setup) -> None:
    solid = {"limbs.thickness": ["9 mm", "6 mm"], "limbs.material": "maple"}
    three = [{"material": "maple", "thickness": [f"{a} mm", f"{b} mm"]} for a, b in ((2, 1), (4, 3), (3, 2))]
    one = filled(measured.replace({**WIDTH, **solid})).upper_limb
    other = filled(measured.replace({**WIDTH, "limbs.laminations": three})).upper_limb
    for name in ("bending_stiffness", "mass_per_length", "thickness", "root_thickness", "mass"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-12), name


def test_faces_on_a_core_by_the_closed_form(measured: Setup) -> None:
    limb = filled(measured.replace({**WIDTH, **faced()})).upper_limb
    total, share = 7e-3, 5 / 7
    modulus = GLASS.modulus.value * (1 - share**3) + MAPLE.modulus.value * share**3
    assert limb.bending_stiffness[0] == pytest.approx(modulus * 0.04 * total**3 / 12, rel=1e-12)
    weight = 2e-3 * GLASS.density.value + 5e-3 * MAPLE.density.value
    assert limb.mass_per_length == pytest.approx((0.04 * weight, 0.016 * weight), rel=1e-12)
    assert (limb.modulus, limb.density) == (GLASS.modulus.value, GLASS.density.value)
    assert sources(measured.replace({**WIDTH, **faced()}))["upper_limb.laminations.1.modulus"].value == 12.6e9


def test_a_taper_is_a_table(measured: Setup) -> None:
    length = filled(measured.replace(WIDTH | faced())).upper_limb.length
    by_taper = measured.replace(WIDTH | faced(core="5 mm", taper=0.003))
    by_table = measured.replace(WIDTH | faced(core=["5 mm", f"{5 - 3 * length!r} mm"]))
    assert filled(by_taper).upper_limb.thickness == pytest.approx(filled(by_table).upper_limb.thickness, rel=1e-12)
    with pytest.raises(SetupError, match=r"laminations\.1\.taper: 0\.02 leaves nothing of 5 mm over \d+"):
        filled(by_taper.replace({"limbs.laminations.1.taper": 0.02}))
    with pytest.raises(SetupError, match=r"laminations\.1\.taper: given beside a thickness for each place"):
        by_table.replace({"limbs.laminations.1.taper": 0.001})


def test_the_others_keep_their_ratio_to_the_first(measured: Setup) -> None:
    given_too = measured.replace({**WIDTH, **faced(), "limbs.modulus": "20 GPa"})
    one, other = filled(measured.replace(WIDTH | faced())).upper_limb, filled(given_too).upper_limb
    assert other.bending_stiffness == pytest.approx([0.5 * value for value in one.bending_stiffness], rel=1e-12)


def test_laminations_are_read_back(measured: Setup) -> None:
    setup = measured.replace(WIDTH | faced(core="5 mm", taper=0.001))
    assert loads(setup.to_toml()) == setup
    assert setup.upper_limb.laminations[0].thickness == (0.001,)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"limbs.width": None}, r"upper_limb\.width: missing: upper_limb\.laminations mean nothing without it"),
        ({"limbs.thickness": ["9 mm", "6 mm"]}, r"upper_limb\.thickness: given together with upper_limb\.laminations"),
        ({"limbs.laminations.0.material": None}, r"laminations\.0\.modulus: missing: no material is given"),
        ({"limbs.laminations.0.thickness": "40 mm"}, r"laminations\.0\.thickness: .* outside the allowed range 0\.05"),
        ({"limbs.laminations.0.material": "bone"}, r'laminations\.0\.material: "bone" is not known'),
    ],
)
def test_laminations_that_are_none(measured: Setup, changes: dict[str, Any], message: str) -> None:
    with pytest.raises(SetupError, match=message):
        measured.replace({**WIDTH, **faced()}).replace(changes)


def test_a_table_of_another_length(measured: Setup) -> None:
    with pytest.raises(SetupError, match=r"laminations\.1\.thickness: a table of 3 for 2 places"):
        filled(measured.replace(WIDTH | faced(core=["5 mm", "4 mm", "3 mm"])))


SECTIONS = """station [cm], width [mm], thickness [mm]
0, 40, 9.1
0, 40, 8.9
30, 30, 7
60, 16, 6
"""


def test_caliper_readings_from_a_file(measured: Setup, tmp_path: Path) -> None:
    (tmp_path / "limb.csv").write_text(SECTIONS)
    bare = measured.replace({"limbs.mass": None}).to_toml()
    text = bare.replace("[riser]", '[limbs]\nsections = "limb.csv"\nmaterial = "ash"\n\n[riser]')
    (tmp_path / "bow.toml").write_text(text)
    limb = load(tmp_path / "bow.toml").upper_limb
    assert limb.stations == pytest.approx((0.0, 0.3, 0.6))
    assert limb.thickness == pytest.approx((0.009, 0.007, 0.006))  # two readings at the root: their mean
    (tmp_path / "limb.csv").write_text(SECTIONS.replace("30, 30, 7", "30, 30, 90"))
    with pytest.raises(SetupError, match=r"limb\.csv, row 4, thickness: .*outside the allowed range 0\.5 mm to 40 mm"):
        load(tmp_path / "bow.toml")
    with pytest.raises(SetupError, match=r"sections: a setup given as text has no folder to read it from"):
        loads(text)
    (tmp_path / "bow.toml").write_text(text.replace("material =", 'width = ["40 mm", "16 mm"]\nmaterial ='))
    with pytest.raises(SetupError, match=r"sections: given together with width"):
        load(tmp_path / "bow.toml")
