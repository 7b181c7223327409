"""The path without swing, against which swing is shown."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.shot.flight.fly import fly
from archerysim.shot.flight.swing_free import quiet_path
from tests.support.shot.example_bows import shot

MESH = "coarse"


def test_from_the_bow_to_the_centre() -> None:
    flight = fly(shot("club-outdoor", mesh=MESH), distance="18 m", target_height="0.4 m")
    path = quiet_path(flight)
    assert path.height(flight.x[0]) == pytest.approx(flight.y[0], abs=1e-9)
    assert path.height(18.0) == pytest.approx(0.4, abs=1e-4)
    assert (np.diff(path.x) > 0.0).all()


def test_it_bends_as_weight_and_speed_say() -> None:
    """y'' = -g / (velocity along x)^2 (force square to the path has no part in it)."""
    flight = fly(shot("club-outdoor", mesh=MESH), distance="50 m")
    path = quiet_path(flight)
    for x in (flight.x[0], 25.0, 45.0):
        step = 2.0
        bend = (path.height(x + step) - 2.0 * path.height(x) + path.height(x - step)) / step**2
        level = np.interp(x, flight.x, flight.speed)  # the flight is flat: cos^2 of its slope is 1 within 0.3 %
        assert bend == pytest.approx(-9.81 / level**2, rel=0.02)


@pytest.mark.parametrize("fletched", [True, False])
def test_an_arrow_that_keeps_to_its_path_is_level(fletched: bool) -> None:
    launch = shot("club-outdoor", mesh=MESH)
    plain = fly(launch, distance="30 m", fletched=fletched, sight="own", lift=False, perfect=True)
    above = plain.y - quiet_path(plain).height(plain.x)
    # it is the point that meets the centre: the path of the middle ends lower, by its bend over the way to the point
    bend = 9.81 * plain.nose_ahead**2 / (2.0 * plain.speed[-1] ** 2)
    assert above[0] == pytest.approx(0.0, abs=1e-9)
    assert above[-1] == pytest.approx(-bend, rel=0.03)
    assert np.abs(above).max() < 1.001 * abs(above[-1])


def test_what_is_left_on_the_target_is_the_impact_height() -> None:
    launch = shot("club-outdoor", mesh=MESH)
    fletched = fly(launch, distance="18 m")
    bare = fly(launch, distance="18 m", fletched=False)
    assert bare.nose_y[-1] - quiet_path(fletched).height(18.0) == pytest.approx(bare.impact_height, abs=1e-5)
