"""The flight left and right as an archer asks for it: the flat limit, the sight, what a turn of it does, the mirror."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from archerysim.mechanics.flight import AT_Z, PITCH, SPEED_Z, YAW, YAW_RATE
from archerysim.shot.flight.bare_shaft import Leaving, bare_difference, gap_at, leaving_at_sight
from archerysim.shot.flight.fly import Flight, fly
from archerysim.shot.flight.sight import find_aim, tip_of
from archerysim.shot.flight.start import Start, start_of, vectors_of
from archerysim.shot.flight.swing import swing_of
from archerysim.shot.flight.trajectory import course
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import NAMES, built, flat, shot

CLUB = "club-outdoor"
MM = 1e-3
SIDEWAYS = {
    "z", "nose_z", "tail_z", "yaw", "yaw_rate", "side_angle_of_attack", "impact_side", "windage",
}  # fmt: skip
ASIDE = ("sideways_velocity", "yaw", "yaw_rate", "side_angle_of_attack", "centre_z", "nock_z")


def with_clear(launch: Launch, **values: float) -> Launch:
    return dataclasses.replace(launch, clear=dataclasses.replace(launch.clear, **values))


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize("name", NAMES)
def test_without_anything_sideways_it_is_the_flat_flight_to_the_bit(name: str, fletched: bool) -> None:
    one = flat(name)
    other = dataclasses.replace(with_clear(one, **dict.fromkeys(ASIDE, 0.0)), planes=2)
    flights = [fly(launch, distance="30 m", fletched=fletched) for launch in (one, other)]
    for field in dataclasses.fields(Flight):
        first, second = (getattr(flight, field.name) for flight in flights)
        if field.name in SIDEWAYS:
            assert np.isnan(first).all()
            assert not np.any(second)
        elif isinstance(first, float | bool | np.ndarray):
            np.testing.assert_array_equal(first, second)
    gaps = [bare_difference(launch, "30 m") for launch in (one, other)]
    assert gaps[0].height == gaps[1].height
    assert math.isnan(gaps[0].side)
    assert gaps[1].side == 0.0


@pytest.mark.parametrize("distance", [10.0, 30.0, 70.0])
@pytest.mark.parametrize("name", NAMES)
def test_the_sight_is_found_in_both_directions(name: str, distance: float) -> None:
    """Also for an arrow that leaves far aside of the aim line."""
    launch = shot(name)
    for start in (start_of(launch), start_of(with_clear(launch, sideways_velocity=4.0, yaw=6.0))):
        aim = find_aim(start, distance, 0.3)
        way = course(start.at(*aim), start.body, nose=start.nose, distance=distance)
        assert tip_of(way.last, start.nose) == pytest.approx((0.3, 0.0), abs=1e-8)


def test_a_sight_that_is_turned_turns_the_whole_flight() -> None:
    """Without wind, every instant of it about the vertical through the pivot."""
    start, turn = start_of(shot(CLUB)), math.radians(7.0)
    c, s = math.cos(turn), math.sin(turn)
    about = np.array([[c, 0.0, -s], [0.0, 1.0, 0.0], [s, 0.0, c]])
    plain, turned = (course(start.at(0.03, by), start.body, nose=start.nose, distance=40.0) for by in (0.0, turn))
    for time in np.linspace(0.0, plain.end, 5):
        for one, other in zip(vectors_of(plain.state(time)), vectors_of(turned.state(time)), strict=True):
            np.testing.assert_allclose(about @ one, other, atol=2e-7)


def test_the_windage_turns_away_from_the_window() -> None:
    launch = shot(CLUB)
    sighted = fly(launch, distance="18 m")
    aim: dict[str, Any] = {"elevation": (sighted.elevation, "deg")}
    turned = fly(launch, distance="18 m", windage=(sighted.windage + 0.5, "deg"), **aim)
    assert turned.impact_side == pytest.approx(18.0 * math.tan(math.radians(0.5)), rel=2e-3)
    assert abs(turned.impact_height) < MM


def test_the_bow_is_turned_up_first_and_then_aside() -> None:
    start = Start(np.array([0.0, 0.0, 50.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]), start_of(shot(CLUB)).body, 0.0, 0.0)
    state = start.at(0.3, 0.2)
    level = math.cos(0.3)
    wanted = (50.0 * level * math.cos(0.2), 50.0 * math.sin(0.3), 50.0 * level * math.sin(0.2))
    assert (state[2], state[3], state[SPEED_Z]) == pytest.approx(wanted)
    assert math.tan(state[PITCH]) == pytest.approx(wanted[1] / wanted[0])
    assert math.sin(state[YAW]) == pytest.approx(wanted[2] / 50.0)


@pytest.mark.parametrize("name", NAMES)
def test_the_mirror_image_of_a_launch_lands_on_the_other_side(name: str) -> None:
    launch = shot(name)
    mirrored = with_clear(launch, **{field: -getattr(launch.clear, field) for field in ASIDE})
    one, other = bare_difference(launch, "18 m"), bare_difference(mirrored, "18 m")
    assert (one.height, one.side) == (other.height, -other.side)
    assert one.fletched.windage == -other.fletched.windage


def test_a_left_handed_archers_flight_is_the_same_told_the_other_way() -> None:
    launch = shot(CLUB)
    left = dataclasses.replace(launch, setup=launch.setup.replace(**{"archer.handed": "left"}))
    one, other = bare_difference(launch, "18 m"), bare_difference(left, "18 m")
    assert (one.side, one.height) == (other.side, other.height)
    assert (one.bare.handed, other.bare.handed) == ("right", "left")


@pytest.mark.parametrize("distance", [10.0, 18.0, 30.0])
@pytest.mark.parametrize("taped", [True, False])
@pytest.mark.parametrize("name", NAMES)
def test_the_quick_gap_is_that_of_the_whole_flights(name: str, taped: bool, distance: float) -> None:
    launch = shot(name)
    both = bare_difference(launch, (distance, "m"), taped=taped)
    gap = gap_at(launch, distance, leaving_at_sight(launch, distance), taped=taped)
    assert gap == pytest.approx((both.height, both.side), rel=1e-3, abs=1e-5)
    plain = gap_at(launch, distance, leaving_at_sight(launch, distance), taped=taped, lift=False)
    assert plain.height == pytest.approx(both.drag_and_mass, rel=1e-2, abs=1e-5)
    if taped:  # drag and mass alone make nothing sideways
        assert abs(plain.side) < 0.05 * MM


def test_the_quick_gap_hardly_asks_where_the_sight_is() -> None:
    launch = shot(CLUB)
    sight = leaving_at_sight(launch, 18.0)
    near = Leaving(sight.up + 0.5, sight.aside + 0.5)
    assert gap_at(launch, 18.0, near) == pytest.approx(gap_at(launch, 18.0, sight), rel=3e-3)


@pytest.mark.parametrize("name", NAMES)
def test_a_bare_shafts_place_follows_from_its_rate_at_clear(name: str) -> None:
    """Hardly from its angle: nothing stops it turning. By 0.1 deg and by 0.1 rad/s, at 18 m."""
    launch = shot(name)
    clear = launch.clear

    def gap(**values: float) -> tuple[float, float]:
        changed = with_clear(launch, **values)
        return gap_at(changed, 18.0, leaving_at_sight(changed, 18.0))

    height, side = gap()
    by_angle = gap(pitch=clear.pitch + 0.1)[0] - height, gap(yaw=clear.yaw + 0.1)[1] - side
    by_rate = gap(pitch_rate=clear.pitch_rate + 0.1)[0] - height, gap(yaw_rate=clear.yaw_rate + 0.1)[1] - side
    for angle, rate in zip(by_angle, by_rate, strict=True):
        assert MM < angle < 3.0 * MM
        assert 10.0 * MM < rate < 25.0 * MM


@pytest.mark.parametrize("name", NAMES)
def test_fishtailing_has_the_wavelength_and_the_decay_of_porpoising(name: str) -> None:
    body = start_of(shot(name)).body._replace(gravity=0.0)
    start = np.array([0.0, 0.0, 52.0, 0.0, 0.02, 0.0, 0.0, 0.0, 0.0, 0.0])
    aside = start.copy()
    aside[[PITCH, YAW]] = aside[[YAW, PITCH]]
    up, side = swing_of(start, body), swing_of(aside, body, sideways=True)
    assert side.wavelength == pytest.approx(up.wavelength, rel=1e-4)
    assert side.decay_length == pytest.approx(up.decay_length, rel=1e-3)


def test_both_swings_of_one_flight() -> None:
    """Of about one wavelength: the weight's part of the one up and down moves that a little."""
    flight = fly(shot(CLUB, 12.0), distance="18 m")
    up, side = flight.swing.wavelength, flight.side_swing.wavelength
    assert up is not None
    assert side == pytest.approx(up, rel=0.1)
    assert fly(flat(CLUB), distance="18 m").side_swing.wavelength is None


