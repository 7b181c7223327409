"""A shot explained, in words and pictures."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from archerysim.show import contributions, explain
from archerysim.show.explain_table import explain_table
from archerysim.study.explain import Explained
from archerysim.study.explain import explain as explained_of
from archerysim.study.told import frames
from tests.shot.examples import built
from tests.show.drawing import assert_legible, line, lines


@pytest.fixture(scope="module")
def found() -> Explained:
    return explained_of(built("club-outdoor", "coarse"), mesh="coarse")


@pytest.fixture(scope="module")
def lost(found: Explained) -> Explained:
    """The same with fingers that have no neutral state."""
    none = np.full(3, np.nan)
    parts = tuple(
        dataclasses.replace(one, value=none, on_neutral=none, reason="draw: the arrow is off its rest")
        if one.part.name == "fingers" else one
        for one in found.contributions
    )  # fmt: skip
    return dataclasses.replace(found, contributions=parts)


def test_five_frames_on_one_scale(found: Explained) -> None:
    figure = explain(found)
    sides, bars = figure.axes[::2], figure.axes[1::2]
    assert len(sides) == len(bars) == 5
    assert len({ax.get_xlim() for ax in sides}) == len({ax.get_ylim() for ax in sides}) == 1
    for ax, one in zip(sides, frames(found.told), strict=True):
        words = " ".join(text.get_text() for text in ax.texts)
        assert one.name in words
        assert f"{1e3 * one.time:.1f} ms" in words
    tails = [line(ax, "arrow").get_xdata()[0] for ax in sides]
    assert (np.diff(tails) > 0.0).all()
    travelled = [1e3 * one.travel for one in frames(found.told)]
    np.testing.assert_allclose(np.array(tails) - tails[0], travelled, atol=1.0)
    assert [len(lines(ax, "finger")) for ax in sides] == [3, 3, 0, 0, 0]
    pale = [line(ax, "rest").get_alpha() < 1.0 for ax in sides]
    assert pale == [False, False, False, True, True]
    assert_legible(figure)


def test_the_shaft_lies_on_the_rest_at_full_draw(found: Explained) -> None:
    ax = explain(found).axes[0]
    rest, arrow = line(ax, "rest"), line(ax, "arrow")
    over = np.interp(np.mean(rest.get_xdata()), arrow.get_xdata(), arrow.get_ydata())
    assert over - rest.get_ydata()[0] == pytest.approx(0.5 * 5.5, abs=0.02)


def test_bars_are_the_forces(found: Explained) -> None:
    figure = explain(found)
    for ax, one in zip(figure.axes[1::2], frames(found.told), strict=True):
        wide = {patch.get_gid(): patch.get_width() for patch in ax.patches}
        assert wide["bar of fingers"] == pytest.approx(one.finger_force)
        assert wide["bar of upper"] == pytest.approx(max(one.edge_upper, 0.0))
        (label,) = [text.get_text() for text in ax.get_yticklabels() if "rest" in text.get_text()]
        assert wide["bar of rest"] == pytest.approx(max(one.rest, 0.0) * float(label.rpartition("x")[2]))


def test_the_enlargement_is_the_one_drawn(found: Explained) -> None:
    figure = explain(found)
    told = float(figure.get_suptitle().rpartition("x")[2])
    figure.draw_without_rendering()
    begin, up, along = figure.axes[0].transData.transform([(0.0, 0.0), (0.0, 1.0), (1.0, 0.0)])
    assert told == pytest.approx((up - begin)[1] / (along - begin)[0], abs=0.6)


def test_mirrored_for_the_left_hand(found: Explained) -> None:
    figure = explain(found, mirror=True)
    low, high = figure.axes[0].get_xlim()
    assert low > high
    assert "target to the left" in figure.get_suptitle()
    assert_legible(figure)


def test_contributions_are_bars(found: Explained, lost: Explained) -> None:
    figure = contributions(found)
    for k, ax in enumerate(figure.axes):
        widths = [patch.get_width() for patch in ax.patches]
        wanted = [found.base[k], *(one.value[k] for one in found.contributions), found.remainder[k], found.actual[k]]
        np.testing.assert_allclose(widths, wanted)
        low, high = ax.get_xlim()
        assert low == -high
    assert_legible(figure)
    partly = contributions(lost)
    assert any("no result" in text.get_text() for text in partly.axes[0].texts)
    assert_legible(partly)


def test_table_in_words_and_in_time(found: Explained, lost: Explained) -> None:
    text = explain_table(found)
    assert max(len(one) for one in text.splitlines()) <= 100
    times = [float(one.split(" ms")[0]) for one in text.splitlines() if one[:9].strip().replace(".", "").isdigit()]
    assert times == sorted(times)
    assert len(times) == len(found.told)
    rows = {one.split("  ")[1].strip(): one.split()[-3:] for one in text.splitlines() if one.startswith("  ")}
    assert float(rows["this bow"][0]) == pytest.approx(found.actual[0], abs=1e-3)
    assert float(rows["the neutral bow"][1]) == pytest.approx(found.base[1], abs=1e-3)
    for words in ("begin to open", "Separation", "Clear", "axis at square", "yardstick", "Warnings"):
        assert words in text
    assert "No result" not in text
    assert "fingers: draw: the arrow is off its rest" in explain_table(lost)
