"""The shot sideways as text: past rest and side support, what changes do, left and right by the archer's hand."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from archerysim.fields.reported import columns_of
from archerysim.shot.columns import OF_ONE_SHOT
from archerysim.shot.launch import Launch
from archerysim.shot.moment import Moment
from archerysim.shot.side_change import SideChange
from archerysim.show.shots.passage_table import sideways_rows
from archerysim.show.shots.table import launch_table
from archerysim.show.text import away, other
from tests.show.test_printed_tables import row
from tests.support.shot.example_bows import fitted

PAST, GAPS = (
    "Past rest and side support, after the release begins",
    "Least gaps of the shaft's rear half and of the vanes",
)
NONE = SideChange(0.0, 0.0, 0.0, False, False)


@cache
def shot(name: str, *changes: tuple[str, str]) -> Launch:
    return fitted(name).launch(dict(changes))


def block(text: str, head: str) -> str:
    """The lines below a head, to the next empty one."""
    return text.split(f"{head}\n")[1].split("\n\n")[0]


def names(text: str) -> list[str]:
    return [re.split(r"  +", line.strip())[0] for line in text.splitlines()]


def test_what_happens_is_told_in_the_order_of_time() -> None:
    launch = shot("club-outdoor")
    passage, text = launch.passage, block(launch_table(launch), PAST)
    assert names(text) == [
        "side support pushes hardest", "off the side support", "nock furthest sideways", "on the arm again",
        "off the arm", "separation", "tail past",
    ]  # fmt: skip
    times = [float(row(text, name).split()[0]) for name in names(text)]
    assert times == sorted(times)
    assert row(text, "side support pushes hardest") == (
        f"{1e3 * passage.greatest_side_force_at:.2f} ms, {passage.greatest_side_force:.2f} N"
    )
    assert row(text, "off the arm") == (
        f"{1e3 * passage.arm_left_at:.2f} ms, after {passage.arm_left_travel:.1f} mm of travel"
    )
    assert row(text, "off the side support").endswith(f"after {passage.side_left_travel:.1f} mm of travel")
    assert row(text, "nock furthest sideways").endswith(f"{passage.nock_furthest:.1f} mm left of the bow's plane")
    assert row(text, "on the arm again").endswith(f"{launch.second_strike_depth:.2f} mm deep")


def test_a_shaft_that_lifts_off_first_leaves_the_arm_later() -> None:
    launch = shot("junior")
    assert launch.rest_left_at < launch.passage.arm_left_at
    text = block(launch_table(launch), PAST)
    assert row(text, "lifted off the arm").startswith(f"{1e3 * launch.rest_left_at:.2f} ms")
    assert row(text, "off the arm").startswith(f"{1e3 * launch.passage.arm_left_at:.2f} ms")


def test_contacts_are_told_with_place_force_and_time() -> None:
    launch = shot("junior", ("side.offset", "5 mm"))
    passage, text = launch.passage, block(launch_table(launch), PAST)
    assert row(text, "arm struck from the side").endswith(
        f"{passage.arm_strike_place:.0f} mm from the nock, {passage.arm_strike_depth:.2f} mm deep, "
        f"for {1e3 * passage.arm_strike_lasted:.2f} ms"
    )
    assert row(text, "tail touches the side support").endswith(
        f"{passage.tail_touch_place:.0f} mm from the nock, up to {passage.tail_touch_force:.1f} N, "
        f"for {1e3 * passage.tail_touch_lasted:.2f} ms"
    )
    assert "off the side support again" in names(text)
    twice = replace(launch, passage=replace(passage, arm_strikes=2.0))
    assert row(launch_table(twice), "arm struck from the side").endswith("in all, the last of 2")


def test_an_arm_that_is_never_left_and_a_shelf() -> None:
    held = block(launch_table(shot("junior", ("archer.side_roll", "0 deg"))), PAST)
    assert row(held, "off the arm") == "never"
    assert row(held, "nock furthest sideways").endswith("in the bow's plane")
    assert "side support pushes hardest" not in held
    shelf = block(launch_table(shot("longbow")), PAST)
    assert "arm" not in shelf
    assert {"off the shelf", "on the shelf again"} <= set(names(shelf))


def test_gaps_and_what_is_in_the_way() -> None:
    launch = shot("club-indoor")  # grazes the arm, and passes its end closer than the shaft's half diameter
    passage, text = launch.passage, block(launch_table(launch), GAPS)
    assert row(text, "shaft to the side support") == f"{passage.side_gap:.1f} mm free"
    assert passage.arm_gap < -passage.arm_strike_depth - 0.05
    assert row(text, "shaft to the arm") == f"{-passage.arm_gap:.1f} mm in the way, beside the arm's end: ignored here"
    assert row(text, "vanes to the arm") == f"{-passage.vane_arm_gap:.1f} mm in the way"
    assert row(text, "vanes") == "one points straight away from the side support; what they touch is ignored here"
    struck = shot("junior", ("side.offset", "5 mm"))
    assert row(launch_table(struck), "shaft to the arm") == f"{-struck.passage.arm_gap:.1f} mm in the way"
    assert "shaft to the shelf" in launch_table(shot("longbow"))


@pytest.mark.parametrize(("angle", "told"), [("30 deg", "30 deg above straight"), ("-60 deg", "60 deg below straight")])
def test_the_vanes_angle_is_told(angle: str, told: str) -> None:
    text = block(launch_table(shot("club-indoor", ("arrow.fletching_angle", angle))), GAPS)
    assert told in row(text, "vanes")


def test_a_gap_that_is_not_known_is_a_dash() -> None:
    launch = shot("club-indoor")
    nowhere = replace(launch, passage=replace(launch.passage, vane_arm_gap=float("nan")))
    assert row(launch_table(nowhere), "vanes to the arm") == "-"


def test_left_and_right_of_one_shot_are_told_on_demand_only() -> None:
    launch = shot("club-outdoor")
    plain, everything = launch_table(launch), launch_table(launch, everything=True)
    for words, *_ in sideways_rows(launch):
        if words.strip() != "its rate":  # which the bends up and down have too
            assert words not in plain
            assert f"\n  {words}  " in everything
    assert "Left and right are given only as what a change does (--set)" in plain
    assert "Left and right" not in everything
    assert "archer.side_roll" not in plain
    told = re.findall(r"[-+][\d.]+", row(everything, "side angle of attack, nose left +"))
    assert told == [f"{one.side_angle_of_attack:+.3f}" for one in (launch.separation, launch.clear)]
    assert everything.count("     its rate ") == plain.count("     its rate ") + 2


def test_everything_sideways_that_a_moment_has_is_told_on_demand() -> None:
    fields = {field for _, field, *_ in sideways_rows(shot("club-outdoor"))}
    assert fields == OF_ONE_SHOT - {"centre_z"}
    assert {one.name for one in columns_of(Moment)} >= OF_ONE_SHOT


def test_the_window_is_on_the_other_side_for_a_left_handed_archer() -> None:
    right, left = shot("club-outdoor"), shot("club-outdoor", ("archer.handed", "left"))
    assert (away(right.setup), away(left.setup)) == ("left", "right")
    assert other(other("left")) == "left"
    assert "mm right of the bow's plane" in launch_table(left)
    texts = [launch_table(one, everything=True) for one in (right, left)]
    told = [row(text, f"yaw, nose {side} +") for text, side in zip(texts, ("left", "right"), strict=True)]
    assert told[0] == told[1]


CHANGED = "Sideways at clear, against the bow before the changes"


def test_a_change_is_told_as_left_and_right() -> None:
    change = SideChange(0.123, -0.0456, 0.304, False, False)
    for name, changes, sides in (
        ("club-outdoor", (), ("left", "right")), ("club-outdoor", (("archer.handed", "left"),), ("right", "left")),
    ):  # fmt: skip
        text = block(launch_table(shot(name, *changes), change), CHANGED)
        assert row(text, "yaw") == f"turns 0.12 deg to the {sides[0]}"
        assert row(text, "sideways velocity") == f"0.046 m/s to the {sides[1]}"
        assert row(text, "side angle of attack") == f"turns 0.30 deg to the {sides[0]}"
        assert "tail" not in text
    assert "Left and right are given only" not in launch_table(shot("club-outdoor"), change)
    assert CHANGED in launch_table(shot("club-outdoor"), change, everything=True)


def test_a_change_too_small_to_be_printed_is_none() -> None:
    text = block(launch_table(shot("club-outdoor"), replace(NONE, yaw=0.004, sideways_velocity=-0.0004)), CHANGED)
    for name in ("yaw", "sideways velocity", "side angle of attack"):
        assert row(text, name) == "as before"


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [(False, True, "not so before"), (True, False, "before, no more now"), (True, True, "as before")],
)
def test_left_and_right_may_turn_round_where_the_tail_touches(before: bool, now: bool, told: str) -> None:
    text = block(launch_table(shot("longbow"), replace(NONE, touched_before=before, touches=now)), CHANGED)
    said = " ".join(text.split())
    assert f"The tail touches the side support, {told}: left and right of bare shafts may be reversed by it." in said


def test_without_a_shot_before_its_changes_that_is_said() -> None:
    launch = shot("club-outdoor", ("arrow.spine", "0.6 in"))
    assert launch.edits
    assert "There is no shot of the bow before the changes" in launch_table(launch)
