"""What a camera sees: the flight's own numbers where the shaft's middle passes, in both frames."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim import SetupError
from archerysim.shot.flight.ringing import bending_of
from tests.support.shot.example_bows import measured

PLACES = ("0.6 m", "2 m", "5 m", "17 m")


@cache
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


def test_just_after_clear_it_is_the_launch() -> None:
    """In the frame of the aim line, a millimetre on: pitch, yaw and heights as the launch tells them."""
    shot = launch()
    flight = archerysim.fly(shot, distance="18 m", bending=True)
    start = 0.5 * (flight.nose_x[0] + flight.tail_x[0])
    seen = archerysim.seen_at(shot, ([start + 1e-3], "m"))
    clear, time = shot.clear, seen.time[0]
    assert 0.0 < time < 1e-4
    assert seen.pitch_to_aim[0] == pytest.approx(clear.pitch + np.degrees(clear.pitch_rate * time), abs=1e-4)
    assert seen.yaw_to_aim[0] == pytest.approx(clear.yaw + np.degrees(clear.yaw_rate * time), abs=1e-4)
    bent = bending_of(shot)
    tail, nose = (float(one[0]) for one in bent.deflection(seen.time))
    length = flight.nose_ahead + flight.tail_behind
    assert abs(nose - tail) > 1e-5
    assert seen.seen_pitch[0] - seen.pitch[0] == pytest.approx(np.degrees((nose - tail) / length), rel=1e-3)


def test_the_ends_lie_as_the_angles_say() -> None:
    seen = archerysim.seen_at(launch(), PLACES, distance="50 m")
    flight = archerysim.fly(launch(), distance="50 m")
    length = flight.nose_ahead + flight.tail_behind
    level = length * np.cos(np.radians(seen.seen_yaw))
    for nose, tail, pitch in (("nose_over_aim", "tail_over_aim", "seen_pitch_to_aim"),
                              ("nose_height", "tail_height", "seen_pitch")):  # fmt: skip
        rise = getattr(seen, nose) - getattr(seen, tail)
        assert rise == pytest.approx(level * np.sin(np.radians(getattr(seen, pitch))), abs=2e-5)  # of 0.7 m
    aside = np.degrees(np.arcsin((seen.nose_side - seen.tail_side) / length))
    assert aside == pytest.approx(seen.seen_yaw, abs=0.01)  # from above a shaft that climbs looks shorter
    assert seen.pitch - seen.pitch_to_aim == pytest.approx(np.full(4, flight.elevation))
    assert (np.diff(seen.height_over_aim[1:]) < 0.0).all()  # it falls below the line on which it lay
    assert seen.height[1] > seen.height[0]  # and rises at first over the ground


def test_the_ringing_of_a_shaft_dies_away() -> None:
    seen = archerysim.seen_at(launch(), [(one, "m") for one in np.arange(0.6, 17.0, 0.1)])
    off = abs(seen.seen_pitch - seen.pitch)
    assert off[:20].max() > 2.0 * off[-20:].max() > 0.0


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
