"""What changes on a bow do to how the arrow leaves sideways.

Until bare-shaft groups have fixed the roll of the fingers and how far they hold the nock out, the numbers sideways of
one shot are not known well; what a changed setting does to them is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import touches_hard


@result("yaw", "sideways_velocity", "side_angle_of_attack", "touched_before", "touches")
@dataclass(frozen=True)
class SideChange:
    """How else the arrow leaves sideways, at clear, than from the bow before its changes.

    Attributes
    ----------
    yaw : float
        Positive: the nose stands further away from the window [deg].
    sideways_velocity : float
        Positive: the arrow goes further away from the window [m/s].
    side_angle_of_attack : float
        Positive: the nose stands further away from the window against the arrow's way [deg].
    touched_before, touches : bool
        Whether the tail touched the side support before the changes, and touches it now, by more than a graze.
    """

    yaw: Annotated[float, Reported("deg", "more yaw, positive nose away from the window")]
    sideways_velocity: Annotated[float, Reported("m/s", "more velocity sideways, positive away from the window")]
    side_angle_of_attack: Annotated[
        float, Reported("deg", "more side angle of attack, positive nose away from the window")
    ]
    touched_before: bool
    touches: bool

    @classmethod
    def between(cls, before: Launch, now: Launch) -> SideChange:
        """From one shot in both planes to another."""
        old, new = before.clear, now.clear
        return cls(
            new.yaw - old.yaw, new.sideways_velocity - old.sideways_velocity,
            new.side_angle_of_attack - old.side_angle_of_attack, _touches(before), _touches(now),
        )  # fmt: skip


def side_change(bow: FittedBow) -> SideChange | None:
    """What a bow's changes do sideways; None without changes, in one plane, and where there is no shot before them.

    Bows that do not shoot with their changes raise.

    Raises
    ------
    SetupError, ShotError
    """
    now, before = bow.launch(), launch_before(bow)
    return None if before is None else SideChange.between(before, now)


def launch_before(bow: FittedBow) -> Launch | None:
    """The shot in both planes of the bow before its changes; None without changes, in one plane, where there is none.

    The bow as it was given is fitted and shot once more.
    """
    if bow.planes == 1 or not bow.edits or bow.before is None:
        return None
    try:
        return FittedBow.of(bow.before.given, bow.mesh, planes=bow.planes).launch()
    except (SetupError, ShotError):
        return None


def _touches(launch: Launch) -> bool:
    passage = launch.passage
    return touches_hard(launch.drawing.setup.arrow, passage.tail_touch_force, passage.tail_touch_lasted)
