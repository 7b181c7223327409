"""What is given, derived and assumed."""

from __future__ import annotations

import pickle
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings

from archerysim.equipment import Rod, Setup, SetupError, derived_values, filled, sources
from archerysim.equipment.bowstring import FIBRES, Material
from archerysim.fields.paths import all_paths
from tests.support.equipment.setup_strategies import setups

FOUND_BY_FIT = {
    "string.length",
    "upper_limb.pocket_angle",
    "lower_limb.pocket_angle",
    "riser.upper_root_x",
    "riser.lower_root_x",
}
NEVER_ASSUMED = {
    "bow.arrow_speed",
    "nock.locators.place",
    "rest.droop",
    "rest.droop_mass",
    "archer.pressure_point",
    *(path for path in all_paths(Setup) if path.startswith("limits.")),
    *(
        f"{limb}.{name}"
        for limb in ("upper_limb", "lower_limb")
        for name in (
            "stations", "width", "thickness", "modulus", "density", "material", "strain_limit", "curvature_at", "shape",
            "tip_forward", "tip_angle", "middle_angle", "profile_x", "profile_y",
        )
    ),
    "bow.draw_forces",
    "bow.draw_forces_at",
}  # fmt: skip


def test_kinds_and_words(measured: Setup) -> None:
    found = sources(measured)
    assert found["bow.length"].kind == "given"
    length = found["riser.length"]
    assert (length.kind, length.value) == ("derived", 25 * 0.0254)
    assert length.how.startswith("from bow.length")
    assert (found["nock.floor"].kind, found["nock.floor"].value) == ("assumed", 0.004)
    assert "judgement" in found["nock.grip"].how
    assert found["rest.stiffness"].kind == "derived"
    assert found["riser.rods.0.direction"].value == 0.0


def test_measured_leaves_to_the_fit_what_the_fit_finds(measured: Setup) -> None:
    full = filled(measured.with_si(**{"rest.stiffness": "800 N/m", "string.masses": [{"mass": 1e-4, "at": 0.0}]}))
    paths = [path for path in all_paths(Setup) if ".laminations." not in path]  # of which there are none
    empty = {path for path in paths if full.get(path) is None}
    assert empty >= FOUND_BY_FIT
    assert empty - FOUND_BY_FIT <= NEVER_ASSUMED


def test_built_leaves_what_is_measured(built: Setup) -> None:
    full = filled(built)
    for name in ("brace_height", "draw_weight_at", "pocket_angle"):
        assert full.get(f"bow.{name}") is None
        assert not hasattr(full.bow, name)
    assert full.upper_limb.pocket_angle == built.upper_limb.pocket_angle
    assert full.upper_limb.root_thickness == 0.0
    roots = built.replace(**{"riser.upper_root_x": None})
    assert sources(roots)["riser.upper_root_x"].kind == "assumed"
    assert filled(roots).riser.upper_root_x == -0.02


@settings(deadline=None, max_examples=30)
@given(setups(), setups())
def test_filling_does_not_depend_on_what_was_filled_before(first: Setup, second: Setup) -> None:
    """Records filled before are kept (`archerysim.equipment.derived_values.KEPT`)."""
    once = {name: (filled(one), sources(one)) for name, one in (("first", first), ("second", second))}
    for function in vars(derived_values).values():
        if hasattr(function, "cache_clear"):
            function.cache_clear()
    assert once == {name: (filled(one), sources(one)) for name, one in (("second", second), ("first", first))}


@settings(deadline=None, max_examples=30)
@given(setups())
def test_filling_keeps_what_is_given(setup: Setup) -> None:
    full, found = filled(setup), sources(setup)
    for path, source in found.items():
        assert full.get(path) == source.value
        given_value = setup.get(path)
        assert (given_value is not None) == (source.kind == "given")
        if given_value is not None:
            assert given_value == source.value
    assert filled(full) is full
    assert pickle.loads(pickle.dumps(full)) == full


@pytest.mark.parametrize(("bow", "riser"), [(72, 25), (66, 25), (64, 23), (60, 23), (58, 19), (48, 19)])
def test_riser_from_bow_length(measured: Setup, bow: int, riser: int) -> None:
    full = filled(measured.replace(**{"bow.length": f"{bow} in"}))
    assert full.riser.length == pytest.approx(riser * 0.0254, rel=1e-14)
    root = riser * 0.0254 / 2 - 0.02
    assert full.riser.upper_root_y == pytest.approx(root)
    assert full.riser.lower_root_y == pytest.approx(-root)


def test_limb_of_a_built_bow_is_half_of_what_the_riser_leaves(built: Setup) -> None:
    full = filled(built.replace(**{"upper_limb.length": None}))
    assert full.upper_limb.length == pytest.approx((62 * 0.0254 - 0.6) / 2)
    assert full.lower_limb.length == 0.52


