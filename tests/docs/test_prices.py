"""What a change is worth on the pages, in millimetres of reading: computed as they say, and told as they say."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from archerysim.equipment.readings import by_underside
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from tests.support.docs.scripts import scripted

ROOT = Path(__file__).resolve().parents[2]
CLUB = "club-outdoor"


@pytest.fixture
def prices(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    return scripted(monkeypatch, "prices")


def test_nothing_changed_costs_nothing(prices: ModuleType) -> None:
    assert prices.moves(CLUB, {}) == pytest.approx([0.0, 0.0], abs=0.01)


def test_the_moves_make_up_for_the_change(prices: ModuleType) -> None:
    """From where the bow was best before, locators tied; bare and fletched together again, no angle of attack again."""
    change = {"archer.pressure_point": "5 mm"}
    for k, move in enumerate(prices.moves(CLUB, change)):
        before = prices.best(CLUB)[k]
        base = FittedBow.of(prices.built(CLUB).replace(by_underside(prices.built(CLUB), 1e-3 * before)), prices.DEFAULT)
        launch = base.with_changes(change).at_reading((1e-3 * (before + move), "m"))
        left = (1e3 * bare_difference(launch, "18 m").swing, launch.clear.angle_of_attack)[k]
        assert abs(left) < (0.3, 1e-3)[k]  # [mm on the target], [deg]: a hundredth of a millimetre of reading
        assert abs(move) > 0.2


def test_moves_are_told_of_tied_locators(prices: ModuleType) -> None:
    """A bolt turned in lowers the reading of tied locators: what is left to move is less that."""
    change = {"lower_limb.bolt_turns": "0.5 turn"}
    base = FittedBow.of(prices.built(CLUB), prices.DEFAULT)
    best_after = prices.best_of(base.with_changes(change))
    assert prices.moves(CLUB, change)[0] > best_after[0] - prices.best(CLUB)[0] + 0.3


def test_a_rest_to_the_end_has_no_answer(monkeypatch: pytest.MonkeyPatch, prices: ModuleType) -> None:
    flat = FittedBow.of(prices.setup(CLUB), planes=1).with_changes({"rest.unlimited_support": True})
    assert np.isnan(prices.best_of(flat)).all()
    assert np.isnan(prices.moves(CLUB, {"rest.reach": "40 mm"})).all()
    sizes = scripted(monkeypatch, "sizes")
    monkeypatch.setattr(sizes, "CHANGES", (("an arm without end", "rest.reach", "40 mm", ()), sizes.CHANGES[0]))
    rows = sizes.limits_sizes().splitlines()[2:]
    assert rows[0].endswith("| no answer | no answer |")
    assert re.search(r"\| [+-]\d\.\d \| [+-]\d\.\d \|$", rows[1])


PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
WORTH = "the move from a shot group can be trusted; the absolute height is good only to a few millimetres"


def text_of(page: Path) -> str:
    """Its text, lines joined."""
    return " ".join(page.read_text(encoding="utf-8").split())


def test_what_can_be_trusted_stands_where_it_is_read() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    first_screen = " ".join("\n".join(readme.splitlines()[:25]).split())
    assert f"**{WORTH}.**".lower() in first_screen.lower()
    for title in ("What the numbers mean", "What the model cannot see"):
        section = readme.split(f"## {title}\n")[1].split("\n## ")[0]
        assert WORTH in " ".join(section.lower().split())
    assert WORTH in text_of(ROOT / "docs" / "limits.md").lower()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_sources_are_named_in_full(page: Path) -> None:
    text = text_of(page)
    assert not re.search(r"(?<!B\. W\. )\bKooi\b", text)
    assert not re.search(r"Proceedings 49", text)
    for series in re.finditer(r"Proceedings \(ISSN 2504-3900\) 49 \(2020\) 56", text):
        assert "International Sports Engineering Association" in text[series.end() : series.end() + 150]
