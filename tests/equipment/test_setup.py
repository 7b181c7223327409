"""Changing and asking a setup by dotted path; what a field is; records made in Python."""

from __future__ import annotations

import pickle
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archerysim.equipment import Bow, Limb, Locators, Nock, Rest, Riser, Rod, Setup, SetupError, field_info, loads
from archerysim.fields.paths import all_paths
from archerysim.fields.quantity import Quantity
from archerysim.fields.record import fields_of
from tests.support.equipment.setup_strategies import setups


def test_replace_takes_texts_and_si(measured: Setup) -> None:
    changed = measured.replace(**{"nock.locators.reading": "9 mm", "archer.draw_length": "700 mm", "name": "other"})
    assert (changed.nock.locators.reading, changed.archer.draw_length, changed.name) == (0.009, 0.7, "other")
    assert measured.nock.locators.reading == 0.008
    assert (
        changed.replace(**{"nock.locators.reading": "8 mm", "archer.draw_length": "28 in", "name": "test bow"})
        == measured
    )


def test_replace_in_lists_and_rows(measured: Setup) -> None:
    assert measured.replace(**{"riser.rods.0.end_mass": "90 g"}).riser.rods[0].end_mass == 0.09
    assert measured.replace(**{"riser.rods": ()}).riser.rods == ()
    rod = Rod(length=0.25, end_mass=0.1, direction=3.0)
    assert measured.replace(**{"riser.rods": [*measured.riser.rods, rod]}).riser.rods[1] == rod
    assert measured.replace(**{"riser.rods.0": rod}).riser.rods == (rod,)
    slow = measured.replace(**{"archer.release_time.2": "8 ms"})
    assert slow.archer.release_time == (0.005, 0.005, 0.008)
    assert measured.replace(**{"archer.release_time": "8 ms"}).archer.release_time == (0.008,) * 3


def test_replace_of_a_value_and_then_of_the_table_it_stood_in(measured: Setup) -> None:
    assert measured.replace(**{"rest.droop": "1 mm", "rest": None}).rest == Rest()
    assert measured.replace(**{"riser.rods.0.end_mass": "30 g", "riser.rods": []}).riser.rods == ()
    with pytest.raises(SetupError, match=r"^bow: missing"):
        measured.replace(**{"bow.brace_height": "222 mm", "bow": None})


def test_replace_keeps_the_records_beside_what_changes(measured: Setup) -> None:
    changed = measured.replace(**{"nock.locators.reading": "9 mm", "riser.rods.0.end_mass": "90 g"})
    assert changed.nock is not measured.nock
    assert changed.riser is not measured.riser
    for name in ("bow", "upper_limb", "lower_limb", "string", "rest", "arrow", "archer", "limits", "air"):
        assert getattr(changed, name) is getattr(measured, name)


def test_a_list_of_records_is_kept_as_a_tuple(measured: Setup) -> None:
    listed = Riser(rods=list(measured.riser.rods))  # type: ignore[arg-type]
    assert listed.rods == measured.riser.rods
    assert hash(listed) == hash(Riser(rods=measured.riser.rods))


def test_replace_both_limbs(measured: Setup) -> None:
    changed = measured.replace(**{"limbs.mass": "150 g", "lower_limb.tip_mass": "2 g"})
    assert changed.upper_limb == Limb(mass=0.15)
    assert changed.lower_limb == Limb(mass=0.15, tip_mass=0.002)


def test_replace_whole_records_and_none(measured: Setup) -> None:
    assert measured.replace(rest=Rest(stiffness=400.0)).rest == Rest(stiffness=400.0)
    assert measured.replace(rest={"stiffness": "400 N/m"}).rest == Rest(stiffness=400.0)
    assert measured.replace(rest=None).rest == Rest()
    assert measured.replace(**{"limbs.mass": None}).upper_limb.mass is None


@pytest.mark.parametrize(
    ("change", "kept", "dropped"),
    [
        (
            {"nock.locators.place": "20 mm"},
            "nock.locators.place",
            ["nock.locators.reading"],
        ),
        ({"rest.stiffness": 900.0}, "rest.stiffness", ["rest.droop", "rest.droop_mass"]),
        ({"archer.pressure_point": "5 mm"}, "archer.pressure_point", ["archer.grip_torque"]),
        ({"limbs.mass_per_length": (0.4, 0.1)}, "limbs.mass_per_length", ["limbs.mass"]),
        (
            {"string.axial_stiffness": 1e5, "string.mass_per_length": 4e-3},
            "string.axial_stiffness",
            ["string.material", "string.strands", "string.construction_factor"],
        ),
        (
            {"limbs.width": [0.04, 0.02], "limbs.thickness": [0.007, 0.004], "limbs.modulus": 4e10},
            "limbs.width",
            ["limbs.bending_stiffness"],
        ),
    ],
)
def test_setting_one_way_drops_the_others(measured: Setup, change: dict, kept: str, dropped: list[str]) -> None:
    full = measured.with_si(
        **{
            "nock.locators.convention": "top",
            "rest.droop_mass": "60 g",
            "archer.grip_torque": "1 N m",
            "string.construction_factor": 0.5,
            "limbs.bending_stiffness": (20.0, 5.0),
        }
    )
    assert all(full.get(path) is not None for path in dropped)
    changed = full.with_si(**change)
    assert changed.get(kept) is not None
    assert [changed.get(path) for path in dropped] == [None] * len(dropped)


