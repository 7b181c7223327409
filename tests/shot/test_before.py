"""What is said of a changed bow: more draw weight, a junior's draw weight, other limbs."""

from __future__ import annotations

from typing import Any

import pytest

from archerysim.equipment import Setup, with_si
from archerysim.equipment.cautions import BOLTS, SCRAPING
from archerysim.equipment.typical import usual_draw_weight
from archerysim.shot.draw_weight import COACH, POUND
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.shoot import draw, shoot
from archerysim.shot.warnings import JUNIOR_WEIGHT
from tests.support.shot.example_bows import built, measured

MESH = "coarse"
MORE = "More draw weight than the bow as given"


def drawn(bow: Setup | FittedBow, changes: dict[str, Any] | None = None, hold: str | None = None) -> tuple[str, ...]:
    return draw(bow, 2, MESH, changes=changes or {}, hold=hold).warnings


def dotted(changes: dict[str, Any]) -> dict[str, Any]:
    return {path.replace("__", "."): value for path, value in changes.items()}


def with_changes(name: str, **changes: Any) -> Setup:
    return measured(name).with_si(**dotted(changes))


# example, changes, whether its draw weight counts as more
CHANGES: list[tuple[str, dict[str, Any], bool]] = [
    ("club-outdoor", {"archer__draw_length": "29 in"}, True),
    ("club-outdoor", {"archer__draw_length": "27 in"}, False),
    ("club-outdoor", {"bow__draw_weight": "36 lb"}, True),
    ("club-outdoor", {"bow__draw_weight": "34.1 lb"}, False),
    ("club-outdoor", {"upper_limb__bolt_turns": "1 turn"}, True),
    ("club-outdoor", {"upper_limb__bolt_turns": "-1 turn"}, False),
    ("club-outdoor", {"arrow__point_mass": "150 gr"}, False),
    ("club-outdoor", {}, False),
    ("junior", {"archer__draw_length": "25 in"}, True),
]


@pytest.mark.parametrize(("name", "changes", "more"), CHANGES)
def test_more_draw_weight_than_before(name: str, changes: dict[str, Any], more: bool) -> None:
    for hold in (None, "refit"):
        told = drawn(measured(name), dotted(changes), hold)
        refits_its_weight = hold == "refit" and "archer__draw_length" in changes
        assert sum(one.startswith(MORE) for one in told) == (more and not refits_its_weight) or refits_its_weight
    assert not any(one.startswith(MORE) for one in drawn(with_changes(name, **changes)))


def test_a_shot_says_it_too_and_both_weights() -> None:
    before = built("club-outdoor")
    heavy = shoot(before, changes={"archer.draw_length": "29 in"}, trace=False)
    (told,) = [one for one in heavy.warnings if one.startswith(MORE)]
    own = draw(before, 2).force[-1]
    assert f"{heavy.draw_force / POUND:.1f} instead of {own / POUND:.1f} lbf" in told
    assert "Pain means stop." in told


@pytest.mark.parametrize(("turns", "more"), [("1 turn", True), ("-1 turn", False)])
def test_bolts_turned_in_the_file_count_from_the_bow_as_measured(turns: str, more: bool) -> None:
    """Without a bow before: the file holds the draw weight measured and the turns since then."""
    turned = with_changes("club-outdoor", limbs__bolt_turns=turns)
    told = [one for one in drawn(turned) if one.startswith("More draw weight than the bow as measured")]
    assert len(told) == more
    assert all("instead of 34.0 lbf" in one for one in told)
    assert told == [one for one in shoot(turned, MESH, trace=False).warnings if one.startswith("More draw weight")]
    further = {"archer.draw_length": "29 in"}
    assert sum(one.startswith("More draw weight") for one in drawn(turned, further)) == 1


