"""The shot sideways as plain text: past rest and side support, what changes do, and on demand all of it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from archerysim.show.text import away, number, other, pairs, titled, wrapped

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.shot.side_change import SideChange

WHY = (
    "Left and right are given only as what a change does (--set): the roll of the fingers is poorly known until groups "
    "of bare shafts have fixed it. --all gives them anyway."
)
NO_SHOT_BEFORE = "There is no shot of the bow before the changes to compare left and right with."
SAME = "as before"
TURN_ROUND = "left and right of bare shafts may be reversed by it"
LEAST = {"deg": 0.005, "m/s": 0.0005}  # less is printed as none
LEAST_GAP = 0.05  # [mm]


def passage_lines(launch: Launch) -> list[str]:
    """When and where the shaft leaves side support and rest, in the order of time; then the least gaps."""
    return [
        *titled("Past rest and side support, after the release begins", pairs(_times(launch))),
        *titled("Least gaps of the shaft's rear half and of the vanes", pairs(_gaps(launch))),
    ]


def _times(launch: Launch) -> list[tuple[str, str]]:
    passage, at = launch.passage, launch.timeline
    shelf = launch.drawing.setup.rest.kind == "shelf"
    rows = [
        (passage.greatest_side_force_at, "side support pushes hardest", number(passage.greatest_side_force, "N", 2)),
        (
            passage.side_left_at,
            f"off the side support{' again' if math.isfinite(passage.tail_touch_at) else ''}",
            _travel(passage.side_left_travel),
        ),
        (
            at.on_rest_again,
            f"on the {'shelf' if shelf else 'arm'} again",
            f"{_travel(launch.second_strike_travel)}, {number(launch.second_strike_depth, 'mm', 2)} deep",
        ),
        (passage.arm_left_at, "off the arm", _travel(passage.arm_left_travel)),
        (passage.nock_furthest_at, "nock furthest sideways", _place(passage.nock_furthest, away(launch.setup))),
        (
            passage.arm_strike_at,
            "arm struck from the side",
            _touch(passage.arm_strike_place, number(passage.arm_strike_depth, "mm", 2) + " deep",
                   passage.arm_strike_lasted)
            + (f" in all, the last of {passage.arm_strikes:.0f}" if passage.arm_strikes > 1 else ""),
        ),
        (
            passage.tail_touch_at,
            "tail touches the side support",
            _touch(passage.tail_touch_place, "up to " + number(passage.tail_touch_force, "N", 1),
                   passage.tail_touch_lasted),
        ),
        (at.separation, "separation", ""),
        (passage.tail_past_at, "tail past", ""),
    ]  # fmt: skip
    if at.rest_left != passage.arm_left_at:
        rows.append(
            (at.rest_left, "off the shelf" if shelf else "lifted off the arm", _travel(launch.rest_left_travel))
        )
    happened = sorted((row for row in rows if math.isfinite(row[0])), key=lambda row: row[0])
    told = [(name, ", ".join(filter(None, (number(1e3 * time, "ms", 2), more)))) for time, name, more in happened]
    return told if shelf or math.isfinite(passage.arm_left_at) else [*told, ("off the arm", "never")]


def _travel(travel: float) -> str:
    return f"after {number(travel, 'mm', 1)} of travel"


def _touch(place: float, how_hard: str, lasted: float) -> str:
    return f"{number(place, 'mm', 0)} from the nock, {how_hard}, for {number(1e3 * lasted, 'ms', 2)}"


def _place(value: float, side: str) -> str:
    """A place sideways [mm], ``side`` positive."""
    if abs(value) < 0.05:
        return "in the bow's plane"
    return f"{number(abs(value), 'mm', 1)} {side if value > 0.0 else other(side)} of the bow's plane"


def _gaps(launch: Launch) -> list[tuple[str, str]]:
    passage, full = launch.passage, launch.drawing.setup
    rest = "shelf" if full.rest.kind == "shelf" else "arm"
    deep = passage.arm_strike_depth if passage.arm_strikes else 0.0
    beside = rest == "arm" and passage.arm_gap < -deep - LEAST_GAP
    up = math.degrees(full.arrow.fletching_angle)
    turned = f"{number(abs(up), 'deg', 0)} {'above' if up > 0.0 else 'below'} " if round(up) else ""
    return [
        ("shaft to the side support", _gap(passage.side_gap)),
        (f"shaft to the {rest}", _gap(passage.arm_gap) + (", beside the arm's end: ignored here" if beside else "")),
        ("vanes to the side support", _gap(passage.vane_side_gap)),
        (f"vanes to the {rest}", _gap(passage.vane_arm_gap)),
        ("vanes", f"one points {turned}straight away from the side support; what they touch is ignored here"),
    ]


def _gap(gap: float) -> str:
    """A gap [mm] in words."""
    return f"{number(abs(gap), 'mm', 1)} {'in the way' if gap < -LEAST_GAP else 'free'}" if math.isfinite(gap) else "-"


def sideways_rows(launch: Launch) -> list[tuple[Any, ...]]:
    """Of the shot itself, sideways: words, field of `Moment`, digits; unit, sign and factor where not the usual."""
    side = away(launch.setup)
    return [
        (f"sideways velocity, {side} +", "sideways_velocity", 3),
        (f"yaw, nose {side} +", "yaw", 3),
        (f"yaw rate, nose {side} +", "yaw_rate", 3),
        (f"side angle of attack, nose {side} +", "side_angle_of_attack", 3),
        (f"first bending mode sideways, tail {side} +", "side_bend_1", 2),
        ("   its rate", "side_bend_1_rate", 2),
        (f"second bending mode sideways, tail {side} +", "side_bend_2", 2),
        ("   its rate", "side_bend_2_rate", 2),
        (f"nock, {side} of the aim line", "nock_z", 1, "mm", True, 1e3),
    ]


def change_lines(launch: Launch, change: SideChange | None) -> list[str]:
    """What the changes on the bow do sideways; why nothing else is told of left and right."""
    if change is None:
        return [*wrapped(NO_SHOT_BEFORE if launch.edits else WHY), ""]
    side = away(launch.setup)
    rows = [
        ("yaw", turned(change.yaw, side)),
        ("sideways velocity", changed(change.sideways_velocity, "m/s", 3, side)),
        ("side angle of attack", turned(change.side_angle_of_attack, side)),
    ]
    lines = pairs(rows)
    if change.touches or change.touched_before:
        when = {(True, True): "as before", (True, False): "not so before", (False, True): "before, no more now"}
        lines += wrapped(
            f"The tail touches the side support, {when[change.touches, change.touched_before]}: {TURN_ROUND}."
        )
    return titled("Sideways at clear, against the bow before the changes", lines)


def turned(by: float, side: str) -> str:
    """An angle [deg] by which a change turns the arrow, ``side`` positive."""
    words = changed(by, "deg", 2, side)
    return words if words == SAME else f"turns {words}"


def changed(by: float, unit: str, digits: int, side: str) -> str:
    """A number by which a change moves the arrow to one side, ``side`` positive."""
    if abs(by) < LEAST[unit]:
        return SAME
    return f"{number(abs(by), unit, digits)} to the {side if by > 0.0 else other(side)}"