def test_setting_two_ways_at_once_is_a_contradiction(measured: Setup) -> None:
    with pytest.raises(SetupError, match="given together"):
        measured.replace(**{"nock.locators.place": "20 mm", "nock.locators.reading": "8 mm"})


def test_measured_to_built_in_one_step(measured: Setup) -> None:
    measures = ("brace_height", "upper_tiller", "lower_tiller", "draw_weight")
    built = measured.with_si(
        form="built",
        **{f"bow.{name}": None for name in measures},
        **{"string.length": "1640 mm", "limbs.pocket_angle": "0.2 rad", "limbs.bending_stiffness": (25.0, 6.0)},
    )
    assert built.form == "built"
    assert built.lower_limb.pocket_angle == 0.2
    assert loads(built.to_toml()) == built


@pytest.mark.parametrize(
    ("path", "hint"),
    [
        ("brace_height", 'Did you mean "bow.brace_height"?'),
        ("bow.brace_hight", 'Did you mean "bow.brace_height"?'),
        ("locators.reading", 'Did you mean "nock.locators.reading"?'),
        ("riser.rods.end_mass", 'Did you mean "riser.rods.0.end_mass"?'),
        ("riser.rods.0.0", "Did you mean"),
        ("bow.length.0", 'Did you mean "bow.length"?'),
        ("archer.release_time.3", 'Did you mean "archer.release_time"?'),
        ("limbs.masss", 'Did you mean "'),
        ("string.strand_density", 'Did you mean "string.strand_mass_per_length"?'),
        ("xyzzy", "Known first names: name, category, form, invented, bow"),
        ("", "Known first names"),
    ],
)
def test_unknown_paths(measured: Setup, path: str, hint: str) -> None:
    for ask in (
        lambda: measured.get(path),
        lambda: measured.replace(**{path: 1.0}),
        lambda: field_info(path),
    ):
        with pytest.raises(SetupError) as caught:
            ask()
        assert "unknown path" in str(caught.value)
        assert hint in str(caught.value)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"bow.brace_height": "22 mm"},
            'bow.brace_height: "22 mm" is outside the allowed range 100 mm to 400 mm.',
        ),
        (
            {"bow.brace_height": (22, "m")},
            'bow.brace_height: "22 m" = 22000 mm is outside the allowed range 100 mm to 400 mm.',
        ),
        ({"bow.brace_height": float("nan")}, "bow.brace_height: nan is not a usable number."),
        ({"bow.brace_height": None}, "bow.brace_height: missing."),
        ({"arrow.length": None}, "arrow.length: missing."),
        ({"bow.brace_height": object}, "bow.brace_height: <class 'object'> is not a number."),
        ({"arrow.spine": (0.6, "m")}, 'arrow.spine: "0.6 m" = 23.622 in is outside the allowed range 0.1 in to 3 in.'),
        ({"riser.rods.1.end_mass": "100 g"}, "riser.rods.1.end_mass: there is no number 1. The last index is 0."),
        ({"riser.rods.0": None}, "riser.rods.0: one member of a list cannot be taken out."),
        ({"riser.rods": "x"}, "riser.rods: a list is needed."),
        (
            {"lower_limb.bending_stiffness.0": "3 N m^2"},
            "lower_limb.bending_stiffness.0: bending_stiffness is not given as a whole.",
        ),
        ({"bow": 3}, "bow: 3 is not a Bow."),
        ({"form": "built"}, "bow.brace_height: is measured"),
        ({"string.axial_stiffness": "1e5 N"}, "string.mass_per_length: missing"),
    ],
)
def test_bad_changes(measured: Setup, change: dict, message: str) -> None:
    with pytest.raises(SetupError) as caught:
        measured.replace(**change)
    assert str(caught.value).startswith(message)


def test_get_and_number(measured: Setup) -> None:
    assert measured.get("riser.rods.0.end_mass") == 0.12
    assert measured.get("limbs.mass") == 0.165
    assert measured.get("arrow.point_at") is None
    assert measured.get("archer.release_time.1") is None
    assert measured.get("bow") is measured.bow
    assert measured.number("bow.brace_height") == 0.22
    for path in ("arrow.point_at", "name", "bow"):
        with pytest.raises(SetupError, match=f"^{path}: "):
            measured.number(path)
    with pytest.raises(SetupError, match="the two limbs differ"):
        measured.replace(**{"upper_limb.mass": "100 g"}).get("limbs.mass")
    with pytest.raises(SetupError, match="there is no number 4"):
        measured.get("riser.rods.4.length")


