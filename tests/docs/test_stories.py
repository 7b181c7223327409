"""The worked stories: all that stands in a box on their pages is run, prints what stands there, and bears the words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from types import ModuleType
from typing import Any

import pytest

from tests.support.cli.run_commands import bows_shared
from tests.support.docs.scripts import DOCS, scripted

STORIES = ("researcher", "coach", "bowmaker", "flatbow")


@pytest.fixture
def stories(monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    """Their lines and scripts run in this process, and fit no bow that another has fitted."""
    with bows_shared():
        yield scripted(monkeypatch, "stories")


@cache
def page(story: str) -> str:
    return (DOCS / f"story-{story}.md").read_text(encoding="utf-8")


def printed(stories: ModuleType, story: str, count: int = -1) -> str:
    lines = stories.STORIES[story]
    return str(stories.said(*lines).printed[lines[count]])


@pytest.mark.parametrize("story", STORIES)
def test_every_box_of_a_story_is_run_and_says_what_comes_out(
    story: str, stories: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    places = scripted(monkeypatch, "places")
    assert "```" not in places.PLACE.sub("", page(story))  # nothing typed by hand
    told = {name: old for _, name, old, _ in places.PLACE.findall(page(story))}
    assert set(told) == {name for name in stories.TABLES if name.startswith(story)}
    for name, old in told.items():
        assert places.same(old, f"\n{stories.TABLES[name]()}\n\n"), name


@pytest.mark.parametrize("story", STORIES)
def test_the_pictures_of_a_story_are_what_it_leaves(story: str, stories: ModuleType) -> None:
    assert set(re.findall(r"\(images/(\S+)\.png\)", page(story))) == set(stories.PICTURES[story])
    files = stories.said(*stories.STORIES[story]).files
    for path in stories.PICTURES[story].values():
        assert files[path].startswith(b"\x89PNG")


def test_the_slope_is_known_and_the_level_is_not(stories: ModuleType) -> None:
    """What the researcher's page says of both."""
    out = printed(stories, "researcher")
    slope = numbers(re.search(r"one millimetre up: (.*)", out))
    assert slope[1] < slope[0] < slope[2] < 0.0
    assert slope[2] - slope[1] < 0.25 * abs(slope[0])
    low, high = numbers(re.search(r"anywhere from (.*)", out))
    assert high - low > 8.0  # all of the readings shot


def test_the_archer_ties_where_the_groups_say(stories: ModuleType) -> None:
    """To what a square tells; bare shafts are high before, and level or slightly low after."""
    to = numbers(re.search(r"That is from .*? to (\S+) mm", printed(stories, "coach", 1)))
    source = (stories.EXAMPLES / "coach.py").read_text(encoding="utf-8")
    assert abs(numbers(re.search(r'MOVED = "6 mm", "(\S+) mm"', source))[0] - to[0]) <= 0.25
    assert "Repeat before acting" in printed(stories, "coach", 0)
    assert "Repeat before acting" not in printed(stories, "coach", 1)
    assert f"`{stories.ALONE}`" in " ".join(page("coach").split())
    assert (
        "locators STAY at 6.0 mm (1/4 in) until groups are shot" in stories.said(stories.ALONE).printed[stories.ALONE]
    )
    lands = re.findall(r"lands (\S+) cm (high|low)", printed(stories, "coach"))
    assert lands[0][1] == "high"
    assert lands[1][1] == "low"
    assert float(lands[1][0]) < 1.8  # slightly: a thousandth of the way


def test_what_a_quarter_turn_moves(stories: ModuleType) -> None:
    """As the bow-maker's page tells it: which way each number goes, both ways back, and the one that is none."""
    out = printed(stories, "bowmaker")
    before, turned, locators, upper, old = (
        [float(one) for one in line.split()[-6:]] for line in out.splitlines()[2:7]
    )  # fmt: skip
    up, low, brace, reading, weight, high = (b - a for a, b in zip(before, turned, strict=True))
    assert up > 0.0 > low
    assert brace < 0.0
    assert reading < 0.0 < weight
    assert abs(locators[-1] - before[-1]) <= 0.1
    assert abs(upper[-1] - before[-1]) < abs(high)
    assert upper[4] - before[4] > 1.5 * weight  # a second time
    assert abs(old[-1] - before[-1]) > abs(high)
    assert abs(old[-1] - turned[-1]) > abs(high)  # what the reading alone would have done
    assert "it does not show" in out
    assert "would move it" in out
    moved = [at_bench(printed(stories, "bowmaker", k)) for k in (0, 1)]
    assert moved[0]["upper tiller"] > 0.0 > moved[0]["lower tiller"]  # the command says what the script does
    assert moved[1]["draw weight"] > 1.5 * moved[0]["draw weight"]
    assert "never turn past the maker's limit" in out


def test_where_the_stave_is_scraped(stories: ModuleType) -> None:
    """As its page tells it: half of the tillers' difference goes, the work is shared; farther out it is not."""
    there, outside = (printed(stories, "flatbow", k) for k in (1, 2))
    table = {line.partition("[")[0].strip(): numbers(re.match(r".*?\] (.*)", line)) for line in there.splitlines()
             if "] " in line}  # fmt: skip
    split, share = table["tiller split"], table["upper limb's share of the work"]
    assert split[2] < 0.6 * split[0]
    assert split[0] > split[1] > split[2]
    assert share[-1] < -2.0
    assert -2.0 < at_bench(there)["draw weight"] < -1.3
    assert at_bench(there)["brace height"] > 0.0
    assert all(at_bench(there)[f"{limb} limb's largest strain"] <= 0.0 for limb in ("upper", "lower"))
    assert at_bench(outside)["tiller split"] < -1.0
    assert abs(at_bench(outside)["upper limb's share of the work"]) < 0.25 * abs(share[-1])
    for out in (there, outside):
        assert "Scraping: only the belly" in out
        assert "Pass by pass" in out


def at_bench(out: str) -> dict[str, float]:
    """What each number of a printed change moved by."""
    found = re.findall(r"^  (\w.*?) \[\S+( \S+)?\] .* (\S+)$", out, re.MULTILINE)
    return {name: float(moved) if moved != "." else 0.0 for name, _, moved in found}


def numbers(found: re.Match[str] | None) -> list[float]:
    """The numbers in what a pattern's first group found."""
    assert found is not None
    return [float(one) for one in re.findall(r"[+-]?\d+(?:\.\d+)?", found[1])]


def test_a_line_that_fails_is_told(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    said = scripted(monkeypatch, "said").said
    with pytest.raises(AssertionError):
        said("archerysim shoot examples/none.toml")
