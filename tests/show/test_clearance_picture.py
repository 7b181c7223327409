"""Gaps over time, and the closest from behind."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from archerysim.equipment import filled
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from archerysim.show import clearance
from archerysim.show.shots.clearance import Closest, _at_once, closest
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_apart, assert_legible, line, lines
from tests.support.show.shots_in_both_planes import KINDS, sideways_shot


@cache
def picture(kind: str) -> Figure:
    """The picture of one of the shots that the tests share; they look at it and change nothing."""
    return clearance(sideways_shot(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_lines_are_the_gaps(kind: str) -> None:
    launch = sideways_shot(kind)
    trace, figure = launch.traced(), picture(kind)
    for ax, part in zip(figure.axes, ("arm", "side"), strict=False):
        for gid, values in ((f"{part}_gap", trace.__dict__[f"{part}_gap"]), (f"vane_{part}_gap", None)):
            expected = trace.__dict__[gid] if values is None else values
            np.testing.assert_allclose(line(ax, gid).get_ydata(), 1e3 * expected)
        assert "[mm]" in ax.get_ylabel()
    assert ("shelf" in figure.axes[0].get_ylabel()) == (kind == "on a shelf")
    assert_legible(figure)
    assert_apart(figure)


def test_the_closest_are_those_of_the_passage() -> None:
    launch = sideways_shot("as it is")
    for part, gap in (("arm", launch.passage.vane_arm_gap), ("side", launch.passage.vane_side_gap)):
        found = closest(launch, part)
        assert found is not None
        assert found.what == "vanes"
        assert 1e3 * found.gap == pytest.approx(gap)
        name = "rest's arm" if part == "arm" else "side support"
        told = f"{name}: {found.words}"
        assert any(told in ax.get_title(loc="left").split("\n") for ax in picture("as it is").axes[2:])


def test_two_instants_that_are_nearly_one_have_one_view() -> None:
    """Of the vanes both are closest within a millisecond; else each part has its own view."""
    launch = sideways_shot("as it is")
    arm, side = closest(launch, "arm"), closest(launch, "side")
    assert arm is not None
    assert side is not None
    assert abs(arm.time - side.time) < 1e-3
    (view,) = picture("as it is").axes[2:]
    assert f"{1e3 * side.time:.1f} ms" in view.get_title(loc="left")
    for name, other in (("later", replace(side, time=side.time + 2e-3)), ("of the shaft", replace(side, what="shaft"))):
        assert not _at_once(arm, other), name
    assert not _at_once(arm, None)


def test_how_deep_the_arm_is_struck_is_told_as_it_is_drawn() -> None:
    launch = shoot(built("club-outdoor").replace({"nock.locators.reading": "6 mm"}), trace=True)
    trace, figure = launch.traced(), clearance(launch)
    deepest = -1e3 * float(np.nanmin(np.where(trace.time > launch.rest_left_at, trace.arm_gap, np.nan)))
    told = " ".join(" ".join(text.get_text() for text in figure.texts).split())
    assert deepest == pytest.approx(-launch.passage.arm_gap, abs=1e-9)
    assert f"and {deepest:.1f} mm with its flank at the arm's end; more than 1 mm is warned of." in told
    assert "comes back onto the arm" not in " ".join(one.get_text() for one in picture("as it is").texts)


def test_in_words() -> None:
    assert Closest("vanes", 0.02, 1.42e-3).words == "nearest vane 1.4 mm away"
    assert Closest("vanes", 0.02, -3.0e-3).words == "a vane 3.0 mm in the way"
    assert Closest("shaft", 0.02, 0.5e-3).words == "shaft 0.5 mm away"
    assert Closest("shaft", 0.02, -0.5e-3).words == "shaft touches, 0.5 mm deep"


def test_from_behind_gaps_can_be_measured() -> None:
    """Between circle and face as far as the trace says; left is left for a right-handed archer."""
    for kind, left in (("as it is", True), ("left-handed", False)):
        launch = sideways_shot(kind)
        ax = picture(kind).axes[-1]
        full, trace = filled(launch.setup), launch.traced()
        (shaft,) = [one for one in ax.patches if isinstance(one, Circle)]
        face = line(ax, "side support").get_xdata()[0]
        found = closest(launch, "side")
        assert found is not None
        gap = float(np.interp(found.time, trace.time, trace.side_gap))
        assert shaft.center[0] - shaft.radius - face == pytest.approx(1e3 * gap, abs=1e-6)
        assert shaft.radius == pytest.approx(0.5e3 * full.arrow.diameter)
        vanes = lines(ax, "vane")
        assert len(vanes) == 3
        for vane in vanes:
            tip = np.hypot(vane.get_xdata()[-1] - shaft.center[0], vane.get_ydata()[-1] - shaft.center[1])
            assert tip == pytest.approx(shaft.radius + 1e3 * full.arrow.fletching_height)
        arm = line(ax, "arm").get_xdata()
        assert arm[1] - arm[0] == pytest.approx(1e3 * full.rest.reach)
        low, high = ax.get_xlim()
        assert (low > high) == left
        assert ax.get_xlabel() == f"{'left' if left else 'right'} (away from the window) [mm]"
        assert ax.get_aspect() == 1.0


def test_a_flat_shot_has_none(flat: Launch) -> None:
    with pytest.raises(ValueError, match="shot in one plane"):
        clearance(flat)
