"""What is not typical is told, not refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from archerysim.equipment import Setup, filled, oddities
from archerysim.equipment.typical import TABLE, string_mass, typical
from tests.support.equipment.setup_strategies import setups


def test_a_typical_setup_has_none(measured: Setup) -> None:
    assert oddities(measured) == []


@pytest.mark.parametrize(
    ("change", "path", "words"),
    [
        (
            {"bow.brace_height": "180 mm"},
            "bow.brace_height",
            "brace height 180 mm is outside 210 to 240 mm, typical for club",
        ),
        (
            {"bow.upper_tiller": "180 mm"},
            "bow.upper_tiller",
            "tiller split -10 mm is outside 2 to 8 mm, typical for club",
        ),
        (
            {"nock.locators.reading": "14 mm"},
            "nock.locators.reading",
            "reading by the underside 14 mm is outside 3 to 10 mm",
        ),
        ({"arrow.point_mass": "300 gr"}, "arrow", "mass of the arrow"),
        ({"string.strands": 40}, "string", "mass of the string"),
        ({"riser.rods": ()}, "riser.rods", "mass of stabilisers and weights 0 kg is outside 0.2 to 0.7 kg"),
        (
            {"archer.finger_shares": (0.5, 0.4, 0.1)},
            "archer.finger_shares.0",
            "share of the index finger 0.5 is outside",
        ),
        (
            {"archer.release_time": "20 ms"},
            "archer.release_time.1",
            "release time, middle finger 20 ms is outside 4 to 10 ms",
        ),
        (
            {"nock.locators.upper_mass": "1 g"},
            "nock.locators.upper_mass",
            "mass of the upper locator 1 g is outside",
        ),
        (
            {"bow.pocket_angle": "12 deg"},
            "bow.pocket_angle",
            "beside the usual recurve shape 12 deg is outside -3 to 7 deg",
        ),
        ({"category": "traditional"}, "riser.rods", "typical for traditional"),
        (
            {"upper_limb.tip_angle": "-50 deg"},
            "upper_limb",
            "angle of the unstrung upper limb's tip -50 deg is outside -20 to 100 deg",
        ),
    ],
)
def test_oddities(measured: Setup, change: dict, path: str, words: str) -> None:
    found = {one.path: one for one in oddities(measured.replace(**change))}
    assert path in found
    assert words in found[path].words
    odd = found[path]
    assert not odd.typical[0] <= odd.value <= odd.typical[1]


def test_another_pocket_angle_is_odd_beside_the_usual_shape_only(measured: Setup) -> None:
    leaning = measured.replace(**{"bow.pocket_angle": "12 deg"})
    for told in ({"limbs.shape": "straight"}, {"limbs.tip_forward": "90 mm"}, {"category": "traditional"}):
        assert "bow.pocket_angle" not in {one.path for one in oddities(leaning.replace(**told))}
    assert "bow.pocket_angle" not in {one.path for one in oddities(measured)}


def test_an_odd_assumption_says_that_it_is_one(measured: Setup) -> None:
    setup = measured.replace(category="traditional", rest=None)
    words = {one.path: one.words for one in oddities(setup)}
    assert words["rest.stiffness"].startswith("rest stiffness 800 N/m (assumed) is outside")


def test_the_top_reading_is_judged_by_its_underside(measured: Setup) -> None:
    setup = measured.replace(**{"nock.locators.reading": "13.8 mm", "nock.locators.convention": "top"})
    assert oddities(setup) == []
    assert [one.path for one in oddities(setup.replace(**{"nock.locators.convention": "underside"}))] == [
        "nock.locators.reading"
    ]


def test_indoor_arrows_of_an_elite_archer_are_heavier(measured: Setup) -> None:
    heavy = {"category": "elite", "arrow.point_mass": "180 gr"}
    slim = [one.path for one in oddities(measured.replace(**heavy))]
    fat = [one.path for one in oddities(measured.replace(**heavy, **{"arrow.diameter": "9.3 mm"}))]
    assert "arrow" in slim
    assert "arrow" not in fat


def test_mass_of_the_whole_string(measured: Setup) -> None:
    length = 68 * 0.0254 - 0.0889
    expected = 18 * 180e-6 * length + 0.2 * 4.5e-3 + 2 * 0.15 * 3e-3
    assert string_mass(filled(measured)) == pytest.approx(expected)


@settings(deadline=None, max_examples=30)
@given(setups())
def test_random_setups_are_typical(setup: Setup) -> None:
    assert [one.words for one in oddities(setup)] == []


def test_every_range_has_all_categories() -> None:
    for row in TABLE:
        assert {"junior", "club", "elite", "barebow", "traditional"} <= row.ranges.keys()
        assert all(low <= high for low, high in row.ranges.values())


def test_typical_lists_what_applies(measured: Setup) -> None:
    paths = {row.path for row in typical(measured)}
    assert "nock.locators.upper_mass" in paths
    without = measured.replace(**{"nock.locators.upper_present": False})
    assert "nock.locators.upper_mass" not in {row.path for row in typical(without)}
