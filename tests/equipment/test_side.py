"""The fields of the shot sideways: what is taken without them, by category and form, and how it is marked."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, field_info, filled, loads, oddities, sources
from tests.support.equipment.setup_texts import MEASURED

POUND = 4.4482216152605
# rest, side support, centre shot [mm], spring [N/m], its start [N], tip of a limb as built [N/m]
USUAL: dict[str, tuple[str, str, float, float, float, float]] = {
    "junior": ("arm", "sprung", 0.0, 2000.0, 2.0, 470.0),
    "club": ("arm", "sprung", 1.0, 2000.0, 2.0, 1000.0),
    "elite": ("arm", "sprung", 1.0, 2000.0, 2.0, 1300.0),
    "barebow": ("arm", "sprung", 1.0, 2000.0, 2.0, 1060.0),
    "traditional": ("shelf", "plate", 1.0, 2e5, 0.0, 1170.0),
}
# [judgement] unless it is a habit of the trade
CONSTANT = {
    "side.travel": (4e-3, "judgement"), "side.damping": (1.0, "judgement"), "side.forward": (0.0, "common practice"),
    "rest.fold_force": (0.0, "judgement"),
    "archer.side_roll": (np.radians(8.0), "judgement, poorly known"),
    "archer.side_hold": (0.0, "judgement, poorly known"),
    "archer.handed": ("right", "common practice"), "archer.cant": (0.0, "common practice"),
    "upper_limb.side_damping": (0.5, "judgement"), "lower_limb.side_damping": (0.5, "judgement"),
    "nock.groove_stiffness": (1e5, "judgement"), "nock.groove_loss": (5.0, "judgement"),
    "arrow.fletching_angle": (0.0, "common practice"),
}  # fmt: skip
GIVEN = """
[side]
kind = "plate"
offset = "-2 mm"
stiffness = "5 N/mm"
preload = "0.5 lb"
travel = "3 mm"
damping = "2 N s/m"
forward = "12 mm"
"""


@pytest.mark.parametrize("category", USUAL)
@pytest.mark.parametrize("form", ["measured", "built"])
def test_what_is_usual_in_a_category(category: str, form: str, request: pytest.FixtureRequest) -> None:
    setup = request.getfixturevalue(form).replace(category=category)
    found, full = sources(setup), filled(setup)
    rest, side, offset, stiffness, preload, tip = USUAL[category]
    values = {"rest.kind": rest, "side.kind": side, "side.offset": 1e-3 * offset, "side.stiffness": stiffness}
    for path, value in {**values, "side.preload": preload}.items():
        assert (found[path].kind, found[path].value) == ("assumed", value)
        assert found[path].how.endswith(("[judgement]", "[common practice]"))
    assert (full.rest.kind, full.side.kind, full.side.offset) == (rest, side, 1e-3 * offset)
    for limb in ("upper_limb", "lower_limb"):
        one = found[f"{limb}.side_stiffness"]
        if form == "measured":
            assert (one.kind, one.value) == ("derived", pytest.approx(6.6 * 34 * POUND))
            assert one.how.startswith("from bow.draw_weight: ")
        else:
            assert (one.kind, one.value) == ("assumed", tip)
            assert one.how == f"usual for {category} [judgement]"


@pytest.mark.parametrize("path", CONSTANT)
def test_what_is_taken_for_every_bow(measured: Setup, path: str) -> None:
    value, basis = CONSTANT[path]
    one = sources(measured)[path]
    assert (one.kind, one.how) == ("assumed", f"usual value [{basis}]")
    assert one.value == (value if isinstance(value, str) else pytest.approx(value))


def test_a_tips_mass_is_its_own_and_a_share_of_the_limbs(measured: Setup) -> None:
    """Of each limb's own, and of one of known mass per length: the limb's is then that table's."""
    setup = measured.replace(**{"upper_limb.mass": "200 g", "upper_limb.tip_mass": "5 g"})
    full = filled(setup)
    assert full.upper_limb.side_mass == pytest.approx(0.005 + 0.15 * 0.200)
    assert full.lower_limb.side_mass == pytest.approx(0.003 + 0.15 * 0.165)
    assert sources(setup)["upper_limb.side_mass"].kind == "derived"
    even = filled(measured.replace(**{"limbs.mass_per_length": "0.2, 0.2 kg/m", "limbs.butt": "0 mm"})).lower_limb
    assert even.side_mass == pytest.approx(0.003 + 0.15 * 0.2 * even.length)


