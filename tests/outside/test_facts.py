"""Every fact within its tolerance; the page says what is computed and calls validation only what is."""

from __future__ import annotations

import re

import pytest

from tests.outside.facts import KINDS, PAGE, Fact, facts, page, ranges
from tests.support.study.known_directions import Range


@pytest.mark.parametrize("fact", facts(), ids=lambda fact: fact.what)
def test_fact(fact: Fact) -> None:
    assert float(fact.ours()) == pytest.approx(fact.expected, abs=fact.tolerance, rel=0.0)


@pytest.mark.parametrize("one", ranges(), ids=lambda one: one.what)
def test_range(one: Range) -> None:
    assert one.low < one.ours() < one.high


def rows(text: str) -> list[list[str]]:
    """Cells of every line of every table."""
    return [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("| ")]


def test_the_page_holds_what_is_computed() -> None:
    """Words alike; our numbers to the last digit shown but one."""
    written, fresh = PAGE.read_text(encoding="utf-8"), page()
    words = [[line for line in text.splitlines() if not line.startswith("| ")] for text in (written, fresh)]
    assert words[0] == words[1]
    for was, now in zip(rows(written), rows(fresh), strict=True):
        assert (was[0], was[1], was[-1]) == (now[0], now[1], now[-1])
        if re.fullmatch(r"-?\d+\.\d+", now[2]):
            last = 10.0 ** -len(re.sub(r".*\.", "", now[2]))
            assert float(was[2]) == pytest.approx(float(now[2]), abs=10.0 * last, rel=0.0)
        else:
            assert was[2] == now[2]


def sections() -> dict[str, str]:
    """Title to text of the page's sections."""
    parts = re.split(r"^## (.*)$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def test_kinds_are_told_apart() -> None:
    found = sections()
    assert list(found) == [title for title, _ in KINDS.values()]
    for text in found.values():
        assert rows(text)[0][:3] == ["fact", "expected", "ours"]
    no_proof = ("Not validation", "Published, and not borne out")
    proofs = "".join(text for title, text in found.items() if not title.startswith(no_proof))
    for phrase in ("nu^2 m_a", "static spine", "drag of the bare shaft"):
        assert phrase not in proofs
    assert "nu^2 m_a" in found["Not validation: definitions and identities"]
    assert "drag of the bare shaft" in found["Not validation: used to set a constant"]
    assert "drag of the fletched arrow" in found["Measured drag that set no constant"]
    assert "drag of the fletched arrow" not in found["Not validation: used to set a constant"]
    assert all(row[-1].startswith("independent program") for row in rows(found["An independent program"])[2:])
    assert "independent program" not in found["Published"]
    assert "[memory]" in found["Published"]