def test_a_canted_bow_has_what_it_does_up_and_down_turned_aside() -> None:
    """Where the bare shaft lands, seen from the fletched one, turns about it with the bow."""
    upright = shot(CLUB)
    canted = built(CLUB).replace(**{"archer.cant": "20 deg"})
    gaps = [bare_difference(launch, "18 m") for launch in (upright, shoot(canted, "default", trace=False))]
    plain = gaps[0].drag_and_mass
    one, other = (complex(gap.height - plain, gap.side) for gap in gaps)
    turned = math.degrees(math.atan2((other / one).imag, (other / one).real))
    assert abs(turned) == pytest.approx(20.0, abs=8.0)


def test_nothing_sideways_is_written_where_it_is_not_known() -> None:
    state = fly(flat(CLUB), distance="18 m").state(0.1)
    assert not state[[AT_Z, SPEED_Z, YAW, YAW_RATE]].any()


def test_an_arrow_that_tumbles_has_a_sight_too() -> None:
    """Its hit is no smooth curve of the aim; to a tenth of a millimetre it hits all the same."""
    launch = shot("club-outdoor")
    wild = dataclasses.replace(launch, clear=dataclasses.replace(launch.clear, pitch=-37.0, pitch_rate=-100.0))
    flight = fly(wild, distance="18 m")
    assert max(abs(flight.impact_height), abs(flight.impact_side)) < 1e-4
