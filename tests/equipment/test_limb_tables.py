"""Places along a limb as shares or lengths; materials by name."""

from __future__ import annotations

import re
from itertools import accumulate
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archerysim.equipment import Setup, SetupError, filled, loads, sources
from archerysim.equipment.limbs.materials import CARBON, GLASS, MAPLE, MATERIALS, LimbMaterial

STATIONS = {"limbs.stations": ["0 cm", "30 cm", "600 mm"], "limbs.natural_curvature": ["0 1/m", "0 1/m", "3 1/m"]}
SIZES = {"limbs.width": ["40 mm", "16 mm"], "limbs.thickness": ["8 mm", "5 mm"]}


def replaced(setup: Setup, *changes: dict[str, Any]) -> Setup:
    return setup.replace({path: value for some in changes for path, value in some.items()})


# stations


def test_stations_are_the_same_limb_as_shares(measured: Setup) -> None:
    shares = {"limbs.at": [0, 0.5, 1], "limbs.length": "60 cm", "limbs.natural_curvature": ["0 1/m", "0 1/m", "3 1/m"]}
    by_length, by_share = filled(replaced(measured, STATIONS)), filled(replaced(measured, shares))
    assert by_length.upper_limb == by_share.upper_limb
    told = sources(replaced(measured, STATIONS))
    assert told["upper_limb.at"].how == "from upper_limb.stations: each over the last"
    assert (told["upper_limb.length"].value, told["upper_limb.length"].kind) == (0.6, "derived")
    assert told["upper_limb.stations"].kind == "given"


@settings(deadline=None, max_examples=50)
@given(st.lists(st.floats(0.01, 0.2), min_size=1, max_size=5))
def test_stations_are_read_back(steps: list[float]) -> None:
    from tests.support.equipment.setup_texts import MEASURED

    stations = (0.0, *accumulate(steps))
    if not 0.15 <= stations[-1] <= 1.1:
        return
    setup = loads(MEASURED).with_si(**{"limbs.stations": stations, "limbs.length": None})
    again = loads(setup.to_toml())
    assert again == setup
    assert again.upper_limb.stations == stations
    at = filled(again).upper_limb.at
    assert (at[0], at[-1], len(at)) == (0.0, 1.0, len(stations))
    # and beside its own length, as of a bow that was fitted
    assert filled(again.with_si(**{"limbs.length": stations[-1]})).upper_limb == filled(again).upper_limb


def test_one_way_to_say_the_places_drops_the_other(measured: Setup) -> None:
    setup = replaced(measured, STATIONS)
    assert setup.with_si(**{"limbs.at": (0.0, 0.4, 1.0)}).upper_limb.stations is None
    with pytest.raises(SetupError, match=r"upper_limb\.stations: given together with upper_limb\.at"):
        loads(setup.to_toml().replace("stations =", "at = [0, 0.5, 1]\nstations ="))


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"limbs.stations": ["1 cm", "30 cm"]}, r"stations: \[1 cm, 30 cm\] does not increase from 0"),
        ({"limbs.stations": ["0 cm", "30 cm", "30 cm"]}, "stations: .* does not increase from 0"),
        ({"limbs.stations": ["0 cm"]}, "stations: .* does not increase from 0"),
        ({**STATIONS, "limbs.length": "58 cm"}, r"stations: end at 600 mm, the limb is 580 mm long\. Let the last"),
        ({**STATIONS, **SIZES, "limbs.modulus": "20 GPa"}, r"width: a table of 2 for 3 .* other upper_limb\.stations"),
        ({"limbs.at": ["0 cm", "30 cm"]}, r"at: the unit \"cm\" does not fit\. Give shares, 0 to 1, or the lengths in "
                                         r"upper_limb\.stations"),
        ({"limbs.at": ["0 kg", "1"]}, r"at: the unit \"kg\" does not fit\. Give a plain number"),
        ({"limbs.stations": [0, 0.3]}, "stations: 0 has no unit"),
        ({"limbs.natural_curvature": "0, 0, 6, 6 1/m"}, r"a table of 4 for 2 .* in upper_limb\.curvature_at\."),
    ],
)  # fmt: skip
def test_stations_that_are_none(measured: Setup, changes: dict[str, Any], message: str) -> None:
    with pytest.raises(SetupError, match=message):
        measured.replace(changes)


def test_the_last_station_may_be_rounded(measured: Setup) -> None:
    """23.6 in is 599.4 mm: half a millimetre is the tape's."""
    assert filled(replaced(measured, STATIONS, {"limbs.length": "600.4 mm"})).upper_limb.length == 0.6004


