"""The flight of an arrow as an archer asks for it."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Air, SetupError
from archerysim.equipment.arrow import total_mass
from archerysim.shot.flight.fly import Flight, fly
from archerysim.shot.flight.sight import sight_elevation
from archerysim.shot.flight.start import start_of
from archerysim.shot.flight.swing import turning_points
from archerysim.shot.launch import Launch
from tests.support.shot.example_bows import NAMES, built, shot

CLUB = "club-outdoor"
HIT = 1e-6  # [m]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("distance", [18.0, 50.0])
def test_the_fletched_arrow_hits_the_centre(name: str, distance: float) -> None:
    flight = fly(shot(name), distance=(distance, "m"))
    assert flight.reached
    assert abs(flight.impact_height) < HIT
    assert flight.elevation == pytest.approx(sight_elevation(shot(name), distance), abs=1e-7)
    assert abs(flight.impact_side) < HIT
    aim = {"elevation": (flight.elevation, "deg"), "windage": (flight.windage, "deg")}
    again = fly(shot(name), distance=(distance, "m"), **aim)
    assert abs(again.impact_height) < HIT
    assert abs(again.impact_side) < HIT
    level = math.cos(math.radians(flight.pitch[-1])) * math.cos(math.radians(flight.yaw[-1]))
    assert flight.x[-1] + flight.nose_ahead * level == pytest.approx(distance)
    assert flight.nose_y[-1] == pytest.approx(0.0, abs=HIT)
    assert flight.speed[-1] < flight.speed[0]
    assert flight.impact_angle < 0.0 < flight.elevation


def test_arrays_agree_with_the_state() -> None:
    flight = fly(shot(CLUB), distance="30 m")
    for f in dataclasses.fields(Flight):
        value = getattr(flight, f.name)
        if isinstance(value, np.ndarray):
            assert value.shape == flight.time.shape
            assert np.isfinite(value).all()
    x, y, vx, vy, pitch, rate, z, vz, yaw, yaw_rate = flight.state(flight.time)
    np.testing.assert_allclose(np.gradient(x, flight.time)[1:-1], vx[1:-1], rtol=1e-4)
    np.testing.assert_allclose(np.degrees(pitch - np.arctan2(vy, vx)), flight.angle_of_attack, atol=1e-12)
    np.testing.assert_allclose(np.gradient(pitch, flight.time)[1:-1], rate[1:-1], atol=1e-3)
    np.testing.assert_allclose(np.gradient(z, flight.time)[1:-1], vz[1:-1], atol=1e-4)
    np.testing.assert_allclose(np.degrees(yaw - np.arctan2(vz, vx)), flight.side_angle_of_attack, atol=1e-3)
    np.testing.assert_allclose(np.gradient(yaw, flight.time)[1:-1], yaw_rate[1:-1], atol=1e-3)
    direction = np.array([np.cos(yaw) * np.cos(pitch), np.cos(yaw) * np.sin(pitch), np.sin(yaw)])
    nose = (flight.nose_ahead, flight.nose_y, flight.nose_z)
    for ahead, up, aside in (nose, (-flight.tail_behind, flight.tail_y, flight.tail_z)):
        np.testing.assert_allclose(up - y, ahead * direction[1], atol=1e-12)
        np.testing.assert_allclose(aside - z, ahead * direction[2], atol=1e-12)
    assert flight.state(0.1).shape == (10,)


def test_the_launch_is_turned_rigidly() -> None:
    launch = shot(CLUB)
    flight = fly(launch, distance="18 m", elevation="5 deg")
    clear, turn = launch.clear, math.radians(5.0)
    vx, vy = flight.state(0.0)[2:4]
    assert flight.pitch[0] == pytest.approx(clear.pitch + 5.0)
    assert flight.pitch_rate[0] == pytest.approx(clear.pitch_rate)
    assert flight.angle_of_attack[0] == pytest.approx(clear.angle_of_attack)
    assert math.cos(turn) * vx + math.sin(turn) * vy == pytest.approx(clear.speed)
    assert math.cos(turn) * vy - math.sin(turn) * vx == pytest.approx(clear.vertical_velocity)
    assert math.hypot(flight.x[0], flight.y[0]) == pytest.approx(math.hypot(clear.centre_x, clear.centre_y))
    # the throat stands where the bow left it
    tail_x = flight.x[0] - flight.tail_behind * math.cos(math.radians(flight.pitch[0]))
    nock = math.cos(turn) * clear.nock_x - math.sin(turn) * clear.nock_y
    assert tail_x == pytest.approx(nock, abs=1e-3)
    setup = fly(launch, distance="18 m", sight="setup")
    assert setup.elevation == math.degrees(launch.setup.get("archer.elevation") or 0.0)


def test_mass_and_balance_are_the_chains() -> None:
    launch = shot(CLUB)
    braced = launch.braced
    tail = braced.marks.tail
    mass = braced.chain.mass[tail:]
    at = np.concatenate(([0.0], np.cumsum(braced.chain.rest_length[tail:])))
    centre = mass @ at / mass.sum()
    start = start_of(launch)
    assert start.body.mass == pytest.approx(mass.sum(), rel=1e-12)
    assert start.tail == pytest.approx(centre, rel=1e-12)
    assert start.body.inertia == pytest.approx(mass @ (at - centre) ** 2, rel=2e-3)


def test_air_and_wind_move_the_hit() -> None:
    launch = shot(CLUB)
    elevation = sight_elevation(launch, 50.0)

    def height(**air: float) -> float:
        return fly(launch, distance="50 m", elevation=(elevation, "deg"), air=Air(**air)).impact_height

    assert height(head_wind=3.0) < -0.005
    assert height(head_wind=-3.0) > 0.005
    assert height(temperature=35.0) > 0.002
    assert height(altitude=2000.0) > 0.01
    turbulent = fly(launch, distance="50 m", elevation=(elevation, "deg"), boundary_layer="turbulent")
    laminar = fly(launch, distance="50 m", elevation=(elevation, "deg"), boundary_layer="laminar")
    assert turbulent.impact_height < laminar.impact_height
    assert turbulent.speed[-1] < laminar.speed[-1]


def test_feathers_slow_the_arrow_more_than_vanes() -> None:
    launch = shot(CLUB)
    feathers = dataclasses.replace(launch, setup=launch.setup.replace(**{"arrow.fletching_kind": "feather"}))
    assert fly(feathers, distance="50 m").speed[-1] < fly(launch, distance="50 m").speed[-1]
    assert fly(feathers, distance="50 m").swing.wavelength < fly(launch, distance="50 m").swing.wavelength  # type: ignore[operator]


def test_the_swing_dies_away() -> None:
    swing = fly(shot(CLUB, 12.0), distance="18 m").swing
    assert swing.wavelength is not None
    assert swing.decay_length is not None
    assert 15.0 < swing.wavelength < 45.0
    assert 0.0 < swing.decay_length < 100.0
    assert (np.diff(swing.x) > 0.0).all()
    falls = np.abs(np.diff(swing.angle_of_attack))
    assert (np.diff(falls) < 0.0).all()


def test_turning_points_of_a_damped_cosine() -> None:
    x = np.linspace(0.0, 60.0, 1201)
    at, value = turning_points(x, 0.02 * np.exp(-x / 30.0) * np.cos(2.0 * np.pi * x / 15.0))
    first = (math.pi - math.atan(15.0 / (30.0 * 2.0 * math.pi))) * 15.0 / (2.0 * math.pi)
    np.testing.assert_allclose(at, first + 7.5 * np.arange(at.size), atol=1e-3)
    np.testing.assert_allclose(value[1:] / value[:-1], -math.exp(-7.5 / 30.0), rtol=1e-4)


def test_a_perfect_launch_lies_on_its_path() -> None:
    flight = fly(shot(CLUB), distance="18 m", perfect=True)
    assert flight.angle_of_attack[0] == pytest.approx(0.0, abs=1e-12)
    assert flight.pitch_rate[0] == 0.0
    path = fly(shot(CLUB), distance="18 m", lift=False)
    assert np.abs(path.angle_of_attack[1:]).max() < np.abs(path.angle_of_attack[0]) + 1e-3


def test_ringing_moves_nose_and_tail_only() -> None:
    launch = shot(CLUB)
    plain, ringing = fly(launch, distance="18 m"), fly(launch, distance="18 m", bending=True)
    assert plain.bending is None
    bending = ringing.bending
    assert bending is not None
    np.testing.assert_array_equal(plain.y, ringing.y)
    assert ringing.impact_height == plain.impact_height
    tail = (ringing.tail_y - plain.tail_y) / np.cos(np.radians(plain.pitch))
    assert tail[0] == pytest.approx(bending.amplitude @ bending.tail)
    assert np.abs(tail).max() > 1e-4
    assert np.abs(tail[-40:]).max() < np.abs(tail[:40]).max()
    # slope at clear: the modes' rates
    early = np.linspace(0.0, 1e-6, 2)
    at_tail, at_nose = bending.deflection(early)
    assert np.diff(at_tail)[0] / 1e-6 == pytest.approx(bending.rate @ bending.tail, abs=1e-2)
    assert np.diff(at_nose)[0] / 1e-6 == pytest.approx(bending.rate @ bending.nose, abs=1e-2)
    assert bending.frequency[0] == pytest.approx(_free_beam(launch), rel=0.12)


def _free_beam(launch: Launch) -> float:
    """First bending frequency of an even free beam of the arrow's mass [rad/s]; end masses lower it, ends hold it."""
    from archerysim.equipment.arrow import bending_stiffness

    arrow = launch.setup.arrow
    return 4.128137**2 * math.sqrt(bending_stiffness(arrow.spine) / (arrow.mass_per_length * arrow.length**4))


