"""The computed table of docs/flight.md: from which angle on a shaft without fletching turns back."""

from __future__ import annotations

import math
from collections.abc import Callable

import msgspec
from places import table
from prices import EXAMPLES, setup
from scipy.optimize import brentq

import archerysim
from archerysim.equipment.arrow import balance_point
from archerysim.mechanics.flight import Flyer, normal_force
from archerysim.shot.flight.aerodynamics import flyer
from archerysim.shot.flight.air_state import air_state

SPEED = 55.0  # [m/s]
POINTS = (1.0, 2.0, 3.0)  # times as heavy


def turns_back() -> str:
    """Where the mass centre lies, and the angle from which on the shaft turns back, for points of several weights."""
    rows = []
    for name in (*EXAMPLES, "longbow"):
        full = archerysim.filled(setup(name))
        arrow, cells = full.arrow, []
        for point in POINTS:
            b = flyer(msgspec.structs.replace(arrow, point_mass=point * arrow.point_mass), air_state(full.air),
                      fletched=False)  # fmt: skip

            def moment(angle: float, b: Flyer = b) -> float:
                return normal_force(SPEED * math.cos(angle), -SPEED * math.sin(angle), 0.0, 0.0, 0.0, b)[2]

            cells.append(f"{math.degrees(brentq(moment, 1e-6, 0.5)):.2f}")
        ahead = 100.0 * (balance_point(arrow) / arrow.length - 0.5)
        rows.append([name, f"{ahead:.1f}", *cells])
    return table(
        ("bow", "mass centre ahead of the shaft's middle [% of its length]", "turns back from [deg]",
         "point twice as heavy [deg]", "three times [deg]"),
        rows,
    )  # fmt: skip


TABLES: dict[str, Callable[[], str]] = {"turns-back": turns_back}
