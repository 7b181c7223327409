"""Gaps over the reading and over the preload, drawn from numbers made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Setup
from archerysim.show import gaps
from archerysim.study.bare_shaft.gaps import GapCurve, Gaps
from tests.show.test_flight_pictures import words
from tests.support.show.legible_pictures import assert_apart, assert_legible, line, lines

READINGS, PRELOADS = np.array([6.0, 8.0, 10.0]), np.array([0.0, 1.0, 2.0, 3.0])


def curve(values: Any, half: float) -> GapCurve:
    value = np.array(values)
    return GapCurve(value, value - half, value + half)


@pytest.fixture
def made(setup: Setup) -> Any:
    def make(**fields: Any) -> Gaps:
        given: dict[str, Any] = {
            "setup": setup, "distance": 18.0, "taped": True, "readings": READINGS, "preloads": PRELOADS, "today": 8.0,
            "preload_today": 2.0, "height": curve([0.04, 0.0, -0.04], 0.06), "wanted": 0.003,
            "side_by_reading": curve([0.002, 0.0, -0.004], 0.001),
            "height_by_preload": curve([0.006, 0.003, 0.0, -0.002], 0.004),
            "side_by_preload": curve([-0.03, -0.01, 0.0, 0.02], 0.02),
            "touching": (np.zeros(3, dtype=bool), np.zeros(4, dtype=bool)), "draws": 32, "failed": 0, "struck": 0,
            "warnings": (), "limits_passed": (), **fields,
        }  # fmt: skip
        return Gaps(**given)

    return make


def test_curves_and_bands_are_the_numbers_given(made: Any) -> None:
    result = made()
    figure = gaps(result)
    pairs = (
        (READINGS, result.height), (PRELOADS, result.height_by_preload), (READINGS, result.side_by_reading),
        (PRELOADS, result.side_by_preload),
    )  # fmt: skip
    for ax, (x, one) in zip(figure.axes, pairs, strict=True):
        np.testing.assert_allclose(line(ax, "gap").get_xdata(), x)
        np.testing.assert_allclose(line(ax, "gap").get_ydata(), 1e3 * one.value)
        (band,) = ax.collections
        corners = band.get_paths()[0].vertices
        for at, low, high in zip(x, one.low, one.high, strict=True):
            here = corners[np.isclose(corners[:, 0], at), 1]
            assert (here.min(), here.max()) == (pytest.approx(1e3 * low), pytest.approx(1e3 * high))
    assert [line(ax, "today").get_xdata()[0] for ax in figure.axes] == [8.0, 2.0, 8.0, 2.0]
    assert line(figure.axes[0], "wanted").get_ydata()[0] == pytest.approx(3.0)
    assert_legible(figure)
    assert_apart(figure)


def test_panels_of_one_kind_have_one_scale(made: Any) -> None:
    """So that what hardly matters does not look large."""
    up, up_too, aside, aside_too = (np.ptp(ax.get_ylim()) for ax in gaps(made()).axes)
    assert up == pytest.approx(up_too)
    assert aside == pytest.approx(aside_too)


def test_left_and_right_are_told_as_changes_and_by_the_archer_s_hand(made: Any) -> None:
    figure = gaps(made())
    assert [ax.get_ylabel() for ax in figure.axes[2:]] == ["further left [mm]"] * 2
    assert "given only as changes from today's" in words(figure)
    left = made(setup=made().setup.replace(**{"archer.handed": "left"}))
    assert [ax.get_ylabel() for ax in gaps(left).axes[2:]] == ["further right [mm]"] * 2


def test_where_something_touches_there_is_a_mark_and_no_left_or_right(made: Any) -> None:
    side = GapCurve(*(np.array([np.nan, *one]) for one in ([0.0, -0.004], [0.0, -0.005], [0.0, -0.003])))
    struck = (np.array([True, False, False]), np.zeros(4, dtype=bool))
    figure = gaps(made(side_by_reading=side, touching=struck, struck=5))
    (high,), (ground,) = lines(figure.axes[0], "touching"), lines(figure.axes[2], "touching")
    assert high.get_data() == (pytest.approx([6.0]), pytest.approx([40.0]))
    assert ground.get_data() == (pytest.approx([6.0]), pytest.approx([0.0]))
    assert "5 of 32 drawn bows touch today" in words(figure)
    assert "something touches" in [text.get_text() for text in figure.legends[0].get_texts()]
    assert not lines(figure.axes[1], "touching")
    assert "touches" not in words(gaps(made()))
    assert_legible(figure)
    assert_apart(figure)


def test_without_a_spring_the_preload_has_no_panels(made: Any) -> None:
    none = curve([], 0.0)
    plate = made(
        preloads=np.array([]), height_by_preload=none, side_by_preload=none,
        touching=(np.zeros(3, dtype=bool), np.zeros(0, dtype=bool)),
    )  # fmt: skip
    figure = gaps(plate)
    assert len(figure.axes) == 2
    assert "no spring" in words(figure)
    assert_legible(figure)
    assert_apart(figure)
