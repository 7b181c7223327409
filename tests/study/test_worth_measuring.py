"""What to measure next: in the order of the evidence, and nothing that the file tells."""

from __future__ import annotations

import re
from pathlib import Path

from archerysim.study.uncertainty.worth_measuring import BY_WORTH, worth_measuring
from tests.support.shot.example_bows import measured

EVIDENCE = Path(__file__).resolve().parents[2] / "docs" / "evidence.md"


def test_the_order_is_that_of_the_evidence() -> None:
    table = EVIDENCE.read_text(encoding="utf-8").split("<!-- table: sensitivities -->")[1].split("<!-- end -->")[0]
    ranked = re.findall(r"^\| `([\w.]+)`", table, re.MULTILINE)
    paths = [path for path, _, _ in BY_WORTH]
    assert paths == [path for path in ranked if path in paths]


def test_what_is_given_is_not_asked_for() -> None:
    club = measured("club-outdoor")
    assert [one.path for one in worth_measuring(club)][:3] == [
        "archer.release_time",
        "bow.stiffness_ratio",
        "nock.slope",
    ]
    told = club.replace({"nock.slope": "1 deg", "archer.release_time": "5 ms"})
    paths = [one.path for one in worth_measuring(told)]
    assert "nock.slope" not in paths
    assert "archer.release_time" not in paths
    assert "limbs.mass" not in paths  # both are given in the file
    assert "limbs.mass" in [one.path for one in worth_measuring(measured("barebow"))]
    assert not worth_measuring(club)[0].how  # no archer measures how fast fingers open
