"""Measured data beside the model: picture and tables."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from archerysim.equipment import Setup
from archerysim.shot.warnings import NONE
from archerysim.show import own_data
from archerysim.show.measured.table import determined_table, residual_table
from archerysim.study.measured.data import DrawForce, OwnData, Speeds, Track
from archerysim.study.measured.fit_data import DataCompared, compare_data, fit_data
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_legible, line, lines

MM, INCH, POUND, GRAIN = 1e-3, 0.0254, 4.4482216152605, 64.79891e-6
SPEEDS = Speeds.with_si(tuple(gr * GRAIN for gr in (300, 420, 360)), (47.0, 41.0, 44.5))


@pytest.fixture(scope="module")
def setup() -> Setup:
    return built("club-outdoor", "coarse")


@pytest.fixture(scope="module")
def compared(setup: Setup) -> DataCompared:
    draw = DrawForce.with_si((14 * INCH, 20 * INCH, 26 * INCH), (9 * POUND, 20 * POUND, 30.5 * POUND))
    time = (0.0, 5e-3, 10e-3, 15e-3, 20e-3, 30e-3)
    heights = tuple(h * MM for h in (62.0, 63.0, 58.0, 52.0, 48.0, 40.0))
    return compare_data(setup, OwnData(draw, SPEEDS, Track.with_si(time, nock_y=heights)), mesh="coarse")


def test_a_panel_and_its_residuals_for_each_thing_measured(compared: DataCompared) -> None:
    figure = own_data(compared)
    assert isinstance(figure, Figure)
    tops, below = figure.axes[0::2], figure.axes[1::2]
    assert [ax.get_title(loc="left") for ax in tops] == ["draw force", "arrow speed", "nock y"]
    for ax, table, size in zip(tops, compared.tables, (POUND, 0.3048, MM), strict=True):
        (points,) = lines(ax, "measured")
        used = np.isfinite(table.computed)
        np.testing.assert_allclose(points.get_ydata(), table.measured[used] / size)
    for ax, table, size in zip(below, compared.tables, (POUND, 0.3048, MM), strict=True):
        np.testing.assert_allclose(line(ax, "residual").get_ydata(), table.difference / size)
        low, high = ax.get_ylim()
        assert low == -high
    assert lines(tops[2], "left out")[0].get_ydata() == pytest.approx([40.0])
    assert not lines(tops[0], "left out")
    speeds = line(tops[1], "computed")
    assert (np.diff(speeds.get_xdata()) > 0.0).all()
    assert_legible(figure)


def test_before_and_fitted(setup: Setup) -> None:
    found = fit_data(setup, OwnData(speeds=SPEEDS), ("limbs.mass",), mesh="coarse")
    figure = own_data(found)
    top, below = figure.axes
    before, after = line(top, "before").get_ydata(), line(top, "fitted").get_ydata()
    assert np.abs(before - after).max() > 0.1
    np.testing.assert_allclose(line(below, "residual before").get_ydata(), found.before.tables[0].difference / 0.3048)
    assert_legible(figure)
    text = determined_table(found)
    assert f"{found.estimates[0].value:.1f}" in text
    assert all(len(one) <= 120 for one in text.splitlines())


def test_a_long_table_prints_some_rows_and_warnings_last(compared: DataCompared) -> None:
    text = residual_table(compared, 2)
    assert "one row in 3 of 6" in text
    assert "Warnings" in text
    assert text.split("Warnings\n")[1] == f"  ! {NONE}"
    light = dataclasses.replace(compared.modelled, warnings=("Light arrow: 5.5 grains per pound.", NONE))
    told = residual_table(dataclasses.replace(compared, modelled=light), 2).split("Warnings\n")[1]
    assert told == "  ! Light arrow: 5.5 grains per pound. (at 1 of 2 draws and shots)"


def test_a_curve_and_a_marker_for_each_distance(setup: Setup) -> None:
    places = (50.0, 1.0, 50.0, 1.0)
    speeds = Speeds.with_si(tuple(gr * GRAIN for gr in (300, 300, 420, 420)), (45.5, 47.4, 40.0, 41.5), places)
    compared = compare_data(setup, OwnData(speeds=speeds), mesh="coarse")
    figure = own_data(compared)
    top, below = figure.axes
    (table,) = compared.tables
    curves = lines(top, "computed")
    for which, curve, points in zip(([1, 3], [0, 2]), curves, lines(top, "measured"), strict=True):
        np.testing.assert_allclose(curve.get_ydata(), table.computed[which] / 0.3048)
        np.testing.assert_allclose(points.get_ydata(), table.measured[which] / 0.3048)
    assert [one.get_text() for one in top.texts] == ["1 m", "50 m"]
    assert len({one.get_marker() for one in lines(top, "measured")}) == 2
    assert [one.get_marker() for one in lines(below, "residual")] == [
        one.get_marker() for one in lines(top, "measured")
    ]
    assert_legible(figure)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    for text in top.texts:
        assert text.get_window_extent().x1 < top.bbox.x1
