"""What touches after the shaft has first left the rest, by the computed clearance of a shot."""

from __future__ import annotations

import math

from archerysim.shot.launch import Launch
from archerysim.shot.warnings import DEEP as GRAZED
from archerysim.shot.warnings import touches_hard

DEEP = 3.0  # [mm] of the shaft in the rest: the tail strikes, and bare shafts can lie up and down [judgement]


def strike_of(launch: Launch) -> float:
    """How deep the shaft is in the rest after it had left it [mm]; nan where it does not come there again.

    In one plane, in which the rest then is not there, after its support has ended.
    """
    return launch.suppressed_strike if launch.planes == 1 else launch.passage.arm_strike_depth


def contact_of(launch: Launch) -> str:
    """What touches, in words; "" where nothing does, or so lightly that no archer would find a mark."""
    if strike_of(launch) > (DEEP if launch.planes == 1 else 1e3 * GRAZED):
        return f"the model has the shaft {strike_of(launch):.1f} mm deep in the rest"
    if launch.planes == 1:
        return ""
    passage, setup = launch.passage, launch.drawing.setup
    if setup.rest.kind == "arm" and math.isnan(passage.arm_left_travel):
        return "the model has the shaft lie on the rest to the end"
    if touches_hard(setup.arrow, passage.tail_touch_force, passage.tail_touch_lasted):
        return f"the model has the tail touch the side support, with {passage.tail_touch_force:.1f} N"
    return ""
