"""The Lagrangian of a whole bow that shoots in both planes: string, shaft and limb tips have a place sideways."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from types import ModuleType

import numpy as np
import sympy as sp

from archerysim.mechanics.arrays import Sideways
from tests.derivation import chain_elements as chains
from tests.derivation import side_elements as sides
from tests.derivation import space_elements as spaces
from tests.derivation.element import Element, Law, dot
from tests.derivation.whole_bow import INSIDE, WholeBow, put_law

FOLDING = sp.Symbol("folding", real=True)  # 1 while a struck arm folds away, else 0


@dataclass
class WholeBowInSpace(WholeBow):
    """Symbols, elements and equations of one bow in both planes; ``closed``, its side support too holds both ways."""

    side_masses: dict[sp.Symbol, sp.Symbol] = field(default_factory=dict)

    def __post_init__(self) -> None:
        assert self.bow.sideways is not None
        self.side: Sideways = self.bow.sideways
        self.z = [sp.Symbol(f"z_{i}", real=True) for i in range(self.bow.x.size)]
        self.moving = np.flatnonzero(self.side.inverse_mass > 0.0)
        super().__post_init__()
        self.put_side_support()
        self.put_held_aside()
        self.put_loads_aside()

    # the elements

    def in_space(self, *nodes: int) -> list[sp.Symbol]:
        """Coordinates of nodes, three of each."""
        return [s for i in nodes for s in (self.x[i], self.y[i], self.z[i])]

    def cell(self, j: int) -> tuple[ModuleType, list[sp.Symbol]]:
        """Where the elements of a cell are written, and its nodes' coordinates; the limbs' stay in their plane."""
        return (spaces, self.in_space(j, j + 1)) if self.side.span[j] else (chains, self.at(j, j + 1))

    def put_bend(self, i: int) -> None:
        """The bend at a node, of the shaft in space."""
        if i < self.bow.marks.tail:
            super().put_bend(i)
        else:
            self.put(spaces.bend(), f"bend{i}", self.in_space(i - 1, i, i + 1), (self.bow.chain.bend[i],))

    def put_support(self, j: int) -> Element:
        """The rest's arm under one cell, and what it does there while it folds away."""
        arm, fr = self.side.arm, self.bow.frame
        if arm.fold_force > 0.0:
            at = [self.x[j], self.z[j], self.x[j + 1], self.z[j + 1], *self.pose]
            numbers = (self.bow.support.x - fr.cx, self.bow.support.y - fr.cy, arm.fold_force)
            there = self.put(sides.folding(), f"fold{j}", at, numbers)
            self.only(FOLDING * self.within(next(iter(there.layers[1])), j))
            self.values[FOLDING] = 0.0
        return self.put(
            sides.arm(), f"rest{j}", [*self.in_space(j, j + 1), *self.pose], (*self.support_numbers, arm.outer)
        )

    def put_side_support(self) -> None:
        """The side support, beside whichever cell of the shaft stands there."""
        ss, fr = self.side.support, self.bow.frame
        numbers = (
            ss.x - fr.cx, ss.y - fr.cy, ss.offset, ss.stiffness, ss.preload, max(ss.seat, ss.stiffness), ss.travel,
            ss.seat, ss.damping,
        )  # fmt: skip
        for j in range(self.bow.marks.tail, self.bow.x.size - 1):
            at = [self.x[j], self.z[j], self.x[j + 1], self.z[j + 1], *self.pose]
            there = self.put(sides.side_support(), f"side{j}", at, numbers)
            law, place = there.law, next(iter(there.layers[1]))
            assert law is not None
            if self.closed:
                stiff, loss = there.parameters[3], there.parameters[-1]
                self.elements[-1] = put_law(there, Law(stiff * law.measure + loss * dot(law.measure), law.measure))
            self.only(self.within(place, j))

    def put_held_aside(self) -> None:
        """Groove and tips."""
        m, marks = self.side, self.bow.marks
        held = (m.groove_stiffness, m.groove_loss)
        self.put(sides.groove(), "groove", [self.z[i] for i in (marks.edge_u, marks.edge_l, marks.tail)], held)
        if not self.closed:
            self.only(INSIDE)
        for tip, stiff, loss in zip((marks.tip_u, marks.tip_l), m.tip_stiffness, m.tip_loss, strict=True):
            self.put(sides.tip(), f"tip{tip}", [self.z[tip]], (stiff, loss))

    def put_loads_aside(self) -> None:
        """Weight and fingers."""
        m, fi = self.side, self.bow.fingers
        for i in self.moving:
            mass = 1.0 / m.inverse_mass[i]
            there = self.put(sides.weight(), f"aside{i}", [self.z[i]], (mass, m.weight[i] / mass))
            self.side_masses[self.z[i]] = there.parameters[0]
        for k in range(3):
            for node in np.flatnonzero(fi.weight[k]):
                numbers = (fi.weight[k, node], m.roll, 0.25 * np.pi, m.hold, fi.delay[k], fi.time[k])
                self.put(sides.finger(), f"aside{k}on{node}", [self.z[fi.first + node]], numbers)

    # the equations

    @cached_property
    def coordinates(self) -> list[sp.Symbol]:
        """All of them: x and y of the free nodes, z of those that move sideways, the riser's last."""
        return [*self.at(*self.free), *(self.z[i] for i in self.moving), *self.pose]

    @cached_property
    def kinetic(self) -> sp.Expr:
        """T over the rates."""
        aside = [mass * dot(z) ** 2 / 2 for z, mass in self.side_masses.items()]
        return sp.Add(super().kinetic, *aside)

    def start(self) -> np.ndarray:
        """Coordinates and rates at full draw."""
        flat = super().start()
        half = flat.size // 2
        coordinates = np.concatenate((flat[: half - 3], self.bow.z[self.moving], flat[half - 3 : half]))
        return np.concatenate((coordinates, np.zeros(coordinates.size)))

    def past_support(self, state: np.ndarray) -> float:
        """How far the shaft's axis over the rest is beyond the arm's reach [m]."""
        return self.at_the_arm(state)[0]

    def at_the_arm(self, state: np.ndarray) -> tuple[float, float]:
        """How far the shaft's axis over the rest is beyond the arm's reach, and how far the shaft presses it [m]."""
        su, fr, tail = self.bow.support, self.bow.frame, self.bow.marks.tail
        half, flat = len(self.coordinates), 2 * self.free.size
        x, y = state[2 * np.searchsorted(self.free, tail) : flat].reshape(-1, 2).T
        z = state[flat + np.searchsorted(self.moving, tail) : half - 3]
        at_x, at_y, turn = state[half - 3 : half]
        ax, ay, cosine, sine = su.x - fr.cx, su.y - fr.cy, np.cos(turn), np.sin(turn)
        at_x, at_y = at_x + ax * cosine - ay * sine, at_y + ax * sine + ay * cosine
        press = su.side * (at_y - np.interp(at_x, x, y)) + su.half_diameter
        return float(np.interp(at_x, x, z) - self.side.arm.outer), float(press)

    def state_of_both(self, nodes: np.ndarray, aside: np.ndarray, moment: np.record) -> np.ndarray:
        """As `state_of`, with z and its rate of all nodes (2, n) too."""
        flat = self.state_of(nodes, moment)
        half = flat.size // 2
        parts = [
            (flat[k : k + half - 3], aside[row][self.moving], flat[k + half - 3 : k + half])
            for row, k in enumerate((0, half))
        ]
        return np.concatenate([piece for part in parts for piece in part])