def test_field_info() -> None:
    reading = field_info("nock.locators.reading")
    assert (reading.unit, reading.si_unit, reading.low, reading.high) == ("mm", "m", -0.03, 0.06)
    assert reading.label == "reading [mm]"
    assert "above square" in reading.text
    assert field_info("rest.stiffness").default == 800.0
    assert field_info("riser.rods.3.end_mass").label == "end mass [g]"
    assert field_info("limbs.mass").label == "mass [g]"
    assert field_info("archer.release_time.1").label == "release time [ms]"
    assert field_info("archer.hold").default == "split"
    assert field_info("bow.stiffness_ratio").label == "stiffness ratio"
    with pytest.raises(SetupError, match="this is a table"):
        field_info("nock.locators")


def test_every_field_says_what_it_is() -> None:
    for path in all_paths(Setup):
        info = field_info(path)
        assert info.text
        if info.low is not None and info.high is not None:
            assert info.low < info.high
            values = info.default if isinstance(info.default, tuple) else (info.default,)
            assert all(one is None or info.low <= one <= info.high for one in values)


def test_needed_fields_have_an_example_that_can_be_read() -> None:
    def check(record: type) -> None:
        for item in fields_of(record).values():
            if item.record is not None:
                check(item.record)
            elif item.needed or (isinstance(item.about, Quantity) and item.about.required):
                assert item.about is not None
                assert item.about.example
                item.read(item.name, item.about.example, bare=False)

    check(Setup)


def test_records_check_themselves() -> None:
    with pytest.raises(SetupError, match=r"^bow\.length: 1000 in is outside the allowed range 36 in to 96 in"):
        Bow(length=25.4)
    with pytest.raises(SetupError, match=r"^limbs\.mass: nan"):
        Limb(mass=float("nan"))
    assert Bow(length=2).length == 2.0
    assert isinstance(Bow(length=2).length, float)
    with pytest.raises(AttributeError):
        Bow(length=1.7).length = 1.8  # type: ignore[misc]


def test_no_negative_zero() -> None:
    assert str(Locators(reading=-0.0).reading) == "0.0"


def test_setups_made_in_python_are_checked_as_a_whole(measured: Setup) -> None:
    parts = {name: getattr(measured, name) for name in measured.__struct_fields__}
    assert Setup(**parts) == measured
    with pytest.raises(SetupError, match=r"^nock\.locators\.place: given together"):
        Setup(**{**parts, "nock": Nock(locators=Locators(reading=0.008, place=0.02))})
    with pytest.raises(SetupError, match=r"^nock\.floor: 7 mm is more than nock\.height, 5\.8 mm"):
        Setup(**{**parts, "nock": Nock(floor=0.007, locators=Locators(reading=0.008))})


@settings(deadline=None, max_examples=25)
@given(setups(), st.floats(0.35, 0.9))
def test_replace_there_and_back(setup: Setup, draw: float) -> None:
    before = setup.archer.draw_length
    changed = setup.with_si(**{"archer.draw_length": max(draw, 0.3811)})
    assert changed.with_si(**{"archer.draw_length": before}) == setup
    assert pickle.loads(pickle.dumps(setup)) == setup


def test_errors_travel_between_processes() -> None:
    error = SetupError("bow.length", "wrong", "Right it")
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.path, again.remedy) == (
        "bow.length: wrong. Right it.",
        "bow.length",
        "Right it",
    )


@pytest.mark.parametrize(
    ("path", "number", "example"),
    [("arrow.length", "28.5", "28.5 in"), ("bow.brace_height", "8 1/2", "8 1/2 in"),
     ("bow.brace_height", "220", "220 mm"), ("arrow.point_mass", "100", "100 gr")],
)  # fmt: skip
def test_a_number_without_a_unit_is_told_one_that_makes_sense(
    measured: Setup, path: str, number: str, example: str
) -> None:
    with pytest.raises(SetupError, match=f'has no unit.*"{example}"'):
        measured.replace(**{path: number})


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Riser(rods=3), "riser.rods: is 3, not a list of Rod"),
        (lambda: Riser(rods=["long"]), "riser.rods: is \\['long'\\], not a list of Rod"),
        (lambda: Nock(locators=Rest()), "nock.locators: is Rest.*, not a Locators"),
    ],
)
def test_a_record_of_another_kind(make: Callable[[], object], said: str) -> None:
    with pytest.raises(SetupError, match=said):
        make()
