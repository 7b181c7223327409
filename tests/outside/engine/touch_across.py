"""What acts across the plane: fingers that roll the string off, the nock's groove, the side support, the arm's reach."""

from __future__ import annotations

from math import tan

import mujoco
import numpy as np

from tests.outside.engine.build import Model
from tests.outside.engine.shaft import Shaft
from tests.outside.engine.side import SEAT, Side


class TouchAcross:
    """The forces of one bow across the plane, and what they were last.

    Attributes
    ----------
    push : float
        Of the side support on the shaft, square to it [N].
    beside : float
        Place of the shaft's axis at the side support [m].
    reached, folded : bool
        Whether the shaft's axis is within the arm's reach, and whether the arm was struck from the side.
    """

    def __init__(
        self, side: Side, rest: tuple[float, float], model: Model, data: mujoco.MjData, shaft: Shaft
    ) -> None:
        assert model.across is not None
        self.side, self.data, self.shaft, self.dofs = side, data, shaft, model.across
        self.rest = rest
        self.place = (rest[0] + side.forward, rest[1])
        self.push, self.beside = 0.0, 0.0
        self.reached, self.folded = True, False
        self.hold = 0.0  # force with which the fingers hold the nock out of the plane [N]

    def fingers(
        self,
        applied: np.ndarray,
        force: np.ndarray,
        held: np.ndarray,
        shares: np.ndarray,
        left: list[float],
        gone: list[float],
    ) -> None:
        """What turns the fingers' force away from the window as they let go, and what holds the nock out."""
        rolled = float(np.hypot(*force)) * tan(self.side.roll)
        each = [w * (rolled * s + self.hold) for w, s in zip(left, gone, strict=True)]
        applied[self.dofs.string[held]] += np.dot(each, shares)

    def groove(self, applied: np.ndarray, edges: tuple[int, int]) -> None:
        """String and nock held together across the plane: the mean of both points against the nock."""
        q, v, nock = self.data.qpos, self.data.qvel, self.dofs.nock
        points = [int(self.dofs.string[k]) for k in edges]
        apart = 0.5 * sum(float(q[i]) for i in points) - float(q[nock])
        rate = 0.5 * sum(float(v[i]) for i in points) - float(v[nock])
        pull = self.side.groove_stiffness * apart + self.side.groove_loss * rate
        applied[nock] += pull
        for i in points:
            applied[i] -= 0.5 * pull

    def side_support(self) -> None:
        """The side support's push on the shaft beside it, along the shaft's normal across the plane."""
        side = self.side
        met = self.shaft.over(*self.place)
        self.push = 0.0
        if met is None:
            return
        self.beside = met.z
        pressed = side.offset - met.z
        if pressed <= 0.0:
            return
        sliding = met.velocity[0] - met.riser_velocity[0]
        rate = -(met.velocity[2] - met.slope_z * sliding)
        spring = min(max(SEAT, side.stiffness) * pressed, side.preload + side.stiffness * pressed)
        spring += SEAT * max(pressed - side.travel, 0.0)
        self.push = max(spring + side.damping * rate, 0.0)
        self.shaft.push(met, (-met.slope_z * self.push, 0.0, self.push))

    def arm_supports(self, gap: float, z: float) -> bool:
        """Whether the arm holds the shaft's underside, ``gap`` above it, its axis at ``z``.

        Within its reach; once the shaft has been outside and comes back below the arm's top the arm is folded away,
        until the shaft has been above it.
        """
        face = self.side.offset - self.side.half_diameter
        within = z - face < self.side.reach
        if within and not self.reached and gap < 0.0:
            self.folded = True
        elif gap >= 0.0:
            self.folded = False
        self.reached = within
        return within and not self.folded
