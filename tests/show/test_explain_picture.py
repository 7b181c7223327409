"""A shot explained, in words and pictures."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from archerysim.show import contributions, explain
from archerysim.show.explanation.contributions import part_words
from archerysim.show.explanation.plot import NAMES
from archerysim.show.explanation.table import explain_table
from archerysim.study.explanation.explain import Explained
from archerysim.study.explanation.explain import explain as explained_of
from archerysim.study.explanation.instants import frames
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_legible, line, lines


@pytest.fixture(scope="module")
def found() -> Explained:
    return explained_of(built("club-outdoor", "coarse"), mesh="coarse")


@pytest.fixture(scope="module")
def figure(found: Explained) -> Figure:
    """Its picture; tests look at it and change nothing."""
    return explain(found)


@pytest.fixture(scope="module")
def flat() -> Explained:
    """In one plane."""
    return explained_of(built("club-outdoor", "coarse"), mesh="coarse", planes=1)


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


def test_five_frames_on_one_scale(found: Explained, figure: Figure) -> None:
    sides, beside = figure.axes[::2], figure.axes[1::2]
    assert len(sides) == len(beside) == 5
    assert len({ax.get_xlim() for ax in sides}) == len({ax.get_ylim() for ax in sides}) == 1
    for ax, one in zip(sides, frames(found.instants), strict=True):
        words = " ".join(text.get_text() for text in ax.texts)
        assert NAMES.get(one.name, one.name) in words
        assert f"{1e3 * one.time:.1f} ms" in words
    tails = [line(ax, "arrow").get_xdata()[0] for ax in sides]
    assert (np.diff(tails) > 0.0).all()
    travelled = [1e3 * one.travel for one in frames(found.instants)]
    np.testing.assert_allclose(np.array(tails) - tails[0], travelled, atol=1.0)
    assert [len(lines(ax, "finger")) for ax in sides] == [3, 3, 0, 0, 0]
    assert [len(lines(ax, "locator")) for ax in sides] == [4] * 5  # two, each with its edge
    assert pale(figure) == [False, False, True, True, True]
    assert_legible(figure)


def pale(figure: Any) -> list[bool]:
    """Where the rest carries nothing."""
    return [line(ax, "rest").get_alpha() < 1.0 for ax in figure.axes[::2]]


def test_in_one_plane_the_rest_lets_go_by_travel(flat: Explained) -> None:
    figure = explain(flat)
    assert pale(figure) == [False, False, False, True, True]
    told = [text.get_text() for ax in figure.axes for text in ax.texts]
    assert "in the model after 220 mm of travel" in told
    assert "The rest lets go: in the model" in explain_table(flat)


def test_what_is_drawn_is_named_once_and_the_bow_told(figure: Figure) -> None:
    named = [text.get_gid() for ax in figure.axes[::2] for text in ax.texts if text.get_gid()]
    assert sorted(named) == [f"name of {one}" for one in ("arrow", "fingers", "locators", "rest", "string")]
    assert "club recurve, outdoor, reading 8.0 mm (5/16 in) by the underside" in figure.get_suptitle()


def test_locators_stand_above_and_below_the_nock(figure: Figure) -> None:
    for ax in figure.axes[::2][:4]:  # as long as the string is in the nock
        upper, lower = (one.get_ydata() for one in lines(ax, "locator")[1::2])
        tail = line(ax, "arrow").get_ydata()[0]
        assert min(upper) - tail == pytest.approx(0.5 * 5.8, abs=0.6)
        assert tail - max(lower) == pytest.approx(0.5 * 5.8, abs=0.6)


def test_the_shaft_lies_on_the_rest_at_full_draw(figure: Figure) -> None:
    ax = figure.axes[0]
    rest, arrow = line(ax, "rest"), line(ax, "arrow")
    over = np.interp(np.mean(rest.get_xdata()), arrow.get_xdata(), arrow.get_ydata())
    assert over - rest.get_ydata()[0] == pytest.approx(0.5 * 5.5, abs=0.02)


def test_bars_are_the_forces_and_the_rest_has_its_own_scale(found: Explained, figure: Figure) -> None:
    chosen = frames(found.instants)
    for ax, one in zip(figure.axes[1::2], chosen, strict=True):
        bars, rest = ax.child_axes
        wide = {patch.get_gid(): patch.get_width() for axes in (bars, rest) for patch in axes.patches}
        assert wide["bar of fingers"] == pytest.approx(one.finger_force)
        assert wide["bar of nock, upper end"] == pytest.approx(max(one.edge_upper, 0.0))
        assert wide["bar of nock, lower end"] == pytest.approx(max(one.edge_lower, 0.0))
        assert wide["bar of rest"] == pytest.approx(max(one.rest, 0.0))
        assert rest.get_xlim()[1] == pytest.approx(1.08 * max(each.rest for each in chosen))
        assert bars.get_xlim()[1] == pytest.approx(1.08 * found.launch.draw_force)
    assert "own scale" in rest.get_xlabel()


def test_the_enlargement_is_the_one_drawn(figure: Figure) -> None:
    times = re.search(r"x(\d+): .* drawn (\d+) times", figure.get_suptitle())
    assert times is not None
    (told,) = {float(one) for one in times.groups()}
    figure.draw_without_rendering()
    begin, up, along = figure.axes[0].transData.transform([(0.0, 0.0), (0.0, 1.0), (1.0, 0.0)])
    assert told == pytest.approx((up - begin)[1] / (along - begin)[0], abs=0.6)


def test_mirrored_for_the_left_hand(found: Explained) -> None:
    figure = explain(found, left_handed=True)
    low, high = figure.axes[0].get_xlim()
    assert low > high
    assert "target to the left" in figure.get_suptitle()
    assert_legible(figure)
    left = dataclasses.replace(found.launch, setup=found.launch.setup.replace(**{"archer.handed": "left"}))
    assert "target to the left" in explain(dataclasses.replace(found, launch=left)).get_suptitle()


@pytest.mark.parametrize("panels", [1, 3])
def test_contributions_are_bars(found: Explained, panels: int) -> None:
    figure = contributions(found, all_panels=panels == 3)
    assert len(figure.axes) == panels
    for k, ax in enumerate(figure.axes):
        widths = [patch.get_width() for patch in ax.patches]
        wanted = [found.base[k], *(one.value[k] for one in found.contributions), found.remainder[k], found.actual[k]]
        np.testing.assert_allclose(widths, wanted)
        low, high = ax.get_xlim()
        assert low == -high
        for text, value in zip([one for one in ax.texts if one.get_gid() == "number"], wanted, strict=True):
            assert text.xy[0] == pytest.approx(value)  # beside its bar's end
            assert text.get_text() == ("0" if abs(value) < 0.005 else f"{value:+.2f}")
    assert "reading 8.0 mm" in figure.get_suptitle()
    assert_legible(figure)


def test_rows_of_contributions_say_what_the_bow_has(found: Explained) -> None:
    words = part_words(found.launch)
    assert list(words) == [one.part.name for one in found.contributions]
    assert words["reading"] == "reading 8.0 mm by the underside"
    assert words["tiller"] == "tiller split 5.0 mm"
    assert words["fingers"] == "fingers 30 / 50 / 20 %"
    assert words["stabilisers"] == "1 rod, 250 g"
    rows = [text.get_text() for text in contributions(found).axes[0].get_yticklabels()]
    assert rows == ["neutral bow", *words.values(), "what they do only together", "this bow, the sum"]


def test_a_part_without_result(lost: Explained) -> None:
    figure = contributions(lost)
    assert any("no result" in text.get_text() for text in figure.axes[0].texts)
    assert_legible(figure)


def test_table_in_words_and_in_time(found: Explained, lost: Explained) -> None:
    text = explain_table(found)
    assert max(len(one) for one in text.splitlines()) <= 100
    times = [float(one.split(" ms")[0]) for one in text.splitlines() if one[:9].strip().replace(".", "").isdigit()]
    assert times == sorted(times)
    assert len(times) == len(found.instants)
    rows = {one.split("  ")[1].strip(): one.split()[-3:] for one in text.splitlines() if one.startswith("  ")}
    assert float(rows["this bow"][0]) == pytest.approx(found.actual[0], abs=1e-3)
    assert float(rows["the neutral bow"][1]) == pytest.approx(found.base[1], abs=1e-3)
    for words in (
        "begin to open",
        "Separation",
        "Clear",
        "axis at square",
        "goes off the end of the rest's arm",
        "yardstick",
        "Warnings",
    ):
        assert words in text
    assert "No result" not in text
    assert "fingers: draw: the arrow is off its rest" in explain_table(lost)
