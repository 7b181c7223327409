"""The arrow in flight: a rigid body in space that does not spin, air forces summed along its sections."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.mechanics.compiling import kernel

# of a state: place and velocity of the mass centre, direction of the shaft and its rates; what a flat flight has first
AT_X, AT_Y, SPEED_X, SPEED_Y, PITCH, PITCH_RATE, AT_Z, SPEED_Z, YAW, YAW_RATE = range(10)
STATE = 10


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
def normal_force(along, up, aside, turn_up, turn_aside, b):
    """Force square to the shaft, up and aside [N], and its moment about the mass centre, nose up and aside [N m].

    Parameters
    ----------
    along, up, aside : float
        Velocity of the mass centre against the air, along the shaft and along two directions square to it [m/s].
    turn_up, turn_aside : float
        Velocity of the shaft's direction along these two [rad/s].

    Notes
    -----
    At a station at s the shaft moves square to itself with w = (up, aside) + s (turn_up, turn_aside): slender body
    rho along d(A w)/ds (Munk 1924) and cross-flow -rho/2 d |w| w (c + c_f / sqrt(|w| d / nu)) (Taylor 1952). Both
    point along w: the whole angle between shaft and air counts, whichever way the shaft leans.
    """
    force_up = force_aside = moment_up = moment_aside = 0.0
    for i in range(b.at.shape[0]):
        at = b.at[i]
        w_up = up + turn_up * at
        w_aside = aside + turn_aside * at
        size = math.sqrt(w_up * w_up + w_aside * w_aside)
        slender = b.density * along * b.growth[i]
        turning = b.density * along * b.section[i]
        cross = (
            0.5 * b.density * b.wide[i]
            * (b.cross_drag * size + b.cross_friction * math.sqrt(b.viscosity * size / b.wide[i]))
        )  # fmt: skip
        f_up = b.weight[i] * ((slender - cross) * w_up + turning * turn_up)
        f_aside = b.weight[i] * ((slender - cross) * w_aside + turning * turn_aside)
        force_up += f_up
        force_aside += f_aside
        moment_up += f_up * at
        moment_aside += f_aside * at
    fin = -0.5 * b.density * b.fin_lift * abs(along)
    f_up = fin * (up + turn_up * b.fin_at)
    f_aside = fin * (aside + turn_aside * b.fin_at)
    return force_up + f_up, force_aside + f_aside, moment_up + f_up * b.fin_at, moment_aside + f_aside * b.fin_at


@kernel
def flight_rates(state, b, out):
    """Write the time derivative of a state.

    The shaft points along e = (cos yaw cos pitch, cos yaw sin pitch, sin yaw); square to it stand
    n = (-sin pitch, cos pitch, 0) and m = (-sin yaw cos pitch, -sin yaw sin pitch, cos yaw), and it turns with
    cos yaw (pitch rate) along n and the yaw rate along m. A rod that does not spin, of inertia I, under the moments M_n
    and M_m: I (cos yaw pitch'' - 2 sin yaw pitch' yaw') = M_n, I (yaw'' + sin yaw cos yaw pitch'^2) = M_m.
    """
    c, s = math.cos(state[PITCH]), math.sin(state[PITCH])
    cy, sy = math.cos(state[YAW]), math.sin(state[YAW])
    ux = state[SPEED_X] + b.head_wind
    uy = state[SPEED_Y]
    uz = state[SPEED_Z]
    level = c * ux + s * uy  # along the shaft's shadow in the vertical plane
    along = cy * level + sy * uz
    up = c * uy - s * ux
    aside = cy * uz - sy * level
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    drag = 0.5 * b.density * along * abs(along) * (b.area * shaft_drag(speed, b) + b.fin_drag)
    rate, yaw_rate = state[PITCH_RATE], state[YAW_RATE]
    lift, side, moment, moment_aside = normal_force(along, up, aside, cy * rate, yaw_rate, b)
    out[AT_X] = state[SPEED_X]
    out[AT_Y] = state[SPEED_Y]
    out[AT_Z] = state[SPEED_Z]
    back = drag * cy + side * sy
    out[SPEED_X] = (-back * c - lift * s) / b.mass
    out[SPEED_Y] = (-back * s + lift * c) / b.mass - b.gravity
    out[SPEED_Z] = (side * cy - drag * sy) / b.mass
    out[PITCH] = rate
    out[PITCH_RATE] = (moment / b.inertia + 2.0 * sy * rate * yaw_rate) / cy
    out[YAW] = yaw_rate
    out[YAW_RATE] = moment_aside / b.inertia - sy * cy * rate * rate


@kernel
def path_rates(state, b, out):
    """The same for an arrow that always keeps to its path: drag against the air, no lift; its rates are not used."""
    vx, vy, vz = state[SPEED_X], state[SPEED_Y], state[SPEED_Z]
    ux = vx + b.head_wind
    speed = math.sqrt(ux * ux + vy * vy + vz * vz)
    pull = 0.5 * b.density * speed * (b.area * shaft_drag(speed, b) + b.fin_drag) / b.mass
    ax, ay, az = -pull * ux, -pull * vy - b.gravity, -pull * vz
    out[AT_X] = vx
    out[AT_Y] = vy
    out[AT_Z] = vz
    out[SPEED_X] = ax
    out[SPEED_Y] = ay
    out[SPEED_Z] = az
    level = vx * vx + vy * vy
    out[PITCH] = (vx * ay - vy * ax) / level
    out[PITCH_RATE] = 0.0
    out[YAW] = (az * level - vz * (vx * ax + vy * ay)) / (math.sqrt(level) * (level + vz * vz))
    out[YAW_RATE] = 0.0
