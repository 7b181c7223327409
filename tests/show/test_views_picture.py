"""From above beside from the side."""

from __future__ import annotations

import dataclasses
import re
from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure

from archerysim.equipment import filled
from archerysim.shot.launch import Launch
from archerysim.shot.timeline import rest_force
from archerysim.show import views
from archerysim.show.shots.passing import sideways_events
from archerysim.show.shots.shape import Shape, nodes_at
from tests.support.show.legible_pictures import assert_apart, assert_legible, line
from tests.support.show.shots_in_both_planes import sideways_shot


@cache
def picture(kind: str) -> Figure:
    """The picture of one of the shots that the tests share; they look at it and change nothing."""
    return views(sideways_shot(kind))


def panels(figure: object) -> list[tuple[object, object]]:
    """From above and from the side, a pair an instant."""
    found = [ax for ax in figure.axes if any(one.get_gid() == "arrow" for one in ax.lines)]  # type: ignore[attr-defined]
    return list(zip(found[::2], found[1::2], strict=True))


def words(ax: object) -> list[str]:
    return [one.get_text() for one in ax.texts]  # type: ignore[attr-defined]


@pytest.mark.parametrize("kind", ["left-handed", "strikes and touches", "on a shelf"])  # what the others show too
def test_the_same_instants_in_order_in_both_views(kind: str) -> None:
    launch = sideways_shot(kind)
    figure = picture(kind)
    shown = panels(figure)
    events = sideways_events(launch)
    assert [one.time for one in events] == sorted(one.time for one in events)
    named = [above.texts[0].get_text() for above, _ in shown]  # type: ignore[attr-defined]
    assert named[0] == "full draw, 0.0 ms"
    assert named[1:] == [f"{one.words}, {1e3 * one.time:.1f} ms" for one in events]
    arrow = nodes_at(launch.traced(), events[1].time)[launch.braced.marks.tail :]
    for ax in shown[2]:
        np.testing.assert_allclose(np.ptp(line(ax, "arrow").get_xdata()), 1e3 * np.ptp(arrow[:, 0]), rtol=2e-3)
    assert_legible(figure)
    assert_apart(figure)


def test_what_happens_is_told_and_what_does_not_is_not() -> None:
    for kind, told, untold in (
        ("as it is", {"off the side support", "off the arm", "nock furthest sideways", "tail past"}, {"off the shelf"}),
        (
            "strikes and touches",
            {"arm struck from the side", "tail touches the side support"},
            {"off the side support"},
        ),
        ("no roll", {"tail touches the side support"}, {"off the arm"}),
        ("on a shelf", {"off the shelf"}, {"off the arm"}),
    ):
        found = {one.words for one in sideways_events(sideways_shot(kind))}
        assert told | {"fingers off", "separation"} <= found, kind
        assert not untold & found, kind


def test_enlarged_alike_as_it_says() -> None:
    figure = picture("as it is")
    figure.draw_without_rendering()
    said = figure._suptitle.get_text().replace("\n", " ")  # type: ignore[attr-defined]
    match = re.search(r"drawn (\d+) times too large", said)
    assert match
    times = int(match[1])
    for above, side in panels(figure):
        for ax in (above, side):
            box = ax.get_window_extent()  # type: ignore[attr-defined]
            along, across = np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim())  # type: ignore[attr-defined]
            assert (box.height / across) / (box.width / along) == pytest.approx(times, abs=0.6)


def test_from_above_the_shaft_lies_where_the_release_has_it() -> None:
    launch = sideways_shot("as it is")
    trace, tail = launch.traced(), launch.braced.marks.tail
    lean = np.tan(np.radians(launch.passage.side_aim_angle))
    for time in (0.0, launch.passage.nock_furthest_at):
        shape = Shape(launch, time)
        begin = Shape(launch, 0.0).arrow[0]
        expected = 1e3 * np.interp(time, trace.time, trace.nock_z) - lean * (shape.arrow[0, 0] - begin[0])
        assert shape.arrow[0, 2] == pytest.approx(expected, abs=0.01)
    assert np.abs(Shape(launch, 0.0).arrow[:, 2]).max() < 1e-6  # along its line at full draw
    full = filled(launch.setup)
    gap = shape_gap(launch, 0.5 * (launch.passage.side_left_at + launch.passage.tail_past_at))
    assert gap == pytest.approx(0.0, abs=0.02)
    assert trace.frame_z[0, tail] == pytest.approx(0.0, abs=1e-12)
    assert full.archer.handed == "right"


