"""Studies tell changes against the bow before them: their own setup, or one that is handed over."""

from __future__ import annotations

from functools import cache

from archerysim.equipment import Setup
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.shoot import draw
from archerysim.study.explanation.explain import explain
from archerysim.study.run.row import row_of
from archerysim.study.run.store import key_maker
from archerysim.study.sweeps.sweep import sweep
from archerysim.study.tuning.tune import tune
from archerysim.study.tuning.tune_two import tune_two
from tests.shot.examples import measured

MESH = "coarse"
MORE = "More draw weight than the bow as given"
LONGER = {"archer.draw_length": "29 in"}


def given() -> Setup:
    return measured("club-outdoor")


def heavier() -> Setup:
    return given().replace(**LONGER, **{"arrow.length": "30 in"})


@cache
def base(before: bool) -> FittedBow:
    return FittedBow.of(heavier(), MESH, given() if before else None)


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
    assert MORE in row_of(own, LONGER | {"arrow.length": "30 in"})["warnings"]
    assert MORE not in row_of(own, {})["warnings"]
    assert MORE in row_of(base(True), {})["warnings"]
    assert MORE not in row_of(base(False), {})["warnings"]


def test_kept_rows_of_another_bow_before_are_not_used() -> None:
    """Their warnings are others; the bow itself before is the same as none."""
    keys = [key_maker(one)(LONGER) for one in (base(True), base(False), FittedBow.of(heavier(), MESH, heavier()))]
    assert keys[0] != keys[1]
    assert keys[1] == keys[2]


def test_every_study_of_a_changed_bow_says_so() -> None:
    within = ("2 mm", "16 mm")
    path = "nock.locators.reading"
    heavy, before = heavier(), given()
    found = tune(heavy, "no angle of attack", within=within, others=False, mesh=MESH, before=before)
    _, launch = tune_two(heavy, (path, "nock.slope"), within=(within, ("-5 deg", "30 deg")), mesh=MESH, before=before)
    data = sweep(heavy, {path: ["6 mm", "8 mm"]}, workers=1, progress=False, mesh=MESH, before=before)
    told = explain(heavy, mesh=MESH, before=before)
    for warnings in (found.launch.warnings, launch.warnings, told.launch.warnings):
        assert sum(one.startswith(MORE) for one in warnings) == 1
    assert all(MORE in str(text) for text in data["warnings"].values)
