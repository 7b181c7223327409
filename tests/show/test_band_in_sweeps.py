"""The band of a sweep, drawn and told."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from archerysim.show import sweep
from archerysim.show.style import LOOKS
from archerysim.show.sweeps.table import sweep_table
from tests.show.test_printed_tables import row
from tests.support.show.legible_pictures import assert_apart, assert_legible
from tests.support.show.made_sweeps import made_sweep


def banded(half: float = 0.2, lost: int = 0, **options: Any) -> Any:
    """A made sweep whose band reaches ``half`` either way of each number at clear, half as far at separation."""
    data = made_sweep(**options)
    width = np.array([0.5 * half, half])
    for name in ("pitch", "pitch_rate", "vertical_velocity", "angle_of_attack"):
        for end, sign in (("low", -1.0), ("high", 1.0)):
            data[f"{name}_{end}"] = (data[name] + sign * width).assign_attrs(data[name].attrs)
    data["draws_failed"] = data.status * 0
    data["draws_failed"][0] = lost
    return data.assign_attrs(draws=32)


def edges(ax: Any, gid: str) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest of a filled band at each place."""
    (found,) = [one for one in ax.collections if one.get_gid() == gid]
    corners = found.get_paths()[0].vertices
    places = np.unique(corners[:, 0])
    inside = [corners[corners[:, 0] == x, 1] for x in places]
    return np.array([one.min() for one in inside]), np.array([one.max() for one in inside])


def test_the_band_at_clear_is_drawn_as_it_is() -> None:
    figure = sweep(banded())
    data = banded().sel(moment="clear")
    for ax, name in zip(figure.axes, ("pitch", "pitch_rate", "vertical_velocity", "angle_of_attack"), strict=True):
        low, high = edges(ax, "band")
        np.testing.assert_allclose(low, data[f"{name}_low"])
        np.testing.assert_allclose(high, data[f"{name}_high"])
        assert [one.get_gid() for one in ax.collections] == ["band"]
    from matplotlib.colors import same_color

    assert same_color(figure.axes[0].collections[0].get_facecolor()[0][:3], LOOKS["clear"].color)
    assert "band, at clear: 90 % of 32 bows that all fit what was measured" in figure.get_suptitle()
    assert_legible(figure)
    assert_apart(figure)


def test_pitch_has_both_frames() -> None:
    data = banded()
    data["pitch_to_bow"] = (data.pitch - 1.5).assign_attrs(data.pitch.attrs)
    titles = [ax.get_title(loc="left") for ax in sweep(data).axes]
    assert titles[:2] == ["pitch to the aim line, nose up +", "pitch in the bow's axes, nose up +"]


def test_lines_of_a_second_parameter_have_theirs_up_to_three() -> None:
    few, many = (sweep(banded(others=tuple(map(float, range(n))))) for n in (3, 4))
    assert [one.get_gid() for one in few.axes[0].collections] == ["0 mm band", "1 mm band", "2 mm band"]
    assert not many.axes[0].collections
    assert "band" in few.get_suptitle()
    assert "band" not in many.get_suptitle()


def test_the_table_tells_from_where_to_where_and_between_which_readings_the_attack_is_zero() -> None:
    """The angle of attack is (8.5 - reading) / 10, and 0.2 more or less: zero from 6.5 to 10.5 mm."""
    text = sweep_table(banded(lost=3))
    below = text.split("How sure that is, at clear\n")[1].split("\n\n")[0]
    assert row(below, "4 mm").split() == ["+0.70", "to", "+1.10", "+0.25", "to", "+0.65"]
    told = " ".join(below.split())
    assert "zero at a value from 6.5 mm (1/4 in) to 10.5 mm (7/16 in)" in told
    assert "Up to 3 of them gave no shot at a point" in told


def test_the_table_tells_how_steep_the_curves_are_with_the_range() -> None:
    data = banded()
    assert "slope" not in sweep_table(data)
    for end, value in (("", -0.0876), ("_low", -0.0951), ("_high", -0.0814)):
        data[f"pitch_slope{end}"] = ("moment", [0.0, value])
    told = " ".join(sweep_table(data).split())
    assert "pitch slope -0.088 deg/mm (90 %: -0.095 to -0.081)" in told
    assert "The band is of each point by itself" in told


@pytest.mark.parametrize(
    ("half", "readings", "words"),
    [
        (0.5, (4.0, 8.0, 12.0), "from under 4.0 mm (3/16 in) to over 12.0 mm (1/2 in)"),
        (0.05, (10.0, 12.0), "is zero below 10.0 mm (3/8 in) in nine of ten bows"),
        (0.05, (4.0, 6.0), "is zero above 6.0 mm (1/4 in) in nine of ten bows"),
    ],
)
def test_a_zero_beyond_the_readings_is_not_made_up(half: float, readings: tuple[float, ...], words: str) -> None:
    assert words in " ".join(sweep_table(banded(half, readings=readings)).split())


def test_without_a_band_nothing_is_told_of_it() -> None:
    assert "How sure" not in sweep_table(made_sweep())
    assert not any(ax.collections for ax in sweep(made_sweep()).axes)
