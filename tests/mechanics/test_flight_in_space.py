"""The flight in space: its flat limit, turned about its way, mirrored, as a free rod, and against other ways to it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import RK45, solve_ivp

from archerysim.equipment import filled
from archerysim.errors import LOST_FLIGHT, ShotError
from archerysim.mechanics import flight_course
from archerysim.mechanics.flight import AT_Z, PITCH, SPEED_Z, STATE, YAW, YAW_RATE, Flyer, flight_rates, path_rates
from archerysim.shot.flight.aerodynamics import flyer
from archerysim.shot.flight.air_state import air_state
from archerysim.shot.flight.start import state_of, vectors_of
from archerysim.shot.flight.trajectory import Course, course
from tests.support.mechanics.flight_by_vectors import along_of, vector_rates
from tests.support.shot.example_bows import measured

SIDEWAYS = [AT_Z, SPEED_Z, YAW, YAW_RATE]
NO_AIR: dict[str, Any] = {"density": 0.0}
# place, velocity, pitch, its rate, and the same sideways: a good launch, a bad one, one that hardly flies
LAUNCHES = {
    "good": (0.5, 0.1, 55.0, 0.8, 0.02, -0.7, 0.0, -0.15, 0.002, 1.4),
    "bad": (0.5, 0.1, 48.0, 2.0, 0.12, 3.0, 0.02, -1.5, -0.10, 6.0),
    "wild": (0.5, 0.1, 40.0, 4.0, 0.6, -20.0, 0.02, 5.0, 1.0, 15.0),
}


def body(name: str = "club-outdoor", *, fletched: bool = True, **changes: Any) -> Flyer:
    full = filled(measured(name))
    return flyer(full.arrow, air_state(full.air), fletched=fletched)._replace(**changes)


def flown(start: Any, b: Flyer, distance: float = 30.0, **how: Any) -> Course:
    return course(np.array(start, dtype=float), b, nose=0.5, distance=distance, **how)


def rolled(state: Any, angle: float) -> np.ndarray:
    """The same flight, turned about the way to the target."""
    c, s = math.cos(angle), math.sin(angle)
    turn = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    return state_of(*(turn @ one for one in vectors_of(np.array(state))))


def test_coefficients_are_those_of_scipy() -> None:
    stages = flight_course.STAGES - 1
    np.testing.assert_array_equal(flight_course.WITHIN[:stages, : stages - 1], RK45.A)
    np.testing.assert_array_equal(flight_course.WITHIN[stages], RK45.B)
    np.testing.assert_array_equal(flight_course.ERROR, RK45.E)
    np.testing.assert_array_equal(flight_course.CURVE, RK45.P)


@pytest.mark.parametrize("lift", [True, False])
@pytest.mark.parametrize("launch", LAUNCHES)
def test_what_starts_in_the_vertical_plane_stays_there(launch: str, lift: bool) -> None:
    start = np.array(LAUNCHES[launch])
    start[SIDEWAYS] = 0.0
    way = flown(start, body(head_wind=3.0), lift=lift)
    assert way.reached
    assert not way.states[:, SIDEWAYS].any()
    assert not way.curves[:, SIDEWAYS].any()


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize("launch", LAUNCHES)
def test_mirrored_to_the_bit(launch: str, fletched: bool) -> None:
    start = np.array(LAUNCHES[launch])
    mirror = np.ones(STATE)
    mirror[SIDEWAYS] = -1.0
    b = body(fletched=fletched)
    one, other = flown(start, b), flown(mirror * start, b)
    np.testing.assert_array_equal(one.times, other.times)
    np.testing.assert_array_equal(one.states, mirror * other.states)


@pytest.mark.parametrize("angle", [math.radians(90.0), 0.7, -2.5])
@pytest.mark.parametrize("launch", LAUNCHES)
def test_rates_do_not_know_which_way_is_up(launch: str, angle: float) -> None:
    """Without weight: the state's rates of the rolled arrow are those of the arrow, rolled."""
    b = body(gravity=0.0, head_wind=2.0)
    step = 1e-6
    for rates in (flight_rates, path_rates):
        state, turned = np.array(LAUNCHES[launch]), rolled(LAUNCHES[launch], angle)
        here, there = np.empty(STATE), np.empty(STATE)
        rates(state, b, here)
        rates(turned, b, there)
        np.testing.assert_allclose(
            [along_of(turned + way * step * there) for way in (1.0, -1.0)],
            [along_of(rolled(state + way * step * here, angle)) for way in (1.0, -1.0)],
            atol=1e-9,
        )


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize("angle", [math.radians(90.0), 0.7, -2.5])
def test_a_swing_up_and_down_is_one_left_and_right_when_rolled(angle: float, fletched: bool) -> None:
    """Without weight, to the integration's error: it weighs pitch and yaw alike only in the sum."""
    b = body(gravity=0.0, fletched=fletched)
    start = np.array(LAUNCHES["bad"])
    start[SIDEWAYS] = 0.0
    up, aside = flown(start, b), flown(rolled(start, angle), b)
    for time in np.linspace(0.0, min(up.end, aside.end), 7):
        np.testing.assert_allclose(along_of(rolled(up.state(time), angle)), along_of(aside.state(time)), atol=1e-5)
    if angle == math.radians(90.0):
        assert np.abs(aside.states[:, PITCH]).max() < 1e-12
        np.testing.assert_allclose(aside.last[YAW], up.last[PITCH], atol=1e-7)


