"""What moves bare shafts sideways: the trade's directions, contact, cuts, parts at hand; only differences count."""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from archerysim.equipment import SetupError, filled
from archerysim.errors import UsageError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import gap_at, leaving_at_sight
from archerysim.show.left_right.table import sideways_table
from archerysim.study.sideways.asked import GapsMoved
from archerysim.study.sideways.choice import choose, noise_at
from archerysim.study.sideways.result import SideMove, SidewaysTune
from archerysim.study.sideways.sideways_tune import gap_given, sideways_tune
from archerysim.study.sideways.trials import cut_refused, parts_at_hand
from archerysim.study.sideways.unsure import unsure_inputs
from tests.support.shot.example_bows import NAMES, fitted, measured

SPRUNG = ("club-outdoor", "barebow")  # whose side support gives under the shaft; the junior's arrow does not move it
UNLIKE = (*SPRUNG, "junior")
ALL = (*NAMES, "longbow")
FAR = 18.0
MESH = "coarse"


@cache
def tuned(name: str, *changes: tuple[str, str], **how: Any) -> SidewaysTune:
    how = {"draws": 8, "workers": 1, "progress": False, **how}
    return sideways_tune(fitted(name, MESH), changes=dict(changes), **how)


def move(found: SidewaysTune, words: str) -> SideMove:
    (one,) = (one for one in found.moves if words in one.name)
    return one


def sure_to(found: SidewaysTune, words: str, sign: float) -> bool:
    """All of the range of a change goes to that side: positive left of a right-handed archer."""
    one = move(found, words)
    return one.sure and one.side * sign > 0.0 and one.agreeing > 0.95


@pytest.mark.parametrize("name", [*UNLIKE, "longbow"])
def test_1_and_4_shaft_point_and_length_go_the_trade_s_way(name: str) -> None:
    """Common practice: a stiffer shaft, a lighter point and a shorter shaft send bare shafts left, the others right."""
    found = tuned(name)
    for words in ("stiffer shaft", "lighter point", "shaft cut"):
        assert sure_to(found, words, +1.0), words
    for words in ("weaker shaft", "heavier point"):
        assert sure_to(found, words, -1.0), words


@pytest.mark.parametrize("name", SPRUNG)
def test_2_a_firmer_side_support_sends_them_left_until_it_gives_no_more(name: str) -> None:
    """Common practice. From the usual 2 N on, about what the shaft pushes with, more is hardly felt, and which way is
    not known: the range holds both."""
    soft = tuned(name, ("side.preload", "0 N"))
    assert sure_to(soft, "twice as stiff", +1.0)
    first = move(soft, "preload 0 to 1 N")
    assert first.side > 0.02
    assert first.agreeing > 0.8
    usual = tuned(name)
    for words in ("preload 2 to 3 N", "twice as stiff"):
        one = move(usual, words)
        assert one.side_low < 0.0 < one.side_high
        assert not one.sure


def test_2_a_side_support_that_the_shaft_does_not_move_does_nothing() -> None:
    found = tuned("junior")
    assert found.side_force < filled(found.setup).side.preload
    for words in ("preload 2 to 3 N", "twice as stiff"):
        one = move(found, words)
        assert abs(one.side) < 1e-6
        assert one.hardly(FAR)


@pytest.mark.parametrize("name", UNLIKE)
def test_3_a_side_support_further_out_takes_the_group_and_bare_shafts_left(name: str) -> None:
    found = tuned(name)
    assert sure_to(found, "further out", +1.0)
    assert move(found, "further out").group > 0.02


def test_a_move_is_the_difference_of_two_gaps_and_the_height_goes_back_by_the_reading() -> None:
    bow = fitted("club-outdoor", MESH)
    found = tuned("club-outdoor")
    before, heavier = bow.launch(), bow.launch({"arrow.point_mass": "100 gr"})
    leaving = leaving_at_sight(before, FAR)
    gaps = [gap_at(one, FAR, leaving) for one in (before, heavier)]
    plain = [gap_at(one, FAR, leaving, lift=False) for one in (before, heavier)]
    one = move(found, "heavier point")
    assert one.side == pytest.approx(gaps[1].side - gaps[0].side, abs=1e-9)
    up = gaps[1].height - plain[1].height - gaps[0].height + plain[0].height
    assert one.height == pytest.approx(up, abs=1e-9)
    taken_back = bow.with_changes({"arrow.point_mass": "100 gr"}).at_reading((bow.reading + 1e-3 * one.reading, "m"))
    at = gap_at(taken_back, FAR, leaving).height - plain[1].height
    assert at == pytest.approx(gaps[0].height - plain[0].height, abs=0.15 * abs(up))


