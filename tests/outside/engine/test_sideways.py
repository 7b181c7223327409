"""The same bow and arrow in both planes in a multibody engine; docs/second-opinion.md has the whole table."""

from __future__ import annotations

from dataclasses import astuple

import numpy as np
import pytest

pytest.importorskip("mujoco", reason="the multibody engine is not installed: pip install archerysim[outside]")

from tests.outside.engine import compare, table, table_sideways
from tests.outside.engine.compare import Pair, as_built, engine_too
from tests.outside.engine.compare_sideways import CLUB, MOST_YAW, sideways

SHOTS = ["stiffer shaft, 0.600 in", "junior"]


@pytest.fixture(scope="module", params=SHOTS)
def both(request: pytest.FixtureRequest) -> tuple[str, Pair]:
    return request.param, sideways(request.param)


def test_both_say_how_the_arrow_leaves(both: tuple[str, Pair]) -> None:
    words, shots = both
    assert table_sideways.out_of_tolerance(words, shots, MOST_YAW) == []


def test_both_say_what_happens_on_the_way(both: tuple[str, Pair]) -> None:
    _, shots = both
    passage, along = shots.ours.passage, shots.theirs.along
    assert along is not None
    assert along.off_arm == pytest.approx(passage.arm_left_at, abs=3e-5)
    assert along.side_touches[-1, 1] == pytest.approx(passage.side_left_at, abs=5e-5)
    assert along.side_force == pytest.approx(passage.greatest_side_force, rel=5e-3)
    assert 1e3 * along.nock.max() == pytest.approx(passage.nock_furthest, abs=0.05)
    assert 1e3 * along.side_place == pytest.approx(passage.shaft_furthest, abs=0.05)


def test_what_is_varied_matters_more_than_the_programs_differ() -> None:
    angles = [sideways(words).theirs.clear.yaw for words in SHOTS]
    assert abs(angles[0] - angles[1]) > 3.0 * MOST_YAW


@pytest.mark.parametrize("words", SHOTS)
def test_the_page_says_so(words: str) -> None:
    assert table.stands(table_sideways.sideways_row(words))


def test_with_nothing_sideways_the_engine_shoots_as_in_one_plane() -> None:
    """A rest that supports to the end: without roll the shaft never leaves the arm."""
    ours = sideways("stiffer shaft, 0.600 in").ours
    straight = as_built(CLUB).with_si(
        **{compare.READING: ours.reading * 1e-3, "archer.side_roll": 0.0, "side.offset": 0.0}
    )
    flat = engine_too(ours, straight.with_si(**{"rest.unlimited_support": True})).theirs
    space = engine_too(ours, straight, planes=2).theirs
    for one, other in ((flat.separation, space.separation), (flat.clear, space.clear)):
        assert astuple(other) == pytest.approx(astuple(one), abs=1e-9)
    assert space.along is not None
    assert np.abs(space.along.nock).max() < 1e-12
    assert np.isnan(space.along.off_arm)