@pytest.mark.parametrize("yaw", [0.0, 10.0, 60.0])
def test_without_air_it_falls_and_turns_about_one_axis(yaw: float) -> None:
    """A parabola; a free rod keeps its angular momentum e x e': its direction runs on a great circle."""
    start = np.array(LAUNCHES["bad"])
    start[YAW] = math.radians(yaw)
    way = flown(start, body(**NO_AIR))
    place, velocity, direction, turning = vectors_of(start)
    rate = float(np.linalg.norm(turning))
    for time in np.linspace(0.0, way.end, 9):
        now = vectors_of(way.state(time))
        fallen = np.array([0.0, -9.81, 0.0])
        np.testing.assert_allclose(now[0], place + velocity * time + 0.5 * fallen * time**2, atol=1e-7)
        np.testing.assert_allclose(now[1], velocity + fallen * time, atol=1e-7)
        turned = direction * math.cos(rate * time) + turning / rate * math.sin(rate * time)
        np.testing.assert_allclose(now[2], turned, atol=2e-7)
        np.testing.assert_allclose(np.cross(now[2], now[3]), np.cross(direction, turning), atol=1e-6)


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize("launch", LAUNCHES)
def test_rates_are_those_of_vectors(launch: str, fletched: bool) -> None:
    b = body(fletched=fletched, head_wind=2.0)
    state, rates, step = np.array(LAUNCHES[launch]), np.empty(STATE), 1e-6
    flight_rates(state, b, rates)
    found = (along_of(state + step * rates) - along_of(state - step * rates)) / (2.0 * step)
    wanted = vector_rates(0.0, along_of(state), b)
    np.testing.assert_allclose(found, wanted, rtol=1e-7, atol=1e-7 * np.abs(wanted).max())


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize(("launch", "within"), [("good", 1e-7), ("bad", 1e-6)])
def test_a_flight_against_vectors_integrated_by_scipy(launch: str, within: float, fletched: bool) -> None:
    """By DOP853 with 1e-12, at the target and, by the curve within the steps, on the way [m]."""
    b = body(fletched=fletched, head_wind=1.0)
    way = flown(LAUNCHES[launch], b)
    at = np.linspace(0.0, way.end, 60)
    exact = solve_ivp(
        vector_rates, (0.0, way.end), along_of(np.array(LAUNCHES[launch])), "DOP853", at, rtol=1e-12, atol=1e-12,
        args=(b,),
    )  # fmt: skip
    ours = np.array([along_of(one) for one in way.state(at).T]).T
    places = [0, 1, 2]
    np.testing.assert_allclose(ours[places, -1], exact.y[places, -1], atol=within)
    np.testing.assert_allclose(ours[places], exact.y[places], atol=10.0 * within)
    np.testing.assert_allclose(ours[6:9, -1], exact.y[6:9, -1], atol=10.0 * within)
    assert ours[0, -1] + 0.5 * ours[6, -1] == pytest.approx(30.0, abs=1e-9)


