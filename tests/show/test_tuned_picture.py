"""The picture of a tune: what was looked at, the window, the best value and today's."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest

from archerysim import show
from archerysim.show.style import WANTED
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.tuned import Tuned
from tests.show.test_flight_pictures import words
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_legible


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


def lacking(**more: object) -> Tuned:
    """What is found where no value meets the aim."""
    options: dict = {"others": False, "mesh": "coarse", "within": ("15 mm", "20 mm")} | more
    plain = built("club-outdoor", "coarse").replace(**{"riser.rods.0.rigid": True, "limbs.hysteresis": 0.0})
    return tune(plain, "no angle of attack", **options)


def test_no_answer_is_drawn_as_none() -> None:
    result = lacking()
    ax = show.tuned(result, today=16.0)
    names = [artist.get_gid() for artist in ax.get_children()]
    assert "best" not in names
    assert named(ax, "nearest").get_xdata() == [15.0]
    assert named(ax, "nearest").get_ydata() == [result.measure]
    assert named(ax, "zero").get_ydata()[0] == 0.0
    assert named(ax, "way").get_text() == "← the answer lies lower"
    low, high = ax.get_ylim()
    assert low < 0.0 < high  # how far it is from zero can be seen
    assert ax.get_xlim() == pytest.approx((15.0, 20.0))  # all that was searched
    window = named(ax, "window").get_extents().transformed(ax.transData.inverted())
    assert (window.y0, window.y1) == pytest.approx((-result.size, result.size))
    assert ax.get_title(loc="left").endswith("no answer in this range for no angle of attack: it lies lower")
    assert_legible(ax.figure)


def test_no_side_is_named_where_there_is_none() -> None:
    ax = show.tuned(dataclasses.replace(lacking(), way=""))
    assert "way" not in [artist.get_gid() for artist in ax.get_children()]
    assert ax.get_title(loc="left").endswith(": neither end leads there")


def test_an_end_that_is_good_enough_is_said_to_be_so() -> None:
    ax = show.tuned(lacking(size="3 deg"))
    assert "only good enough in this range" in ax.get_title(loc="left")


def test_what_gave_no_shot_is_a_gap_and_a_cross() -> None:
    result = lacking(path="nock.floor", within=None)
    ax = show.tuned(result, 4.0)
    crosses = named(ax, "failed").get_xdata()
    left, right = ax.get_xlim()
    assert list(crosses) == [value for value, _ in result.failed if left <= value <= right]
    assert min(crosses) > 5.8  # the nock's height
    line = named(ax, "measure").get_xydata()
    assert np.isnan(line[line[:, 0] > 5.8, 1]).all()
    assert np.isfinite(line[line[:, 0] < 5.8, 1]).all()
    assert "no shot" in [one.get_text() for one in ax.get_legend().get_texts()]
    assert_legible(ax.figure)
