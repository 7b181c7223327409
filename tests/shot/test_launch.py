"""The launch record: finite, consistent with its own trace, its units and its definitions."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.shot.columns import MOMENT, PASSAGE, SHOT
from archerysim.shot.launch import Launch
from archerysim.shot.moment import Moment
from archerysim.shot.passage import Passage
from archerysim.shot.release.bending_modes import free_modes, modal_parts
from archerysim.shot.shoot import shoot
from archerysim.shot.trace import Trace
from tests.support.shot.example_bows import NAMES, built, fitted, flat, measured, shot, traced

SIDEWAYS = ("sideways_velocity", "yaw", "yaw_rate", "side_angle_of_attack", "nock_z", "centre_z")
# of a trace, while shaft or vanes are there
PASSING = (
    "shaft_by_side_z", "shaft_over_rest_z", "shaft_over_rest_y", "arm_gap", "side_gap", "vane_arm_gap", "vane_side_gap",
)  # fmt: skip
MAY_BE_NAN = {
    "support_ends_at",
    "rest_left_at", "rest_left_travel", "second_strike_at", "second_strike_travel", "second_strike_depth",
    "suppressed_strike", "least_gap", "string_on_upper_at", "string_on_lower_at",
    "slap_speed_upper", "slap_speed_lower", "slap_force_upper", "slap_force_lower", "rod_swing",
}  # fmt: skip


def trace_of(name: str) -> Trace:
    trace = traced(name).trace
    assert trace is not None
    return trace


@pytest.mark.parametrize("name", NAMES)
def test_every_number_is_finite(name: str) -> None:
    done = traced(name)
    for item in fields(Launch):
        value = getattr(done, item.name)
        if isinstance(value, float) and item.name not in MAY_BE_NAN:
            assert np.isfinite(value), item.name
    for moment in (done.separation, done.clear):
        for item in fields(Moment):
            if item.name != "energy":
                assert np.isfinite(getattr(moment, item.name)), item.name
        assert all(np.isfinite(v) for v in moment.energy.table().values())
    for item in fields(Trace):
        values = getattr(trace_of(name), item.name)
        finite = np.isfinite(values.tolist() if values.dtype.names else values)
        assert finite.any() if item.name in PASSING else finite.all(), item.name


@pytest.mark.parametrize("name", NAMES)
def test_in_one_plane_nothing_is_told_sideways(name: str) -> None:
    done = flat(name, True)
    assert done.planes == 1
    for moment in (done.separation, done.clear):
        for item in fields(Moment):
            if item.name != "energy":
                sideways = item.name in SIDEWAYS or item.name.startswith("side_bend")
                assert bool(np.isnan(getattr(moment, item.name))) is sideways, item.name
    assert all(np.isnan(getattr(done.passage, item.name)) for item in fields(Passage))
    trace = done.traced()
    told = ("side_support", "groove", "yaw", "yaw_rate", "sideways_velocity", "nock_z", "frame_z", "frame_vz")
    for name in (*told, *PASSING):
        assert np.isnan(getattr(trace, name)).all(), name
    assert np.isfinite(done.support_ends_at)


@pytest.mark.parametrize("name", NAMES)
def test_realistic(name: str) -> None:
    """Speeds of such bows (common practice): 45 to 60 m/s for adults, 30 to 45 for a junior."""
    low, high = (30.0, 45.0) if name == "junior" else (42.0, 62.0)
    assert low < shot(name).clear.speed < high
    assert 0.0 < shot(name).separation.time < shot(name).clear.time < 0.05


def test_it_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        shot("junior").reading = 1.0  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        shot("junior").clear.pitch = 1.0  # type: ignore[misc]


@pytest.mark.parametrize("name", NAMES)
def test_readings_by_their_definitions(name: str) -> None:
    done, full = shot(name), filled(built(name))
    height, diameter = 1e3 * full.number("nock.height"), 1e3 * full.number("arrow.diameter")
    assert done.reading == pytest.approx(1e3 * measured(name).nock.locators.reading, abs=1e-6)
    assert done.reading_top == pytest.approx(done.reading + height, abs=1e-12)
    assert done.axis_above_square == pytest.approx(done.reading - 0.5 * (diameter - height), abs=1e-12)
    # the axis stands half a shaft above the rest's top where the reading is square
    assert done.axis_above_square + 0.5 * diameter == pytest.approx(done.reading + 0.5 * height, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_measures_in_the_edge_s_units(name: str) -> None:
    done, bow = shot(name), measured(name).bow
    assert done.brace_height == pytest.approx(1e3 * bow.brace_height, rel=1e-6)
    assert done.upper_tiller == pytest.approx(1e3 * bow.upper_tiller, rel=1e-6)
    assert done.lower_tiller == pytest.approx(1e3 * bow.lower_tiller, rel=1e-6)
    assert done.draw_force == pytest.approx(bow.draw_weight, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_trace_lengths(name: str) -> None:
    trace = trace_of(name)
    rows = {getattr(trace, f.name).shape for f in fields(Trace) if not f.name.startswith("frame_")}
    assert rows == {trace.time.shape}
    pictures = {getattr(trace, f.name).shape[0] for f in fields(Trace) if f.name.startswith("frame_")}
    assert pictures == {trace.frame_time.size}
    assert 500 < trace.time.size < 5000
    assert (np.diff(trace.time) > 0.0).all()
    nodes = traced(name).drawn.x.size
    assert trace.frame_x.shape == trace.frame_y.shape == (trace.frame_time.size, nodes)
    assert trace.frame_time.size > 50
    assert (np.diff(trace.frame_time) > 0.0).all()


@pytest.mark.parametrize("name", NAMES)
def test_trace_begins_at_full_draw(name: str) -> None:
    trace, done = trace_of(name), traced(name)
    assert trace.time[0] == 0.0
    assert trace.pitch[0] == pytest.approx(0.0, abs=0.02)  # the shaft sags by its weight
    for at_rest in ("pitch_rate", "speed", "vertical_velocity", "riser_x", "riser_y", "riser_pitch"):
        assert abs(getattr(trace, at_rest)[0]) < 1e-4, at_rest
    assert flat(name, True).traced().rest[0] == pytest.approx(done.drawn.rest_force, rel=1e-6)
    assert trace.rest[0] == pytest.approx(done.drawn.rest_force, rel=3e-6)  # it leans, and so lies a little otherwise
    tail = done.braced.marks.tail
    np.testing.assert_allclose(trace.frame_x[0, :tail], done.drawn.x[:tail], atol=1e-15)
    np.testing.assert_allclose(trace.frame_y[0, :tail], done.drawn.y[:tail], atol=1e-15)
    # the shaft leans out to the side support, its cells as long as before
    lean = np.radians(done.passage.side_aim_angle)
    begin = np.array([trace.frame_x[0], trace.frame_y[0], trace.frame_z[0]])[:, tail:]
    drawn = np.array([done.drawn.x, done.drawn.y])[:, tail:]
    np.testing.assert_allclose(begin[:2] - begin[:2, :1], np.cos(lean) * (drawn - drawn[:, :1]), atol=1e-9)
    np.testing.assert_allclose(
        np.linalg.norm(np.diff(begin), axis=0), np.linalg.norm(np.diff(drawn), axis=0), rtol=1e-12
    )
    flat_begin = flat(name, True).traced()
    np.testing.assert_allclose(flat_begin.frame_x[0], done.drawn.x, atol=1e-15)
    np.testing.assert_allclose(flat_begin.frame_y[0], done.drawn.y, atol=1e-15)


@pytest.mark.parametrize("name", NAMES)
def test_trace_ends_at_clear(name: str) -> None:
    done, trace = traced(name), trace_of(name)
    clear = done.clear
    gap = clear.time - trace.time[-1]
    assert -done.step <= gap <= 2.0 * np.diff(trace.time).max()  # clear lies within the last step
    assert trace.speed[-1] == pytest.approx(clear.speed, rel=1e-5)
    assert trace.vertical_velocity[-1] == pytest.approx(clear.vertical_velocity, abs=1e-3)
    assert trace.pitch[-1] == pytest.approx(clear.pitch, abs=np.degrees(2.0 * abs(gap)) + 1e-3)
    assert trace.pitch_rate[-1] == pytest.approx(clear.pitch_rate, abs=1e-3)
    assert trace.nock_x[-1] == pytest.approx(clear.nock_x, abs=1.1 * abs(gap) * clear.speed + 1e-6)
    assert trace.riser_pitch[-1] == pytest.approx(clear.riser_pitch, abs=1e-2)


@pytest.mark.parametrize("name", NAMES)
def test_clear_is_where_it_should_be(name: str) -> None:
    """The throat 0.05 m in front of the pivot's place along the riser's x, the string out, nothing touching."""
    done, trace = traced(name), trace_of(name)
    angle = np.radians(done.aim_angle)
    lean = np.radians(done.passage.side_aim_angle)
    along = np.cos(lean) * done.clear.nock_x - np.sin(lean) * done.clear.nock_z
    forward = np.cos(angle) * along - np.sin(angle) * done.clear.nock_y
    assert forward == pytest.approx(0.05, abs=1e-6)
    for force in (trace.edge_upper, trace.edge_lower, trace.locator, trace.rest, trace.side_support):
        assert force[-1] == 0.0


@pytest.mark.parametrize("name", NAMES)
def test_separation_is_the_last_force_of_an_edge(name: str) -> None:
    trace, separation = trace_of(name), traced(name).separation
    after = trace.time > separation.time
    assert (trace.edge_upper[after] == 0.0).all()
    assert (trace.edge_lower[after] == 0.0).all()
    carried = (trace.edge_upper != 0.0) | (trace.edge_lower != 0.0)
    last = trace.time[np.flatnonzero(carried)[-1]]
    assert 0.0 <= separation.time - last <= 2.0 * np.diff(trace.time).max()
    assert separation.nock_x == pytest.approx(np.interp(separation.time, trace.time, trace.nock_x), abs=1e-4)
    assert separation.pitch == pytest.approx(np.interp(separation.time, trace.time, trace.pitch), abs=5e-3)
    # thrown by then; the nock's grip has held the arrow back a little
    assert 0.99 * trace.speed.max() < separation.speed <= trace.speed.max()


@pytest.mark.parametrize("name", NAMES)
def test_velocities_are_the_rates_of_the_places(name: str) -> None:
    """Speed of the nock along the aim line, smoothed over some rows, is the arrow's speed."""
    trace = trace_of(name)
    late = slice(-60, None)
    rate = np.polyfit(trace.time[late], trace.nock_x[late], 1)[0]
    assert rate == pytest.approx(trace.speed[-1], rel=2e-3)