# materials


def test_a_material_stands_for_what_is_not_given(measured: Setup) -> None:
    setup = replaced(measured, SIZES, {"limbs.material": "yew", "limbs.mass": None})
    limb, told = filled(setup).upper_limb, sources(setup)
    assert (limb.modulus, limb.density) == (9.3e9, 695.0)
    assert limb.bending_stiffness[0] == pytest.approx(9.3e9 * 0.04 * 0.008**3 / 12)
    assert limb.mass_per_length[1] == pytest.approx(695.0 * 0.016 * 0.005)
    for name in ("modulus", "density", "strain_limit"):
        one = told[f"upper_limb.{name}"]
        assert one.kind == "assumed"
        spread = getattr(MATERIALS["yew"], name).spread
        assert f"usual for yew, single pieces within some {100 * spread:.0f} % (Wood Handbook" in one.how
        assert one.value == getattr(MATERIALS["yew"], name).value


def test_what_is_given_stands(measured: Setup) -> None:
    given_too = {"limbs.modulus": "11 GPa", "limbs.strain_limit": 0.008, "limbs.mass": "180 g"}
    full = filled(replaced(measured, SIZES, {"limbs.material": "yew"}, given_too))
    assert full.upper_limb.modulus == 11e9
    assert full.get("upper_limb.strain_limit") == 0.008
    assert (full.upper_limb.density, full.upper_limb.mass) == (0.0, 0.18)  # the scale's, as if no density were known
    length = filled(replaced(measured, SIZES, {"limbs.material": "yew", "limbs.mass_per_length": ["0.4 kg/m"] * 2}))
    assert length.upper_limb.mass_per_length == (0.4, 0.4)


def test_a_material_is_read_back_and_drops_what_it_contradicts(measured: Setup) -> None:
    setup = replaced(measured, {**SIZES, "upper_limb.material": "osage orange", "lower_limb.material": "ipe"})
    assert loads(setup.to_toml()) == setup
    assert replaced(setup, {"limbs.bending_stiffness": ["20 N m^2", "5 N m^2"]}).upper_limb.material is None


def test_a_material_that_is_not_known(measured: Setup) -> None:
    known = ", ".join(f'"{one}"' for one in get_args(LimbMaterial))
    with pytest.raises(SetupError, match=re.escape(f'upper_limb.material: "bone" is not known. Use one of {known}')):
        replaced(measured, SIZES, {"limbs.material": "bone"})
    with pytest.raises(SetupError, match='Did you mean "yew"'):
        replaced(measured, SIZES, {"limbs.material": "Yew"})
    with pytest.raises(SetupError, match=r"upper_limb\.width: missing: upper_limb\.material means nothing without it"):
        measured.replace({"limbs.material": "yew"})
    with pytest.raises(
        SetupError, match=r"upper_limb\.modulus: missing: .* Give it too, or material, or leave width out"
    ):
        replaced(measured, SIZES)


def test_every_material_is_within_what_a_file_may_say(measured: Setup) -> None:
    assert set(MATERIALS) == set(get_args(LimbMaterial))
    for name, facts in MATERIALS.items():
        plain = {"limbs.modulus": facts.modulus.value, "limbs.strain_limit": facts.strain_limit.value,
                 "limbs.density": facts.density.value}  # fmt: skip
        assert replaced(measured, SIZES, {"limbs.mass": None}, {"limbs.material": name}).with_si(**plain)
        assert facts.basis.count("[") >= 1  # [memory] or [judgement]
        assert all(0.0 < one.spread < 0.5 for one in facts[:3])


@pytest.mark.parametrize(
    ("name", "face", "core"), [("glass on wood core", GLASS, 0.7), ("carbon on wood core", CARBON, 0.8)]
)
def test_a_laminate_is_the_beam_that_bends_alike(name: LimbMaterial, face: Any, core: float) -> None:
    """Its layers' own second moments, about the middle, added up."""
    layers = [(-0.5, -0.5 * core, face), (-0.5 * core, 0.5 * core, MAPLE), (0.5 * core, 0.5, face)]
    stiffness = sum(one.modulus.value * (high**3 - low**3) / 3 for low, high, one in layers)
    density = sum(one.density.value * (high - low) for low, high, one in layers)
    assert MATERIALS[name].modulus.value == pytest.approx(12 * stiffness, abs=0.06e9)  # told to 0.1 GPa
    assert MATERIALS[name].density.value == pytest.approx(density, abs=6.0)
