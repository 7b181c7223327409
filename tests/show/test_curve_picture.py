"""The draw-force curve."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.shot.shoot import DrawCurve
from archerysim.show import curve
from tests.support.show.legible_pictures import assert_legible, line


def test_force_over_draw_length_in_both_systems(drawn: DrawCurve) -> None:
    ax = curve(drawn)
    force = line(ax, "force")
    np.testing.assert_allclose(force.get_xdata(), drawn.draw_length / 0.0254)
    np.testing.assert_allclose(force.get_ydata(), drawn.force / 4.4482216152605)
    assert "[in]" in ax.get_xlabel()
    assert "[lbf]" in ax.get_ylabel()
    top, right = ax.child_axes
    assert top.get_xlabel() == "[mm]"
    assert right.get_ylabel() == "[N]"
    ax.figure.canvas.draw()
    assert_legible(ax.figure)
    assert top.get_xlim() == pytest.approx(25.4 * np.array(ax.get_xlim()))
    assert right.get_ylim() == pytest.approx(4.4482216152605 * np.array(ax.get_ylim()))


def test_the_shaded_area_is_the_stored_energy(drawn: DrawCurve) -> None:
    ax = curve(drawn)
    (shade,) = [one for one in ax.collections if one.get_gid() == "stored energy"]
    corners = shade.get_paths()[0].vertices[:-1]
    x, y = corners[:, 0] * 0.0254, corners[:, 1] * 4.4482216152605
    area = 0.5 * abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))
    assert area == pytest.approx(drawn.energy[-1], rel=0.01)  # straight lines between nine points
    words = " ".join(text.get_text() for text in ax.texts)
    assert f"{drawn.energy[-1]:.1f} J" in words
    assert "ft lb" in words


def test_brace_height_is_not_taken_for_a_draw_length(drawn: DrawCurve) -> None:
    (words,) = [text.get_text() for text in curve(drawn).texts if "brace" in text.get_text()]
    height = drawn.braced.brace_height / 0.0254
    assert words.endswith(f"the 1.75 in counted; brace height {height:.2f} in")
    begin = float(words.split()[2])
    assert begin == pytest.approx(height + 1.75, abs=0.1)


def test_full_draw_is_marked(drawn: DrawCurve) -> None:
    mark = line(curve(drawn), "full draw")
    assert mark.get_xdata()[0] == pytest.approx(28.0)
    assert mark.get_ydata()[0] == pytest.approx(34.0, abs=0.01)
