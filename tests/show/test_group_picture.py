"""Groups in pictures and tables."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from matplotlib.figure import Figure

from archerysim.equipment import SetupError
from archerysim.shot.flight.range_cautions import CAUTION
from archerysim.show import group, group_by_reading, locators_compared
from archerysim.show.groups.table import group_table
from archerysim.show.style import LOOKS
from archerysim.study.groups.compare import LocatorGroups, ReadingGroups
from archerysim.study.groups.compare import compare_locators as shoot_compared
from archerysim.study.groups.group import Group
from archerysim.study.groups.group import group as shoot_group
from tests.support.shot.example_bows import built
from tests.support.show.legible_pictures import assert_legible, line


def below(figure: Figure) -> str:
    """The words under a picture."""
    return " ".join(text.get_text().replace("\n", " ") for text in figure.texts)


@pytest.fixture(scope="module")
def found() -> Group:
    return shoot_group(built("club-outdoor", "coarse"), 7, workers=1, mesh="coarse", progress=False)


@pytest.fixture(scope="module")
def readings(found: Group) -> ReadingGroups:
    return ReadingGroups(
        6.7, "no angle of attack at clear", (-2.0, 0.0, 60.0), (found, found, None), ("", "", "too high"), 8.0
    )


@pytest.fixture(scope="module")
def compared() -> LocatorGroups:
    return shoot_compared(built("club-outdoor", "coarse"), 4, workers=1, mesh="coarse", progress=False)


def test_a_dot_a_shot(found: Group) -> None:
    figure = group(found)
    strip, launches = figure.axes
    np.testing.assert_array_equal(line(strip, "shots, fletched").get_ydata(), found.fletched)
    np.testing.assert_array_equal(line(strip, "shots, bare shaft").get_ydata(), found.bare)
    np.testing.assert_array_equal(line(launches, "launches").get_ydata(), found.pitch)
    assert line(launches, "without scatter").get_ydata() == [found.nominal.clear.pitch]
    low, high = strip.get_ylim()
    assert low < min(0.0, found.bare.min())
    assert high > max(0.0, found.fletched.max())
    words = " ".join(text.get_text() for text in strip.get_xticklabels())
    assert f"± {found.spread('bare').deviation:.2f} cm" in words
    spread = found.spread("bare")
    assert f"95 %: {spread.low:.2f} to {spread.high:.2f} cm" in words
    assert "sideways means nothing" in strip.get_title(loc="left")
    head = figure.get_suptitle()
    for part in (
        "club recurve, outdoor",
        "reading 8.0 mm (5/16 in) by the underside",
        "18 m",
        "Without aiming and wind",
    ):
        assert part in head
    assert "Bare shafts fly less steadily" in below(figure)
    assert_legible(figure)


def test_dots_are_moved_sideways_by_the_seed_alone_and_have_their_colours(found: Group) -> None:
    for k, (kind, gid) in enumerate((("fletched", "shots, fletched"), ("bare", "shots, bare shaft"))):
        first, again = (line(group(found).axes[0], gid) for _ in range(2))
        x = first.get_xdata()
        np.testing.assert_array_equal(x, again.get_xdata())
        assert np.abs(x - k).max() <= 0.2
        assert len(set(x)) == found.count
        assert first.get_color() == LOOKS[kind].color
        turned = dataclasses.replace(found, **{kind: getattr(found, kind)[::-1]})  # type: ignore[arg-type]
        np.testing.assert_array_equal(line(group(turned).axes[0], gid).get_xdata(), x)  # whatever the heights


def test_a_small_group_looks_small(found: Group) -> None:
    still = dataclasses.replace(found, fletched=0.01 * found.fletched, bare=0.01 * found.fletched)
    low, high = group(still).axes[0].get_ylim()
    assert high - low >= 6.0


def test_failed_shots_are_left_out_and_told(found: Group) -> None:
    bad = found.fletched.copy()
    bad[2] = np.nan
    reasons = tuple("release: it failed" if k == 2 else "" for k in range(7))
    partly = dataclasses.replace(found, fletched=bad, reasons=reasons)
    figure = group(partly)
    assert line(figure.axes[0], "shots, fletched").get_ydata().size == 6
    assert "1 without a result" in figure.get_suptitle()
    assert "shot 3: release: it failed" in group_table(partly)


def test_by_reading(readings: ReadingGroups, found: Group) -> None:
    figure = group_by_reading(readings)
    heights, launches = figure.axes
    # readings, not offsets; 0.06 mm apart so that none hides another
    np.testing.assert_allclose(line(heights, "bare").get_xdata(), [4.76, 6.76], atol=1e-9)
    np.testing.assert_allclose(line(heights, "fletched").get_xdata(), [4.64, 6.64], atol=1e-9)
    for ax in (heights, launches):
        assert line(ax, "today").get_xdata() == [8.0]
        assert line(ax, "today").get_marker() == "^"
        assert list(line(ax, "best").get_xdata()) == [6.7, 6.7]
        assert any("best: 6.7 mm" in text.get_text() for text in ax.texts)
    assert "best by 'no angle of attack at clear', not by the groups" in below(figure)
    assert "today's reading, 8.0 mm" in below(figure)
    assert line(heights, "fletched").get_color() == LOOKS["fletched"].color
    assert line(heights, "bare").get_ydata() == pytest.approx([found.spread("bare").deviation] * 2)
    assert line(launches, "pitch").get_ydata() == pytest.approx([found.spread("pitch").deviation] * 2)
    assert heights.get_ylim()[0] == 0.0
    assert_legible(figure)


def test_locators_side_by_side(compared: LocatorGroups) -> None:
    ax = locators_compared(compared)
    widths = {patch.get_gid(): patch.get_width() for patch in ax.patches}
    two = compared.groups[0]
    assert two is not None
    assert widths["fletched 0"] == pytest.approx(two.spread("fletched").deviation)
    assert "bare 3" in widths
    texts = [text.get_text().strip() for text in ax.texts]
    wanted = [
        "no clear difference" if not ratio.told_apart else f"clearly {'wider' if ratio.value > 1.0 else 'narrower'}"
        for name in compared.names[1:]
        for ratio in (compared.ratio(name, kind) for kind in ("fletched", "bare"))
    ]
    assert [text for text in texts if "clear" in text] == wanted
    rows = [text.get_text() for text in ax.get_yticklabels()]
    assert rows == [
        "two locators touching the nock\n(the bow today)", "two locators, 0.5 mm of play",
        "one locator, below the nock", "one locator, above the nock",
    ]  # fmt: skip
    assert line(ax, "today").get_ydata() == [0]
    assert_legible(ax.figure)


def test_own_fits_keep_their_names(compared: LocatorGroups) -> None:
    own = dataclasses.replace(compared, changes=tuple({"nock.grip": "3 N"} for _ in compared.names), today="")
    ax = locators_compared(own)
    assert [text.get_text() for text in ax.get_yticklabels()] == list(own.names)
    assert "today" not in {one.get_gid() for one in ax.lines}
    lost = dataclasses.replace(own, groups=(*own.groups[:3], None), reasons=("", "", "", "draw: no such shape"))
    assert any("no result (see the table)" in text.get_text() for text in locators_compared(lost).texts)
    assert f"{own.names[3]}: draw: no such shape" in group_table(lost)
    with pytest.raises(SetupError, match="has no ratio: draw: no such shape"):
        lost.ratio(own.names[3])


def test_tables(found: Group, readings: ReadingGroups, compared: LocatorGroups) -> None:
    for result in (found, readings, compared):
        text = group_table(result)
        assert " ".join(CAUTION.split()) in " ".join(text.replace("\n", " ").split())
        assert "A real group is wider" in " ".join(text.split())
    one = group_table(found)
    spread = found.spread("fletched")
    (row,) = [text for text in one.splitlines() if text.startswith("  height, fletched")]
    assert row.split()[-5:] == [
        f"{spread.deviation:.2f}", f"{spread.low:.2f}", "to", f"{spread.high:.2f}", f"{spread.full:.2f}",
    ]  # fmt: skip
    assert "too high" in group_table(readings)
    text = group_table(compared)
    assert "one locator, above the nock" in text
    assert "two locators touching the nock (today)" in text
    assert "without friction" in text
    assert f"{compared.ratio('lower alone', 'pitch').value:.2f} (" in text


def test_tables_of_nothing(readings: ReadingGroups, compared: LocatorGroups) -> None:
    assert "too high" in group_table(dataclasses.replace(readings, groups=(None,) * 3, reasons=("too high",) * 3))
    assert "broken" in group_table(dataclasses.replace(compared, groups=(None,) * 4, reasons=("broken",) * 4))
