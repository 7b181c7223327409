"""Studies tell changes against the bow before them: the setup as it was given."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.shoot import draw
from archerysim.study.explanation.explain import explain
from archerysim.study.run.row import LaunchNumbers, row_of
from archerysim.study.run.store import key_maker
from archerysim.study.sweeps.sweep import sweep
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.tune_two import tune_two
from tests.support.shot.example_bows import measured

MESH = "coarse"
MORE = "More draw weight than the bow as given"
LONGER = {"archer.draw_length": "29 in"}
MAKE: dict[str, Any] = {**LONGER, "arrow.length": "30 in"}


def given() -> Setup:
    return measured("club-outdoor")


def heavier() -> Setup:
    return given().replace(**MAKE)


@cache
def base(before: bool) -> FittedBow:
    return FittedBow.of(given(), MESH).with_changes(MAKE, "refit") if before else FittedBow.of(heavier(), MESH)


def test_a_base_knows_its_own_draw_weight() -> None:
    own = FittedBow.of(given(), MESH).before
    assert own is not None
    assert own.setup == given()
    assert abs(own.weight - draw(given(), 2, MESH).force[-1]) < 1e-6
    other = base(True).before
    assert other == own
    assert base(False).before != own


def test_a_row_says_what_its_change_brings() -> None:
    own = FittedBow.of(given(), MESH)
    assert MORE in row_of(LaunchNumbers(), own, MAKE)["warnings"]
    assert MORE not in row_of(LaunchNumbers(), own, {})["warnings"]
    assert MORE in row_of(LaunchNumbers(), base(True), {})["warnings"]
    assert MORE not in row_of(LaunchNumbers(), base(False), {})["warnings"]


def test_kept_rows_of_another_bow_before_are_not_used() -> None:
    """Their warnings are others; the bow itself before is the same as none."""
    keys = [
        key_maker(one, LaunchNumbers())(LONGER) for one in (base(True), base(False), replace(base(False), before=None))
    ]
    assert keys[0] != keys[1]
    assert keys[1] == keys[2]


def test_every_study_of_a_changed_bow_says_so() -> None:
    within = ("2 mm", "16 mm")
    path = "nock.locators.reading"
    how: dict[str, Any] = {"mesh": MESH, "changes": MAKE}
    found = tune(given(), "no angle of attack", within=within, others=False, **how)
    _, launch = tune_two(given(), (path, "nock.slope"), within=(within, ("-5 deg", "30 deg")), **how)
    data = sweep(given(), {path: ["6 mm", "8 mm"]}, workers=1, progress=False, **how)
    told = explain(given(), **how)
    for warnings in (found.launch.warnings, launch.warnings, told.launch.warnings):
        assert sum(one.startswith(MORE) for one in warnings) == 1
    assert all(MORE in str(text) for text in data["warnings"].values)
