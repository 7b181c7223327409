"""Flights that differ have colours and words of their own, and nothing lies over anything, whatever the names."""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure

from archerysim.errors import UsageError
from archerysim.shot.flight.fly import Flight, fly
from archerysim.shot.flight.swing_free import quiet_path
from archerysim.shot.shoot import shoot
from archerysim.show import flight, strips
from archerysim.show.flights.looks import FURTHER, MOST, looks_of, names_of, numbered
from archerysim.show.flights.strip_views import places
from archerysim.show.style import LOOKS
from tests.show.test_flight_pictures import pair, scales
from tests.show.test_style import APART, SEEN, lab
from tests.support.shot.example_bows import measured
from tests.support.show.legible_pictures import assert_apart, assert_legible, lines

LONG = "a shaft with a name that is longer than any legend is wide, and goes on and on until its end, which is here"
NAMES = {
    "long, and with signs that are set otherwise": [LONG, "$a_1$ & 100 % <b>"] * 5,
    "a word too long for a line": ["x" * 200] * 10,
}


@cache
def ten() -> tuple[Flight, ...]:
    """Five readings, each arrow with and without fletching."""
    bow = measured("club-outdoor")
    shots = [shoot(bow, "coarse", changes={"nock.locators.reading": f"{mm} mm"}) for mm in (4, 6, 8, 10, 12)]
    return tuple(fly(one, distance="18 m", fletched=kind) for one in shots for kind in (True, False))


def entries(figure: Figure) -> dict[str, str]:
    """Words and colours of the legend."""
    (legend,) = figure.legends
    handles = zip(legend.get_lines(), legend.get_texts(), strict=True)
    return {text.get_text(): str(line.get_color()) for line, text in handles}


@pytest.mark.parametrize("eyes", SEEN)
def test_any_two_colours_stay_apart(eyes: str) -> None:
    seen = np.array(SEEN[eyes])
    for a, b in itertools.combinations((LOOKS["fletched"].color, LOOKS["bare"].color, *FURTHER), 2):
        assert np.linalg.norm(lab(a, seen) - lab(b, seen)) > APART, (a, b)


def test_the_first_of_a_kind_has_the_kind_s_look_and_no_two_are_the_same() -> None:
    looks = looks_of(ten())
    assert looks[:2] == [LOOKS["fletched"], LOOKS["bare"]]
    assert len({one.color for one in looks}) == 10
    bare = ten()[1]
    assert len({one.color for one in looks_of([bare] * (MOST - 1))}) == MOST - 1
    with pytest.raises(UsageError, match=f"at most {MOST} in one picture"):
        looks_of([bare] * MOST)


def test_names_tell_what_differs_and_no_two_are_the_same() -> None:
    fletched, bare = ten()[:2]
    assert names_of([fletched, bare]) == ["fletched", "bare"]
    assert names_of([bare, ten()[3]]) == ["bare, reading 4.0 mm (3/16 in)", "bare, reading 6.0 mm (1/4 in)"]
    assert names_of([bare, bare, fletched]) == ["bare (1)", "bare (2)", "fletched"]
    assert numbered(["a", "b", "a"]) == ["a (1)", "b", "a (2)"]
    assert len(set(numbered(["a", "a", "a (1)"]))) == 3


@pytest.mark.parametrize("kind", NAMES)
def test_ten_flights_in_one_picture(kind: str) -> None:
    figure = flight(ten(), NAMES[kind])
    told = entries(figure)
    assert len(told) == len(set(told.values())) == 10
    curves = {str(one.get_color()) for one in lines(figure.axes[-1], "angle of attack")}
    assert curves == set(told.values())
    for ax, color in zip(figure.axes, told.values(), strict=False):
        assert {one.get_color() for one in lines(ax, "point")} == {color}
    assert_legible(figure)
    assert_apart(figure)


@pytest.mark.parametrize("kind", NAMES)
def test_ten_strips(kind: str) -> None:
    figure = strips(ten(), NAMES[kind])
    assert_legible(figure)
    assert_apart(figure)
    titles = [ax.get_title(loc="left") for ax in figure.axes[1:]]
    assert len(titles) == 20  # from the side, and from above
    for title, name in zip(titles[:10], NAMES[kind], strict=True):
        assert title.replace("\n", " ").startswith(name[:5].replace("$", r"\$"))


