"""Where the engine's shaft passes a point of the riser, and pushes there."""

from __future__ import annotations

from dataclasses import dataclass

import mujoco
import numpy as np

from tests.outside.engine.build import Model


@dataclass(frozen=True)
class Met:
    """The place of the shaft beside a point of the riser.

    Attributes
    ----------
    link : int
        Body of the shaft.
    place : float
        On the shaft, from the throat [m].
    x, y, z : float
        Of its axis there [m].
    slope_y, slope_z : float
        Of the axis there.
    velocity : (3,) tuple
        Of the shaft's material there [m/s].
    riser, riser_velocity : (2,) tuples
        Place and velocity of the riser's point [m], [m/s].
    """

    link: int
    place: float
    x: float
    y: float
    z: float
    slope_y: float
    slope_z: float
    velocity: tuple[float, float, float]
    riser: tuple[float, float]
    riser_velocity: tuple[float, float]


class Shaft:
    """The shaft's links and what pushes on them."""

    def __init__(self, model: Model, data: mujoco.MjData) -> None:
        self.model, self.data = model, data
        self.pushed = np.append(model.arrow, model.riser)
        self.motion = np.zeros(6)
        self.length = 0.0 if model.shaft is None else model.shaft.link  # of a link [m]

    def let_go(self) -> None:
        """Take all pushes away."""
        self.data.xfrc_applied[self.pushed] = 0.0

    def over(self, forward: float, height: float) -> Met | None:
        """The shaft's material beside a point of the riser; None where the shaft does not reach."""
        model, data = self.model, self.data
        turn = data.xmat[model.riser]
        arm_x = float(turn[0]) * forward + float(turn[1]) * height
        arm_y = float(turn[3]) * forward + float(turn[4]) * height
        x, y = float(data.xpos[model.riser, 0]) + arm_x, float(data.xpos[model.riser, 1]) + arm_y
        ends = data.xipos[model.arrow, 0]
        k = int(np.searchsorted(ends, x))
        if k == ends.size or x < float(data.xpos[model.arrow[0], 0]):
            return None
        link = int(model.arrow[k])
        root = [float(c) for c in data.xpos[link]]
        along_x, along_y, along_z = (float(c) for c in data.xmat[link, ::3])
        slope_y, slope_z = along_y / along_x, along_z / along_x
        ahead = x - root[0]
        mujoco.mj_objectVelocity(model.engine, data, mujoco.mjtObj.mjOBJ_XBODY, link, self.motion, 0)
        wx, wy, wz, vx, vy, vz = (float(c) for c in self.motion)
        rx, ry, rz = ahead, ahead * slope_y, ahead * slope_z
        velocity = (vx + wy * rz - wz * ry, vy + wz * rx - wx * rz, vz + wx * ry - wy * rx)
        riser_x, riser_y, spin = (float(c) for c in data.qvel[:3])
        return Met(
            link, k * self.length + ahead / along_x, x, root[1] + ry, root[2] + rz, slope_y, slope_z, velocity,
            (x, y), (riser_x - spin * arm_y, riser_y + spin * arm_x),
        )  # fmt: skip

    def push(self, met: Met, force: tuple[float, float, float]) -> None:
        """A force on the shaft's material, its counterpart on the riser; across the plane the riser stands still."""
        data, riser = self.data, self.model.riser
        fx, fy, fz = force
        arm = np.array([met.x, met.y, met.z]) - data.xipos[met.link]
        rx, ry, rz = (float(c) for c in arm)
        data.xfrc_applied[met.link] += (fx, fy, fz, ry * fz - rz * fy, rz * fx - rx * fz, rx * fy - ry * fx)
        rx, ry = met.x - float(data.xipos[riser, 0]), met.y - float(data.xipos[riser, 1])
        data.xfrc_applied[riser] -= (fx, fy, 0.0, 0.0, 0.0, rx * fy - ry * fx)
