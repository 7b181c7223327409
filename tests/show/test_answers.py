"""What a command prints first: short on every example, in the trade's words, with the numbers of the library."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest

from archerysim.equipment.arrow import grains_per_pound, total_mass
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.flight.fly import fly
from archerysim.shot.flight.side_gap import SideGapChange, side_gap_change
from archerysim.shot.launch import Launch
from archerysim.shot.side_change import SideChange
from archerysim.shot.strain_along import strain_along
from archerysim.show.answers.bow import brace_answer, draw_answer, strain_answer
from archerysim.show.answers.explained import explain_answer
from archerysim.show.answers.flight import flight_answer
from archerysim.show.answers.setup import check_answer
from archerysim.show.answers.shot import attack_words, clearance_words, launch_answer
from archerysim.study.explanation.explain import Explained, explain
from tests.support.shot.example_bows import NAMES, fitted, measured
from tests.support.show.shots_in_both_planes import sideways_shot

EVERY = (*NAMES, "longbow")
MOST = 12  # lines, cautions and warnings not counted
MESH = "coarse"
ANSWERS = {
    "check": lambda name: check_answer(fitted(name, MESH)),
    "brace": lambda name: brace_answer(fitted(name, MESH), drawn(name)),
    "draw": lambda name: draw_answer(drawn(name)),
    "strain": lambda name: strain_answer(strain_along(fitted(name, MESH))),
    "shoot": lambda name: launch_answer(shot(name)),
    "shoot in one plane": lambda name: launch_answer(shot(name, 1)),
    "explain": lambda name: explain_answer(explained(name)),
    "fly": lambda name: flight_page(name, "18 m"),
    "fly bare": lambda name: flight_page(name, "20 yd", fletched=False),
}  # fmt: skip


@cache
def shot(name: str, planes: int = 2) -> Launch:
    return dataclasses.replace(fitted(name, MESH), planes=planes).launch()


@cache
def drawn(name: str) -> DrawCurve:
    return fitted(name, MESH).draw_curve()


@cache
def explained(name: str) -> Explained:
    return explain(measured(name), mesh=MESH)


def flight_page(name: str, distance: str, change: SideGapChange | None = None, fletched: bool = True) -> str:
    launch = shot(name)
    flight, both = fly(launch, distance=distance, fletched=fletched), bare_difference(launch, distance)
    return flight_answer(launch, flight, both, given=distance, change=change)


def answer(page: str) -> list[str]:
    """The lines of a page that are neither empty nor a warning's."""
    return [line for line in page.partition("Warnings\n")[0].splitlines() if line.strip()]


def row(page: str, name: str) -> str:
    """What a page tells under a name, its lines joined."""
    lines = answer(page)
    (first,) = [k for k, line in enumerate(lines) if line.startswith(f"  {name}  ")]
    more = lines[first + 1 :]
    count = next((k for k, line in enumerate(more) if line[2] != " "), len(more))
    return " ".join(" ".join([lines[first].removeprefix(f"  {name}"), *more[:count]]).split())


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("command", ANSWERS)
def test_an_answer_is_a_dozen_lines_and_says_where_the_rest_is(command: str, name: str) -> None:
    page = ANSWERS[command](name)
    assert len(answer(page)) <= MOST
    assert answer(page)[-1].endswith(": --all")
    assert "nan" not in page.split()
    assert max(map(len, page.splitlines())) <= 100


def test_check_tells_bow_arrow_and_limits() -> None:
    page, curve = check_answer(fitted("longbow", MESH)), drawn("longbow")
    grains = grains_per_pound(total_mass(curve.setup.arrow), float(curve.force[-1]))
    assert f"{grains:.1f} grains per pound" in row(page, "arrow")
    assert row(page, "limits") == "the makers': lightest arrow per weight 9 gr/lbf, longest draw 28 in"
    assert "(usual for yew)" in row(page, "strain")
    assert row(check_answer(fitted("club-outdoor", MESH)), "limits").startswith("no maker's limits in the file")


def test_check_tells_the_odd_and_what_to_measure_next() -> None:
    odd = check_answer(measured("club-outdoor").replace({"limbs.mass": "310 g", "nock.floor": "2 mm"}), MESH)
    assert odd.count("(!)") == 3
    assert "nothing" not in odd.partition("limits")[0]
    page = check_answer(fitted("club-outdoor", MESH))
    assert row(page, "odd").startswith("nothing")
    next_ones = row(page, "measure next")
    assert next_ones.startswith("which limb is stiffer (bow.stiffness_ratio: draw force of each limb alone)")
    assert "Nobody measures how fast the fingers open (archer.release_time)" in next_ones
    known = check_answer(measured("club-outdoor").replace({"bow.stiffness_ratio": 1.02}), MESH)
    assert "bow.stiffness_ratio" not in row(known, "measure next")


def test_the_way_the_arrow_leaves_in_the_trade_s_words() -> None:
    """Nose up is tail low (common practice)."""
    launch = shot("longbow")
    assert launch.clear.pitch > 0.0 > launch.clear.angle_of_attack
    page = launch_answer(launch)
    assert row(page, "pitch").startswith(f"tail low (nose up {launch.clear.pitch:.2f} deg)")
    assert row(page, "attack").startswith(f"tail high (nose down {-launch.clear.angle_of_attack:.2f} deg)")
    assert row(page, "locators").startswith("4.0 mm (3/16 in) underside, 9.8 mm (3/8 in) top")
    assert f"{100.0 * launch.efficiency:.1f} %" in row(page, "energy")
    assert attack_words(0.3).startswith("tail low (nose up 0.30 deg)")
    assert "hardly" in attack_words(-0.02)


