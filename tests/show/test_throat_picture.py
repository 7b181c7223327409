"""The throat seen close."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from matplotlib.patches import FancyArrowPatch

from archerysim.equipment import filled
from archerysim.shot.launch import Launch
from archerysim.show import throat
from archerysim.show.shots.throat import instants, string_in_nock
from tests.support.show.legible_pictures import assert_legible, line, lines


def arrows(ax: object) -> dict[str, FancyArrowPatch]:
    return {p.get_gid(): p for p in ax.patches if isinstance(p, FancyArrowPatch)}  # type: ignore[attr-defined]


def test_instants_in_order(launch: Launch) -> None:
    chosen = instants(launch)
    assert [one.words for one in chosen] == ["full draw", "greatest force", "separation", "string out"]
    times = [one.time for one in chosen]
    assert times == sorted(times)
    assert times[2] == launch.separation.time


def test_the_string_in_the_nock_agrees_with_the_trace(launch: Launch) -> None:
    trace = launch.trace
    assert trace is not None
    half = 0.5 * filled(launch.setup).number("nock.floor")
    for frame in (0, 40, 90):
        at = float(trace.frame_time[frame])
        place, points = string_in_nock(launch, at)
        upper, lower = (int(np.argmin(np.abs(place - 1e3 * p))) for p in (half, -half))
        for row, values in ((upper, trace.advance_upper), (lower, trace.advance_lower)):
            assert points[row, 0] == pytest.approx(1e3 * np.interp(at, trace.time, values), abs=2e-3)
        middle = 0.5 * (points[upper, 1] + points[lower, 1])
        assert middle == pytest.approx(1e3 * np.interp(at, trace.time, trace.locator_offset), abs=2e-3)


def test_arrows_are_as_long_as_the_forces(launch: Launch) -> None:
    trace = launch.trace
    assert trace is not None
    figure = throat(launch)
    panel = figure.axes[1]
    time = instants(launch)[1].time
    drawn = arrows(panel)
    sizes = {}
    for name, values in (("upper edge", trace.edge_upper), ("lower edge", trace.edge_lower)):
        begin, end = drawn[name]._posA_posB
        assert end[0] > begin[0]  # pushes the shaft forward
        sizes[name] = (np.hypot(end[0] - begin[0], end[1] - begin[1]), np.interp(time, trace.time, values))
    (a, fa), (b, fb) = sizes.values()
    assert a / fa == pytest.approx(b / fb)
    half = 0.5e3 * filled(launch.setup).number("nock.floor")
    assert drawn["upper edge"]._posA_posB[1][1] == pytest.approx(half)
    words = [text.get_text() for text in panel.texts]
    assert f"{fa:.1f} N" in words


def test_scale_bars_floor_and_locators(launch: Launch) -> None:
    figure = throat(launch)
    bar = line(figure.axes[0], "scale bar")
    assert np.ptp(bar.get_xdata()) == pytest.approx(5.0)
    assert "5 mm" in [text.get_text() for text in figure.axes[0].texts]
    for ax in figure.axes:
        assert np.ptp(line(ax, "floor").get_ydata()) == pytest.approx(4.0)
        assert len(lines(ax, "locator")) == 2
        assert ax.get_aspect() == 1.0
    assert_legible(figure)


def test_a_missing_locator_is_not_drawn(launch: Launch) -> None:
    alone = launch.setup.replace(**{"nock.locators.upper_present": False})
    figure = throat(dataclasses.replace(launch, setup=alone), at=["0 ms"])
    assert len(lines(figure.axes[0], "locator")) == 1


def test_chosen_instants(launch: Launch) -> None:
    figure = throat(launch, at=([1, 5, 10], "ms"))
    assert [ax.get_title(loc="left") for ax in figure.axes] == ["1.00 ms", "5.00 ms", "10.00 ms"]
    assert_legible(figure)


def test_bad_requests(launch: Launch) -> None:
    with pytest.raises(ValueError, match="outside the shot"):
        throat(launch, at=["9 s"])
    with pytest.raises(ValueError, match="no trace"):
        throat(dataclasses.replace(launch, trace=None))
