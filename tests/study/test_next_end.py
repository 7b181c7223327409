"""The next end: how many shafts, at which distance, and when a longer one."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import SetupError
from archerysim.fields.units import target_distance
from archerysim.study.notes.group_means import SCATTER, Noted, ends_to_tell, spread_of, tells_from
from archerysim.study.notes.move import Move
from archerysim.study.notes.next_end import NextEnd, next_end_of
from archerysim.study.notes.posterior import answer, question
from tests.support.study.noted_cases import NOW, expected, noted

BUTT = 1.3  # [m]


def hold(repeated: bool = True) -> Move:
    return Move("hold", 0.0, 0.0, -0.001, 0.001, 0.6, NOW, NOW, repeated, "hold")


def up() -> Move:
    return Move("up", 0.002, 0.002, 0.001, 0.003, 0.97, NOW, NOW + 0.002, True, "up")


def together(distance: float = 18.0, **more: Any) -> Noted:
    """A group as the model's own bow shoots it with a reading at which bare and fletched lie near each other."""
    one = noted(0.0, 0.03, distance=distance)
    return dataclasses.replace(one, **more)


def proposed(move: Move, *groups: Noted, butt: float | None = BUTT, category: str = "club", **more: Any) -> NextEnd:
    e = expected()
    found = answer(question(e, (noted(float(e.heights.value[2]), 0.03),)))
    scatter = more.get("scatter", 0.7 * SCATTER)
    return next_end_of(e, groups, move, scatter, category, butt, found)


def test_after_a_move_two_ends_with_the_locators_there() -> None:
    end = proposed(up(), together())
    assert (end.distance, end.reading, end.ends) == (18.0, NOW + 0.002, 2)
    assert "2 ends of three bare and six fletched shafts at 18 m with the locators at 10.0 mm (3/8 in)" in end.words
    assert end.farther == ""


def test_one_end_makes_a_group_one_that_is_repeated() -> None:
    assert proposed(hold(False), together()).ends == 1  # three bare shafts are there already
    done = proposed(hold(), together(), together(), butt=None)
    assert (done.ends, "together in height at 18 m" in done.words) == (0, True)


def test_scatter_decides_how_many_ends_tell_a_millimetre() -> None:
    per_reading = -20.0  # 20 mm at 18 m for 1 mm
    one = ends_to_tell(per_reading, 18.0, SCATTER)
    assert one == pytest.approx((1.0364 * spread_of(18.0, SCATTER, 3, 6) / 0.020) ** 2)
    assert ends_to_tell(per_reading, 18.0, 2.0 * SCATTER) == pytest.approx(4.0 * one)
    assert ends_to_tell(per_reading, 18.0, SCATTER, size=0.002) == pytest.approx(one / 4.0)
    near, far = proposed(up(), together(10.0), butt=None), proposed(up(), together())
    assert near.tells > 4.0 * far.tells  # at 10 m bare shafts hardly react
    wide = proposed(up(), together(), scatter=1.2 * SCATTER)
    assert wide.tells_from > far.tells_from
    assert wide.ends > far.ends


def test_where_the_arrow_falls_short_no_distance_is_named() -> None:
    def short(far: float) -> float:
        if far > 12.0:
            raise SetupError("distance", "out of reach", "Come nearer")
        return -1.0

    assert np.isnan(tells_from(short, SCATTER))
    assert tells_from(lambda far: -far * far / 14.0, SCATTER) == pytest.approx(18.0, abs=2.0)


def test_near_it_says_that_bare_shafts_hardly_react_and_where_they_do() -> None:
    end = proposed(up(), together(10.0), butt=None)
    assert end.distance == 10.0
    assert "at 10 m bare shafts hardly react (" in end.words
    assert f"from {end.tells_from:.0f} m on two ends show a move of 1 mm" in end.words
    assert "if the butt's size is known" in end.farther
    assert proposed(up(), together(10.0), butt=3.0).distance == 18.0


@pytest.mark.parametrize(
    ("butt", "more", "part"),
    [
        (None, {}, "if the butt's size is known"),
        (BUTT, {"missed": 1}, "did not all land inside half of the butt"),
        (BUTT, {"bare": np.array([0.0, 0.1, 0.4])}, "did not all land inside half of the butt"),
        (BUTT, {"beside": 0.4}, "did not all land inside half of the butt"),
        (0.6, {}, "more than half of the butt allows"),
    ],
)
def test_no_longer_distance_without_room(butt: float | None, more: dict[str, Any], part: str) -> None:
    end = proposed(hold(), together(**more), together(**more), butt=butt)
    assert end.distance == 18.0
    assert part in end.farther


def test_a_longer_distance_where_all_lands_inside_half_of_the_butt() -> None:
    e = expected()
    end = proposed(hold(), together(), together(), butt=5.0)
    assert end.distance == 30.0
    assert "at 30 m 90 % of the bare shafts land within" in end.farther
    assert proposed(up(), together(), butt=5.0).distance == 18.0  # nearer groups have more to say
    junior = proposed(hold(), together(), together(), butt=5.0, category="junior")
    assert (junior.distance, junior.farther) == (18.0, "")
    assert e.bow.planes == 2


def test_a_distance_is_told_as_it_was_given() -> None:
    assert [target_distance(one) for one in (18.0, 18.288, 27.432, 10.5)] == ["18 m", "20 yd", "30 yd", "10.5 m"]
