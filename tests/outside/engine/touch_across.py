"""What acts across the plane: fingers that roll the string off, groove of the nock, side support, reach of the arm."""

from __future__ import annotations

from math import inf, tan
from typing import Any

import mujoco
import numpy as np

from archerysim.shot.arrays.sideways import SEAT
from tests.outside.engine.build import Across
from tests.outside.engine.shaft import Met, Shaft


class TouchAcross:
    """The forces of one bow across the plane, and what they were last.

    Attributes
    ----------
    push : float
        Of the side support on the shaft, square to it [N].
    beside, place : float
        Place of the shaft's axis at the side support, and where on the shaft that is, from the throat [m].
    reached, folded : bool
        Whether the shaft's axis is within the arm's reach, and whether the arm was struck from the side.
    hold : float
        Force with which the fingers hold the nock out of the plane [N].
    """

    def __init__(self, setup: Any, data: mujoco.MjData, shaft: Shaft, dofs: Across) -> None:
        side, rest, nock = setup.side, setup.rest, setup.nock
        self.data, self.shaft, self.dofs = data, shaft, dofs
        self.offset = side.offset
        self.spring = (side.stiffness, side.preload, side.travel, side.damping)
        self.stands = (rest.forward + side.forward, rest.height + 0.5 * setup.arrow.diameter)
        self.outer = inf if rest.kind == "shelf" else side.offset - 0.5 * setup.arrow.diameter + rest.reach
        self.tips = shaft.model.engine.dof_armature[dofs.tips]
        self.fold_force = rest.fold_force
        self.roll = tan(setup.archer.side_roll)
        self.wanted = setup.archer.side_hold
        self.grooved = (nock.groove_stiffness, nock.groove_loss)
        self.push, self.beside, self.place, self.hold = 0.0, 0.0, 0.0, 0.0
        self.reached, self.folded = True, False

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
        rolled = float(np.hypot(*force)) * self.roll
        each = [w * (rolled * s + self.hold) for w, s in zip(left, gone, strict=True)]
        applied[self.dofs.string[held]] += np.dot(each, shares)

    def weight(self, applied: np.ndarray) -> None:
        """Of the limbs' tips, across the plane of a canted bow: an armature has none in the engine."""
        applied[self.dofs.tips] += self.tips * self.shaft.model.engine.opt.gravity[2]

    def groove(self, applied: np.ndarray, edges: tuple[int, int]) -> None:
        """String and nock held together across the plane: the mean of both points against the nock."""
        q, v, nock = self.data.qpos, self.data.qvel, self.dofs.nock
        points = [int(self.dofs.string[k]) for k in edges]
        apart = 0.5 * sum(float(q[i]) for i in points) - float(q[nock])
        rate = 0.5 * sum(float(v[i]) for i in points) - float(v[nock])
        pull = self.grooved[0] * apart + self.grooved[1] * rate
        applied[nock] += pull
        for i in points:
            applied[i] -= 0.5 * pull

    def side_support(self) -> None:
        """The side support's push on the shaft beside it, along the shaft's normal across the plane."""
        met = self.shaft.over(*self.stands)
        self.push = 0.0
        if met is None:
            return
        self.beside, self.place = met.z, met.place
        pressed = self.offset - met.z
        if pressed <= 0.0:
            return
        stiffness, preload, travel, damping = self.spring
        sliding = met.velocity[0] - met.riser_velocity[0]
        rate = -(met.velocity[2] - met.slope_z * sliding)
        spring = min(max(SEAT, stiffness) * pressed, preload + stiffness * pressed)
        spring += SEAT * max(pressed - travel, 0.0)
        self.push = max(spring + damping * rate, 0.0)
        self.shaft.push(met, (-met.slope_z * self.push, 0.0, self.push))

    def arm_supports(self, gap: float, met: Met) -> bool:
        """Whether the arm holds the shaft's underside, ``gap`` above it.

        Within its reach; once the shaft has been outside and comes back below the arm's top the arm is folded away,
        pushing it out meanwhile, until the shaft has been above it.
        """
        within = met.z < self.outer
        if within and not self.reached and gap < 0.0:
            self.folded = True
        elif gap >= 0.0:
            self.folded = False
        self.reached = within
        if within and self.folded:
            self.shaft.push(met, (0.0, 0.0, self.fold_force))
        return within and not self.folded
