"""Sideways over time."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.shot.launch import Launch
from archerysim.show import sideways
from archerysim.show.shots.passing import how_known, sideways_events
from archerysim.show.style import LOOKS
from tests.support.show.legible_pictures import assert_apart, assert_legible, line
from tests.support.show.shots_in_both_planes import KINDS, sideways_shot


def test_lines_are_the_trace() -> None:
    launch = sideways_shot("as it is")
    trace = launch.traced()
    place, force, yaw, velocity = sideways(launch).axes
    for ax, gid, values in (
        (place, "string", 1e3 * trace.nock_z),
        (place, "arrow", 1e3 * trace.shaft_by_side_z),
        (force, "side", trace.side_support),
        (force, "string", trace.groove),
        (yaw, "arrow", trace.yaw),
        (velocity, "arrow", trace.sideways_velocity),
    ):
        np.testing.assert_allclose(line(ax, gid).get_ydata(), values)
        np.testing.assert_allclose(line(ax, gid).get_xdata(), 1e3 * trace.time)
    for ax, unit in ((place, "[mm]"), (force, "[N]"), (yaw, "[deg]"), (velocity, "[m/s]")):
        assert unit in ax.get_ylabel()
    assert "[ms]" in velocity.get_xlabel()


@pytest.mark.parametrize("kind", KINDS)
def test_events_moments_and_words(kind: str) -> None:
    launch = sideways_shot(kind)
    figure = sideways(launch)
    for one in sideways_events(launch):
        assert line(figure.axes[0], one.words).get_xdata()[0] == pytest.approx(1e3 * one.time)
    for name, moment in (("separation", launch.separation), ("clear", launch.clear)):
        assert line(figure.axes[3], name).get_color() == LOOKS[name].color
        assert line(figure.axes[2], f"yaw at {name}").get_ydata()[0] == moment.yaw
    side = "right" if kind == "left-handed" else "left"
    assert figure.axes[0].get_ylabel().replace("\n", " ") == f"{side} (away from the window) [mm]"
    assert figure.axes[2].get_ylabel() == f"yaw, nose {side} + [deg]"
    assert how_known(launch) in " ".join(" ".join(text.get_text() for text in figure.texts).split())
    assert_legible(figure)
    assert_apart(figure)


def test_a_flat_shot_has_none(flat: Launch) -> None:
    with pytest.raises(ValueError, match="shot in one plane"):
        sideways(flat)