def test_where_bare_shafts_land_today_does_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing that is told knows the absolute gap: 1 m more of it, with every bow, changes no letter."""
    bow = fitted("club-outdoor", MESH)
    told = {
        given: sideways_table(sideways_tune(bow, gap=given, draws=2, workers=1), everything=True)
        for given in (None, "6 cm left")
    }
    gap = GapsMoved.gap
    monkeypatch.setattr(GapsMoved, "gap", lambda *now: (found := gap(*now))._replace(side=found.side + 1.0))
    for given, text in told.items():
        moved = sideways_tune(bow, gap=given, draws=2, workers=1)
        assert sideways_table(moved, everything=True) == text


def test_5_all_is_mirrored_for_a_left_handed_archer() -> None:
    left = FittedBow.of(measured("club-outdoor").replace({"archer.handed": "left"}), MESH)
    for given, mirrored in ((None, None), ("6 cm left", "6 cm right")):
        right_text = sideways_table(tuned("club-outdoor", gap=given, draws=2), everything=True)
        left_text = sideways_table(sideways_tune(left, gap=mirrored, draws=2, workers=1), everything=True)
        assert _plain(left_text) == _swapped(right_text)
        assert _plain(left_text) != _plain(right_text)


def _swapped(text: str) -> str:
    """Ways and places changed over, whatever the widths of the columns."""
    swap = {"left": "right", "right": "left", "LEFT": "RIGHT", "RIGHT": "LEFT"}
    way = r"(?<=cm )(left|right)|(LEFT|RIGHT)(?= [0-9])"
    return re.sub(way, lambda found: swap[found[0]], _plain(text))


def _plain(text: str) -> str:
    return " ".join(text.replace("-", "").split())


def test_no_left_or_right_where_the_tail_touches() -> None:
    found = tuned("club-outdoor", ("side.offset", "5 mm"), gap="6 cm left")
    assert found.moves == ()
    assert found.best is None
    assert found.contact[0].startswith("The tail touches the side support")
    text = sideways_table(found)
    assert "CLEAR THE CONTACT FIRST" in text
    assert "cm" not in text.partition("Warnings")[0]
    assert found.contact[0] not in text.partition("Warnings")[2]


@pytest.mark.parametrize(("name", "spine"), [("club-outdoor", "0.28 in"), ("junior", "0.84 in")])
def test_a_stiffer_shaft_whose_tail_strikes_reads_as_a_weaker_one(name: str, spine: str) -> None:
    """On the bench (common practice) and here: so it gets no direction, and is not picked."""
    bow = fitted(name, MESH)
    stiff, now = bow.launch({"arrow.spine": spine}), bow.launch()
    leaving = leaving_at_sight(now, FAR)
    assert gap_at(stiff, FAR, leaving).side < gap_at(now, FAR, leaving).side
    found = tuned(name, spines=spine, gap="30 cm left", draws=2)
    one = move(found, f"shaft {spine.partition(' ')[0]}")
    assert one.contact
    assert one.stiffer
    assert math.isnan(one.side)
    assert found.best is None or found.moves[found.best] is not one
    row = next(line for line in sideways_table(tuned(name, spines=spine, draws=2)).splitlines() if one.name in line)
    assert row.split("  ")[-2:] == ["its tail strikes", "looks like a weaker one"]


def test_a_change_that_has_the_tail_strike_gets_no_direction() -> None:
    one = move(tuned("longbow"), "further out")
    assert one.contact
    assert math.isnan(one.side)
    assert math.isnan(one.side_low)


def test_where_most_bows_that_it_may_be_touch_nothing_is_told() -> None:
    """A roll of 3 deg, as well known: a bow whose tail just passes."""
    found = tuned("barebow", ("archer.side_roll", "3 deg"), draws=16)
    assert found.touching > 0.5 * found.draws
    assert found.moves == ()
    assert f"in {found.touching} of {found.draws} bows" in found.contact[0]


@pytest.mark.parametrize(
    ("name", "reaches", "refused"),
    [("club-outdoor", "24 mm", True), ("club-outdoor", "26 mm", False), ("junior", "74 mm", True),
     ("junior", "76 mm", False)],
)  # fmt: skip
def test_a_shaft_is_cut_to_no_less_than_it_needs(name: str, reaches: str, refused: bool) -> None:
    """25 mm past the rest, a learner's 50 and as much again as the draw may grow (common practice, [judgement])."""
    full = filled(fitted(name, MESH).setup)
    draw = full.archer.draw_length - 1.75 * 0.0254 + full.rest.forward
    after = 1e-3 * float(reaches.split()[0]) + draw
    assert bool(cut_refused(full, full.arrow.length - after)) is refused
    bow = fitted(name, MESH).with_changes({"arrow.length": f"{1e3 * (after + 0.012):.3f} mm"})
    found = sideways_tune(bow, draws=2, workers=1)
    assert any(one.kind == "length" for one in found.moves) is not refused
    assert ("Not cut by 12 mm: it would reach" in sideways_table(found)) is refused
    assert any(words.startswith("Not cut by 12 mm") for words in found.left_out) is refused


