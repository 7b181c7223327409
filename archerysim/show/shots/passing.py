"""When what happens sideways happens in a shot in both planes, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from archerysim.errors import UsageError
from archerysim.show.shots.traces import Event

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch


def sideways_events(launch: Launch) -> list[Event]:
    """What happened sideways between full draw and clear, in the order of time.

    Raises
    ------
    UsageError
        Where the shot was made in one plane.
    """
    if launch.planes == 1:
        raise UsageError("launch", "it was shot in one plane, and knows nothing of left and right", "shoot in two")
    at, passage = launch.timeline, launch.passage
    shelf = launch.drawing.setup.rest.kind == "shelf"
    again = math.isfinite(passage.tail_touch_at)
    found = [
        Event(at.fingers.off, "fingers off"),
        Event(passage.side_left_at, "off the side support again" if again else "off the side support"),
        Event(at.rest_left, "off the shelf") if shelf else Event(passage.arm_left_at, "off the arm"),
        Event(passage.nock_furthest_at, "nock furthest sideways"),
        Event(passage.arm_strike_at, "arm struck from the side"),
        Event(passage.tail_touch_at, "tail touches the side support"),
        Event(at.separation, "separation", "separation"),
        Event(passage.tail_past_at, "tail past"),
    ]
    return sorted((one for one in found if math.isfinite(one.time)), key=lambda one: one.time)