def test_limb_of_a_measured_bow_reaches_the_braced_string(measured: Setup) -> None:
    # March along the arc: it leaves the root at the pocket's lean and bends back evenly until its tip is on
    # the string, 3.5 in shorter than the bow, at the mean tiller behind the root.
    full = filled(measured.replace(**{"bow.pocket_angle": "9 deg", "limbs.shape": "straight"}))
    length, lean = full.number("upper_limb.length"), np.radians(9.0)
    up = ((68 - 3.5) * 0.0254 - full.number("riser.upper_root_y") + full.number("riser.lower_root_y")) / 2
    back = (0.195 + 0.190) / 2
    along = (np.arange(20000) + 0.5) / 20000
    bend = 2 * (np.arctan2(back, up) + lean)
    tip_back = -length * np.mean(np.sin(lean - bend * along))
    tip_up = length * np.mean(np.cos(lean - bend * along))
    assert (tip_up, tip_back) == pytest.approx((up, back), rel=1e-6)


def test_a_limb_length_that_is_given_is_kept(measured: Setup) -> None:
    full = filled(measured.replace(**{"limbs.length": "575 mm"}))
    assert (full.upper_limb.length, full.lower_limb.length) == (0.575, 0.575)


def test_riser_inertia(measured: Setup) -> None:
    full = filled(measured)
    assert full.riser.inertia == pytest.approx(1.15 * 0.635**2 / 12 * 1.2)


def test_limb_table_carries_the_limb_mass(measured: Setup) -> None:
    full = filled(measured.replace(**{"limbs.at": (0.0, 0.5, 1.0), "limbs.shape": "straight"}))
    table, length = full.upper_limb.mass_per_length, full.upper_limb.length
    assert table[2] / table[0] == pytest.approx(0.39)
    assert table[1] / table[0] == pytest.approx(0.695)
    moving = length * (table[0] / 4 + table[1] / 2 + table[2] / 4)
    assert moving + full.upper_limb.butt_mass == pytest.approx(0.165)
    assert full.upper_limb.butt_mass == pytest.approx(full.upper_limb.butt * table[0])
    assert full.upper_limb.bending_stiffness == pytest.approx((1.0, 0.6175, 0.235))
    assert full.upper_limb.natural_curvature == (0.0, 0.0, 0.0)


def test_limb_mass_from_its_table(built: Setup) -> None:
    moving = 0.52 * (0.22 + 0.085) / 2
    assert filled(built.replace(**{"limbs.butt": "0 mm"})).upper_limb.mass == pytest.approx(moving)
    assert filled(built).upper_limb.mass == pytest.approx(moving + 0.08 * 0.22)
    assert sources(built)["lower_limb.mass"].kind == "derived"


def test_limb_from_width_and_thickness(built: Setup) -> None:
    shape = {"limbs.width": (0.04, 0.02), "limbs.thickness": (0.008, 0.004), "limbs.modulus": 12.6e9}
    full = filled(built.with_si(**shape, **{"limbs.density": "705 kg/m^3"}))
    # E w t^3 / 12 and density w t, hard maple (Wood Handbook).
    assert full.upper_limb.bending_stiffness == pytest.approx(
        (12.6e9 * 0.04 * 0.008**3 / 12, 12.6e9 * 0.02 * 0.004**3 / 12)
    )
    assert full.upper_limb.mass_per_length == pytest.approx((705 * 0.04 * 0.008, 705 * 0.02 * 0.004))
    assert full.upper_limb.root_thickness == 0.008
    by_mass = filled(built.with_si(**shape, **{"limbs.mass": "100 g", "limbs.butt": 0.0}))
    table = by_mass.upper_limb.mass_per_length
    assert table[0] / table[1] == pytest.approx(4.0)
    assert 0.52 * (table[0] + table[1]) / 2 == pytest.approx(0.1)


def test_string_from_its_fibre(measured: Setup) -> None:
    full = filled(measured)
    assert full.string.axial_stiffness == pytest.approx(18 * 180e-6 / 980 * 108e9 * 0.4)
    assert full.string.mass_per_length == pytest.approx(18 * 180e-6)
    assert full.string.strand_strength == 450.0
    other = filled(measured.replace(**{"string.material": "polyester", "string.strand_mass_per_length": "180 tex"}))
    assert other.string.axial_stiffness == pytest.approx(18 * 180e-6 / 1380 * 12.7e9 * 0.4)


