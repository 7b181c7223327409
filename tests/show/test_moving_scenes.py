"""Moving pictures: what is drawn is what was computed."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

import archerysim
from archerysim.equipment import filled
from archerysim.mechanics.release.forces import finger_fade
from archerysim.shot.flight.bare_shaft import BareDifference
from archerysim.shot.flight.range_cautions import CAUTION
from archerysim.shot.flight.swing_free import quiet_path
from archerysim.shot.launch import Launch
from archerysim.shot.timeline import fading
from archerysim.shot.warnings import NONE
from archerysim.show.motion.flight import flight_scene
from archerysim.show.motion.flight_outline import drop_path, ends_of
from archerysim.show.motion.moving_shot import moving_shot
from archerysim.show.motion.release import release_scene
from archerysim.show.motion.scene import Scene, enlargement
from archerysim.show.shots.bow import finger_points
from tests.support.show.pages_read_back import FEW, numbers, points


def test_the_page_holds_the_frames_of_the_launch(shot: Launch, page: Path) -> None:
    trace, m, scene = shot.trace, shot.braced.marks, numbers(page)
    assert trace is not None
    np.testing.assert_allclose(scene["time"], 1e3 * trace.frame_time, atol=6e-4)
    for name, part in (
        ("upper limb", slice(m.root_u, m.tip_u + 1)),
        ("lower limb", slice(m.tip_l, m.root_l + 1)),
        ("string", slice(m.tip_u + 1, m.tip_l)),  # off the limbs
        ("arrow", slice(m.tail, None)),
    ):
        drawn = points(scene, name)
        lies = (drawn.shape[1] - (part.stop or drawn.shape[1]) + part.start) // 2 if name == "string" else 0
        drawn = drawn[:, lies : drawn.shape[1] - lies]
        np.testing.assert_allclose(drawn[..., 0], 1e3 * trace.frame_x[:, part], atol=0.0501)
        np.testing.assert_allclose(drawn[..., 1], 1e3 * trace.frame_y[:, part], atol=0.0501)


def test_the_enlarged_views_lie_along_the_line_at_full_draw(shot: Launch, page: Path) -> None:
    trace, scene = shot.trace, numbers(page)
    assert trace is not None
    nock_y = 1e3 * np.interp(trace.frame_time, trace.time, trace.nock_y - trace.nock_y[0])
    floor = points(scene, "floor", 1).mean(axis=1)
    np.testing.assert_allclose(floor[:, 1], nock_y, atol=0.02)  # a frame and a row of the trace are not one step
    assert np.abs(floor[:, 0]).max() < 0.02  # the view goes along with the nock
    swing = points(scene, "arrow", 3)
    np.testing.assert_allclose(swing[:, 0, 1], nock_y, atol=0.02)
    assert np.abs(swing[0, [0, -1], 1]).max() < 0.011  # throat and point lie on the line at full draw


def test_enlargements_are_what_they_are_said_to_be(shot: Launch, pair: BareDifference) -> None:
    for scene, name in ((release_scene(shot), "swing"), (flight_scene(pair), "way")):
        panel = scene.panels[3 if name == "swing" else 0]
        (said,) = [int(w.text(0).rsplit("x", 1)[1]) for w in panel.words if "up-down x" in w.text(0)]
        left, right, low, high = panel.window
        assert (panel.box[3] / (high - low)) / (panel.box[2] / (right - left)) == pytest.approx(said)
        assert said > 1
    for panel in (*release_scene(shot).panels[:3], *flight_scene(pair).panels[1:3]):
        left, right, low, high = panel.window
        assert panel.box[3] / (high - low) == pytest.approx(panel.box[2] / (right - left))
    assert [enlargement(x) for x in (0.3, 1.0, 4.9, 20.0, 1e4)] == [1, 1, 2, 20, 100]


def test_everything_shown_stays_in_its_panel(shot: Launch, pair: BareDifference) -> None:
    scenes: list[tuple[Scene, int, list[str]]] = [
        (release_scene(shot), 0, ["upper limb", "lower limb", "string", "arrow"]),
        (release_scene(shot), 3, ["arrow"]),
        (flight_scene(pair), 0, ["shaft, fletched", "shaft, bare"]),
        (flight_scene(pair), 1, ["close, fletched"]),
        (flight_scene(pair), 2, ["close, bare"]),
    ]
    for scene, which, names in scenes:
        left, right, low, high = scene.panels[which].window
        for name in names:
            (line,) = [one for one in scene.panels[which].lines if one.name == name]
            assert left < line.points[..., 0].min() < line.points[..., 0].max() < right, name
            assert low < line.points[..., 1].min() < line.points[..., 1].max() < high, name


def test_fingers_and_their_fading(shot: Launch) -> None:
    fingers, m = shot.drawing.fingers, moving_shot(shot)
    expected = [[finger_fade(fingers, k, t) for k in range(3)] for t in m.time]
    np.testing.assert_allclose(m.held, expected, atol=1e-12)
    assert m.finger_force[0] == pytest.approx(shot.draw_force)
    np.testing.assert_allclose(m.fingers[0], 1e3 * finger_points(shot.braced, 1e-3 * m.nodes[0], shot.setup), atol=1e-9)
    delayed = fading(np.array([0.0, 2e-3, 3e-3, 4e-3]), np.array([2e-3]), np.array([2e-3]))
    np.testing.assert_allclose(delayed[:, 0], [1.0, 1.0, 0.5, 0.0], atol=1e-12)


def test_the_rest_is_pressed_where_it_pushes(shot: Launch) -> None:
    m, half = moving_shot(shot), 0.5e3 * filled(shot.setup).number("arrow.diameter")
    arrow = m.nodes[:, shot.braced.marks.tail :]
    x, y = m.rest[:, :2].mean(axis=1).T
    gap = np.array([np.interp(a, b[:, 0], b[:, 1]) for a, b in zip(x, arrow, strict=True)]) - half - y
    over = m.supports & (x < arrow[:, -1, 0])
    assert gap[over].min() > -0.02  # never drawn into the shaft
    pushed = over & (m.rest_force > 0.05)
    assert pushed.sum() > 20
    assert np.abs(gap[pushed]).max() < 0.05
    free = over & (m.rest_force == 0.0)
    assert gap[free].max() > 0.1
    assert not m.supports[-1]


def test_riser_and_rest_move_as_one_piece(shot: Launch) -> None:
    m, rest = moving_shot(shot), filled(shot.setup).rest
    for k in (0, 2):
        length = np.linalg.norm(m.riser[:, k] - m.riser[:, 1], axis=1)
        np.testing.assert_allclose(length, length[0], atol=0.01)
    assert np.ptp(m.riser[:, 1], axis=0).max() > 0.1
    half = 0.5e3 * filled(shot.setup).number("arrow.diameter")
    away = np.linalg.norm(m.on_rest - m.riser[:, 1], axis=1)
    np.testing.assert_allclose(away, np.hypot(1e3 * rest.forward, 1e3 * rest.height + half), atol=1e-6)


def test_frames_are_picked_from_first_to_last(shot: Launch) -> None:
    trace = shot.trace
    assert trace is not None
    few = release_scene(shot, frames=FEW)
    assert few.time.size == FEW
    assert few.time[0] == 0.0
    assert few.time[-1] == trace.frame_time[-1]
    assert np.isin(few.time, trace.frame_time).all()
    assert (few.phases[0], few.phases[-1]) == ("full draw", "clear")
    told_phases = release_scene(shot).phases
    found = [one for k, one in enumerate(told_phases) if k == 0 or told_phases[k - 1] != one]
    assert found == ["full draw", "fingers let go", "bow drives the arrow", "arrow is off the string", "clear"]
    assert not set(found) & {one.texts[0] for one in release_scene(shot, frames=FEW).panels[-1].words[5:]}


def test_left_handed_is_the_mirror(shot: Launch, pair: BareDifference) -> None:
    for right, left in (
        (release_scene(shot, frames=FEW), release_scene(shot, frames=FEW, left_handed=True)),
        (flight_scene(pair, frames=FEW), flight_scene(pair, frames=FEW, left_handed=True)),
    ):
        for one, other in zip(right.panels[:-1], left.panels[:-1], strict=True):
            force = one.lines[1].name == "to come"  # a row over time is not mirrored
            for a, b in zip(one.lines, other.lines, strict=True):
                np.testing.assert_allclose(b.points, a.points if force else a.points * [-1.0, 1.0])
        name = "arrow" if right.unit == "ms" else "shaft, bare"
        tail, nose = left.line(name).at(0)[[0, -1]]
        assert nose[0] < tail[0]


def test_a_flight_is_drawn_as_it_was_flown(pair: BareDifference, flight_page: Path) -> None:
    scene = numbers(flight_page)
    time = np.array(scene["time"])
    assert time[-1] == pytest.approx(max(pair.bare.time_of_flight, pair.fletched.time_of_flight), abs=1e-5)
    path = drop_path(pair.fletched)
    still = quiet_path(pair.fletched, turned=True)
    np.testing.assert_array_equal(path.height(pair.fletched.x), still.height(pair.fletched.x))
    for flight, name in ((pair.fletched, "fletched"), (pair.bare, "bare")):
        drawn = points(scene, f"shaft, {name}")
        t = np.minimum(time, flight.time_of_flight)
        tail, nose = (np.interp(t, flight.time, row) for row in (flight.tail_y, flight.nose_y))
        height = np.stack((tail, nose), axis=1) - np.interp(drawn[..., 0], path.x, path.y)
        np.testing.assert_allclose(drawn[..., 1], height, atol=2e-4)
        assert drawn[-1, 1, 0] == pytest.approx(flight.distance, abs=2e-4)
        close = points(scene, f"close, {name}", 1 if flight.fletched else 2)
        angle = np.degrees(np.arctan2(*(close[:, 1] - close[:, 0]).T[::-1]))
        np.testing.assert_allclose(angle, np.interp(t, flight.time, flight.angle_of_attack), atol=0.03)
    apart = points(scene, "shaft, bare")[-1, 1, 1] - points(scene, "shaft, fletched")[-1, 1, 1]
    assert apart == pytest.approx(pair.height, abs=3e-4)


def test_an_arrow_that_keeps_to_its_path_lies_on_the_line(shot: Launch) -> None:
    flight = archerysim.fly(shot, distance="30 m", perfect=True, lift=False)
    height = drop_path(flight).above(ends_of(flight, np.linspace(0.0, flight.time_of_flight, 20)))[..., 1]
    drop = np.ptp(flight.y)
    assert drop > 0.3
    assert np.abs(height).max() < 2e-3
    assert abs(height[-1, 1]) < 3e-4


def test_a_flight_that_ends_on_the_ground(shot: Launch) -> None:
    short = archerysim.fly(shot, distance="60 m", elevation="0 deg", ground="-1.5 m")
    assert not short.reached
    path, led = drop_path(short), quiet_path(short, turned=True)  # as it left, and as led to the target's centre
    np.testing.assert_array_equal(path.height(short.x), quiet_path(short, turned=False).height(short.x))
    assert led.height(short.x[-1]) - path.height(short.x[-1]) > 0.5
    scene = flight_scene(short, frames=FEW)
    assert scene.phases[-1] == "on the ground"
    assert np.isfinite(scene.line("shaft, fletched").points).all()


def said(scene: Scene, frame: int = -1) -> list[str]:
    """All words of an instant."""
    return [one.text(frame % scene.time.size) for panel in scene.panels for one in panel.words]


def test_both_films_carry_bow_and_reading(shot: Launch, flat_shot: Launch, pair: BareDifference) -> None:
    reading = "reading 8.0 mm (5/16 in) by the underside"
    release, flight = said(release_scene(shot, frames=FEW)), said(flight_scene(pair, frames=FEW))
    assert reading in release
    assert f"{shot.setup.name}: the release" in release
    assert "locators" in release
    assert {"dot: axis at the rest", "dot: axis at the side support"} <= set(release)
    assert "dot: where the shaft's axis lies when it just touches the rest" in said(
        release_scene(flat_shot, frames=FEW)
    )
    assert reading in flight
    assert f"{shot.setup.name}: 18 m" in flight
    assert {"distance of the point", "time"} <= set(flight)


def test_the_angle_is_told_in_words(pair: BareDifference) -> None:
    scene = flight_scene(pair, frames=FEW)
    for panel, name in zip(scene.panels[1:3], ("fletched", "bare"), strict=True):
        (shaft,) = [one for one in panel.lines if one.name == f"close, {name}"]
        for frame in range(FEW):
            (told,) = [one.text(frame) for one in panel.words if "deg" in one.text(frame)]
            tail, nose = shaft.at(frame)[:, 1]
            angle = float(told.split()[-4 if "straight" not in told else -3])
            assert told.endswith("straight" if angle == 0.0 else "tail low" if tail < nose else "tail high")


def test_the_rest_touched_again_is_told_in_one_sentence(flat_shot: Launch) -> None:
    assert len(flat_shot.events) == 3
    assert flat_shot.warnings == (NONE,)
    (note,) = release_scene(flat_shot, frames=FEW).notes
    at = 1e3 * flat_shot.second_strike_at
    assert note.startswith(f"In this computation the shaft touches the rest again at {at:.0f} ms; how a real shaft")
    never = dataclasses.replace(flat_shot, second_strike_at=float("nan"))
    assert "would touch the rest again" in release_scene(never, frames=FEW).notes[0]
    quiet = dataclasses.replace(flat_shot, events=())
    assert release_scene(quiet, frames=FEW).notes == ()


def test_words_of_flights(pair: BareDifference) -> None:
    scene = flight_scene(pair, frames=FEW)
    assert scene.notes == (CAUTION,)
    way = "lower" if pair.height < 0.0 else "higher"
    assert scene.phases[-1] == f"bare lands {abs(1e3 * pair.height):.0f} mm {way} than fletched"
    alone = flight_scene(pair.fletched, frames=FEW)
    assert alone.notes == ()
    assert alone.phases[-1] == "in the target"
    two = flight_scene([pair.fletched, pair.fletched], frames=FEW)
    assert [one.name for one in two.panels[-1].lines] == ["key, fletched 1", "key, fletched 2"]
    assert two.panels[-1].lines[0].dash != two.panels[-1].lines[1].dash


@pytest.mark.parametrize(("reading", "told"), [(0.0, "reading 0.0 mm (0 in) by the underside"), (float("nan"), "")])
def test_a_reading_of_zero_is_told_and_one_that_is_not_known_is_not(
    pair: BareDifference, reading: float, told: str
) -> None:
    scene = flight_scene(dataclasses.replace(pair.fletched, reading=reading), frames=FEW)
    assert told in said(scene)
    assert sum("reading" in words for words in said(scene)) == bool(told)