@pytest.mark.parametrize("hold", [None, "refit"])
def test_a_limb_scraped_on_a_bow_whose_bolts_have_been_turned_carries_every_caution(hold: str | None) -> None:
    tables = {"width": ("42 mm", "16 mm"), "thickness": ("9 mm", "5 mm"), "modulus": "30 GPa"}
    turned = {"limbs.bolt_turns": "1 turn"} | {f"limbs.{name}": value for name, value in tables.items()}
    told = drawn(measured("club-outdoor").replace(**turned), {"upper_limb.thickness": ("8.99 mm", "5 mm")}, hold)
    assert SCRAPING in told
    assert BOLTS in told
    assert sum(one.startswith("More draw weight than the bow as measured") for one in told) == 1


def test_bolts_turned_out_in_the_file_count_from_the_bow_as_given() -> None:
    """It is lighter than it was measured: what makes it heavier again is more than its archer draws today."""
    turned = with_changes("club-outdoor", limbs__bolt_turns="-1 turn")
    back = drawn(turned, {"limbs.bolt_turns": "-0.2 turn"})
    assert sum(one.startswith(MORE) for one in back) == 1


def test_a_bow_given_as_built_is_compared_with_what_it_comes_out_with() -> None:
    before = built("club-outdoor")
    assert before.form == "built"
    stiff = tuple(1.1 * v for v in before.upper_limb.bending_stiffness or ())
    assert any(one.startswith(MORE) for one in drawn(before, with_si({"limbs.bending_stiffness": stiff})))
    known = FittedBow.of(before, MESH).before
    assert known is not None
    assert known.weight == pytest.approx(draw(before, 2, MESH).force[-1], abs=1e-6)  # the tolerance of the statics


def test_a_bow_that_cannot_be_drawn_is_none_to_compare_with() -> None:
    short = with_changes("club-outdoor", arrow__length="500 mm")
    longer = with_si({"arrow.length": measured("club-outdoor").arrow.length})
    assert not any(one.startswith(MORE) for one in drawn(short, longer, "refit"))
    unreached = FittedBow.of(built("club-outdoor", MESH).replace(**{"arrow.length": "500 mm"}), MESH)
    assert unreached.before is not None
    assert not unreached.before.weight > 0.0
    assert not any(one.startswith(MORE) for one in drawn(unreached, longer))


def test_a_junior_above_the_range_comes_first() -> None:
    """Common practice: 10 to 22 lb; older juniors draw more, and a coach decides."""
    assert usual_draw_weight("junior") == pytest.approx((10 * POUND, 22 * POUND))
    heavy = with_changes("junior", bow__draw_weight="23 lb", limits__longest_draw="20 in")
    curve = draw(heavy, 2, MESH)
    assert curve.limits_passed == (JUNIOR_WEIGHT, "limits.longest_draw")
    assert curve.warnings[0].startswith("Draw weight 23.0 lbf is above the 10 to 22 lbf usual for juniors")
    assert "coach" in curve.warnings[0]
    assert COACH not in curve.warnings
    shown = shoot(heavy, MESH, trace=False)
    assert shown.warnings[0] == curve.warnings[0]


def test_a_junior_s_coach_is_named_once_and_no_one_else_s() -> None:
    heavier = drawn(measured("junior"), {"archer.draw_length": "25 in"})
    assert sum("coach" in one for one in heavier) == 1
    assert COACH in heavier
    assert not any("coach" in one for one in drawn(measured("club-outdoor")))
    assert not any("usual for juniors" in one for one in drawn(with_changes("club-outdoor")))


@pytest.mark.parametrize("table", ["thickness", "width"])
def test_another_thickness_or_width_carries_the_caution_for_scraping(table: str) -> None:
    tables = {"width": ("42 mm", "16 mm"), "thickness": ("9 mm", "5 mm"), "modulus": "30 GPa"}
    described = {f"limbs.{name}": value for name, value in tables.items()}
    before = measured("club-outdoor").replace(**described)
    thinner = {f"lower_limb.{table}": {"thickness": ("8.8 mm", "5 mm"), "width": ("41 mm", "16 mm")}[table]}
    for hold in (None, "refit"):
        assert SCRAPING in drawn(before, thinner, hold)
    assert SCRAPING not in drawn(before)
    assert SCRAPING not in drawn(measured("club-outdoor"), described, "refit")  # described anew, not scraped
