"""What pictures of a shot in both planes share: when what happens sideways happens, and what is said below them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from archerysim.errors import UsageError
from archerysim.show import style
from archerysim.show.shots.traces import Event

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.shot.launch import Launch

ROLL = (
    "Left and right of one shot depend on how the fingers roll off the string (archer.side_roll, {:g} deg here), which "
    "is poorly known until groups of bare shafts have fixed it. What a change does is known better."
)


def sideways_events(launch: Launch) -> list[Event]:
    """What happened sideways between full draw and clear, in the order of time.

    Raises
    ------
    UsageError
        Where the shot was made in one plane.
    """
    if launch.planes == 1:
        raise UsageError(
            "launch", "it was shot in one plane, and has no left and right", "shoot in both: planes=2, --planes 2"
        )
    at = launch.timeline
    again = " again" if math.isfinite(at.tail_touches) else ""
    shelf = launch.drawing.setup.rest.kind == "shelf"
    found = [
        Event(at.fingers.off, "fingers off"),
        Event(at.off_side_support, f"off the side support{again}"),
        Event(at.rest_left, "off the shelf") if shelf else Event(at.off_arm, "off the arm"),
        Event(at.nock_furthest, "nock furthest sideways"),
        Event(at.arm_struck, "arm struck from the side"),
        Event(at.tail_touches, "tail touches the side support"),
        Event(at.separation, "separation", "separation"),
        Event(at.tail_past, "tail past"),
    ]
    return sorted((one for one in found if math.isfinite(one.time)), key=lambda one: one.time)


def depth_words(launch: Launch) -> str:
    """How deep the shaft meets the arm as it comes back: under its axis, and with its flank beside the arm's end."""
    passage = launch.passage
    words, beside = f"{passage.arm_strike_depth:.1f} mm deep", -passage.arm_gap
    more = beside > passage.arm_strike_depth + 0.05
    return f"{words} under its axis and {beside:.1f} mm with its flank at the arm's end" if more else words


def how_known(launch: Launch) -> str:
    """How well left and right of one shot are known."""
    return ROLL.format(round(math.degrees(launch.drawing.setup.archer.side_roll), 1))


def words_below(figure: Figure, launch: Launch, *words: str, handles: Sequence[Any] = (), columns: int = 3) -> None:
    """A `style.foot` with some words, how well left and right are known, and the limits passed; the picture grows."""
    said = "\n".join([*words, how_known(launch), *(f"! {one}" for one in launch.warnings[: len(launch.limits_passed)])])
    high = style.foot_height(len(handles), said, columns)
    figure.set_figheight(figure.get_figheight() + high * style.CENTIMETRE)
    style.foot(figure, list(handles), said, columns)
