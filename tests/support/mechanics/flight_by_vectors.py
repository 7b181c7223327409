"""The flight's equations once more, in vectors and without angles: forces summed along the shaft with NumPy."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.flight import Flyer, shaft_drag
from archerysim.shot.flight.start import vectors_of

X = np.array([1.0, 0.0, 0.0])
UP = np.array([0.0, 1.0, 0.0])


def along_of(state: np.ndarray) -> np.ndarray:
    """Place, velocity, the shaft's direction and its velocity (12,) of a state (10,)."""
    return np.concatenate(vectors_of(state))


def vector_rates(_: float, vectors: np.ndarray, b: Flyer) -> np.ndarray:
    """Time derivative of `along_of`.

    At s along the shaft e the air is crossed with w = v + s e' less its part along e; the force on a length is
    rho U (A' w + A e') - rho/2 d |w| w (c + c_f / sqrt(Re_w)), and for a rod I (e'' + |e'|^2 e) is the sum of s times
    that.
    """
    _, velocity, direction, turning = vectors.reshape(4, 3)
    air = velocity + b.head_wind * X
    along = float(air @ direction)
    square = air - along * direction
    w = square + b.at[:, None] * turning
    size = np.linalg.norm(w, axis=1)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        friction = np.where(size > 0.0, b.cross_friction / np.sqrt(size * b.wide[:, None] / b.viscosity), 0.0)
    crossed = 0.5 * b.density * b.wide[:, None] * size * w * (b.cross_drag + friction)
    slender = b.density * along * (b.growth[:, None] * w + b.section[:, None] * turning)
    force = b.weight[:, None] * (slender - crossed)
    fins = -0.5 * b.density * abs(along) * b.fin_lift * (square + b.fin_at * turning)
    drag = 0.5 * b.density * along * abs(along) * (b.area * shaft_drag(float(np.linalg.norm(air)), b) + b.fin_drag)
    total = force.sum(axis=0) + fins - drag * direction - b.mass * b.gravity * UP
    moment = (b.at[:, None] * force).sum(axis=0) + b.fin_at * fins
    return np.concatenate((velocity, total / b.mass, turning, moment / b.inertia - turning @ turning * direction))
