"""Every direction of the trade holds, or the exception has its reason: the examples and some random bows.

``python -m tests.random_bows.directions`` asks a hundred.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.random_bows.directions import EXAMPLES, Answer, answers, table, unexplained
from tests.random_bows.trade import DIRECTIONS

RANDOM = ("0", "1", "2", "8")
UNSHOT = "10"


@cache
def said(name: str) -> list[Answer]:
    return answers(name)


@pytest.mark.parametrize("name", [*EXAMPLES, *RANDOM])
def test_directions(name: str) -> None:
    found = said(name)
    assert found
    rules = [one for one in found if not DIRECTIONS[one.direction].usual]
    assert not unexplained(rules), table(rules)


def test_a_bow_that_cannot_be_shot_says_nothing() -> None:
    assert not answers(UNSHOT)


@pytest.mark.parametrize("name", ["club-outdoor", "club-indoor", "barebow", "1", "2", "8"])
def test_where_nothing_touches_all_that_goes_sideways_holds(name: str) -> None:
    found = [one for one in said(name) if DIRECTIONS[one.direction].by == "sideways"]
    assert len(found) >= 6
    assert all(one.holds for one in found if not one.touches), table(found)
    assert sum(not one.touches for one in found) >= 6
