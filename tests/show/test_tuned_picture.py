"""The picture of a tune: what was looked at, the window, the best value and today's."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest

from archerysim import show
from archerysim.show.style import WANTED
from archerysim.study.tune import Tuned, tune
from tests.shot.examples import built
from tests.show.drawing import assert_legible
from tests.show.test_flight_pictures import words


@cache
def found() -> Tuned:
    return tune(built("club-outdoor", "coarse"), "no angle of attack", others=False, mesh="coarse")


def named(ax, gid: str):
    (one,) = [artist for artist in ax.get_children() if artist.get_gid() == gid]
    return one


def test_what_was_looked_at_holds_the_best_value() -> None:
    values, measures = found().looked.T
    assert (np.diff(values) > 0.0).all()
    assert len(values) <= found().shots
    assert np.interp(found().value, values, measures) == pytest.approx(0.0, abs=1e-3)


def test_line_window_and_today_stand_where_they_should() -> None:
    ax = show.tuned(found(), today=9.5)
    np.testing.assert_array_equal(named(ax, "measure").get_xydata(), found().looked)
    window = named(ax, "window").get_extents().transformed(ax.transData.inverted())
    assert (window.x0, window.x1) == pytest.approx(found().window)
    assert named(ax, "today").get_xdata() == [9.5]
    assert "[deg]" in ax.get_ylabel()
    texts = [text.get_text() for text in ax.get_legend().get_texts()]
    assert texts == ["good enough: within 0.1 deg at clear", f"best: {found().value:.1f} mm", "today: 9.5 mm"]
    assert ax.get_title(loc="left").endswith("best for no angle of attack")
    assert_legible(ax.figure)


def test_only_what_matters_is_shown() -> None:
    for today in (None, found().value, 2.0, 18.0):
        ax = show.tuned(found(), today)
        left, right = ax.get_xlim()
        matter = [*found().window, found().value, *([] if today is None else [today])]
        assert left <= min(matter) < max(matter) <= right
        assert 8.0 - 1e-9 <= right - left <= max(8.0, 1.5 * (max(matter) - min(matter))) + 1e-9
        low, high = ax.get_ylim()
        inside = (found().looked[:, 0] >= left) & (found().looked[:, 0] <= right)
        assert low < found().looked[inside, 1].min()
        assert found().looked[inside, 1].max() < high


def test_bare_shafts_have_their_distance_and_their_caution() -> None:
    other = dataclasses.replace(found(), aim="bare and fletched together", measure_unit="mm", size=5.5)
    ax = show.tuned(other, 8.0)
    assert ax.get_title(loc="left").endswith("best for bare and fletched together at 18 m")
    assert named(ax, "wanted").get_label() == WANTED
    assert "good enough: within 5.5 mm on the target" in [one.get_text() for one in ax.get_legend().get_texts()]
    assert "Bare shafts fly less steadily" in words(ax.figure)
