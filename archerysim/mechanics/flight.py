"""The arrow in flight: a rigid body in the vertical plane, air forces summed along its sections."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.compiling import kernel

AT_X, AT_Y, SPEED_X, SPEED_Y, PITCH, RATE = range(6)  # of a state
STATE = 6


class Flyer(NamedTuple):
    """An arrow in its air. Places are along the shaft from the mass centre, positive towards the point."""

    mass: float  #: [kg]
    inertia: float  #: about the mass centre [kg m2]
    gravity: float  #: [m/s2]
    density: float  #: of the air [kg/m3]
    viscosity: float  #: kinematic [m2/s]
    head_wind: float  #: [m/s]
    diameter: float  #: [m]
    area: float  #: the shaft's cross-section [m2]
    length: float  #: of the wetted shaft [m]
    form_drag: float  #: point and base, coefficient on the cross-section
    wetted: float  #: wetted area over the cross-section
    drag_factor: float  #: on the whole of the shaft's drag
    laminar_to: float  #: Reynolds number on the diameter up to which the boundary layer is laminar
    turbulent_from: float  #: and from which it is turbulent
    cross_drag: float  #: cross-flow coefficient at high Reynolds numbers
    cross_friction: float  #: and what is divided by the root of the cross-flow's Reynolds number
    fin_at: float  #: place of the fletching [m]
    fin_lift: float  #: slope of its normal force times its area [m2/rad]
    fin_drag: float  #: its drag coefficient times its area [m2]
    at: np.ndarray  #: (k,) places of the stations [m]
    weight: np.ndarray  #: (k,) length that each stands for [m]
    wide: np.ndarray  #: (k,) diameter [m]
    section: np.ndarray  #: (k,) cross-section [m2]
    growth: np.ndarray  #: (k,) its growth towards the point [m]


@kernel
def shaft_drag(speed, b):
    """Drag coefficient of shaft and point on the cross-section: form and skin friction.

    Laminar friction of a long cylinder: 1.328 / sqrt(Re_L) + 2.777 / Re_d; turbulent: 0.074 Re_L^(-1/5). Between
    the two Reynolds numbers a smooth step.
    """
    if b.wetted == 0.0:
        return b.form_drag * b.drag_factor
    re_d = max(speed * b.diameter / b.viscosity, 1.0)
    re_l = re_d * b.length / b.diameter
    laminar = 1.328 / math.sqrt(re_l) + 2.777 / re_d
    turbulent = 0.074 * re_l**-0.2
    if re_d <= b.laminar_to:
        friction = laminar
    elif re_d >= b.turbulent_from:
        friction = turbulent
    else:
        s = (re_d - b.laminar_to) / (b.turbulent_from - b.laminar_to)
        s = s * s * (3.0 - 2.0 * s)
        friction = (1.0 - s) * laminar + s * turbulent
    return b.drag_factor * (b.form_drag + b.wetted * friction)


@kernel
def normal_force(along, across, rate, b):
    """Normal force [N], positive up, and its moment about the mass centre [N m], positive nose up.

    Parameters
    ----------
    along, across : float
        Velocity of the mass centre against the air, along the shaft and square to it, up [m/s].
    rate : float
        Pitch rate [rad/s].

    Notes
    -----
    At a station at s with normal velocity w = across + rate s: slender body rho along d(A w)/ds (Munk 1924) and
    cross-flow -rho/2 d |w| w (c + c_f / sqrt(|w| d / nu)) (Taylor 1952).
    """
    force = 0.0
    moment = 0.0
    for i in range(b.at.shape[0]):
        w = across + rate * b.at[i]
        size = abs(w)
        f = b.density * along * (b.growth[i] * w + b.section[i] * rate)
        f -= (
            0.5 * b.density * b.wide[i] * w
            * (b.cross_drag * size + b.cross_friction * math.sqrt(b.viscosity * size / b.wide[i]))
        )  # fmt: skip
        f *= b.weight[i]
        force += f
        moment += f * b.at[i]
    w = across + rate * b.fin_at
    f = -0.5 * b.density * b.fin_lift * abs(along) * w
    return force + f, moment + f * b.fin_at


@kernel
def flight_rates(state, b, out):
    """Write the time derivative of (x, y, velocity x, velocity y, pitch, pitch rate)."""
    c = math.cos(state[PITCH])
    s = math.sin(state[PITCH])
    ux = state[SPEED_X] + b.head_wind
    uy = state[SPEED_Y]
    along = c * ux + s * uy
    across = c * uy - s * ux
    speed = math.sqrt(ux * ux + uy * uy)
    drag = 0.5 * b.density * along * abs(along) * (b.area * shaft_drag(speed, b) + b.fin_drag)
    force, moment = normal_force(along, across, state[RATE], b)
    out[AT_X] = state[SPEED_X]
    out[AT_Y] = state[SPEED_Y]
    out[SPEED_X] = (-drag * c - force * s) / b.mass
    out[SPEED_Y] = (-drag * s + force * c) / b.mass - b.gravity
    out[PITCH] = state[RATE]
    out[RATE] = moment / b.inertia


@kernel
def path_rates(state, b, out):
    """The same for an arrow that always keeps to its path: drag against the air, no lift; pitch rate is not used."""
    ux = state[SPEED_X] + b.head_wind
    uy = state[SPEED_Y]
    speed = math.sqrt(ux * ux + uy * uy)
    pull = 0.5 * b.density * speed * (b.area * shaft_drag(speed, b) + b.fin_drag) / b.mass
    out[AT_X] = state[SPEED_X]
    out[AT_Y] = state[SPEED_Y]
    out[SPEED_X] = -pull * ux
    out[SPEED_Y] = -pull * uy - b.gravity
    out[PITCH] = (state[SPEED_X] * out[SPEED_Y] - state[SPEED_Y] * out[SPEED_X]) / (
        state[SPEED_X] ** 2 + state[SPEED_Y] ** 2
    )
    out[RATE] = 0.0