def test_an_arm_reaches_2_mm_past_the_shaft_s_axis(measured: Setup) -> None:
    """A shelf has the number too, and says that it means nothing there; one that is given stays."""
    for change in ({}, {"rest.kind": "shelf"}):
        one = sources(measured.replace(**{"arrow.diameter": "9.3 mm", **change}))["rest.reach"]
        assert (one.kind, one.value) == ("derived", pytest.approx(0.00665))
        assert ("a shelf" in one.how) == bool(change)
    given = measured.replace(**{"rest.reach": "7 mm", "arrow.diameter": "9.3 mm"})
    assert (filled(given).rest.reach, sources(given)["rest.reach"].kind) == (0.007, "given")


def test_the_kind_of_side_support_chooses_only_what_is_not_given(measured: Setup) -> None:
    plate = filled(measured.replace(**{"side.kind": "plate"})).side
    assert (plate.stiffness, plate.preload, plate.travel) == (2e5, 0.0, 4e-3)
    soft = filled(measured.replace(**{"side.kind": "plate", "side.stiffness": "900 N/m"})).side
    assert (soft.stiffness, soft.preload) == (900.0, 0.0)
    sprung = filled(measured.replace(**{"category": "traditional", "side.kind": "sprung"}))
    assert (sprung.side.stiffness, sprung.side.preload, sprung.rest.kind) == (2000.0, 2.0, "shelf")


def test_a_tips_stiffness_that_is_given_stays_whatever_the_draw_weight(measured: Setup) -> None:
    given = measured.replace(**{"limbs.side_stiffness": "800 N/m", "bow.draw_weight": "40 lb"})
    assert filled(given).get("limbs.side_stiffness") == 800.0
    assert filled(given.replace(**{"limbs.side_stiffness": None})).get("limbs.side_stiffness") == pytest.approx(
        6.6 * 40 * POUND
    )


def test_a_side_in_a_file_is_read_and_written(measured: Setup) -> None:
    setup = loads(MEASURED + GIVEN)
    side = setup.side
    assert (side.kind, side.offset, side.stiffness, side.travel) == ("plate", -2e-3, 5000.0, 3e-3)
    assert (side.preload, side.damping, side.forward) == (pytest.approx(0.5 * POUND), 2.0, 0.012)
    more: dict[str, Any] = {
        "rest.kind": "arm", "rest.reach": "8 mm", "rest.fold_force": "0.3 N", "archer.side_roll": "6 deg",
        "archer.side_hold": "-3 mm", "archer.handed": "left", "archer.cant": "7 deg",
        "arrow.fletching_angle": "-30 deg", "upper_limb.side_stiffness": "800 N/m",
        "limbs.side_damping": "1 N s/m", "lower_limb.side_mass": "25 g",
        "nock.groove_stiffness": "2e5 N/m", "nock.groove_loss": "0 N s/m",
    }  # fmt: skip
    whole = setup.replace(more)
    again = loads(whole.to_toml())
    assert again == whole
    for path in more:
        assert again.get(path) == whole.get(path) is not None
        assert sources(again)[path.replace("limbs.", "upper_limb.")].kind == "given"
    assert filled(again).archer.cant == pytest.approx(np.radians(7.0))
    text = measured.to_toml()  # nothing of it is written that was not given
    assert "side" not in text
    assert "groove" not in text


