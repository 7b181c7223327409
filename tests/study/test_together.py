"""The reading that brings bare and fletched shafts together, beside the one without angle of attack."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, bare_difference, gap_at, leaving_at_sight
from archerysim.study.tuning.together import together_reading
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.zero_attack import zero_attack_reading
from tests.support.shot.example_bows import NAMES, built, measured, shot

MESH = "coarse"


@pytest.mark.parametrize("name", NAMES)
def test_it_is_what_the_tune_finds(name: str) -> None:
    """To a hundredth of a millimetre, with the sight found once instead of for every shot.

    The junior's lies just under square, out of the range that is searched where none is given.
    """
    found = together_reading(built(name, MESH), MESH)
    tuned = tune(measured(name), within=("-5 mm", "25 mm"), others=False, mesh=MESH)
    assert found.reading == pytest.approx(tuned.value, abs=0.01)
    apart = bare_difference(found.launch, "18 m")
    assert 1e3 * apart.swing == pytest.approx(0.0, abs=0.2)
    assert found.drag_and_mass == pytest.approx(1e3 * apart.drag_and_mass, abs=0.01)
    assert found.shots <= 6


def test_it_lies_under_the_reading_of_zero_attack_by_the_pitch_rate() -> None:
    """Without angle of attack the outdoor arrow still turns nose down, and a bare shaft lands low of the others."""
    bow = built("club-outdoor", MESH)
    zero_attack = zero_attack_reading(bow, MESH)
    assert zero_attack.launch.clear.pitch_rate < -0.3
    low = -bare_difference(zero_attack.launch, "18 m").swing
    assert low > 3.0 * bow.arrow.diameter  # by more than shafts that touch: seen at once
    assert 1.0 < zero_attack.reading - together_reading(bow, MESH).reading < 3.0


def test_both_readings_share_their_shots() -> None:
    bow = FittedBow.of(built("club-outdoor", MESH), MESH)
    first = ("5 mm", "6.7 mm")
    found = together_reading(bow, first=first)
    before = len(bow._kept)
    zero_attack = zero_attack_reading(bow, first=first)
    assert before == found.shots
    assert len(bow._kept) == before + zero_attack.shots - 2


def test_the_quick_gap_is_that_of_the_two_flights() -> None:
    launch = shot("club-outdoor", 4.0, MESH)
    apart = bare_difference(launch, "18 m")
    leaving = leaving_at_sight(launch, 18.0)
    quick, near = gap_at(launch, 18.0, leaving), gap_at(launch, 18.0, Leaving(leaving.up + 0.02, leaving.aside))
    assert (quick.height, quick.side) == pytest.approx((apart.height, apart.side), abs=1e-7)
    assert (near.height, near.side) == pytest.approx((apart.height, apart.side), rel=1e-3)


FAR = {"rest.reach": "40 mm"}  # farther out than any shaft gets


@pytest.mark.parametrize(
    ("name", "planes", "end"),
    [*((name, 2, FAR) for name in NAMES), ("club-outdoor", 1, {"rest.unlimited_support": True})],
)
def test_a_rest_that_supports_to_the_end_leaves_no_answer(name: str, planes: int, end: dict[str, Any]) -> None:
    """The shaft strikes it again and is thrown nose down at every reading.

    The barebow's grazes it at some: it too is thrown nose down, but by so little that a bare shaft, whose nose follows
    its falling path late and is lifted by that, meets the fletched ones.
    """
    bow = FittedBow.of(built(name).replace(**end), planes=planes)
    if name == "barebow":
        launch = together_reading(bow).launch
        assert np.isfinite(launch.timeline.on_rest_again)
        assert launch.clear.angle_of_attack < 0.0
        assert launch.clear.pitch_rate < 0.0
    else:
        with pytest.raises(SetupError, match="by the underside brings bare and fletched shafts together"):
            together_reading(bow)
    with pytest.raises(SetupError, match="by the underside leaves the arrow without angle of attack"):
        zero_attack_reading(bow)


def test_a_target_out_of_reach_is_refused() -> None:
    with pytest.raises(SetupError, match="distance"):
        together_reading(built("club-outdoor", MESH), MESH, distance="900 m")