def test_clearance_tells_what_touches() -> None:
    assert clearance_words(sideways_shot("as it is")).startswith("nothing touches once the shaft is off; it passes ")
    assert clearance_words(sideways_shot("no roll")).startswith("TOUCHES: the shaft never leaves the rest's arm")
    struck = sideways_shot("strikes and touches")
    words = clearance_words(struck)
    assert words.startswith("touches: the shaft ")
    assert f"{struck.passage.arm_strike_depth:.1f} mm deep" in words
    grazed = fitted("club-outdoor", MESH).launch({"nock.locators.reading": "6 mm"})
    depths = grazed.passage.arm_strike_depth, -grazed.passage.arm_gap
    told = "the shaft grazes the arm, {:.1f} mm deep under its axis and {:.1f} mm with its flank at the arm's end"
    assert told.format(*depths) in clearance_words(grazed)
    flank = shot("club-indoor")  # never comes over the arm with its axis
    assert f"; its flank reaches {-flank.passage.arm_gap:.1f} mm into the arm's end" in clearance_words(flank)
    assert f"the side support, with up to {struck.passage.tail_touch_force:.1f} N" in words
    assert "shelf" not in clearance_words(shot("longbow")).partition("Vanes")[0]  # the shaft lies there to the end


def test_left_and_right_are_told_of_a_change_alone() -> None:
    launch = shot("club-outdoor")
    assert row(launch_answer(launch), "sideways").startswith("only changes are given (archerysim sideways, or --set)")
    change = SideChange(0.1, 0.0, -0.05, False, True)
    assert row(launch_answer(launch, change), "sideways") == (
        "yaw turns 0.10 deg to the left, side angle of attack turns 0.05 deg to the right, against the bow before the "
        "changes. The tail touches the side support: left and right of bare shafts may be reversed by it"
    )
    assert row(launch_answer(launch, SideChange(0.0, 0.0, 0.0, False, False)), "sideways") == "as before"
    assert "sideways" not in launch_answer(shot("club-outdoor", 1))


def test_draw_tells_how_the_bow_stacks() -> None:
    curve = drawn("longbow")
    rising = curve.stiffness * 0.0254 / 4.4482216152605
    assert row(draw_answer(curve), "stacking").startswith(
        f"at the end the force rises by {rising[-1]:.1f} lb an inch, {rising[-1] / rising.min():.1f} times as fast as"
    )
    falling = dataclasses.replace(curve, force=np.sqrt(curve.draw_length - curve.draw_length[0]))
    assert row(draw_answer(falling), "stacking").endswith("nowhere by less: no stacking")


def test_explain_names_the_parts_that_did_most_and_when() -> None:
    found = explained("club-outdoor")
    page = explain_answer(found)
    known = {one.part.name: abs(one.value[0]) for one in found.contributions}
    most = max(known, key=lambda name: known[name])
    assert row(page, "turned by").startswith(f"{most}, nose down {known[most]:.2f} deg: ")
    rates = np.array([one.pitch_rate for one in found.instants])
    k = int(abs(np.diff(rates)).argmax())
    begin, end = found.instants[k : k + 2]
    when = f"{1e3 * begin.time:.1f} to {1e3 * end.time:.1f} ms, {begin.name} to {end.name}: "
    assert row(page, "turned when").startswith(when)


def test_fly_tells_where_the_bare_shaft_lands_by_the_distance_as_given() -> None:
    page, both = flight_page("club-outdoor", "20 yd"), bare_difference(shot("club-outdoor"), "20 yd")
    assert page.splitlines()[0].endswith(": to 20 yd, fletched")
    assert both.height < 0.0
    assert row(page, "bare shaft").startswith(
        f"{-1e2 * both.height:.1f} cm ({-both.height / 0.0254:.1f} in) low of fletched ones, same sight, taped"
    )
    assert f"{both.fletched.speed[-1]:.2f} m/s" in row(page, "arrives")
    assert f"one swing up and down in {both.fletched.swing.wavelength:.1f} m" in row(page, "porpoising")


def test_fly_tells_left_and_right_of_a_change_alone() -> None:
    """A stiffer shaft sends bare shafts left of fletched ones, right-handed (common practice)."""
    bow = fitted("club-outdoor", MESH)
    assert row(flight_page("club-outdoor", "18 m"), "sideways").startswith(
        "only changes are given (archerysim sideways, or --set)"
    )
    change = side_gap_change(bow.with_changes({"arrow.spine": "0.65 in"}), "18 m")
    assert change is not None
    stiffer = bare_difference(bow.with_changes({"arrow.spine": "0.65 in"}).launch(), "18 m")
    plain = bare_difference(bow.launch(), "18 m")
    assert change.by == pytest.approx(stiffer.side - plain.side, rel=5e-3, abs=1e-4)
    words = row(flight_page("club-outdoor", "18 m", change), "sideways")
    assert words.endswith(f"the bare shaft {1e2 * change.by:.1f} cm ({change.by / 0.0254:.1f} in) to the left")
    none = row(flight_page("club-outdoor", "18 m", SideGapChange(0.0, True)), "sideways")
    assert none.startswith("as before the changes. The tail touches the side support")
    assert side_gap_change(bow, "18 m") is None
    assert side_gap_change(dataclasses.replace(bow, planes=1).with_changes({"arrow.spine": "0.65 in"}), "18 m") is None
