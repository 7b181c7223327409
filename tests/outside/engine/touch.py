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
        self.travel = inf if rest.unlimited_support else rest.support_travel
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
        self.link = int(model.arrow[0])
        self.velocity = np.zeros(6)

    def left(self, time: float) -> list[float]:
        """Share of each finger's force that is left: a half cosine after its delay."""
        if not self.fade:
            return [1.0, 1.0, 1.0]
        return [0.5 + 0.5 * cos(pi * min(max((time - delay) / long, 0.0), 1.0)) for long, delay in self.release]

    def apply(self) -> None:
        """Write the forces for the engine's present places and velocities."""
        data = self.data
        applied = data.qfrc_applied
        applied[:] = 0.0
        applied[:3] = self.hand
        shares = np.dot(self.left(data.time), self.shares)
        applied[self.held_dofs] = shares[:, None] * self.force
        self.supported = self.tail_x() - self.begin < self.travel
        if self.inside:
            self.press_throat(applied)
        self.press_rest()

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
        model, data = self.model, self.data
        pushed = data.xfrc_applied
        pushed[self.link] = 0.0
        pushed[model.riser] = 0.0
        self.rest = 0.0
        if not self.supported:
            return
        forward, height, stiffness, damping, half = self.support
        turn = data.xmat[model.riser]
        arm_x = float(turn[0]) * forward + float(turn[1]) * height
        arm_y = float(turn[3]) * forward + float(turn[4]) * height
        x, y = float(data.xpos[model.riser, 0]) + arm_x, float(data.xpos[model.riser, 1]) + arm_y
        ends = data.xipos[model.arrow, 0]
        k = int(np.searchsorted(ends, x))
        if k == ends.size or x < float(data.xpos[model.arrow[0], 0]):
            return
        self.link = int(model.arrow[k])
        root = data.xpos[self.link]
        ahead = x - float(root[0])
        line = data.xmat[self.link]
        gap = float(root[1]) + ahead * float(line[3]) / float(line[0]) - half - y
        if gap >= 0.0:
            return
        mujoco.mj_objectVelocity(model.engine, data, mujoco.mjtObj.mjOBJ_XBODY, self.link, self.velocity, 0)
        up = float(self.velocity[4]) + float(self.velocity[2]) * ahead
        rate = float(data.qvel[1]) + float(data.qvel[2]) * arm_x - up
        f = max(-stiffness * gap + damping * rate, 0.0)
        self.rest = f
        pushed[self.link, 1] = f
        pushed[self.link, 5] = (x - float(data.xipos[self.link, 0])) * f
        pushed[model.riser, 1] = -f
        pushed[model.riser, 5] = -(x - float(data.xipos[model.riser, 0])) * f
