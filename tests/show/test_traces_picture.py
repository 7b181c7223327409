"""Forces, pitch and velocity over time."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from archerysim.shot.launch import Launch
from archerysim.show import traces
from archerysim.show.shots.traces import events
from archerysim.show.style import LOOKS
from tests.support.shot.example_bows import changed
from tests.support.show.legible_pictures import assert_legible, line


def test_lines_are_the_trace(launch: Launch) -> None:
    trace = launch.trace
    assert trace is not None
    nock, rest, pitch, velocity = traces(launch).axes
    for ax, gid, values in (
        (nock, "upper", trace.edge_upper),
        (nock, "lower", trace.edge_lower),
        (rest, "rest", trace.rest),
        (pitch, "arrow", trace.pitch),
        (velocity, "arrow", trace.vertical_velocity),
    ):
        np.testing.assert_array_equal(line(ax, gid).get_ydata(), values)
        np.testing.assert_allclose(line(ax, gid).get_xdata(), 1e3 * trace.time)
    for ax, unit in ((nock, "[N]"), (rest, "[N]"), (pitch, "[deg]"), (velocity, "[m/s]")):
        assert unit in ax.get_ylabel()
    assert "[ms]" in velocity.get_xlabel()


def test_separation_and_clear_are_marked_in_every_panel(launch: Launch) -> None:
    figure = traces(launch)
    for ax in figure.axes:
        for name, moment in (("separation", launch.separation), ("clear", launch.clear)):
            mark = line(ax, name)
            assert mark.get_xdata()[0] == pytest.approx(1e3 * moment.time)
            assert mark.get_color() == LOOKS[name].color
    dot = line(figure.axes[2], "pitch at clear")
    assert dot.get_ydata()[0] == launch.clear.pitch
    assert {"separation", "clear"} <= {text.get_text() for text in figure.axes[0].texts}
    assert_legible(figure)


def test_events_in_words_and_order(flat: Launch) -> None:
    quiet = dataclasses.replace(flat, rest_left_at=0.007, second_strike_at=math.nan, trace=None)
    assert [one.words for one in events(quiet)] == [
        "fingers off",
        "rest left",
        "rest's support ends",
        "separation",
        "clear",
    ]
    again = dataclasses.replace(flat, rest_left_at=0.012, second_strike_at=0.010)
    assert [one.words for one in events(again)][1:3] == ["second strike", "rest left again"]


def test_in_both_planes_the_shaft_leaves_the_rest_and_no_support_ends(launch: Launch) -> None:
    assert math.isfinite(launch.passage.arm_left_at)
    assert [one.words for one in events(launch)] == [
        "fingers off", "second strike", "rest left again", "separation", "clear",
    ]  # fmt: skip


def test_the_end_of_the_support_is_told_once_whether_the_shaft_lay_there_or_not(flat: Launch) -> None:
    ends = flat.timeline.support_ends
    for left in (math.nan, flat.rest_left_at):
        shot = dataclasses.replace(flat, rest_left_at=left)
        assert [one.time for one in events(shot) if one.words == "rest's support ends"] == [ends]
    untraced = dataclasses.replace(flat, trace=None)
    assert [one.time for one in events(untraced) if one.words == "rest's support ends"] == [ends]
    never = changed(flat.setup, planes=1, rest__unlimited_support=True)
    assert "rest's support ends" not in [one.words for one in events(never)]


def test_a_finger_that_holds_nothing_is_not_waited_for(launch: Launch) -> None:
    two = changed(launch.setup, archer__finger_shares=(0.5, 0.5, 0.0), archer__release_delays=("0 ms", "0 ms", "4 ms"))
    off = [one.time for one in events(two) if one.words == "fingers off"]
    assert off == [two.timeline.fingers.off] == [pytest.approx(0.005)]


def test_no_trace(launch: Launch) -> None:
    with pytest.raises(ValueError, match="trace=True"):
        traces(dataclasses.replace(launch, trace=None))
