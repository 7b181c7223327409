"""From a filled arrow and its air to the numbers that the flight's kernel takes. docs/flight.md has the sources."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

import numpy as np

from archerysim.equipment.arrow import PointShape, balance_point, moment_of_inertia, total_mass
from archerysim.equipment.derived_values import GRAVITY
from archerysim.equipment.filled_records import FilledArrow
from archerysim.mechanics.flight import Flyer
from archerysim.shot.flight.air_state import AirState
from archerysim.shot.flight.fletching import NONE, fletching_of

BoundaryLayer = Literal["auto", "laminar", "turbulent"]

# Drag coefficient of point and base on the cross-section. Set by three figures of one source, each less the friction
# below (0.72, 0.90 and 0.65; their mean): a slim shaft has 1.4, the middle of the measured 1.3 to 1.5, at Re 1.2e4 and
# at 2e4 with a laminar layer, and 2.6 with a turbulent one at 2.4e4: Miyazaki et al., Sports Engineering 16 (2013) 43
# [memory].
FORM_DRAG = 0.75
# Reynolds numbers on the diameter up to which the boundary layer is laminar and from which it is turbulent. A
# streamlined point: the change at about 2e4 (Miyazaki et al. 2013 [memory]), its width [judgement]. A blunt one trips
# it: turbulent over all of Re 0.78e6 to 1.65e6 on the length, where it stayed laminar behind a streamlined one
# (Mukaiyama et al., Procedia Engineering 13 (2011) 265, abstract); 0.78e6 is 6e3 on the diameter of a shaft 130
# diameters long; how much lower it begins [judgement].
LAYERS: dict[PointShape, tuple[float, float]] = {"streamlined": (1.6e4, 2.4e4), "blunt": (4e3, 6e3)}
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
        Of the shaft. "auto": by the point's shape and the Reynolds number on the diameter, laminar up to 1.6e4 and
        turbulent from 2.4e4 behind a streamlined point, 4e3 and 6e3 behind a blunt one.

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
        "auto": LAYERS[arrow.point_shape], "laminar": (math.inf, math.inf), "turbulent": (0.0, 0.0)
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
