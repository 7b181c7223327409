"""What a camera sees: the flight's own numbers where the shaft's middle passes, in both frames."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim import SetupError
from tests.support.shot.example_bows import measured

PLACES = ("0.6 m", "2 m", "5 m", "17 m")


def launch(planes: int = 2) -> archerysim.Launch:
    return archerysim.shoot(measured("club-outdoor"), "coarse", planes=planes)


def test_it_is_the_flight_there() -> None:
    """Against the flight's own arrays, straight between their instants, the ringing left in."""
    shot = launch()
    seen = archerysim.seen_at(shot, PLACES)
    flight = archerysim.fly(shot, distance="18 m", bending=True)
    assert seen.place.tolist() == [0.6, 2.0, 5.0, 17.0]
    middle = 0.5 * (flight.nose_x + flight.tail_x)
    assert np.interp(seen.time, flight.time, middle) == pytest.approx(seen.place, abs=1e-4)
    for name, of in (("pitch", "pitch"), ("yaw", "yaw"), ("height", "y"), ("nose_height", "nose_y"), ("side", "z"),
                     ("tail_height", "tail_y"), ("nose_side", "nose_z"), ("tail_side", "tail_z"), ("speed", "speed"),
                     ("angle_of_attack", "angle_of_attack"), ("pitch_rate", "pitch_rate")):  # fmt: skip
        told, wanted = getattr(seen, name), np.interp(seen.time, flight.time, getattr(flight, of))
        assert told == pytest.approx(wanted, abs=2e-3 * np.ptp(getattr(flight, of)) + 1e-6), name


def test_both_frames_differ_by_the_aim() -> None:
    shot = launch()
    seen = archerysim.seen_at(shot, PLACES, distance="50 m")
    flight = archerysim.fly(shot, distance="50 m")
    assert seen.pitch - seen.pitch_to_aim == pytest.approx(np.full(4, flight.elevation))
    assert seen.yaw - seen.yaw_to_aim == pytest.approx(np.full(4, flight.windage))
    tilt = np.radians(flight.elevation)
    x = seen.nose_height * 0.0 + seen.place  # of the nose it is half an arrow more
    assert seen.height_over_aim == pytest.approx(seen.height * np.cos(tilt) - x * np.sin(tilt), abs=0.4 * np.sin(tilt))
    assert (np.diff(seen.height_over_aim[1:]) < 0.0).all()  # it falls below the line on which it lay
    assert seen.height[1] > seen.height[0]  # and rises at first over the ground


def test_a_ringing_shaft_s_ends_show_another_pitch_than_its_mass() -> None:
    """By the deflections at its ends over its length; at clear by those that the launch tells."""
    shot = launch()
    seen = archerysim.seen_at(shot, ("0.55 m", "0.7 m", "0.9 m", "1.2 m"))
    off = seen.seen_pitch - seen.pitch
    assert 0.002 < abs(off).max() < 2.0
    assert abs(np.diff(np.sign(off))).any()  # it swings about
    still = archerysim.fly(shot, distance="18 m")
    line = np.degrees(np.arctan2(still.nose_y - still.tail_y, still.nose_x - still.tail_x))
    assert line == pytest.approx(still.pitch, abs=1e-3)  # without ringing both are one


def test_one_plane_knows_nothing_sideways() -> None:
    seen = archerysim.seen_at(launch(planes=1), ("2 m",))
    assert np.isnan([seen.yaw[0], seen.yaw_to_aim[0], seen.seen_yaw[0], seen.side[0], seen.nose_side[0]]).all()
    assert np.isfinite([seen.pitch[0], seen.height[0], seen.seen_pitch_to_aim[0]]).all()


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ((), "are no places"),
        ("2 m", "are no places"),
        (("2",), "has no unit"),
        (("25 m",), "not on the way of the shaft's middle"),
        (("0.25 m",), "not on the way of the shaft's middle"),
        (("500 m",), "outside the allowed range"),
    ],
)
def test_places_that_cannot_be_seen(places: Any, said: str) -> None:
    with pytest.raises(SetupError, match=said):
        archerysim.seen_at(launch(), places)
