"""A riser with rods, as the release has it."""

from __future__ import annotations

import math
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np

from archerysim.equipment.filled_records import FilledRod
from archerysim.mechanics.arrays import Frame
from archerysim.shot.arrays.build import LimbsAndArrow, make_frame


def rod(direction: float = 0.0, **other: Any) -> FilledRod:
    """A long rod, but for what is said otherwise."""
    usual = {
        "start_x": 0.03, "start_y": 0.0, "length": 0.7, "direction": direction, "rod_mass": 0.13, "end_mass": 0.12,
        "frequency": 21.0, "damping": 0.02, "rigid": False,
    }  # fmt: skip
    return FilledRod(**{**usual, **other})


# one ahead, one down and back, one up; none through the mass centre
RODS = (
    rod(math.radians(-4.0), start_y=0.01),
    rod(math.radians(215.0), start_y=-0.05, length=0.3, rod_mass=0.08, end_mass=0.2, frequency=55.0, damping=0.1),
    rod(math.radians(100.0), start_x=0.02, start_y=0.3, length=0.15, rod_mass=0.05, end_mass=0.0, frequency=140.0),
)


@cache
def frame_of(rods: tuple[FilledRod, ...], mass: float = 1.2, inertia: float = 0.06, limb: float = 0.01) -> Frame:
    """A riser with these rods, on a soft hand; ``limb`` is the mass of each limb that it carries [kg]."""
    riser = SimpleNamespace(
        mass=mass, inertia=inertia, mass_centre_x=0.01, mass_centre_y=0.02, rods=rods,
        upper_root_x=-0.02, upper_root_y=0.3, lower_root_x=-0.02, lower_root_y=-0.3,
    )  # fmt: skip
    archer = SimpleNamespace(
        hand_stiffness=0.0, hand_damping=0.0, hand_rotational_stiffness=0.0, hand_rotational_damping=0.0
    )
    root = {"mass": np.array([limb]), "rest_length": np.array([0.02])}
    no_butt = SimpleNamespace(butt=0.0, butt_mass=0.0)
    setup: Any = SimpleNamespace(riser=riser, archer=archer, upper_limb=no_butt, lower_limb=no_butt)
    return make_frame(setup, LimbsAndArrow(root, root, {}), (0.2, 0.2))
