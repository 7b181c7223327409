"""The bow to scale: what is drawn is what was computed."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import Setup, filled
from archerysim.shot.arrays.wraps import string_line
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import DrawCurve
from archerysim.show import bow
from archerysim.show.shots.bow import finger_points
from tests.support.show.legible_pictures import assert_legible, line


def test_states_and_parts(launch: Launch) -> None:
    ax = bow(launch)
    b, m = launch.braced, launch.braced.marks
    for state, x, y in (("brace", b.x, b.y), ("full draw", launch.drawn.x, launch.drawn.y)):
        for part, nodes in (
            ("upper limb", slice(m.root_u, m.tip_u + 1)),
            ("lower limb", slice(m.tip_l, m.root_l + 1)),
            ("arrow", slice(m.tail, None)),
        ):
            drawn = line(ax, f"{part}, {state}")
            np.testing.assert_allclose(drawn.get_xdata(), 1e3 * x[nodes])
            np.testing.assert_allclose(drawn.get_ydata(), 1e3 * y[nodes])
        along = string_line(b.chain, m, np.column_stack((x, y)))  # on the limbs too
        assert {tuple(one) for one in np.column_stack((x, y))[m.tip_u + 1 : m.tip_l]} <= {tuple(one) for one in along}
        drawn = line(ax, f"string, {state}")
        np.testing.assert_allclose(np.column_stack(drawn.get_data()), 1e3 * along)
    for side in ("upper", "lower"):
        pale, dark = line(ax, f"{side} limb, unstrung"), line(ax, f"{side} limb, full draw")
        assert pale.get_alpha() < dark.get_alpha()
        assert pale.get_color() == dark.get_color()


def test_scale_labels_rest_and_fingers(launch: Launch) -> None:
    ax = bow(launch)
    assert ax.get_aspect() == 1.0
    assert "[mm]" in ax.get_xlabel()
    assert "[mm]" in ax.get_ylabel()
    rest = filled(launch.setup).rest
    assert line(ax, "rest").get_xdata()[0] == pytest.approx(1e3 * rest.forward)
    assert line(ax, "rest").get_ydata()[0] == pytest.approx(1e3 * rest.height)
    assert line(ax, "fingers").get_xdata().size == 3
    assert_legible(ax.figure)


def test_fingers_lie_on_the_string_where_they_press(launch: Launch) -> None:
    nodes = np.column_stack((launch.drawn.x, launch.drawn.y))
    points = finger_points(launch.braced, nodes, launch.setup)
    fingers = launch.drawing.fingers
    width = fingers.weight.shape[1]
    touched = nodes[fingers.first : fingers.first + width]
    pressed = fingers.weight @ touched / fingers.weight.sum(axis=1)[:, None]
    np.testing.assert_allclose(points, pressed, atol=1e-6)


def test_a_draw_curve_shows_full_draw_too(drawn: DrawCurve) -> None:
    ax = bow(drawn)
    np.testing.assert_allclose(line(ax, "string, full draw").get_xdata().min(), 1e3 * drawn.drawn[-1].x.min())


def test_a_braced_bow_alone(launch: Launch, built: Setup) -> None:
    ax = bow(launch.braced)
    gids = {one.get_gid() for one in ax.lines}
    assert "string, brace" in gids
    assert "string, full draw" not in gids
    assert "rest" not in gids
    assert "rest" in {one.get_gid() for one in bow(launch.braced, setup=built).lines}


def test_given_axes_are_used(launch: Launch) -> None:
    from matplotlib.figure import Figure

    ax = Figure().add_subplot()
    assert bow(launch, ax=ax) is ax