@pytest.mark.parametrize("name", NAMES)
def test_pitch_rate_is_the_rate_of_pitch(name: str) -> None:
    """In free flight the rate is constant and the pitch a straight line."""
    trace = trace_of(name)
    late = slice(-100, None)
    slope = np.radians(np.polyfit(trace.time[late], trace.pitch[late], 1)[0])
    assert slope == pytest.approx(trace.pitch_rate[late].mean(), rel=0.02, abs=2e-3)


@pytest.mark.parametrize("name", NAMES)
def test_angle_of_attack_is_pitch_less_the_direction_of_flight(name: str) -> None:
    for moment in (shot(name).separation, shot(name).clear):
        direction = np.degrees(np.arctan2(moment.vertical_velocity, moment.speed))
        assert moment.angle_of_attack == pytest.approx(moment.pitch - direction, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_nock_and_mass_centre_lie_on_the_shaft(name: str) -> None:
    done = shot(name)
    mass = done.braced.chain.mass[done.braced.marks.tail :]
    length = filled(built(name)).number("arrow.length")
    along = float(mass @ np.linspace(0.0, length, mass.size) / mass.sum())
    for moment in (done.separation, done.clear):
        way = [getattr(moment, f"centre_{axis}") - getattr(moment, f"nock_{axis}") for axis in "xyz"]
        reach = np.linalg.norm(way)
        assert reach == pytest.approx(along, abs=3e-4)  # it is bent, both ways
    for moment in (flat(name).separation, flat(name).clear):
        reach = np.hypot(moment.centre_x - moment.nock_x, moment.centre_y - moment.nock_y)
        assert reach == pytest.approx(along, abs=2e-4)


@pytest.mark.parametrize("name", NAMES)
def test_a_trace_does_not_change_the_shot(name: str) -> None:
    for one, other in ((traced(name).separation, shot(name).separation), (traced(name).clear, shot(name).clear)):
        assert one == other
    assert shot(name).trace is None


def test_measured_and_built_shoot_alike() -> None:
    """`shoot` of a measured setup is `shoot` of its fit."""
    direct = shoot(measured("junior"), trace=False)
    assert direct.clear == shoot(fitted("junior").setup, trace=False).clear
    assert direct.setup == fitted("junior").setup


def test_modes_of_the_shaft() -> None:
    """Two bending modes, square to each other in mass; a deflection made of them is found again."""
    done = shot("club-outdoor")
    tail = done.braced.marks.tail
    mass = done.braced.chain.mass[tail:]
    frequency, shape = free_modes(done.braced.chain, tail)
    assert 0.0 < frequency[0] < frequency[1]
    assert float((shape[0] * mass) @ shape[1]) == pytest.approx(0.0, abs=1e-9 * mass.sum())
    for mode in shape:
        along = np.linspace(0.0, 1.0, mass.size)
        assert float(mass @ mode) == pytest.approx(0.0, abs=1e-6 * mass.sum())
        assert float((mass * along) @ mode) == pytest.approx(0.0, abs=1e-6 * mass.sum())
        assert mode[0] > 0.0
    parts = modal_parts(mass, shape, 1e-3 * shape[0] - 2e-4 * shape[1], 0.5 * shape[1])
    np.testing.assert_allclose(parts, [[1e-3, 0.0], [-2e-4, 0.5]], atol=1e-9)


def test_modes_do_not_depend_on_the_shaft_before() -> None:
    """They are kept from shot to shot, and nobody can change them."""
    bows = [shot(name).braced for name in ("club-outdoor", "barebow", "club-outdoor")]
    (first, one), (_, other), (again, same) = (free_modes(b.chain, b.marks.tail) for b in bows)
    assert (first == again).all()
    assert (one == same).all()
    assert not (one == other).all()
    with pytest.raises(ValueError, match="read-only"):
        one[0, 0] = 0.0


def test_reported_quantities_are_fields() -> None:
    assert {q.name for q in MOMENT} <= {f.name for f in fields(Moment)}
    passage = {q.name for q in PASSAGE}
    assert passage == {f.name for f in fields(Passage)}
    assert {q.name for q in SHOT} - passage <= {f.name for f in fields(Launch)}
    assert not passage & {f.name for f in fields(Launch)}
    assert all(q.text for q in (*MOMENT, *SHOT))
    assert [q.name for q in (*MOMENT, *SHOT) if not q.unit] == ["efficiency", "arm_strikes", "side_touches"]


@pytest.mark.parametrize("name", NAMES)
def test_pitch_in_the_bow_s_axes(name: str) -> None:
    """Against the nodes of the last picture, in the riser's axes at full draw, untouched by the aim frame."""
    done, trace = traced(name), trace_of(name)
    for moment in (done.separation, done.clear):
        assert moment.pitch_to_bow == pytest.approx(moment.pitch + done.aim_angle, abs=1e-12)
    tail = done.braced.marks.tail
    mass = done.braced.chain.mass[tail:]
    pitch = []
    for x, y in zip(trace.frame_x[-2:, tail:], trace.frame_y[-2:, tail:], strict=True):
        dx, dy = x - mass @ x / mass.sum(), y - mass @ y / mass.sum()
        pitch.append(np.degrees(np.arctan2(mass @ (dx * dy), mass @ (dx * dx))))
    last = trace.frame_time[-2:]
    there = pitch[1] + (done.clear.time - last[1]) * (pitch[1] - pitch[0]) / (last[1] - last[0])
    assert done.clear.pitch_to_bow == pytest.approx(there, abs=0.02)


def test_the_aim_line_turns_with_the_locators() -> None:
    """By about -0.11 deg a millimetre up: as much as the pitch itself does."""
    low, high = shot("club-outdoor", 6.0), shot("club-outdoor", 10.0)
    assert (high.aim_angle - low.aim_angle) / 4.0 == pytest.approx(-0.11, abs=0.01)
    assert high.clear.pitch_to_bow - low.clear.pitch_to_bow == pytest.approx(
        high.clear.pitch - low.clear.pitch + high.aim_angle - low.aim_angle, abs=1e-12
    )


def test_how_the_braced_bow_stands_is_told_with_the_shot() -> None:
    curved = shoot(built("club-outdoor", "coarse"), "coarse")
    assert curved.string_stiffness == curved.braced.string_stiffness > 0.0
    assert (curved.lies_on_upper, curved.lies_on_lower) == tuple(1e3 * one for one in curved.braced.lying)
    straight = shoot(measured("club-outdoor").replace(**{"limbs.shape": "straight"}), "coarse")
    assert straight.lies_on_upper == straight.lies_on_lower == 0.0 < curved.lies_on_upper
