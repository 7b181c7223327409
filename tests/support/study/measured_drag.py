"""What wind tunnels and filmed flights say of an arrow's drag: what set a constant, what was held out, what differs."""

from __future__ import annotations

import math
from functools import partial

import msgspec
import numpy as np
from scipy.optimize import brentq

from archerysim.equipment import filled
from archerysim.equipment.arrow import PointShape
from archerysim.mechanics.flight import Flyer, normal_force, shaft_drag
from archerysim.shot.flight.aerodynamics import BoundaryLayer, flyer
from archerysim.shot.flight.air_state import air_state
from archerysim.shot.flight.trajectory import course
from tests.support.shot.example_bows import measured
from tests.support.study.known_directions import CLUB, Range

TUNNEL = "Miyazaki et al., Sports Engineering 16 (2013) 43 [memory]"
VANES = (
    "Ortiz et al., Proceedings (ISSN 2504-3900) 49 (2020) 56, 13th Conference of the International Sports "
    "Engineering Association [series and conference: memory]"
)
POINTS = "Mukaiyama, Suzuki, Miyazaki, Sawada, Procedia Engineering 13 (2011) 265-270, abstract"
STABLE = "J. L. Park, popular article [memory]"
LENGTHS = (0.78e6, 1.65e6)  # Reynolds numbers on the length between which the points were compared
SHOT, HALL = 56.4, 70.0  # [m/s], [m]: the distance is not given, this one is assumed
SLIM, LIGHT = 5.2e-3, 0.018  # [m], [kg] of the arrow that flew [memory]


def body(
    name: str = CLUB, layer: BoundaryLayer = "auto", *, fletched: bool = False, shape: PointShape = "streamlined",
    point: float = 1.0,
) -> Flyer:  # fmt: skip
    """An example's arrow, its point of that shape and so many times as heavy."""
    full = filled(measured(name))
    arrow = msgspec.structs.replace(full.arrow, point_shape=shape, point_mass=point * full.arrow.point_mass)
    return flyer(arrow, air_state(full.air), fletched=fletched, boundary_layer=layer)


def at_reynolds(name: str, number: float, layer: BoundaryLayer, *, fletched: bool) -> float:
    """Drag coefficient of an example's arrow flying along its axis, on its cross-section."""
    b = body(name, layer, fletched=fletched)
    return float(shaft_drag(number * b.viscosity / b.diameter, b) + b.fin_drag / b.area)


def turbulent_share(number: float, shape: PointShape, *, on_length: bool = False) -> float:
    """How far from laminar, 0, to turbulent, 1, the outdoor shaft's drag is at a Reynolds number."""
    auto, laminar, turbulent = (body(CLUB, layer, shape=shape) for layer in ("auto", "laminar", "turbulent"))
    speed = number * auto.viscosity / (auto.length if on_length else auto.diameter)
    ours, low, high = (float(shaft_drag(speed, b)) for b in (auto, laminar, turbulent))
    return (ours - low) / (high - low)


def lost(layer: BoundaryLayer) -> float:
    """Speed lost over 70 m from 56.4 m/s by an arrow like the one that flew, its vanes the outdoor arrow's [%]."""
    full = filled(measured(CLUB))
    arrow = msgspec.structs.replace(full.arrow, diameter=SLIM)
    b = flyer(arrow, air_state(full.air), boundary_layer=layer)._replace(gravity=0.0, mass=LIGHT)
    last = course(np.array([0.0, 0.0, SHOT, *np.zeros(7)]), b, nose=0.0, distance=HALL).last
    return 100.0 * float(1.0 - last[2] / SHOT)


def rights_itself(name: str = CLUB, point: float = 1.0, speed: float = 55.0) -> float:
    """Angle from which on a shaft without fletching turns back, its point so many times as heavy [deg]."""
    b = body(name, point=point)

    def moment(angle: float) -> float:
        return normal_force(speed * math.cos(angle), -speed * math.sin(angle), 0.0, 0.0, 0.0, b)[2]

    return math.degrees(float(brentq(moment, 1e-6, 0.5)))


def set_constants() -> list[Range]:
    """The measured coefficients of a slim shaft, on its cross-section, and the point's shape."""
    shaft = partial(at_reynolds, CLUB, fletched=False)
    return [
        Range("drag of the bare shaft, laminar, Re 1.2e4", "1.3 to 1.5", 1.3, 1.5, "", TUNNEL,
              lambda: shaft(1.2e4, "laminar"), "constant"),
        Range("drag of the bare shaft, turbulent, Re 2.4e4", "about 2.6", 2.45, 2.75, "", TUNNEL,
              lambda: shaft(2.4e4, "turbulent"), "constant"),
        Range("streamlined point, Re 2e4: share of the way from laminar to turbulent", "changing", 0.05, 0.95, "",
              TUNNEL, lambda: turbulent_share(2e4, "streamlined"), "constant"),
        Range("blunt point, Re 0.78e6 on the length: share of the way from laminar to turbulent", "turbulent: 1", 0.95,
              1.001, "", POINTS, lambda: turbulent_share(LENGTHS[0], "blunt", on_length=True), "constant"),
    ]  # fmt: skip


def held_out() -> list[Range]:
    """Figures of the arrow's drag that set nothing."""
    return [
        Range("drag of the fletched arrow, Re 1.2e4", "1.56 to 2.05", 1.56, 2.05, "", VANES,
              lambda: at_reynolds(CLUB, 1.2e4, "auto", fletched=True), "held out"),
        Range("speed lost from 56.4 m/s, over 70 m (assumed)", "about 8; by coefficients of 1.56 to 2.6, 7.4 to 12.1",
              7.4, 12.1, "%", VANES, lambda: lost("auto"), "held out"),
        Range("the same, laminar all the way", "about 8", 7.0, 9.0, "%", VANES, lambda: lost("laminar"), "held out"),
        Range("a turbulent layer turns laminar again at a mean Re of 1.8e4: share of the way from laminar to turbulent",
              "between 0 and 1", 0.01, 0.99, "", VANES, lambda: turbulent_share(1.8e4, "streamlined"), "held out"),
        *(Range(f"streamlined point, Re {number / 1e6:g}e6 on the length: share of the way from laminar to turbulent",
                "laminar: 0", -1e-9, 0.05, "", POINTS,
                lambda number=number: turbulent_share(number, "streamlined", on_length=True), "held out")
          for number in LENGTHS),
        Range("blunt point, Re 1.65e6 on the length: share of the way from laminar to turbulent", "turbulent: 1",
              0.95, 1.001, "", POINTS, lambda: turbulent_share(LENGTHS[1], "blunt", on_length=True), "held out"),
    ]  # fmt: skip


def differing() -> list[Range]:
    """Published statements that ours does not bear out, with where it stands."""
    return [
        Range("drag of the bare shaft, laminar, Re 2e4", "1.3 to 1.5", 1.2, 1.3, "", TUNNEL,
              lambda: at_reynolds(CLUB, 2e4, "laminar", fletched=False), "differs"),
        Range("arrow without fletching, its mass well forward: turns back from an angle on of",
              "0: normally still statically stable", 1.5, 2.2, "deg", STABLE, rights_itself, "differs"),
        Range("the same, its point three times as heavy", "0: normally still statically stable", 0.3, 0.7, "deg",
              STABLE, lambda: rights_itself(point=3.0), "differs"),
    ]  # fmt: skip