def test_fibres(measured: Setup) -> None:
    """Density [kg/m^3] and modulus [Pa] of fibres [memory, rounded]; the blend follows from its parts' volumes."""
    known = {
        "HMPE": (980, 86e9, 130e9), "polyarylate": (1410, 75e9, 75e9), "polyester": (1380, 12.7e9, 12.7e9),
        "aramid": (1440, 60e9, 80e9), "polyamide": (1140, 3e9, 6e9), "linen": (1500, 27e9, 80e9),
        "hemp": (1480, 25e9, 60e9), "silk": (1340, 5e9, 17e9),
    }  # fmt: skip
    for name, (density, low, high) in known.items():
        assert FIBRES[name].density == density
        assert low <= FIBRES[name].modulus <= high
    one, other, blend = (FIBRES[name] for name in ("HMPE", "polyarylate", "HMPE-polyarylate blend"))
    assert blend.density == pytest.approx((2 * one.density + other.density) / 3, abs=5.0)  # to three digits
    assert blend.modulus == pytest.approx((2 * one.modulus + other.modulus) / 3, abs=0.5e9)  # to two
    blend = FIBRES["HMPE-PTFE blend"]
    assert blend.density == pytest.approx((19 * one.density + 2170) / 20, abs=5.0)
    assert blend.modulus == pytest.approx((19 * one.modulus + 1.5e9) / 20, abs=0.5e9)
    assert set(FIBRES) == set(get_args(Material))
    for name, fibre in FIBRES.items():
        assert filled(measured.replace({"string.material": name})).string.axial_stiffness > 0.0
        # What a strand bears is at most what its fibres do: N/tex, 3.5 the strongest of them [memory, rounded].
        assert 0.3 <= 1e-6 * fibre.strand_strength / fibre.strand_mass_per_length <= 3.5, name
        for number in fibre[:2]:
            assert float(f"{number:.3g}") == number
    assert "[memory, rounded]" in sources(measured)["string.axial_stiffness"].how


def test_string_as_measured_assumes_no_fibre(built: Setup) -> None:
    full = filled(built)
    for name in ("material", "strands", "construction_factor", "strand_strength"):
        assert full.get(f"string.{name}") is None
    assert (full.string.strands, full.string.strand_strength) == (0, 0.0)
    assert full.string.axial_stiffness == 1e5


def test_rest_from_its_droop(measured: Setup) -> None:
    assert filled(measured).rest.stiffness == pytest.approx(0.05 * 9.81 / 0.0006)
    assert filled(measured.replace(**{"rest.droop": None})).rest.stiffness == 800.0


def test_torque_is_not_assumed_beside_a_pressure_point(measured: Setup) -> None:
    assert filled(measured).get("archer.grip_torque") == 0.0
    assert filled(measured).get("archer.pressure_point") is None
    full = filled(measured.replace(**{"archer.pressure_point": "5 mm"}))
    assert full.get("archer.grip_torque") is None
    assert (full.archer.pressure_point, full.archer.grip_torque) == (0.005, 0.0)


def test_hold_and_locators_choose_their_values(measured: Setup) -> None:
    under = filled(
        measured.replace(
            **{
                "archer.hold": "three under",
                "nock.locators.kind": "metal",
                "nock.locators.upper_present": False,
            }
        )
    )
    assert under.archer.finger_places == (-0.014, -0.032, -0.050)
    assert under.archer.finger_shares == (0.40, 0.40, 0.20)
    assert (under.nock.locators.lower_mass, under.nock.locators.upper_mass) == (0.4e-3, 0.0)
    split = filled(measured)
    assert split.archer.finger_places == (0.014, -0.014, -0.032)
    assert split.archer.finger_shares == (
        0.30,
        0.50,
        0.20,
    )
    assert split.nock.locators.upper_mass == 0.1e-3
    assert split.nock.locators.mass_at == pytest.approx(0.0058 / 2 + 0.001)


def test_a_filled_setup_is_for_reading_only(measured: Setup, tmp_path) -> None:
    full = filled(measured)
    for act in (
        lambda: full.replace(name="x"),
        full.to_toml,
        lambda: full.save(tmp_path / "x.toml"),
        lambda: sources(full),
    ):
        with pytest.raises(SetupError, match="a filled setup"):
            act()


def test_derived_value_out_of_range_says_what_it_came_from(built: Setup) -> None:
    odd = built.replace(**{"limbs.length": None, "bow.length": "36 in"})
    with pytest.raises(SetupError) as caught:
        filled(odd.replace(**{"riser.upper_root_y": "400 mm"}))
    assert caught.value.path == "upper_limb.length"
    assert "derived from bow.length" in str(caught.value)


def test_no_room_for_a_limb(measured: Setup) -> None:
    odd = measured.replace(**{"bow.length": "36 in", "riser.length": "36 in"})
    with pytest.raises(SetupError, match=r"^upper_limb\.length: no room for a limb: the roots are 874\.4 mm apart"):
        filled(odd)
    assert filled(odd.replace(**{"limbs.length": "400 mm"})).upper_limb.length == 0.4


def test_rods_are_filled_one_by_one(measured: Setup) -> None:
    full = filled(measured.replace(**{"riser.rods": [Rod(length=0.0, end_mass=0.3), Rod(length=0.2, end_mass=0.1)]}))
    assert [rod.start_x for rod in full.riser.rods] == [0.03, 0.03]
    assert [rod.rod_mass for rod in full.riser.rods] == [0.0, 0.0]