def test_the_ground_ends_a_flight() -> None:
    launch = shot(CLUB)
    short = fly(launch, distance="90 m", elevation="0 deg", ground="-1.4 m")
    assert not short.reached
    assert short.nose_y[-1] == pytest.approx(-1.4, abs=1e-6)
    assert fly(launch, distance="18 m", ground="-1.4 m").reached


@pytest.mark.parametrize(
    "distance", [18.0, (0.0, "m"), (1.0, "m"), "151 m", math.nan, (math.nan, "m"), "18", "18 kg", "far"]
)
def test_bad_distances(distance: Any) -> None:
    with pytest.raises(SetupError, match=r"^distance: "):
        fly(shot(CLUB), distance=distance)


@pytest.mark.parametrize("name", ["elevation", "target_height", "ground"])
@pytest.mark.parametrize("value", [math.nan, math.inf, 2.0, (1e6, "km"), "x", "3 kg", [1.0]])
def test_bad_heights_and_elevations(name: str, value: Any) -> None:
    with pytest.raises(SetupError, match=f"^{name}: "):
        fly(shot(CLUB), distance="18 m", **{name: value})


def test_heights_and_elevations_with_units() -> None:
    plain = fly(shot(CLUB), distance="18 m", elevation=(np.float64(2.0), "deg"), target_height=(1, "m"))
    named = fly(shot(CLUB), distance="18 m", elevation="2 deg", target_height="1000 mm")
    assert named.elevation == pytest.approx(plain.elevation) == pytest.approx(2.0)
    assert named.impact_height == pytest.approx(plain.impact_height)


def test_out_of_reach() -> None:
    launch = shot("junior")
    slow = dataclasses.replace(launch, clear=dataclasses.replace(launch.clear, speed=20.0))
    with pytest.raises(SetupError, match=r"^distance: 100 m is out of this arrow's reach. Give a shorter distance"):
        fly(slow, distance="100 m")


def test_distance_with_a_unit_and_a_high_target() -> None:
    flight = fly(shot(CLUB), distance="20 yd", target_height="2 m")
    assert flight.distance == pytest.approx(18.288)
    assert flight.nose_y[-1] == pytest.approx(2.0, abs=HIT)
    assert abs(flight.impact_height) < HIT


def test_the_mass_is_the_arrows() -> None:
    arrow = built(CLUB).arrow
    assert fly(shot(CLUB), distance="18 m").mass == pytest.approx(total_mass(arrow))
    untaped = fly(shot(CLUB), distance="18 m", fletched=False, taped=False)
    assert untaped.mass == pytest.approx(total_mass(arrow) - 0.7e-3)
