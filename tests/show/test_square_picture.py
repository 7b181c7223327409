"""The square on the string."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

import archerysim
from archerysim.equipment import Setup, filled
from archerysim.equipment.arrow import balance_point, total_mass
from archerysim.shot.launch import Launch
from archerysim.show import square
from archerysim.show.shots.square import seen
from tests.support.show.legible_pictures import assert_legible, line, lines


def test_what_the_square_shows(launch: Launch) -> None:
    shown = seen(launch)
    assert shown.underside == pytest.approx(launch.reading)
    assert shown.top == pytest.approx(launch.reading_top)
    assert shown.axis_above == pytest.approx(launch.axis_above_square)
    assert shown.rest == pytest.approx(launch.brace_height, abs=1.5)
    # the shaft starts at the throat and lies on the rest, which droops under it
    assert shown.arrow[0] == pytest.approx([0.0, shown.axis])
    at_rest = np.interp(shown.rest, shown.arrow[:, 0], shown.arrow[:, 1])
    full = filled(launch.setup)
    weight = 9.81 * total_mass(full.arrow)
    press = weight * balance_point(full.arrow) / (1e-3 * shown.rest)
    droop = 1e3 * press / full.number("rest.stiffness")
    assert at_rest - 0.5 * shown.diameter == pytest.approx(-droop, abs=0.1)


def test_levels_ruler_and_words(launch: Launch) -> None:
    ax = square(launch)
    assert ax.get_aspect() == 1.0
    assert line(ax, "underside level").get_ydata() == pytest.approx([launch.reading] * 2)
    assert line(ax, "top level").get_ydata() == pytest.approx([launch.reading_top] * 2)
    low, high = sorted(one.get_ydata()[0] for one in lines(ax, "axis level"))
    assert high - low == pytest.approx(launch.axis_above_square)
    millimetres = [one.get_ydata()[0] for one in lines(ax, "millimetre")]
    np.testing.assert_allclose(np.diff(millimetres), 1.0)
    sixteenths = [one.get_ydata()[0] for one in lines(ax, "sixteenth")]
    np.testing.assert_allclose(np.diff(sixteenths), 25.4 / 16)
    assert 0.0 in millimetres
    assert 0.0 in sixteenths
    words = "\n".join(text.get_text() for text in ax.texts)
    assert "underside of the nock: 8.0 mm (5/16 in)" in words
    assert "top of the nock: 13.8 mm (9/16 in)" in words
    assert "axis above square: 8.2 mm (5/16 in)" in words
    assert_legible(ax.figure)


def test_the_rest_carries_the_shaft_and_nothing_is_struck_through(launch: Launch) -> None:
    for in_words in (True, False):
        ax = square(launch, words=in_words)
        (rest,) = [one for one in ax.patches if one.get_gid() == "rest"]
        shown = seen(launch)
        under = float(np.interp(shown.rest, *shown.arrow.T)) - 0.5 * shown.diameter
        assert rest.get_y() + rest.get_height() == pytest.approx(min(under, 0.0))  # its top under the shaft, not in it
        canvas = FigureCanvasAgg(ax.figure)
        canvas.draw()
        places = {text.get_text(): text.get_window_extent(canvas.get_renderer()) for text in ax.texts}
        nil = ax.transData.transform((0.0, 0.0))[1]
        (of_mm,) = [one for one in ax.texts if one.get_text() == "0" and one.get_ha() == "left"]
        assert of_mm.get_window_extent(canvas.get_renderer()).y0 > nil
        for letter in "abc":
            assert places[letter].width > 0.0
            for arrow in (one for one in ax.texts if getattr(one, "arrow_patch", None) is not None):
                x, y = arrow.arrow_patch.get_window_extent(canvas.get_renderer()).get_points().T
                apart = places[letter].x1 < x.min() or places[letter].x0 > x.max()
                apart = apart or places[letter].y1 < y.min() or places[letter].y0 > y.max()
                assert apart, letter


def test_a_measured_setup_is_braced_first(setup: Setup) -> None:
    shown = seen(setup)
    assert shown.underside == pytest.approx(8.0, abs=1e-6)
    assert shown.rest == pytest.approx(220.0, abs=1.5)


@pytest.mark.parametrize("reading", ["-12 mm", "25 mm"])
def test_far_readings_stay_inside(built: Setup, reading: str) -> None:
    ax = square(archerysim.draw(built.with_si(**{"nock.locators.reading": reading}), 5))
    low, high = ax.get_ylim()
    level = line(ax, "underside level").get_ydata()[0]
    assert low < level < high
    assert_legible(ax.figure)
