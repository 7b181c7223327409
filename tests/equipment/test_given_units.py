"""Numbers handed over in code: each carries its unit, in one of four forms, or goes in as SI by one door."""

from __future__ import annotations

import pickle
import subprocess
import sys
from typing import Any

import numpy as np
import pint
import pytest
import xarray
from hypothesis import given, settings
from hypothesis import strategies as st

import archerysim
from archerysim import Setup, SetupError, with_si
from archerysim.equipment import InSi
from archerysim.fields.paths import all_paths
from archerysim.fields.quantity import in_si
from archerysim.fields.udunits import udunits
from archerysim.fields.units import FACTORS, from_si, kind_of
from tests.support.shot.example_bows import measured

REGISTRY = pint.UnitRegistry()
READING, SLOPE, SHARES = "nock.locators.reading", "nock.slope", "archer.finger_shares"
CLUB = measured("club-outdoor")
# of which no other follows, so that any value in the middle of its range goes
FREE = (
    READING, SLOPE, "arrow.point_mass", "archer.grip_torque", "rest.stiffness", "nock.edge_loss", "air.temperature",
    "limbs.bolt_turns", "bow.draw_weight", "limits.lightest_arrow_per_weight", "riser.inertia",
)  # fmt: skip


@pytest.mark.parametrize("path", FREE)
@settings(deadline=None, max_examples=20)
@given(st.floats(0.3, 0.6))
def test_four_forms_are_one_number(path: str, share: float) -> None:
    """To the bit: what is written out in a text is what stands beside a unit."""
    about = archerysim.field_info(path)
    assert about.low is not None
    assert about.high is not None
    unit = about.unit
    number = from_si(about.low + share * (about.high - about.low), unit)
    given_as = [
        f"{number!r} {unit}", (number, unit), REGISTRY.Quantity(number, unit.replace("turn", "turns")),
        xarray.DataArray(number, attrs={"units": udunits(unit)}), (np.float64(number), unit),
    ]  # fmt: skip
    setups = [CLUB.replace({path: value}) for value in given_as]
    assert all(one == setups[0] for one in setups)
    assert CLUB.with_si(**{path: setups[0].number(path)}) == setups[0]


@pytest.mark.parametrize("unit", [unit for sizes in FACTORS.values() for unit in sizes if unit not in ("", '"', "#")])
def test_the_table_s_units_are_known_to_data_files_by_their_names(unit: str) -> None:
    array = xarray.DataArray([1.0, 2.0], attrs={"units": udunits(unit)})
    own = next(name for name in FACTORS[kind_of(unit)] if name)
    read = [in_si("here", one, own) for one in archerysim.fields.given.several("here", array, own)]
    assert read == [in_si("here", f"{number} {unit}", own) for number in ("1", "2")]


def test_rows_in_all_forms() -> None:
    rows: list[Any] = [
        ("5 ms", "6 ms", "7 ms"), ([5, 6, 7], "ms"), (np.array([5, 6, 7]), "ms"), [5, 6, 7] * REGISTRY.ms,
        xarray.DataArray([5.0, 6.0, 7.0], attrs={"units": "ms"}), ["5 ms", (6, "ms"), 7 * REGISTRY.ms],
    ]  # fmt: skip
    for row in rows:
        assert CLUB.replace({"archer.release_time": row}).archer.release_time == (0.005, 0.006, 0.007)
    shares: list[Any] = [(0.3, 0.5, 0.2), ([30, 50, 20], "%"), ("30 %", 0.5, "0.2"), xarray.DataArray([0.3, 0.5, 0.2])]
    for row in shares:
        assert CLUB.replace({SHARES: row}).archer.finger_shares == (0.3, 0.5, 0.2)


def test_numbers_without_a_dimension_stay_bare() -> None:
    assert CLUB.replace({"string.strands": 18}).string.strands == 18
    assert CLUB.replace({"arrow.spine": 700}).arrow.spine == pytest.approx(0.7 * 0.0254)
    assert CLUB.replace({"string.construction_factor": 0.7}).string.construction_factor == 0.7