def test_a_plate_has_no_spring_to_turn() -> None:
    found = tuned("longbow")
    assert not any("preload" in one.name or "stiff as" in one.name for one in found.moves)
    assert any("plate" in words for words in found.left_out)


def test_parts_are_crossed_but_for_today_s() -> None:
    full = filled(fitted("club-outdoor", MESH).setup)
    names = [one.name for one in parts_at_hand(full, "0.650, 0.700 in", ([90, 100], "gr"))]
    assert names == ["shaft 0.650 in, point 90 gr", "shaft 0.650 in, point 100 gr", "shaft 0.700 in, point 100 gr"]
    assert [one.name for one in parts_at_hand(full, None, "80, 90 gr")] == ["point 80 gr"]


def test_a_part_s_row_is_the_shot_with_it() -> None:
    found = tuned("club-outdoor", spines="0.650 in", points="100 gr", draws=4)
    one = move(found, "shaft 0.650 in, point 100 gr")
    setup = fitted("club-outdoor", MESH).with_changes({"arrow.spine": "0.650 in", "arrow.point_mass": "100 gr"}).setup
    assert {path: setup.get(path) for path in one.changes} == pytest.approx(one.changes)
    assert one.mass == pytest.approx(move(found, "heavier point: 90 to 100 gr").mass)


def test_a_part_that_makes_the_arrow_too_light_is_told_and_not_picked() -> None:
    maker = ("limits.lightest_arrow", "18.5 g")
    found = tuned("club-outdoor", maker, points="80 gr", gap="6 cm right", draws=4)
    one = move(found, "point 80 gr")
    assert one.sure
    assert one.cautions[0].startswith("DO NOT SHOOT: the arrow's 18.3 g is under the maker's 18.5 g")
    assert found.best is None or found.moves[found.best] is not one
    assert one.cautions[0] in " ".join(sideways_table(found, everything=True).split())


def test_where_it_may_touch_the_clearance_comes_before_any_change() -> None:
    found = dataclasses.replace(
        tuned("club-outdoor", spines="0.600, 0.650, 0.750 in", gap="8 cm right", draws=4), touching=0
    )
    assert found.best is not None
    told = " ".join(sideways_table(found).split())
    assert "NOW: " in told
    assert "CHECK THE CLEARANCE" not in told
    may = dataclasses.replace(found, touching=3)
    told = " ".join(sideways_table(may).split())
    assert "NOW: " not in told
    assert told.index("CHECK THE CLEARANCE FIRST. In 3 of 4 bows") < told.index("THEN, IF NOTHING TOUCHES: ")
    assert told.count("In 3 of 4 bows that this one may be") == 1
    no_gap = dataclasses.replace(may, gap=float("nan"), best=None)
    assert "! In 3 of 4 bows that this one may be" in " ".join(sideways_table(no_gap).split())


def test_where_none_reaches_no_shaft_is_named() -> None:
    found = tuned("club-outdoor", spines="0.650, 0.600 in", gap="90 cm right", draws=4)
    assert found.best is None
    assert found.furthest is not None
    assert found.moves[found.furthest].kind == "side support"
    text = sideways_table(found)
    assert "NOTHING HERE TAKES IT BACK, so no shaft is named." in text
    assert "NOW" not in text


def test_a_gap_within_the_scatter_changes_nothing() -> None:
    found = tuned("club-outdoor", gap="3 cm left", draws=2)
    assert found.best is None
    assert "HOLD: 3.0 cm left" in sideways_table(found)
    assert noise_at(2.0 * FAR) == 2.0 * noise_at(FAR)


