"""A sweep tells what is known badly of one shot as differences; columns are told and drawn by name."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.errors import UsageError
from archerysim.show import sweep
from archerysim.show.sweeps.axes import varied
from archerysim.show.sweeps.sideways import against, own_point, told
from archerysim.show.sweeps.table import sweep_table
from tests.show.test_printed_tables import row
from tests.support.show.legible_pictures import assert_legible, line
from tests.support.show.made_sweeps import made_sweep

SIDE = "side_angle_of_attack"


def sideways(left: tuple[bool, ...] = (), **options: Any) -> Any:
    """A made sweep with a side angle of attack of a tenth of the reading and an arm left after 100 mm, or never."""
    data = made_sweep(**options)
    readings = data.nock_locators_reading
    data[SIDE] = (0.1 * readings).broadcast_like(data.pitch).transpose(*data.pitch.dims).assign_attrs(units="degree")
    travel = np.where(left or np.ones(readings.size, dtype=bool), 100.0 + 10.0 * readings, np.nan)
    data["arm_left_travel"] = readings.copy(data=travel).reset_coords(drop=True).assign_attrs(units="mm")
    data["arm_left_travel"] = data["arm_left_travel"].broadcast_like(data.status)
    return data


def test_the_setup_s_own_point_is_what_differences_are_told_against() -> None:
    data = sideways(reading_today=10.0)
    along = varied(data)
    assert own_point(data, along) == (3,)
    assert against(data, along) == "10 mm"
    np.testing.assert_allclose(told(data, SIDE, "clear", along), [-0.6, -0.4, -0.2, 0.0, 0.2], atol=1e-12)
    np.testing.assert_allclose(told(data, "arm_left_travel", "clear", along), [140.0, 160.0, 180.0, 200.0, 220.0])


@pytest.mark.parametrize(
    ("failed", "today", "own"),
    [((), 9.0, 0), ((0,), 9.0, 1), ((3,), 10.0, 0), ((0, 3), 10.0, 1), (range(5), 9.0, None)],
)
def test_without_it_the_first_with_a_result_is(failed: tuple[int, ...], today: float, own: int | None) -> None:
    data = sideways(failed=tuple(failed), reading_today=today)
    assert own_point(data, varied(data)) == (None if own is None else (own,))
    if own is None:
        assert against(data, varied(data)) == ""
        assert np.isnan(told(data, SIDE, "clear", varied(data))).all()


def test_falling_values_begin_at_the_least() -> None:
    data = sideways(readings=(12.0, 8.0, 4.0))
    assert against(data, varied(data)) == "4 mm"


def test_over_two_parameters_the_first_of_the_other_goes_with_today_s_reading() -> None:
    data = sideways(others=(0.0, 10.0), reading_today=8.0)
    assert against(data, varied(data)) == "8 mm, 0 mm"
    assert told(data, SIDE, "clear", varied(data))[2, 0] == 0.0


def test_the_table_tells_them_signed_and_says_so() -> None:
    text = sweep_table(sideways(reading_today=8.0))
    below = text.split("What else changes\n")[1].split("\n\n")[0]
    assert row(below, "reading by the underside").split("  ") == ["off the arm after", "side attack"]
    assert row(below, "4 mm").split() == ["140", "-0.40"]
    assert row(below, "8 mm").split() == ["180", "+0.00"]
    assert row(below, "12 mm").split() == ["220", "+0.40"]
    assert "side attack: at clear, against 8 mm, + away from the window" in " ".join(below.split())


def test_what_hardly_changes_is_left_out_unless_it_is_asked_for() -> None:
    data = sideways(readings=(8.0, 8.4))
    assert "What else changes" not in sweep_table(data)
    below = sweep_table(data, (SIDE, "pitch")).split("What else changes\n")[1]
    assert row(below, "reading by the underside").split("  ") == ["side angle of attack", "pitch"]
    assert row(below, "8.4 mm").split() == ["+0.040", "0.020"]
    assert "pitch: at clear" not in below
    with pytest.raises(UsageError, match="no 'nothing'"):
        sweep_table(data, ("nothing",))


def test_a_picture_draws_them_against_that_point_and_says_so() -> None:
    data = sideways(reading_today=8.0)
    figure = sweep(data, (SIDE, "arm_left_travel"))
    side, arm = figure.axes
    assert line(side, "clear").get_ydata() == pytest.approx([-0.4, -0.2, 0.0, 0.2, 0.4])
    assert side.get_title(loc="left") == "side angle of attack, nose out +"
    assert line(arm, "clear").get_ydata() == pytest.approx([140.0, 160.0, 180.0, 200.0, 220.0])
    assert "against 8 mm: side angle of attack; out: off the window" in figure.get_suptitle()
    assert_legible(figure)
    assert "against" not in sweep(data).get_suptitle()


def test_lines_of_a_second_parameter_are_drawn_against_one_point() -> None:
    data = sideways(others=(0.0, 10.0), reading_today=8.0)
    data[SIDE] = data[SIDE] + 0.01 * data.archer_crawl
    (ax,) = sweep(data, (SIDE,)).axes
    assert [line(ax, gid).get_ydata()[2] for gid in ("0 mm", "10 mm")] == pytest.approx([0.0, 0.1])


def test_a_column_that_is_missing_at_every_point_is_an_empty_panel() -> None:
    data = sideways(left=(False,) * 5)
    figure = sweep(data, ("arm_left_travel",))
    assert [text.get_text() for text in figure.axes[0].texts] == ["at no point"]
    assert list(figure.axes[0].get_yticks()) == []
    assert "at no point" not in [text.get_text() for text in sweep(sideways(), ("arm_left_travel",)).axes[0].texts]


def test_a_jump_over_zero_is_no_zero() -> None:
    """The angle of attack passes zero at 8.5 mm; there the shaft ceases to leave the arm."""
    words = "The angle of attack at clear does not pass zero here."
    text = sweep_table(sideways(left=(True, True, True, False, False)))
    assert words in text
    assert "Between 8 mm and 10 mm it jumps over zero" in text
    smooth = sweep_table(sideways(left=(True, True, False, False, False)))
    assert "is zero at reading by the underside 8.5 mm" in smooth
    assert "jumps" not in smooth