@pytest.mark.parametrize(
    ("table", "line", "message"),
    [
        ("side", "offset = 1", 'side.offset: 1 has no unit. Write it with one, for example "1 mm".'),
        ("side", 'offset = "25 mm"', 'side.offset: "25 mm" is outside the allowed range -15 mm to 20 mm.'),
        ("side", 'stiffness = "2 N"', 'side.stiffness: the unit "N" does not fit. Use a unit of stiffness'),
        ("side", 'preload = "-1 N"', 'side.preload: "-1 N" is outside the allowed range 0 N to 30 N.'),
        ("side", 'travel = "0 mm"', 'side.travel: "0 mm" is outside the allowed range 0.1 mm to 20 mm.'),
        ("side", 'kind = "spring"', 'side.kind: "spring" is not known. Did you mean "sprung"?'),
        ("side", 'button = "4 mm"', "side.button: unknown name."),
        ("rest", 'kind = "wire"', 'rest.kind: "wire" is not known. Use one of "arm", "shelf"'),
        ("rest", 'reach = "0 mm"', 'rest.reach: "0 mm" is outside the allowed range 1 mm to 40 mm.'),
        ("rest", 'fold_force = "6 N"', 'rest.fold_force: "6 N" is outside the allowed range 0 N to 5 N.'),
        ("archer", 'side_roll = "-3 deg"', 'archer.side_roll: "-3 deg" is outside the allowed range 0 deg to 30 deg.'),
        ("archer", 'side_hold = "3 cm"', 'archer.side_hold: "3 cm" = 30 mm is outside the allowed range -20 mm'),
        ("archer", 'handed = "both"', 'archer.handed: "both" is not known. Use one of "right", "left"'),
        ("archer", 'cant = "50 deg"', 'archer.cant: "50 deg" is outside the allowed range -45 deg to 45 deg.'),
        ("limbs", 'side_stiffness = "10 N/m"', 'side_stiffness: "10 N/m" is outside the allowed range 50 N/m'),
        ("limbs", 'side_mass = "0 g"', 'side_mass: "0 g" is outside the allowed range 1 g to 200 g.'),
        ("nock", 'groove_loss = "200 N s/m"', 'nock.groove_loss: "200 N s/m" is outside the allowed range'),
        ("arrow", 'fletching_angle = "270 deg"', 'arrow.fletching_angle: "270 deg" is outside the allowed range'),
    ],
)  # fmt: skip
def test_a_bad_value_is_one_clear_error(table: str, line: str, message: str) -> None:
    heading = f"[{table}]\n"
    text = MEASURED.replace(heading, f"{heading}{line}\n") if heading in MEASURED else f"{MEASURED}{heading}{line}\n"
    with pytest.raises(SetupError) as caught:
        loads(text)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"side.offset": "-8 mm"}, "centre shot -8 mm is outside 0 to 4 mm, typical for club"),
        ({"rest.reach": "14 mm"}, "reach of the rest over the shaft's diameter 2.545 is outside 0.5 to 1.5"),
        ({"side.stiffness": "2e5 N/m"}, "side support stiffness 2e+05 N/m is outside 300 to 6000 N/m"),
        ({"side.preload": "20 N"}, "side support preload 20 N is outside 0.3 to 8 N"),
        ({"archer.cant": "20 deg"}, "cant 20 deg is outside -5 to 5 deg, typical for club"),
    ],
)
def test_what_is_odd_is_told(measured: Setup, change: dict[str, str], words: str) -> None:
    (odd,) = oddities(measured.replace(change))
    assert odd.words.startswith(words)
    (path,) = change
    assert odd.path == path


def test_a_plate_is_hard_and_a_shelf_has_no_reach(measured: Setup) -> None:
    assert oddities(measured.replace(**{"side.kind": "plate", "side.stiffness": "2e5 N/m"})) == []
    assert oddities(measured.replace(**{"rest.kind": "shelf", "rest.reach": "30 mm"})) == []


def test_signs_and_units_are_said() -> None:
    for path, unit, words in (
        ("side.offset", "mm", "positive = out, away from the riser's window"),
        ("archer.side_hold", "mm", "positive = away from the riser's window"),
        ("archer.cant", "deg", "positive = top limb towards the riser's window"),
        ("arrow.fletching_angle", "deg", "positive = turned up"),
        ("side.forward", "mm", "forward along the arrow"),
    ):
        assert field_info(path).unit == unit
        assert words in field_info(path).text
