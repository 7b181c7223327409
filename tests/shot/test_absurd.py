"""Setups that can be read but make no sense end in a sentence with a remedy, after bounded work."""

from __future__ import annotations

from typing import Any

import pytest

from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import built, measured

ABSURD: dict[str, dict[str, Any]] = {
    "string longer than the limbs reach": {"string.length": "2.2 m"},
    "string far too short": {"string.length": "0.9 m"},
    "limbs that lean back behind the string": {"limbs.pocket_angle": "-45 deg"},
    "limbs like threads": {"limbs.bending_stiffness": (0.01, 0.002)},
    "limbs like girders": {"limbs.bending_stiffness": (5e3, 1e3)},
    "limbs curled up": {"limbs.natural_curvature": (20.0, 20.0)},
    "arrow shorter than the draw": {"arrow.length": "22 in"},
    "draw shorter than the brace height": {"archer.draw_length": "10 in"},
    "draw past all limbs": {"archer.draw_length": "60 in"},
    "all load on the ring finger": {"archer.finger_shares": (0.0, 0.0, 1.0)},
    "rest above the head": {"rest.height": "300 mm"},
    "locators at the limb": {"nock.locators.place": "0.2 m"},
    "a string like rubber": {"string.axial_stiffness": "200 N", "string.mass_per_length": "4 g/m"},
    "a shaft like a noodle": {"arrow.spine": 5.0},
    "a shaft like a crowbar": {"arrow.mass_per_length": "0.5 kg/m", "arrow.point_mass": "50 g"},
}


@pytest.mark.parametrize("name", ABSURD)
def test_absurd_bows(name: str) -> None:
    """Either a shot comes out, or one sentence; most are refused (see the next test)."""
    try:
        launch = shoot(built("club-outdoor", "coarse").with_si(**ABSURD[name]), "coarse", trace=False)
    except (SetupError, ShotError) as error:
        message = str(error)
        assert message.count("\n") == 0
        assert len(message) > 30
    else:
        assert launch.steps > 0
        assert launch.warnings


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("string longer than the limbs reach", "string"),
        ("arrow shorter than the draw", "does not reach the rest"),
        ("draw shorter than the brace height", "outside the allowed range"),
    ],
)
def test_named_reasons(name: str, words: str) -> None:
    with pytest.raises((SetupError, ShotError), match=words):
        shoot(built("club-outdoor", "coarse").with_si(**ABSURD[name]), "coarse", trace=False)


@pytest.mark.parametrize(
    "changes",
    [
        {"bow.brace_height": "390 mm"},
        {"bow.upper_tiller": "60 mm", "bow.lower_tiller": "390 mm"},
        {"bow.draw_weight": "150 lbf", "bow.draw_weight_at": "16 in"},
        {"bow.pocket_angle": "45 deg", "limbs.length": "250 mm"},
    ],
)
def test_measures_that_fit_no_bow(changes: dict[str, Any]) -> None:
    told = "a shot came out"
    try:
        shoot(measured("club-outdoor").with_si(**changes), "coarse", trace=False)
    except (SetupError, ShotError) as error:
        told = str(error)
    assert len(told) >= 15
    assert "\n" not in told