REFUSED: list[tuple[str, Any, str]] = [
    (SLOPE, 0.4, 'nock.slope: 0.4 has no unit. Write it with one, for example "0.4 deg"; '
     "numbers in SI go through with_si."),
    (SLOPE, 0, "nock.slope: 0 has no unit"),
    (SLOPE, np.float64(0.4), "nock.slope: 0.4 has no unit"),
    (SLOPE, xarray.DataArray(0.4), "nock.slope: 0.4 has no unit"),
    (SLOPE, 0.4 * REGISTRY.mm, 'nock.slope: the unit "mm" does not fit. Use a unit of angle: "rad"'),
    (SLOPE, (0.4, "mm"), 'nock.slope: the unit "mm" does not fit'),
    (SLOPE, (0.4, ""), "nock.slope: 0.4 has no unit"),
    (SLOPE, ("x", "deg"), "nock.slope: ('x', 'deg') is not a number"),
    (SLOPE, (None, "deg"), "nock.slope: None is not a number"),
    (SLOPE, (True, "deg"), "nock.slope: True is not a number"),
    (SLOPE, ([1, 2], "deg"), "nock.slope: ['1 deg', '2 deg'] is not a number"),
    (SLOPE, float("nan"), "nock.slope: nan is not a usable number"),
    (SLOPE, (float("nan"), "deg"), 'nock.slope: "nan deg" is not a usable number'),
    (SLOPE, (float("inf"), "deg"), 'nock.slope: "inf deg" is not a usable number'),
    (SLOPE, float("nan") * REGISTRY.deg, 'nock.slope: "nan deg" is not a usable number'),
    (SLOPE, (40, "deg"), 'nock.slope: "40 deg" is outside the allowed range -30 deg to 30 deg'),
    ("bow.draw_weight", 15.0 * REGISTRY.kg, 'bow.draw_weight: the unit "kg" does not fit. Use a unit of force'),
    ("arrow.point_mass", 1.0 * REGISTRY.lbf, 'arrow.point_mass: the unit "lbf" does not fit. Use a unit of mass'),
    ("archer.release_time", (0.005, 0.006, 0.007), "archer.release_time: 0.005 has no unit"),
    ("archer.release_time.1", 0.005, "archer.release_time.1: 0.005 has no unit"),
    ("riser.rods", [{"length": 0.6, "end_mass": "100 g"}], "riser.rods.0.length: 0.6 has no unit"),
    (SHARES, 0.4 * REGISTRY.mm, 'archer.finger_shares: the unit "mm" does not fit. Give a plain number'),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "said"), REFUSED)
def test_what_is_refused_in_changes(path: str, value: Any, said: str) -> None:
    with pytest.raises(SetupError) as caught:
        CLUB.replace({path: value})
    assert str(caught.value).startswith(said)


def test_temperatures_keep_their_own_zero() -> None:
    ways: list[Any] = [
        "68 degF", (68, "degF"), REGISTRY.Quantity(68, "degF"), REGISTRY.Quantity(20, "degC"), (293.15, "K"),
        xarray.DataArray(20.0, attrs={"units": "degC"}), REGISTRY.Quantity(293.15, "K"),
    ]  # fmt: skip
    for value in ways:
        assert CLUB.replace({"air.temperature": value}).air.temperature == pytest.approx(20.0, abs=1e-12)
    with pytest.raises(SetupError, match="does not fit"):
        CLUB.replace({"air.temperature": REGISTRY.Quantity(20, "delta_degC")})


def test_si_goes_in_by_one_door() -> None:
    wanted = CLUB.replace({SLOPE: "0.01 rad", "riser.rods": [{"length": "0.6 m", "end_mass": "100 g"}]})
    numbers = {SLOPE: 0.01, "riser.rods": [{"length": 0.6, "end_mass": 0.1}]}
    assert CLUB.replace(with_si(numbers)) == CLUB.with_si(**numbers) == wanted
    both = CLUB.replace(with_si({SLOPE: 0.01}), **{READING: "9 mm"})
    assert (both.nock.slope, both.number(READING)) == (0.01, 0.009)
    with pytest.raises(SetupError, match="has no unit"):
        CLUB.replace(with_si({SLOPE: 0.01}), **{READING: 9.0})
    with pytest.raises(SetupError, match=r"nock\.slope: 28647\.9 deg is outside the allowed range"):
        CLUB.with_si(**{SLOPE: 500.0})
    with pytest.raises(SetupError, match="is not a set of changes"):
        with_si(0.01)  # type: ignore[arg-type]


def test_what_is_in_si_cannot_be_changed_and_travels() -> None:
    own = {SLOPE: 0.01}
    changes = with_si(own)
    own[SLOPE] = 0.02
    assert changes[SLOPE] == 0.01
    with pytest.raises(TypeError):
        changes[SLOPE] = 0.02  # type: ignore[index]
    again = pickle.loads(pickle.dumps(changes))
    assert isinstance(again, InSi)
    assert dict(again) == {SLOPE: 0.01}
    assert repr(changes) == "with_si({'nock.slope': 0.01})"


def test_every_field_with_a_dimension_refuses_a_bare_number() -> None:
    spoken = {"arrow.spine"}
    for path in all_paths(Setup):
        about = archerysim.field_info(path)
        if about.unit and about.low is not None and path not in spoken:
            value: Any = 0.5 * (about.low + float(about.high or 0.0))
            with pytest.raises(SetupError, match=r"has no unit|is one value where a row is needed"):
                CLUB.replace({path: value})


def test_records_hold_si_and_take_it() -> None:
    assert archerysim.Air(temperature=20.0).temperature == 20.0
    assert archerysim.Nock(slope=(10, "deg"), locators=CLUB.nock.locators).slope == pytest.approx(np.radians(10.0))


def test_nothing_heavy_is_loaded_for_it() -> None:
    code = (
        "import sys, archerysim; setup = archerysim.load('examples/club-outdoor.toml');"
        "setup.replace({'nock.slope': (1, 'deg')}); setup.replace(archerysim.with_si({'nock.slope': 0.01}));"
        "print(sorted({'pint', 'xarray', 'scipy', 'numba'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
