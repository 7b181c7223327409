"""What the engine has no part for: fingers that fade, the throat's two edges with their grip, locators, rest.

Each is computed here from the words of the model and from the engine's own places and velocities of bodies, and
handed to the engine as forces on bodies and joints.
"""

from __future__ import annotations

from math import cos, inf, pi
from typing import Any

import mujoco
import numpy as np

from archerysim.shot.arrays.build import FRICTION_STIFFNESS
from tests.outside.engine.build import Model
from tests.outside.engine.shaft import Shaft
from tests.outside.engine.touch_across import TouchAcross


class Touch:
    """The forces of one bow, and what they were last.

    Attributes
    ----------
    fade : bool
        Whether the fingers let go from time zero on.
    inside, supported : bool
        Whether the string is in the throat, and the shaft within the rest's support.
    advance : (float, float)
        Of the string past the floor, lower and upper edge [m].
    edges : (float, float)
        Force on the shaft along the floor's normal, lower and upper [N].
    locator, rest : float
        Force on the shaft [N].
    across : TouchAcross or None
        The forces across the plane; None in one plane.
    """

    def __init__(self, setup: Any, model: Model, data: mujoco.MjData) -> None:
        nock, rest, archer, locators = setup.nock, setup.rest, setup.archer, setup.nock.locators
        if locators.gap != 0.0 or not (locators.upper_present and locators.lower_present):
            raise ValueError("locators on both sides without a gap only")
        if archer.pinch != 0.0:
            raise ValueError("no pinch on the nock")
        self.model, self.data = model, data
        self.slope = (cos(nock.slope), float(np.sin(nock.slope)))
        self.edge = (nock.edge_stiffness, nock.edge_loss, 0.5 * nock.grip, nock.snap_travel)
        self.locators = (locators.stiffness, locators.loss)
        self.friction = nock.friction
        self.stuck: float | None = None  # offset at which the string sticks to the floor, from the release on [m]
        self.depth = nock.depth
        self.support = (rest.forward, rest.height, rest.stiffness, rest.damping, 0.5 * setup.arrow.diameter)
        self.travel = inf if rest.unlimited_support or model.across is not None else rest.support_travel
        self.release = list(zip(archer.release_time, archer.release_delays, strict=True))
        self.force = np.zeros(2)
        self.fade = False
        self.inside = self.supported = True
        self.begin = 0.0
        self.advance, self.edges, self.locator, self.rest = (0.0, 0.0), (0.0, 0.0), 0.0, 0.0
        inner = model.string.fingers[:, 1:-1]
        self.held = np.flatnonzero(inner.any(axis=0))
        self.shares = inner[:, self.held]
        self.held_dofs = model.string_dofs[self.held]
        self.low = model.string.lower_edge - 1  # among the inner points
        self.hand = np.zeros(3)
        self.shaft = Shaft(model, data)
        self.across = TouchAcross(setup, data, self.shaft, model.across) if model.across is not None else None

    def gone(self, time: float) -> list[float]:
        """Share of each finger's release time, after its delay, that has passed."""
        if not self.fade:
            return [0.0, 0.0, 0.0]
        return [min(max((time - delay) / long, 0.0), 1.0) for long, delay in self.release]

    def left(self, time: float) -> list[float]:
        """Share of each finger's force that is left: a half cosine after its delay."""
        return [0.5 + 0.5 * cos(pi * share) for share in self.gone(time)]

    def apply(self) -> None:
        """Write the forces for the engine's present places and velocities."""
        data = self.data
        applied = data.qfrc_applied
        applied[:] = 0.0
        applied[:3] = self.hand
        left = self.left(data.time)
        applied[self.held_dofs] = np.dot(left, self.shares)[:, None] * self.force
        self.supported = self.tail_x() - self.begin < self.travel
        self.shaft.let_go()
        if self.inside:
            self.press_throat(applied)
        self.press_rest()
        if self.across is not None:
            self.across.weight(applied)
            self.across.fingers(applied, self.force, self.held, self.shares, left, self.gone(data.time))
            if self.inside:
                self.across.groove(applied, (self.low, self.low + 1))
            self.across.side_support()

    def touching(self) -> bool:
        """Whether rest or side support push."""
        return self.rest > 0.0 or (self.across is not None and self.across.push > 0.0)

    def tail_x(self) -> float:
        """Place of the throat's middle [m]."""
        return float(self.data.qpos[self.model.nock_dofs[0]])

    def press_throat(self, applied: np.ndarray) -> None:
        """Edges and locators; forces on the shaft at the string's points, their counterparts on the string."""
        model, data = self.model, self.data
        ax, ay = (int(i) for i in model.nock_dofs)
        turn = int(model.arrow_dofs[0])
        points = [[int(i) for i in model.string_dofs[k]] for k in (self.low, self.low + 1)]
        q, v = data.qpos, data.qvel
        tx, ty = (float(c) for c in data.xmat[model.nock, (0, 3)])
        cosine, sine = self.slope
        nx, ny = cosine * tx + sine * ty, cosine * ty - sine * tx  # forward normal; the floor runs along (-ny, nx)
        px, py, vx, vy, spin = float(q[ax]), float(q[ay]), float(v[ax]), float(v[ay]), float(v[turn])
        arms, rates = [], []
        for ix, iy in points:
            arms.append((float(q[ix]) - px, float(q[iy]) - py))
            # velocity seen from the turning nock
            rates.append((float(v[ix]) - vx + spin * arms[-1][1], float(v[iy]) - vy - spin * arms[-1][0]))
        advance = [rx * nx + ry * ny for rx, ry in arms]
        forces = [self.edge_force(d, wx * nx + wy * ny) for d, (wx, wy) in zip(advance, rates, strict=True)]
        offset = 0.5 * sum(-rx * ny + ry * nx for rx, ry in arms)
        along = self.locators[0] * offset + self.locators[1] * 0.5 * sum(-wx * ny + wy * nx for wx, wy in rates)
        self.advance, self.edges, self.locator = (advance[0], advance[1]), (forces[0], forces[1]), along
        along += self.rub(offset, sum(max(f, 0.0) for f in forces))
        for f, (rx, ry), (ix, iy) in zip(forces, arms, points, strict=True):
            fx, fy = f * nx - 0.5 * along * ny, f * ny + 0.5 * along * nx
            applied[ax] += fx
            applied[ay] += fy
            applied[turn] += rx * fy - ry * fx
            applied[ix] -= fx
            applied[iy] -= fy
        if max(advance) < -self.depth:
            self.inside = False
            self.edges, self.locator = (0.0, 0.0), 0.0

    def rub(self, offset: float, push: float) -> float:
        """Friction along the floor: a spring that slips, slack at full draw."""
        if not self.fade or self.friction == 0.0:
            return 0.0
        self.stuck = offset if self.stuck is None else self.stuck
        most = self.friction * push / FRICTION_STIFFNESS
        spring = min(max(offset - self.stuck, -most), most)
        self.stuck = offset - spring
        return FRICTION_STIFFNESS * spring

    def edge_force(self, d: float, rate: float) -> float:
        """max(k d + c d', -g(d)): pushes freely, holds back up to the grip."""
        stiffness, loss, grip, snap = self.edge
        behind = -d
        if behind < 0.5 * snap:
            hold = grip
        elif behind < snap:
            hold = grip * (snap - behind) / (0.5 * snap)
        else:
            hold = 0.0
        return max(stiffness * d + loss * rate, -hold)

    def press_rest(self) -> None:
        """A spring along y under the shaft's material above the rest, and its counterpart on the riser."""
        self.rest = 0.0
        if not self.supported:
            return
        forward, height, stiffness, damping, half = self.support
        met = self.shaft.over(forward, height)
        if met is None:
            return
        gap = met.y - half - met.riser[1]
        if self.across is not None and not self.across.arm_supports(gap, met):
            return
        if gap < 0.0:
            self.rest = max(-stiffness * gap + damping * (met.riser_velocity[1] - met.velocity[1]), 0.0)
            self.shaft.push(met, (0.0, self.rest, 0.0))