def test_the_part_at_hand_that_comes_nearest_is_named() -> None:
    found = tuned("club-outdoor", spines="0.600, 0.650, 0.750 in", gap="8 cm right", draws=4)
    assert found.best is not None
    assert found.moves[found.best].name == "shaft 0.600 in"
    found = tuned("club-outdoor", gap="8 cm right", draws=4)
    assert found.best is not None
    assert found.moves[found.best].kind == "point"  # no shaft but those at hand


BASE = SideMove("", "parts", {}, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 20.0, 9.0, False, (), 0, (), "")


def a_move(side: float, half: float = 0.02, **more: Any) -> SideMove:
    return replace(BASE, side=side, side_low=side - half, side_high=side + half, **more)


def test_the_nearest_of_those_that_may_be_made_is_chosen() -> None:
    at = (a_move(-0.09), a_move(-0.06), a_move(-0.045), a_move(0.06), a_move(-0.06, 0.07))
    assert choose(at, 0.07, 0.035) == (1, (0, 2), None)
    for forbidden in (
        {"contact": ("it touches",)},
        {"cautions": ("too light",)},
        {"kind": "length"},
        {"kind": "shaft"},
    ):
        barred = tuple(replace(one, **forbidden) if k == 1 else one for k, one in enumerate(at))
        assert choose(barred, 0.07, 0.035).best == 0
    assert choose(at, -0.07, 0.035).best == 3
    assert choose(at, 0.03, 0.035) == (None, (), None)
    far = (a_move(-0.06), a_move(-0.02, 0.01, kind="side support"), a_move(-0.03, 0.01, kind="side support"))
    assert choose(far, 0.5, 0.035) == (None, (), 2)
    assert choose((a_move(-0.3, 0.25),), 0.12, 0.035).best is None  # its range holds the wanted, it goes twice too far


HOW: list[dict[str, str]] = [
    {},
    {"gap": "8 cm left"},
    {"gap": "8 cm right"},
    {"spines": "0.4, 0.6, 0.65, 0.7, 0.8, 1.3 in", "points": "80, 130 gr"},
]


@pytest.mark.parametrize(
    ("name", "how"),
    [*((name, HOW[k]) for name in ("barebow", "longbow") for k in (0, 1, 2)), *((name, HOW[3]) for name in ALL)],
)
def test_the_answer_is_twelve_lines_at_most(name: str, how: dict[str, str]) -> None:
    text = sideways_table(sideways_tune(fitted(name), draws=2, workers=1, **how), "20 yd")
    above = text.partition("\nWarnings\n")[0].splitlines()
    assert len([line for line in above if line.strip()]) <= 12
    assert above[0].endswith("at 20 yd")
    assert max(len(line) for line in text.splitlines()) <= 110


def test_what_is_unsure_sideways_is_all_that_nobody_measures_there() -> None:
    paths = {one.path for one in unsure_inputs(fitted("club-outdoor", MESH))}
    assert {"archer.side_roll", "archer.side_hold", "rest.reach", "limbs.side_stiffness", "limbs.side_damping",
            "limbs.side_mass"} <= paths  # fmt: skip
    assert "rest.reach" not in {one.path for one in unsure_inputs(fitted("longbow", MESH))}


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"gap": "6 cm"}, "does not say which way"),
        ({"gap": "-6 cm left"}, "is negative"),
        ({"gap": "6 left"}, "has no unit"),
        ({"gap": "6 m left"}, "outside the allowed range"),
        ({"spines": "0.6, 0.6 in"}, "one twice"),
        ({"spines": "6 gr"}, "does not fit"),
        ({"points": "1, 2, 3, 4, 5 gr", "spines": "0.4, 0.5, 0.6, 0.7, 0.8 in"}, "25 combinations"),
        ({"distance": "18"}, "has no unit"),
        ({"draws": 3}, "power of two"),
    ],
)
def test_bad_input_is_refused_in_one_line(how: dict[str, Any], said: str) -> None:
    with pytest.raises(SetupError, match=said):
        sideways_tune(fitted("club-outdoor", MESH), **how)


def test_one_plane_knows_no_left_and_right() -> None:
    with pytest.raises(UsageError, match="no left and right"):
        sideways_tune(measured("club-outdoor"), planes=1)


def test_a_gap_is_told_from_behind() -> None:
    assert gap_given("6 cm left", "right") == pytest.approx(0.06)
    assert gap_given("2 1/2 in RIGHT", "right") == pytest.approx(-0.0635)
    assert gap_given("6 cm left", "left") == pytest.approx(-0.06)
