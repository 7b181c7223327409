"""A sweep, one quantity a panel."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from archerysim.shot.warnings import NONE
from archerysim.show import sweep
from archerysim.show.style import LOOKS
from tests.support.show.legible_pictures import assert_legible, line, lines
from tests.support.show.made_sweeps import made_sweep

BOLTED = "Bolts turned: follow the maker."
TOO_LONG = "Draw length {} in is over the maker's 28.00 in: do not draw it so far."
LOUD = {
    1: ("", f"{BOLTED}\n{NONE}"),
    3: ("limits.longest_draw", f"{TOO_LONG.format('29.00')}\n{BOLTED}"),
    4: ("limits.longest_draw", TOO_LONG.format("30.00")),
}

READINGS = np.array([4.0, 6.0, 8.0, 10.0, 12.0])


def legend_words(figure: object) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]  # type: ignore[attr-defined]


def test_both_moments_in_every_panel() -> None:
    figure = sweep(made_sweep())
    assert len(figure.axes) == 4
    for ax, factor, unit in zip(figure.axes, (2.0, 1.0, 1.0, 1.0), ("deg", "rad/s", "m/s", "deg"), strict=True):
        for moment, more in (("separation", 0.3), ("clear", 0.0)):
            drawn = line(ax, moment)
            np.testing.assert_allclose(drawn.get_xdata(), READINGS)
            np.testing.assert_allclose(drawn.get_ydata(), factor * ((8.5 - READINGS) / 10.0 + more))
            assert drawn.get_color() == LOOKS[moment].color
        assert ax.get_ylabel() == f"[{unit}]"
        assert set(line(ax, "zero").get_ydata()) == {0.0}
    assert figure.axes[0].get_title(loc="left") == "pitch to the aim line, nose up +"
    assert figure.axes[3].get_xlabel() == "reading by the underside [mm]"
    assert legend_words(figure) == ["at separation", "at clear"]
    assert_legible(figure)


def test_values_are_drawn_in_rising_order() -> None:
    figure = sweep(made_sweep(readings=(8.0, 4.0, 12.0)))
    np.testing.assert_allclose(line(figure.axes[3], "clear").get_xdata(), [4.0, 8.0, 12.0])
    np.testing.assert_allclose(line(figure.axes[3], "clear").get_ydata(), [0.45, 0.05, -0.35])


def test_today_and_square_are_marked() -> None:
    figure = sweep(made_sweep(today=8.0, square=4.5))
    for ax in figure.axes:
        assert line(ax, "today").get_xdata()[0] == 8.0
        assert line(ax, "square").get_xdata()[0] == 4.5
        assert line(ax, "today").get_ydata()[0] == 0.0  # on the axis itself
    assert legend_words(figure)[2:] == ["today", "axis stands square"]


def test_a_square_outside_is_told_and_leaves_the_scale() -> None:
    figure = sweep(made_sweep(today=8.0, square=-1.25))
    assert lines(figure.axes[0], "square") == []
    assert figure.axes[0].get_xlim()[0] > 3.0
    assert "axis stands square at -1.2 mm" in figure.get_suptitle()


def test_failed_points_leave_a_gap_and_a_cross() -> None:
    figure = sweep(made_sweep(failed=(2,)))
    for ax in figure.axes:
        assert np.isnan(line(ax, "clear").get_ydata()[2])
        np.testing.assert_array_equal(line(ax, "failed").get_xdata(), [8.0])
    assert "no result" in legend_words(figure)
    assert_legible(figure)


def test_events_at_some_points_are_hollow() -> None:
    figure = sweep(made_sweep(events={0: "shaft touched the rest again", 1: "shaft touched the rest again"}))
    for mark in lines(figure.axes[0], "event: shaft touched the rest again"):
        np.testing.assert_array_equal(mark.get_xdata(), [4.0, 6.0])
        assert mark.get_markerfacecolor() == "none"
    assert len(lines(figure.axes[0], "event: shaft touched the rest again")) == 2
    assert legend_words(figure)[-1] == "shaft touched the rest again"
    assert_legible(figure)


def test_an_event_at_every_good_point_is_told_once() -> None:
    data = made_sweep(failed=(4,), events=dict.fromkeys(range(4), "second strike suppressed"))
    figure = sweep(data)
    assert "at every point: second strike suppressed" in figure.get_suptitle()
    assert not any((one.get_gid() or "").startswith("event") for one in figure.axes[0].lines)


def test_events_that_come_together_share_a_marker() -> None:
    figure = sweep(made_sweep(events={0: "one; two"}))
    assert len(lines(figure.axes[0], "event: one; two")) == 2


def test_the_launches_warnings_stand_at_the_foot_limits_first() -> None:
    figure = sweep(made_sweep(warnings=LOUD, today=8.0))
    (foot,) = [text for text in figure.texts if text.get_text().startswith("! ")]
    assert " ".join(foot.get_text().split()).split(" ! ") == [
        "! Draw length 29.00 to 30.00 in is over the maker's 28.00 in: do not draw it so far. (at 2 of 5 points)",
        "Bolts turned: follow the maker. (at 2 of 5 points)",
    ]
    assert_legible(figure)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    lowest = figure.legends[0].get_window_extent(canvas.get_renderer())
    assert foot.get_window_extent(canvas.get_renderer()).y1 < lowest.y0
    for ax in figure.axes:
        assert lowest.y1 < ax.get_tightbbox(canvas.get_renderer()).y0  # type: ignore[union-attr]


def test_many_long_warnings_make_the_picture_higher_and_are_all_read() -> None:
    long = "\n".join(f"Sentence {letter} of a limit that is passed, {'and so on ' * 14}." for letter in "abcdef")
    figure = sweep(made_sweep(warnings={0: ("", long)}))
    (foot,) = [text for text in figure.texts if text.get_text().startswith("! ")]
    assert foot.get_text().count("! Sentence") == 6
    assert figure.get_figheight() > sweep(made_sweep(warnings={})).get_figheight() + 1.5
    assert_legible(figure)


def test_without_warnings_there_is_no_foot() -> None:
    figure = sweep(made_sweep(warnings={}))
    assert not [text for text in figure.texts if text.get_text().startswith("! ")]


def test_a_second_parameter_gives_a_line_each() -> None:
    figure = sweep(made_sweep(others=(0.0, 10.0, 20.0)), moment="separation")
    ax = figure.axes[3]
    for k, crawl in enumerate(("0 mm", "10 mm", "20 mm")):
        np.testing.assert_allclose(line(ax, crawl).get_ydata(), (8.5 - READINGS) / 10.0 + 0.3 + k / 100.0)
    assert legend_words(figure) == ["archer: crawl 0 mm", "archer: crawl 10 mm", "archer: crawl 20 mm"]
    assert "at separation" in figure.get_suptitle()
    styles = {(str(line(ax, f"{10 * k} mm").get_color()), line(ax, f"{10 * k} mm").get_linestyle()) for k in range(3)}
    assert len(styles) == 3
    assert_legible(figure)


def test_many_second_values_give_a_contour_with_its_zero_line() -> None:
    figure = sweep(made_sweep(others=tuple(float(k) for k in range(9))))
    assert len(figure.axes) == 8  # four panels, four scales
    filled = figure.axes[3].collections
    assert len(filled) == 3  # areas, and the zero line with its pale edge
    assert figure.axes[3].get_ylabel() == "archer: crawl [mm]"
    assert_legible(figure)


def test_a_contour_without_values_says_so() -> None:
    figure = sweep(made_sweep(others=tuple(float(k) for k in range(9)), failed=tuple(range(5))))
    assert [text.get_text() for text in figure.axes[0].texts] == ["too few values"]


def test_words_are_points_without_a_line() -> None:
    import xarray

    data = made_sweep(readings=(0.0, 1.0)).rename({"nock_locators_reading": "archer_hold"})
    words = xarray.Variable("archer_hold", ["split", "three under"], {"path": "archer.hold"})
    data = data.assign_coords(archer_hold=words)
    ax = sweep(data).axes[3]
    assert line(ax, "clear").get_linestyle() == "None"
    assert [text.get_text() for text in ax.get_xticklabels()] == ["split", "three under"]
    assert ax.get_xlabel() == "archer: hold"


def test_rows_of_a_table() -> None:
    data = made_sweep().rename(nock_locators_reading="case")
    data = data.assign_coords(
        case=np.arange(5), a_b=("case", np.ones(5)), a_c=("case", np.arange(5.0), {"units": "mm", "path": "a.c"})
    )
    ax = sweep(data).axes[3]
    assert ax.get_xlabel() == "row of the table"
    np.testing.assert_array_equal(line(ax, "clear").get_xdata(), np.arange(5))


def test_other_quantities_and_given_axes() -> None:
    from matplotlib.figure import Figure

    axes = Figure().subplots(1, 2)
    figure = sweep(made_sweep(), quantities=("pitch", "reading_top"), axes=axes)
    assert figure is axes[0].figure
    np.testing.assert_allclose(line(axes[1], "clear").get_ydata(), READINGS + 5.8)
    assert axes[0].get_xlabel() == axes[1].get_xlabel() != ""


def test_bad_requests() -> None:
    with pytest.raises(ValueError, match="the sweep has no 'spin'"):
        sweep(made_sweep(), quantities=("spin",))
    with pytest.raises(ValueError, match="3 parameters were varied"):
        sweep(made_sweep(others=(0.0, 1.0)).expand_dims({"more": 2}))
