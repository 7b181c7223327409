"""Where a bare shaft lands beside a fletched one, up and down and sideways, by one launch."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from archerysim.shot.flight.bare_shaft import direction_at_clear, height_apart
from archerysim.shot.launch import Launch


class Gap(NamedTuple):
    """Of the bare shaft beside the fletched one on the target, less what drag and mass alone make [m].

    Attributes
    ----------
    height : float
        Positive up.
    side : float
        Positive away from the window.
    """

    height: float
    side: float


def gap_of(launch: Launch, distance: float, leaving: float, taped: bool) -> Gap:
    """The gap at a distance [m], both shafts leaving in a direction against the horizontal, positive up [deg].

    Raises
    ------
    SetupError
    """
    clear = launch.clear
    turned = replace(
        clear, pitch=clear.yaw, vertical_velocity=clear.sideways_velocity, pitch_rate=clear.yaw_rate
    )  # fmt: skip
    aside = replace(launch, clear=turned)
    height = height_apart(launch, distance, leaving, taped=taped)
    plain = height_apart(launch, distance, leaving, taped=taped, lift=False)
    level = leaving - direction_at_clear(launch) + direction_at_clear(aside)
    side = height_apart(aside, distance, level, taped=taped) - height_apart(
        aside, distance, level, taped=taped, lift=False
    )
    return Gap(height - plain, side)
