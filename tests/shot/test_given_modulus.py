"""The modulus that is given beside the one that the measures ask for."""

from __future__ import annotations

from functools import cache

import pytest

from archerysim.equipment import Setup, filled
from archerysim.shot.fitted_bow import FittedBow
from archerysim.show.shots.check_table import check_table
from tests.support.shot.example_bows import measured

MESH = "coarse"
TABLES = {"limbs.width": ("42 mm", "16 mm"), "limbs.thickness": ("7 mm", "4.4 mm")}


def shaped(**more: object) -> Setup:
    return measured("club-outdoor").with_si(**{**TABLES, **more})


@cache
def wanted() -> float:
    """The modulus with which the tables make the measured bow [Pa]."""
    found = FittedBow.of(shaped(**{"limbs.modulus": 20e9}), MESH).setup.upper_limb.modulus
    assert found is not None
    return found


@pytest.mark.parametrize(("times", "told"), [(1.0, False), (1.14, False), (0.88, False), (1.25, True), (0.8, True)])
def test_both_numbers_are_told_where_they_disagree(times: float, told: bool) -> None:
    bow = FittedBow.of(shaped(**{"limbs.modulus": wanted() * times}), MESH)
    assert bow.setup.upper_limb.modulus == pytest.approx(wanted(), rel=1e-6)  # whatever was given
    assert bool(bow.remarks) == told
    if told:
        (words,) = bow.remarks  # both limbs alike
        assert words.startswith("Both limbs: width and thickness fit the measured bow with a modulus of ")
        assert f"{wanted() / 1e9:.4g} GPa, not with {wanted() * times / 1e9:.4g} GPa (given)" in words
        # a limb's stiffness grows as the modulus and the third power of its thickness
        assert f"{100 * (times ** (-1 / 3) - 1):+.0f} % would do the same" in words
        # the given one stays beside the found one
        rows = check_table(bow).splitlines()
        (row,) = [k for k, line in enumerate(rows) if line.startswith("  modulus") and k < rows.index("[lower_limb]")]
        assert f"{wanted() / 1e9:.4g} GPa" in rows[row]
        assert f"found by the fit; given: {wanted() * times / 1e9:.4g} GPa" in rows[row] + rows[row + 1]
        assert any(line.startswith("  Both limbs: width and thickness") for line in rows)


def test_thicker_tables_by_the_third_root_would_say_so_too() -> None:
    thicker = tuple(f"{float(one.split()[0]) * 1.25 ** (1 / 3)} mm" for one in TABLES["limbs.thickness"])
    bow = FittedBow.of(shaped(**{"limbs.modulus": wanted() / 1.25, "limbs.thickness": thicker}), MESH)
    assert bow.setup.upper_limb.modulus == pytest.approx(wanted() / 1.25, rel=2e-3)  # h and E A differ a little
    assert not bow.remarks


def test_of_a_material_its_spread_is_told() -> None:
    (words,) = FittedBow.of(shaped(**{"limbs.material": "unidirectional carbon"}), MESH).remarks
    assert "not with 125 GPa (usual for unidirectional carbon, single pieces within some 10 %)" in words


def test_another_material_on_the_bow_as_built_keeps_the_modulus_found() -> None:
    bow = FittedBow.of(shaped(**{"limbs.material": "maple", "limbs.mass": None}), MESH)
    other = bow.with_changes({"limbs.material": "hickory"})
    assert other.setup.upper_limb.modulus == bow.setup.upper_limb.modulus
    assert other.braced.brace_height == pytest.approx(bow.braced.brace_height, abs=1e-4)  # the limbs' weight
    light, heavy = (filled(one.setup).upper_limb.density for one in (bow, other))
    assert (light, heavy) == (705.0, 805.0)


def test_without_tables_there_is_nothing_to_compare() -> None:
    assert FittedBow.of(measured("club-outdoor"), MESH).remarks == ()
    assert FittedBow.of(FittedBow.of(shaped(**{"limbs.modulus": 20e9}), MESH).setup, MESH).remarks == ()
