"""Tables of a setup changed: as a whole, one value, all by a factor; of tables that are not given too."""

from __future__ import annotations

from typing import Any

import pytest
import xarray
from hypothesis import given
from hypothesis import strategies as st

from archerysim.equipment import Setup, SetupError, field_info, filled, loads, with_si
from archerysim.equipment.assumed_rows import assumed_rows
from tests.support.equipment.setup_texts import MEASURED

CURVED = {"limbs.at": "0, 0.4, 0.7, 1", "limbs.natural_curvature": "0, 0, 6, 6 1/m"}
TABLE = "upper_limb.natural_curvature"

WAYS = {
    "unit at the end": "0, 0, 6.5, 6 1/m",
    "a unit each": "0 1/m, 0 1/m, 6.5 1/m, 6 1/m",
    "some units": "0, 0 1/m, 6.5, 6 1/m",
    "in brackets": "[0, 0, 6.5, 6] 1/m",
    "as in files": '["0 1/m", "0 1/m", "6.5 1/m", "6 1/m"]',
    "no spaces": "0,0,6.5,6 1/m",
    "a list": ["0 1/m", "0 1/m", "6.5 1/m", "6 1/m"],
    "a pair": ([0, 0, 6.5, 6], "1/m"),
}


@pytest.fixture
def curved(measured: Setup) -> Setup:
    return measured.replace(CURVED)


@pytest.mark.parametrize("way", WAYS)
def test_a_whole_table_in_all_its_forms(curved: Setup, way: str) -> None:
    assert curved.replace({TABLE: WAYS[way]}).upper_limb.natural_curvature == (0.0, 0.0, 6.5, 6.0)


def test_a_table_in_a_file_may_be_one_text() -> None:
    text = MEASURED.replace("[riser]", 'at = "0, 0.5, 1"\nwidth = "40, 35, 15 mm"\nthickness = "[8, 7, 6] mm"\n[riser]')
    setup = loads(text.replace('thickness = "[8', 'modulus = "30 GPa"\nthickness = "[8'))
    assert setup.upper_limb.at == (0.0, 0.5, 1.0)
    assert setup.lower_limb.width == (0.04, 0.035, 0.015)
    assert loads(setup.to_toml()) == setup


def test_one_value_of_both_limbs_or_of_one(curved: Setup) -> None:
    both = curved.replace({"limbs.natural_curvature.2": "6.5 1/m"})
    assert both.upper_limb.natural_curvature == both.lower_limb.natural_curvature == (0.0, 0.0, 6.5, 6.0)
    one = curved.replace({f"{TABLE}.3": "-1 1/m"})
    assert one.upper_limb.natural_curvature == (0.0, 0.0, 6.0, -1.0)
    assert one.lower_limb == curved.lower_limb


@given(st.floats(-4.0, 4.0))
def test_all_values_by_a_factor(factor: float) -> None:
    curved = loads(MEASURED).replace(CURVED)
    scaled = curved.replace({"limbs.natural_curvature.all": f"{factor!r} times"})
    assert scaled.upper_limb.natural_curvature == tuple(factor * one for one in (0.0, 0.0, 6.0, 6.0))
    assert scaled == curved.replace({"limbs.natural_curvature.all": (factor, "times")})
    assert scaled == curved.replace(with_si({"limbs.natural_curvature.all": factor}))
    assert scaled == curved.replace({"limbs.natural_curvature.all": xarray.DataArray(factor, attrs={"units": "1"})})


def test_a_factor_in_per_cent_and_one_each_for_the_limbs(curved: Setup) -> None:
    scaled = curved.replace({"upper_limb.natural_curvature.all": "110 %", "lower_limb.natural_curvature.all": "0 %"})
    assert scaled.upper_limb.natural_curvature == pytest.approx((0.0, 0.0, 6.6, 6.6), rel=1e-15)
    assert scaled.lower_limb.natural_curvature == (0.0,) * 4


def test_what_a_factor_is(curved: Setup) -> None:
    """A table that is there is one times what it is; where there is none, there is no factor."""
    assert curved.get("limbs.natural_curvature.all") == 1.0
    assert filled(curved).number("limbs.natural_curvature.all") == 1.0
    assert curved.get("limbs.thickness.all") is None
    info = field_info("limbs.thickness.all")
    assert (info.unit, info.low, info.high, info.label) == ("times", -10.0, 10.0, "thickness [times]")
    assert info.text == "factor on every value: thickness at each place"
    assert info.caution == field_info("limbs.thickness").caution != ""