def test_ten_flights_in_one_strip() -> None:
    figure = strips([ten()])
    told = entries(figure)
    names = [name for name in told if name.startswith(("fletched", "bare"))]
    assert len({told[name] for name in names}) == len(names) == 10
    for name in names:
        for ax in figure.axes[1:]:
            assert {one.get_color() for one in lines(ax, name)} == {told[name]}
    assert_legible(figure)
    assert_apart(figure)


def test_one_of_a_kind_in_each_strip_is_told_by_its_kind() -> None:
    figure = strips([ten()[:2], ten()[2:4]])
    assert list(entries(figure))[:2] == ["fletched", "bare"]
    assert {one.get_color() for one in lines(figure.axes[2], "bare")} == {LOOKS["bare"].color}


def test_from_above_the_shaft_stands_where_it_is_left_up() -> None:
    """The club bow's archer is right-handed: away from the window, z, is left."""
    fletched, bare = pair()
    path = quiet_path(fletched)
    figure = strips([(fletched, bare)])
    above = figure.axes[-1]
    assert above.get_title(loc="left").startswith("from above")
    for name, one in (("fletched", fletched), ("bare", bare)):
        for shaft, x in zip(lines(above, name), places(one), strict=True):
            (x0, x1), (z0, z1) = shaft.get_data()
            assert z1 + path.side(x1) == pytest.approx(np.interp(x, one.x, one.nose_z), abs=1e-12)
            assert z0 + path.side(x0) == pytest.approx(np.interp(x, one.x, one.tail_z), abs=1e-12)
        assert lines(above, name)[-1].get_ydata()[1] == pytest.approx(one.impact_side, abs=1e-4)
    label = above.yaxis.get_major_formatter()
    assert label(0.2) == "200 left"
    assert label(-0.1) == "100 right"
    assert label(0.0) == "0"


def test_from_above_left_handed_is_the_mirror_image() -> None:
    bow = measured("club-outdoor")
    figures = {}
    for hand in ("right", "left"):
        launch = shoot(bow, "coarse", changes={"archer.handed": hand})
        figures[hand] = strips([[fly(launch, distance="18 m", fletched=kind) for kind in (True, False)]])
    for one, other in zip(figures["right"].axes, figures["left"].axes, strict=True):
        assert one.get_xlim() == other.get_xlim()[::-1]
        assert one.get_ylim() == other.get_ylim()
        for a, b in zip(one.lines, other.lines, strict=True):
            np.testing.assert_array_equal(a.get_ydata(), b.get_ydata())
    assert figures["left"].axes[-1].yaxis.get_major_formatter()(0.2) == "200 right"
    # drawn the other way round, the same archer has his left below
    launch = shoot(bow, "coarse")
    turned = strips([fly(launch, distance="18 m", fletched=False)], left_handed=True)
    straight = strips([fly(launch, distance="18 m", fletched=False)])
    np.testing.assert_allclose(
        lines(turned.axes[-1], "bare path")[0].get_ydata(), -lines(straight.axes[-1], "bare path")[0].get_ydata()
    )
    assert turned.axes[-1].yaxis.get_major_formatter()(-0.2) == "200 left"


def test_each_view_prints_its_own_enlargement() -> None:
    figure = strips([pair()])
    for ax, across in zip(figure.axes[1:], ("up-down", "left-right"), strict=True):
        (corner,) = [text for text in ax.texts if text.get_gid() == "enlargement"]
        words, _, times = corner.get_text().rpartition(" ×")
        assert words == across
        assert scales(ax) == pytest.approx(float(times), rel=1e-6)


def test_a_shot_in_one_plane_is_seen_from_the_side_alone() -> None:
    flat = fly(shoot(measured("club-outdoor"), "coarse", planes=1), distance="18 m")
    figure = strips([flat])
    assert len(figure.axes) == 2
    assert not any("from above" in ax.get_title(loc="left") for ax in figure.axes)
