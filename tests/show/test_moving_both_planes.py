"""Moving pictures of a shot in both planes: from above and from behind is what was computed."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import filled
from archerysim.show.motion.moving_shot import moving_shot
from archerysim.show.motion.release import release_scene
from archerysim.show.motion.scene import PAGE, Panel, Scene
from archerysim.show.shots.passing import how_known
from tests.support.show.pages_read_back import FEW
from tests.support.show.shots_in_both_planes import KINDS, sideways_shot

BEHIND, SIDE, ABOVE = 2, 3, 4  # panels


def line(panel: Panel, name: str, which: int = 0) -> np.ndarray:
    return [one for one in panel.lines if one.name == name][which].points


def said(panel: Panel) -> list[str]:
    return [one.text(0) for one in panel.words]


def scene_of(kind: str) -> Scene:
    return release_scene(sideways_shot(kind))


def test_from_above_the_nock_goes_where_the_trace_has_it() -> None:
    launch = sideways_shot("as it is")
    trace, scene = launch.traced(), scene_of("as it is")
    arrow = line(scene.panels[ABOVE], "arrow from above")
    lean = np.tan(np.radians(launch.passage.side_aim_angle))
    along = 1e3 * np.interp(scene.time, trace.time, trace.nock_x - trace.nock_x[0])
    out = 1e3 * np.interp(scene.time, trace.time, trace.nock_z - trace.nock_z[0]) - lean * along
    np.testing.assert_allclose(arrow[:, 0, 1], out, atol=0.02)
    np.testing.assert_array_equal(arrow[:, 0, 0], 0.0)
    assert np.abs(arrow[0, :, 1]).max() < 1e-6
    angle = np.degrees(np.arctan2(arrow[-1, -1, 1] - arrow[-1, 0, 1], arrow[-1, -1, 0]))
    assert angle == pytest.approx(launch.clear.yaw, abs=0.15)  # it bends


@pytest.mark.parametrize("kind", KINDS)
def test_both_views_are_enlarged_alike_and_hold_the_arrow(kind: str) -> None:
    scene = scene_of(kind)
    enlarged = []
    for which, name in ((SIDE, "arrow"), (ABOVE, "arrow from above")):
        panel = scene.panels[which]
        left, right, low, high = panel.window
        enlarged.append((panel.box[3] / (high - low)) / (panel.box[2] / abs(right - left)))
        drawn = line(panel, name)
        assert min(left, right) < drawn[..., 0].min() < drawn[..., 0].max() < max(left, right)
        assert low < drawn[..., 1].min() < drawn[..., 1].max() < high
        assert any(one.endswith(f"x{round(enlarged[0])}") for one in said(panel))
    assert enlarged[0] == pytest.approx(enlarged[1])
    for panel in scene.panels:
        left, top, wide, high = panel.box
        assert left >= 0.0
        assert left + wide <= PAGE[0]
        assert top + high <= PAGE[1]


@pytest.mark.parametrize("kind", ["as it is", "on a shelf"])
def test_from_behind_shaft_and_vanes_pass_as_computed(kind: str) -> None:
    launch = sideways_shot(kind)
    trace, scene = launch.traced(), scene_of(kind)
    panel, full = scene.panels[BEHIND], filled(launch.setup)
    there = scene.time < launch.passage.tail_past_at
    centre = line(panel, "shaft")[:, :-1].mean(axis=1)
    expected = np.column_stack(
        [np.interp(scene.time, trace.time, row) for row in (-trace.shaft_over_rest_z, trace.shaft_over_rest_y)]
    )
    np.testing.assert_allclose(centre[there], 1e3 * expected[there], atol=1e-6)
    shaft = next(one for one in panel.lines if one.name == "shaft")
    np.testing.assert_array_equal(np.asarray(shaft.show) > 0.0, np.isfinite(expected[:, 0]))
    vanes = [one for one in panel.lines if one.name == "vane"]
    assert len(vanes) == round(full.arrow.fletching_number)
    shown = np.array([vanes[0].strength(k) > 0.0 for k in range(scene.time.size)])
    assert 0 < shown.sum() < 0.3 * shown.size
    tips = vanes[0].points[shown][:, 1] - vanes[0].points[shown][:, 0]
    np.testing.assert_allclose(np.hypot(*tips.T), 1e3 * full.arrow.fletching_height)
    left, right, low, high = panel.window
    assert panel.box[3] / (high - low) == pytest.approx(panel.box[2] / (right - left))
    drawn = np.concatenate([shaft.points[there].reshape(-1, 2), *(one.points[shown].reshape(-1, 2) for one in vanes)])
    assert low < drawn[:, 1].min() < drawn[:, 1].max() < high


def test_supports_give_where_they_are_pressed() -> None:
    launch = sideways_shot("as it is")
    trace, scene = launch.traced(), scene_of("as it is")
    panel, radius = scene.panels[BEHIND], 0.5e3 * filled(launch.setup).number("arrow.diameter")
    face = -line(panel, "side support")[:, 0, 0]
    gap = 1e3 * np.interp(scene.time, trace.time, trace.shaft_by_side_z) - radius - face
    touching = np.interp(scene.time, trace.time, trace.side_support) > 0.1
    assert touching.sum() > 10
    assert np.abs(gap[touching]).max() < 1e-6
    assert np.nanmin(gap) > -1e-6


def test_forces_have_a_row_each() -> None:
    launch, scene = sideways_shot("as it is"), scene_of("as it is")
    rows = [one for one in scene.panels if any(part.name == "to come" for part in one.lines)]
    assert [one.lines[0].name for one in rows] == [
        "fingers hold", "string pushes", "rest pushes", "side support pushes",
    ]  # fmt: skip
    trace = launch.traced()
    most = trace.side_support.max()
    assert rows[-1].lines[0].points[:, 1].max() == pytest.approx(most, rel=0.02)
    (numbers,) = [one.texts for one in rows[-1].words if any(f"of {most:.2f}" in text for text in one.texts)]
    assert len(numbers) == scene.time.size


def test_the_rest_carries_while_the_shaft_is_over_it() -> None:
    launch = sideways_shot("as it is")
    m = moving_shot(launch)
    assert m.supports[m.time < launch.rest_left_at - 1e-4].all()
    off = (m.time > launch.passage.arm_left_at + 2e-4) & (m.time < launch.separation.time)
    assert off.sum() > 10
    assert not m.supports[off].any()


def test_left_and_right_follow_the_archer() -> None:
    right, left = (release_scene(sideways_shot(kind), frames=FEW) for kind in ("as it is", "left-handed"))
    asked = release_scene(sideways_shot("as it is"), frames=FEW, left_handed=True)
    assert "← left (away from the window)" in said(right.panels[BEHIND])
    assert any(one.startswith("from above (left is up)") for one in said(right.panels[ABOVE]))
    for scene in (left, asked):
        assert "right → (away from the window)" in said(scene.panels[BEHIND])
        assert any(one.startswith("from above (right is up)") for one in said(scene.panels[ABOVE]))
        nose = line(scene.panels[ABOVE], "arrow from above")[0]
        assert nose[-1, 0] < nose[0, 0]
    mine, other = (line(scene.panels[BEHIND], "shaft") for scene in (right, asked))
    np.testing.assert_allclose(other, mine * [-1.0, 1.0])


def test_what_touched_is_told_and_how_well_left_and_right_are_known() -> None:
    launch = sideways_shot("strikes and touches")
    *_, roll, told = release_scene(launch, frames=FEW).notes
    assert roll == how_known(launch)
    struck, tail = 1e3 * launch.passage.arm_strike_at, 1e3 * launch.passage.tail_touch_at
    assert f"strikes the rest's arm from the side at {struck:.0f} ms" in told
    assert f"touches the side support with its tail at {tail:.0f} ms" in told
