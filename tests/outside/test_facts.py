"""Every fact within its tolerance; the page says what is computed."""

from __future__ import annotations

import re

import pytest

from tests.outside.facts import PAGE, Fact, facts, page


@pytest.mark.parametrize("fact", facts(), ids=lambda fact: fact.what)
def test_fact(fact: Fact) -> None:
    assert float(fact.ours()) == pytest.approx(fact.published, abs=fact.tolerance, rel=0.0)


def test_the_page_holds_what_is_computed() -> None:
    """Words alike; our numbers to the last digit shown but one."""
    old = [line.split(" | ") for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    new = [line.split(" | ") for line in page().splitlines() if line.startswith("| ")]
    assert [row[0] for row in old] == [row[0] for row in new]
    assert [row[-1] for row in old] == [row[-1] for row in new]
    for was, now in zip(old[2:], new[2:], strict=True):
        assert was[1] == now[1]
        last = 10.0 ** -len(re.sub(r".*\.", "", now[2]))
        assert float(was[2]) == pytest.approx(float(now[2]), abs=10.0 * last, rel=0.0)
