"""What the fletching does in flight: where it pulls, how much lift and drag it makes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from archerysim.equipment.arrow import fletching_area
from archerysim.equipment.filled_records import FilledArrow


@dataclass(frozen=True)
class Fletching:
    """The fletching as the air sees it.

    Attributes
    ----------
    at : float
        Where its force acts, in front of the throat [m].
    lift : float
        Slope of its normal force times the area it counts on [m^2/rad].
    drag : float
        Drag coefficient times the area it counts on [m^2].
    """

    at: float
    lift: float
    drag: float


def fletching_of(arrow: FilledArrow) -> Fletching:
    """Fletching of an arrow.

    Notes
    -----
    It acts at its mass centre: a low vane whose edge rises to the rear makes its lift where its height grows,
    for a triangle at two thirds of its length, which is its area's centre too (Jones, NACA report 835, 1946
    [memory]). Lift slope and drag coefficient are the arrow's, `arrow.fletching_lift_slope` on the shaft's
    cross-section and `arrow.fletching_drag` on the area of all vanes, one side.
    """
    area = arrow.fletching_number * fletching_area(arrow.fletching_length, arrow.fletching_height)
    section = math.pi * arrow.diameter**2 / 4
    return Fletching(arrow.fletching_at, arrow.fletching_lift_slope * section, arrow.fletching_drag * area)


NONE = Fletching(0.0, 0.0, 0.0)
