"""The picture of a tune: what was looked at, the window, the best value and today's."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim import show
from archerysim.study.tune import Tuned, tune
from tests.shot.examples import built


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
    assert f"best: {found().value:.3g} mm" in texts