def test_a_table_that_is_not_given_is_taken_as_it_is_filled_in(measured: Setup) -> None:
    """Beside the changes made with it: more places along the limb, a hold with other places of the fingers."""
    straight = measured.replace({"limbs.shape": "straight"})
    places = straight.replace({"limbs.at": "0, 0.5, 1", "limbs.natural_curvature.1": "2 1/m"})
    assert places.upper_limb.natural_curvature[1] == 2.0
    usual = filled(measured).upper_limb
    more = measured.replace({"limbs.natural_curvature.all": "1.1 times"})
    assert more.upper_limb.natural_curvature == tuple(1.1 * one for one in usual.natural_curvature)
    assert more.upper_limb.curvature_at == usual.curvature_at
    assert filled(more).number("bow.pocket_angle") == filled(measured).number("bow.pocket_angle")
    under = filled(measured.replace({"archer.hold": "three under"})).archer.finger_places
    moved = measured.replace({"archer.hold": "three under", "archer.finger_places.2": "-70 mm"})
    assert moved.archer.finger_places == (*under[:2], -0.07)
    shares = filled(measured).archer.finger_shares
    assert (
        measured.replace({"archer.release_time.0": "6 ms"}).archer.release_time[1:]
        == (filled(measured).archer.release_time[1:])
    )
    with pytest.raises(SetupError, match=", not 1"):
        measured.replace({"archer.finger_shares.0": shares[0] + 0.1})


def test_what_is_taken_is_told_with_its_grounds(measured: Setup, curved: Setup) -> None:
    changes = with_si({"limbs.natural_curvature.1": 2.0})
    told = assumed_rows(measured, changes)
    assert list(told) == ["upper_limb.natural_curvature", "lower_limb.natural_curvature"]
    for source in told.values():
        assert source.value == filled(measured).upper_limb.natural_curvature
        assert source.kind == "derived"
        assert "shape" in source.how
    assert assumed_rows(curved, changes) == {}
    assert assumed_rows(measured, with_si({"limbs.natural_curvature": (0.0, 1.0), **changes})) == {}


def test_a_derived_table_by_a_factor_drops_what_it_came_from(measured: Setup) -> None:
    """The bending stiffness of limbs given by width, thickness and modulus."""
    shaped = measured.replace({"limbs.width": "40, 20 mm", "limbs.thickness": "8, 6 mm", "limbs.modulus": "30 GPa"})
    stiffer = shaped.replace({"limbs.bending_stiffness.all": "1.1 times"})
    before = filled(shaped).upper_limb.bending_stiffness
    assert stiffer.upper_limb.bending_stiffness == tuple(1.1 * one for one in before)
    assert stiffer.upper_limb.width is stiffer.upper_limb.thickness is stiffer.upper_limb.modulus is None
    thicker = shaped.replace({"limbs.thickness.all": "1.1 times"})
    again = filled(thicker).upper_limb.bending_stiffness
    assert again == pytest.approx([1.1**3 * one for one in before], rel=1e-12)


BAD = {
    "decimal comma": ({TABLE: "0,5 1/m"}, '"0,5 1/m" can be read in two ways. Write decimals with a point'),
    "decimal commas": ({TABLE: "0, 0, 6,5, 6 1/m"}, "can be read in two ways"),
    "one value": ({TABLE: "6 1/m"}, '"6 1/m" is one value where a row is needed'),
    "too few": ({TABLE: "0, 6 1/m"}, "a table of 2 for 4 places along the limb"),
    "no unit": ({TABLE: "0, 0, 6, 6"}, "0 has no unit"),
    "a hole": ({TABLE: "0, , 6, 6 1/m"}, "is not a number with a unit"),
    "too far along": ({f"{TABLE}.4": "6 1/m"}, "there is no number 4. The last index is 3."),
    "outside": ({f"{TABLE}.3": "31 1/m"}, '"31 1/m" is outside the allowed range -30 1/m to 30 1/m'),
    "scaled outside": ({f"{TABLE}.all": "6 times"}, "36 1/m is outside the allowed range -30 1/m to 30 1/m"),
    "a factor without a unit": ({f"{TABLE}.all": "0.9"}, '0.9 has no unit. Write it with one, for example "0.9 times"'),
    "a bare factor": ({f"{TABLE}.all": 0.9}, '0.9 has no unit. Write it with one, for example "0.9 times"'),
    "a value for all": ({f"{TABLE}.all": "6 1/m"}, 'the unit "1/m" does not fit. Use a unit of factor: "times", "%"'),
    "beyond the factors": ({f"{TABLE}.all": "11 times"}, "outside the allowed range -10 times to 10 times"),
    "no table there": ({"limbs.thickness.all": "1.1 times"}, "thickness is not given as a whole"),
    "no row": ({"limbs.mass.all": "1.1 times"}, "unknown path"),
    "a list of records": ({"riser.rods.all": "1.1 times"}, "unknown path"),
    "taken out": ({f"{TABLE}.all": None}, "one member of a list cannot be taken out"),
    "a shape has no size": ({"limbs.bending_stiffness.0": "20 N m^2"}, "bending_stiffness is not given as a whole"),
    "all and one": ({f"{TABLE}.all": "2 times", "limbs.natural_curvature.1": "1 1/m"}, "not clear which comes first"),
    "all and the whole": ({f"{TABLE}.all": "2 times", TABLE: "0, 0, 1, 1 1/m"}, "not clear which comes first"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_is_refused(curved: Setup, case: str) -> None:
    changes: dict[str, Any] = BAD[case][0]
    with pytest.raises(SetupError) as caught:
        curved.replace(changes)
    assert BAD[case][1] in str(caught.value)