def shape_gap(launch: Launch, time: float) -> float:
    """How far the gap between shaft and side support, as drawn, is from that of the trace [mm]."""
    shape, trace = Shape(launch, time), launch.traced()
    at, face = shape.side
    drawn = float(np.interp(at, shape.arrow[:, 0], shape.arrow[:, 2])) - shape.radius - face
    return drawn - 1e3 * float(np.interp(time, trace.time, trace.side_gap))


def test_bars_are_the_forces_of_the_trace() -> None:
    launch = sideways_shot("as it is")
    trace, events = launch.traced(), sideways_events(launch)
    figure = picture("as it is")
    found: dict[str, list[float]] = {}
    for ax in figure.findobj(type(figure.axes[0])):
        for patch in ax.patches:
            if str(patch.get_gid()).startswith("bar of "):
                found.setdefault(patch.get_gid()[7:], []).append(patch.get_width())
    for name in ("edge_upper", "edge_lower", "rest", "side_support", "groove"):
        times = np.array([0.0, *(one.time for one in events)])
        values = np.interp(times, trace.time, getattr(trace, name)) if name != "rest" else rest_force(launch, times)
        values = np.abs(values) if name == "groove" else np.maximum(values, 0.0)
        np.testing.assert_allclose(sorted(found[name]), sorted(values), atol=0.51 if "edge" in name else 0.051)
    assert max(found["side_support"]) > 1.0


def test_left_and_right_are_told_as_the_archer_sees_them() -> None:
    right, left = (panels(picture(kind)) for kind in ("as it is", "left-handed"))
    assert "↑ left (away from the window)" in words(right[0][0])
    assert "↑ right (away from the window)" in words(left[0][0])
    for mine, other in zip(right[1:], left[1:], strict=True):
        assert np.diff(mine[0].get_xlim())[0] > 0.0 > np.diff(other[0].get_xlim())[0]  # type: ignore[attr-defined]
        (nose,) = [one for one in words(mine[0]) if one.startswith(("nose", "straight"))]
        turned = nose.replace("left", "LEFT").replace("right", "left").replace("LEFT", "right")
        assert turned in words(other[0])
        assert words(mine[1])[-1] == words(other[1])[-1]  # up stays up


def test_a_canted_bow_is_drawn_upright() -> None:
    """Its noses are told in its own axes, as they are drawn."""
    launch = sideways_shot("canted")
    trace, event = launch.traced(), sideways_events(launch)[2]
    cant = launch.drawing.setup.archer.cant
    pitch, yaw = (np.interp(event.time, trace.time, row) for row in (trace.pitch, trace.yaw))
    own = np.cos(cant) * yaw + np.sin(cant) * pitch
    (told,) = [one for one in words(panels(picture("canted"))[3][0]) if one.startswith("nose")]
    assert float(told.split()[2].rstrip("°")) == pytest.approx(abs(own), abs=0.0051)


def test_the_rest_is_pale_where_it_carries_nothing() -> None:
    launch = sideways_shot("as it is")
    assert Shape(launch, 0.0).supported
    assert not Shape(launch, launch.passage.arm_left_at + 1e-3).supported
    shelf = sideways_shot("on a shelf")
    assert Shape(shelf, shelf.passage.nock_furthest_at).supported


def test_a_flat_shot_knows_no_other_side(flat: Launch) -> None:
    with pytest.raises(ValueError, match="shot in one plane"):
        views(flat)
    with pytest.raises(ValueError, match="no trace"):
        views(dataclasses.replace(flat, trace=None))