def steps_of(relative: float) -> tuple[int, np.ndarray]:
    """Steps of a flight without a target with that error allowed, and its last state."""
    room = 4000
    times, states, curves = np.empty(room), np.empty((room, STATE)), np.empty((room, STATE, 4))
    status, count = flight_course.fly_course(
        np.array(LAUNCHES["bad"]), body(), 0.5, 1e3, -math.inf, 0.5, True, relative, relative, times, states, curves,
        np.empty((7, STATE)), np.empty(STATE),
    )  # fmt: skip
    assert status == flight_course.TIME_OVER
    return count, states[count - 1].copy()


def test_order_of_the_integration() -> None:
    """The error goes with the error allowed, the steps with its fifth root."""
    exact = steps_of(1e-13)[1]
    (few, rough), (many, smooth) = steps_of(1e-6), steps_of(1e-10)
    assert 4.0 < many / few < 10.0  # 10^(4/5) = 6.3
    assert 1e3 < np.abs(rough - exact)[:3].max() / np.abs(smooth - exact)[:3].max() < 1e5


@pytest.mark.parametrize("fletched", [True, False])
def test_small_swings_in_both_directions_do_not_know_of_each_other(fletched: bool) -> None:
    """What goes sideways is the same with and without a swing up and down: to the swings' square."""
    b = body(gravity=0.0, fletched=fletched, cross_drag=0.0, cross_friction=0.0)
    start = np.array([0.0, 0.0, 52.0, 0.0, 0.004, 0.0, 0.0, 0.0, 0.003, 0.2])
    alone = start.copy()
    alone[PITCH] = 0.0
    both, one = flown(start, b, 20.0), flown(alone, b, 20.0)
    time = np.linspace(0.0, 0.999 * one.end, 9)
    angle = np.abs(both.states[:, [PITCH, YAW]]).max()
    for wanted, found in zip(one.state(time)[SIDEWAYS], both.state(time)[SIDEWAYS], strict=True):
        np.testing.assert_allclose(found, wanted, rtol=0.0, atol=angle**2 * np.abs(wanted).max())


def test_cross_flow_couples_them() -> None:
    """It goes by the whole angle: beside a large swing up and down a small one sideways dies away sooner."""
    b = body(gravity=0.0, fletched=False)
    small = np.array([0.0, 0.0, 52.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.02, 0.0])
    large = small.copy()
    large[PITCH] = 0.2
    aside = [flown(one, b, 3.0).last[YAW] for one in (small, large)]
    assert aside[1] < aside[0]


def test_the_ground_ends_it() -> None:
    way = flown(LAUNCHES["bad"], body(), 200.0, ground=-1.4)
    assert not way.reached
    _, y, _, _, pitch, _, _, _, yaw, _ = way.last
    assert y + 0.5 * math.cos(yaw) * math.sin(pitch) == pytest.approx(-1.4, abs=1e-9)
    assert flown(LAUNCHES["bad"], body(), 10.0, ground=-1.4).reached


def test_time_ends_it() -> None:
    way = flown(LAUNCHES["bad"], body(), 200.0, longest=0.25)
    assert not way.reached
    assert way.end == pytest.approx(0.25, abs=1e-12)


def test_room_for_steps_ends_it() -> None:
    room = 12
    times, states, curves = np.empty(room), np.empty((room, STATE)), np.empty((room, STATE, 4))
    status, count = flight_course.fly_course(
        np.array(LAUNCHES["bad"]), body(), 0.5, 30.0, -math.inf, 15.0, True, 1e-8, 1e-10, times, states, curves,
        np.empty((7, STATE)), np.empty(STATE),
    )  # fmt: skip
    assert (status, count) == (flight_course.TOO_MANY_STEPS, room)


@pytest.mark.parametrize("changes", [{"inertia": 1e-300}, {"mass": 0.0}, {"inertia": math.nan}])
def test_a_flight_that_cannot_be_followed_is_one_error(changes: dict[str, Any]) -> None:
    with pytest.raises(ShotError, match="flight: the arrow tumbles so wildly that its flight cannot be") as caught:
        flown(LAUNCHES["bad"], body(**changes))
    assert caught.value.status == LOST_FLIGHT
    assert "after clear" in str(caught.value)
