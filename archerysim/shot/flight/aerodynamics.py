"""From a filled arrow and its air to the numbers that the flight's kernel takes. docs/flight.md has the sources."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

import numpy as np

from archerysim.equipment.arrow import balance_point, moment_of_inertia, total_mass
from archerysim.equipment.derived_values import GRAVITY
from archerysim.equipment.filled_records import FilledArrow
from archerysim.mechanics.flight import Flyer
from archerysim.shot.flight.air_state import AirState
from archerysim.shot.flight.fletching import NONE, fletching_of

BoundaryLayer = Literal["auto", "laminar", "turbulent"]

# Drag coefficient of point and base on the cross-section, set so that with laminar friction a slim shaft has the
# measured 1.3 to 1.5 (here 1.43 at Re 1.2e4, 1.25 at 2e4) and with turbulent friction the measured 2.6 (here 2.70
# at Re 2.4e4): Miyazaki et al., Sports Engineering 16 (2013) 43 [memory].
FORM_DRAG = 0.75
# The boundary layer turns turbulent at Re about 2e4 on the diameter (Miyazaki et al. 2013 [memory]); the width
# of the change is [judgement].
LAMINAR_TO, TURBULENT_FROM = 1.6e4, 2.4e4
# Force across a smooth long cylinder in oblique flow: rho/2 d U^2 (1.1 sin^2 + 4 Re^-1/2 sin^3/2), Re on d and
# the speed (Taylor, Proc. R. Soc. A 214 (1952) 158 [memory]).
CROSS_DRAG, CROSS_FRICTION = 1.1, 4.0
SHAFT_STATIONS, POINT_STATIONS = 20, 3


@lru_cache(maxsize=4)
def _gauss(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Gauss-Legendre places and weights on 0 to 1; kept, since every flight asks for the same two."""
    at, weight = np.polynomial.legendre.leggauss(count)
    return 0.5 * (at + 1.0), 0.5 * weight


def flyer(arrow: FilledArrow, air: AirState, *, fletched: bool = True, boundary_layer: BoundaryLayer = "auto") -> Flyer:
    """The arrow as the flight's kernel takes it.

    Parameters
    ----------
    arrow : FilledArrow
        Its masses are those that fly, fletched or not.
    air : AirState
    fletched : bool
        False leaves the fletching's lift and drag away.
    boundary_layer : {"auto", "laminar", "turbulent"}
        Of the shaft. "auto": laminar up to Re 1.6e4 on the diameter, turbulent from 2.4e4.

    Notes
    -----
    The point is a paraboloid: its cross-section grows evenly over its length. The shaft ends blunt at the throat.
    """
    centre = balance_point(arrow)
    area = math.pi * arrow.diameter**2 / 4
    fins = fletching_of(arrow) if fletched else NONE
    shaft_at, shaft_weight = _gauss(SHAFT_STATIONS)
    point_at, point_weight = _gauss(POINT_STATIONS)
    left = 1.0 - point_at  # of the cross-section
    laminar_to, turbulent_from = {
        "auto": (LAMINAR_TO, TURBULENT_FROM), "laminar": (math.inf, math.inf), "turbulent": (0.0, 0.0)
    }[boundary_layer]  # fmt: skip
    return Flyer(
        mass=total_mass(arrow), inertia=moment_of_inertia(arrow), gravity=GRAVITY, density=air.density,
        viscosity=air.viscosity, head_wind=air.head_wind, diameter=arrow.diameter, area=area, length=arrow.length,
        form_drag=FORM_DRAG, wetted=4.0 * arrow.length / arrow.diameter, drag_factor=arrow.shaft_drag_factor,
        laminar_to=laminar_to, turbulent_from=turbulent_from, cross_drag=CROSS_DRAG, cross_friction=CROSS_FRICTION,
        fin_at=fins.at - centre, fin_lift=fins.lift, fin_drag=fins.drag,
        at=np.concatenate((arrow.length * shaft_at, arrow.length + arrow.point_length * point_at)) - centre,
        weight=np.concatenate((arrow.length * shaft_weight, arrow.point_length * point_weight)),
        wide=arrow.diameter * np.concatenate((np.ones(SHAFT_STATIONS), np.sqrt(left))),
        section=area * np.concatenate((np.ones(SHAFT_STATIONS), left)),
        growth=np.concatenate((np.zeros(SHAFT_STATIONS), np.full(POINT_STATIONS, -area / arrow.point_length))),
    )  # fmt: skip
