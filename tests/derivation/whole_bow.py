"""The Lagrangian of a whole bow with its arrow, put together from the elements' energies, and its equations.

The coordinates are the places of the free nodes and the riser's mass centre and turn. The four nodes that clamp the
limbs are driven by the riser. The equations are Lagrange's with Rayleigh's loss function R and, for contacts that
switch, the virtual work of their laws:

    d/dt (dL/dq') - dL/dq + dR/dq' = Q,     L = T - V
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from types import ModuleType

import numpy as np
import sympy as sp

from tests.derivation import chain_elements as chains
from tests.derivation import riser_elements as risers
from tests.derivation import throat_elements as throats
from tests.derivation.element import Element, Law, Layer, compiled, dot, forces
from tests.support.mechanics.release_of_arrays import Start

INSIDE = sp.Symbol("inside", real=True)  # 1 while the string is in the throat, else 0
SUPPORTED = sp.Symbol("supported", real=True)  # 1 while the rest supports, else 0
STUCK = sp.Symbol("stuck", real=True)  # offset at which the string sticks to the throat's floor [m]


@dataclass
class WholeBow:
    """Symbols, elements and equations of one bow.

    Attributes
    ----------
    bow : Start
        What the compiled release starts from.
    closed : bool
        Edges, locators and rest hold both ways at all times, and string cells push as well: no case is left.
    """

    bow: Start
    closed: bool
    elements: list[Element] = field(default_factory=list)
    values: dict[sp.Symbol, float] = field(default_factory=dict)
    shared: list[Layer] = field(default_factory=list)
    masses: dict[tuple[sp.Symbol, sp.Symbol], sp.Symbol] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.x = [sp.Symbol(f"x_{i}", real=True) for i in range(self.bow.x.size)]
        self.y = [sp.Symbol(f"y_{i}", real=True) for i in range(self.bow.x.size)]
        self.free = np.flatnonzero(self.bow.chain.inverse_mass > 0.0)
        self.put_riser()
        self.put_chain()
        self.put_throat()
        self.put_rest()
        self.put_loads()

    # the elements

    def put(self, element: Element, mark: str, places: Sequence[sp.Symbol], numbers: Sequence[float]) -> Element:
        """Add an element at these coordinates with these parameters."""
        swaps = dict(zip(element.coordinates, places, strict=True))
        there = element.placed(mark, swaps | {risers.TIME: risers.TIME, throats.STUCK: STUCK})
        own = [p for p in there.parameters if p not in (risers.TIME, STUCK)]
        self.values |= dict(zip(own, map(float, numbers), strict=True))
        self.elements.append(there)
        return there

    def at(self, *nodes: int) -> list[sp.Symbol]:
        """Coordinates of nodes."""
        return [s for i in nodes for s in (self.x[i], self.y[i])]

    def put_riser(self) -> None:
        """The nodes that the riser carries, and the hand."""
        fr, marks = self.bow.frame, self.bow.marks
        for i, place in zip((marks.root_u - 1, marks.root_u, marks.root_l, marks.root_l + 1), fr.carried, strict=True):
            ax, ay = sp.symbols(f"a_x@{i} a_y@{i}", real=True)
            self.values |= {ax: place[0] - fr.cx, ay: place[1] - fr.cy}
            self.shared.append(risers.carried(self.x[i], self.y[i], ax, ay))
        numbers = (
            fr.cx, fr.cy, fr.hand_stiffness, fr.hand_damping, fr.hand_turn_stiffness, fr.hand_turn_damping,
        )  # fmt: skip
        self.put(risers.hand(), "hand", self.pose, (*numbers, *self.bow.hand))
        self.values |= {risers.MASS: fr.mass, risers.INERTIA: fr.inertia}

    def put_chain(self) -> None:
        """Limbs, string and shaft."""
        c = self.bow.chain
        for j in range(c.stretch.size):
            kind, ends = self.cell(j)
            if c.stretch[j] > 0.0:
                pulls = c.least_force[j] == 0.0 and not self.closed
                cell = kind.string_cell() if pulls else kind.stretch()
                self.put(cell, f"cell{j}", ends, (c.stretch[j], c.rest_length[j]))
            if c.loss[j] > 0.0 or c.axial_loss[j] > 0.0:
                self.put(kind.string_damper(), f"loss{j}", ends, (c.loss[j], c.axial_loss[j]))
        for i in np.flatnonzero(c.bend):
            self.put_bend(i)

    def cell(self, j: int) -> tuple[ModuleType, list[sp.Symbol]]:
        """Where the elements of a cell are written, and its nodes' coordinates."""
        return chains, self.at(j, j + 1)

    def put_bend(self, i: int) -> None:
        """The bend at a node."""
        c = self.bow.chain
        self.put(chains.bend(), f"bend{i}", self.at(i - 1, i, i + 1), (c.bend[i], c.natural[i], c.bend_loss[i]))

    def put_throat(self) -> None:
        """Edges and locators."""
        th, marks = self.bow.throat, self.bow.marks
        u, a = marks.edge_u, marks.tail
        slope = np.arctan2(th.sin_slope, th.cos_slope)
        spring = (slope, th.stiffness, th.loss)
        for node in (u, u + 1):
            place = self.at(node, a, a + 1, a + 2)
            if self.closed:
                self.put(throats.closed_edge(), f"edge{node}", place, spring)
            else:
                self.put(throats.edge(), f"edge{node}", place, (*spring, th.grip, th.snap))
                self.only(INSIDE)
        held = (slope, th.locator_stiffness, th.locator_loss)
        place = self.at(u, u + 1, a, a + 1, a + 2)
        touching = th.half_gap == 0.0 and th.lower > 0.0 and th.upper > 0.0
        if touching:
            self.put(throats.touching_locators(), "locators", place, held)
            if not self.closed:
                self.only(INSIDE)
        else:
            assert not self.closed
            self.put(throats.gapped_locators(), "locators", place, (*held, th.half_gap, th.lower, th.upper))
            self.only(INSIDE)
        if th.friction > 0.0:
            self.put(throats.friction(), "friction", place, (*spring, th.friction, th.friction_stiffness))
            self.only(INSIDE)

    def put_rest(self) -> None:
        """The rest, under whichever cell of the shaft stands over it."""
        for j in range(self.bow.marks.tail, self.bow.x.size - 1):
            there = self.put_support(j)
            law, place = there.law, next(iter(there.layers[1]))
            assert law is not None
            if self.closed:
                stiff, loss = there.parameters[3:5]
                force = stiff * law.measure + loss * dot(law.measure)
                self.elements[-1] = put_law(there, Law(force, law.measure, law.work))
            self.only(SUPPORTED * self.within(place, j))

    @property
    def support_numbers(self) -> tuple[float, ...]:
        """The rest's."""
        su, fr = self.bow.support, self.bow.frame
        return su.x - fr.cx, su.y - fr.cy, su.half_diameter, su.stiffness, su.damping, su.side

    def put_support(self, j: int) -> Element:
        """The rest under one cell."""
        return self.put(risers.rest(), f"rest{j}", [*self.at(j, j + 1), *self.pose], self.support_numbers)

    def within(self, place: sp.Symbol, j: int) -> sp.Expr:
        """1 where a place in a cell of the shaft, counted from its beginning, lies in it, else 0."""
        last = j == self.bow.x.size - 2
        return sp.Piecewise((1, (place >= 0) & ((place <= 1) if last else (place < 1))), (0, True))

    def put_loads(self) -> None:
        """Weight, fingers and their pinch."""
        bow, fi = self.bow, self.bow.fingers
        for i in self.free:
            mass = self.put(risers.weight(), f"node{i}", self.at(i), (bow.chain.mass[i], *bow.gravity)).parameters[0]
            self.masses[self.x[i], self.y[i]] = mass
        self.put(risers.weight(), "riser", self.pose[:2], (bow.frame.mass, *bow.gravity))
        for k in range(3):
            for m in np.flatnonzero(fi.weight[k]):
                numbers = (fi.weight[k, m], *bow.force, fi.delay[k], fi.time[k])
                self.put(risers.finger(), f"finger{k}on{m}", self.at(fi.first + m), numbers)
            if bow.pinch.any():
                numbers = (fi.weight[k].sum(), *bow.pinch, fi.delay[k], fi.time[k])
                self.put(risers.finger(), f"pinch{k}", self.at(bow.marks.tail), numbers)

    def only(self, factor: sp.Expr) -> None:
        """Let the last element act only as far as ``factor`` says."""
        last = self.elements[-1]
        if last.law is not None:
            self.elements[-1] = put_law(last, Law(factor * last.law.force, last.law.measure, last.law.work))
            return
        self.elements[-1] = Element(
            last.name, last.title, last.text, last.coordinates, last.parameters, last.layers,
            factor * last.energy, factor * last.loss,
        )  # fmt: skip

    # the equations

    @property
    def pose(self) -> list[sp.Symbol]:
        """The riser's coordinates."""
        return [risers.X, risers.Y, risers.TURN]

    @cached_property
    def coordinates(self) -> list[sp.Symbol]:
        """All of them, the riser's last."""
        return [*self.at(*self.free), *self.pose]

    @cached_property
    def kinetic(self) -> sp.Expr:
        """T over the rates."""
        return risers.kinetic(self.masses)

    @cached_property
    def potential(self) -> sp.Expr:
        """V over coordinates and measures."""
        return sp.Add(*(element.energy for element in self.elements if element.law is None))

    @cached_property
    def inertia(self) -> list[sp.Expr]:
        """Diagonal of d2T/dq'dq'; there is nothing beside it, and T does not depend on the coordinates."""
        rates = [dot(q) for q in self.coordinates]
        momenta = [sp.diff(self.kinetic, rate) for rate in rates]
        for momentum, rate in zip(momenta, rates, strict=True):
            assert momentum.free_symbols & set(rates) == {rate}
        assert not self.kinetic.free_symbols & set(self.coordinates)
        return [sp.diff(momentum, rate) for momentum, rate in zip(momenta, rates, strict=True)]

    @cached_property
    def arguments(self) -> list[sp.Symbol]:
        """Of the compiled functions: flags, where the string sticks, time, coordinates, rates, parameters."""
        rates = [dot(q) for q in self.coordinates]
        return [INSIDE, SUPPORTED, STUCK, risers.TIME, *self.coordinates, *rates, *self.values]

    @cached_property
    def advances(self) -> list[sp.Symbol]:
        """How far the string stands past the floor's upper and lower edge."""
        return [next(iter(e.layers[4])) for e in self.elements if "edge" in e.name]

    @cached_property
    def offsets(self) -> list[sp.Symbol]:
        """Where the string stands along the throat's floor."""
        return [next(iter(e.layers[4])) for e in self.elements if e.name in ("locators", "gapped-locators")]

    @cached_property
    def function(self) -> Callable[..., np.ndarray]:
        """Accelerations, advances, their rates and the offset from `arguments`."""
        steps, force = forces(self.coordinates, self.elements, self.shared)
        parts = [f / m for f, m in zip(force, self.inertia, strict=True)]
        return compiled(self.arguments, steps, [*parts, *self.advances, *map(dot, self.advances), *self.offsets])

    def at_state(
        self, time: float, state: np.ndarray, inside: bool = True, supported: bool = True, stuck: float = 0.0
    ) -> tuple[np.ndarray, np.ndarray]:
        """Accelerations; advances, their rates and the offset (5,), at coordinates and rates (2 k,)."""
        found = self.function(float(inside), float(supported), stuck, time, *state.tolist(), *self.values.values())
        return found[:-5], found[-5:]

    def start(self) -> np.ndarray:
        """Coordinates and rates at full draw."""
        bow = self.bow
        nodes = np.column_stack((bow.x, bow.y))[self.free].ravel()
        coordinates = np.concatenate((nodes, [bow.frame.cx, bow.frame.cy, 0.0]))
        return np.concatenate((coordinates, np.zeros(coordinates.size)))

    def past_support(self, state: np.ndarray) -> float:
        """How far the throat has travelled beyond the end of the rest's support [m]."""
        tail = self.bow.marks.tail
        return float(state[2 * np.searchsorted(self.free, tail)] - self.bow.x[tail] - self.bow.support.travel)

    def state_of(self, nodes: np.ndarray, moment: np.record) -> np.ndarray:
        """Coordinates and rates from x, y, vx, vy of all nodes (4, n) and the release's record of the moment."""
        k = nodes[:, self.free]
        pose = (moment.riser_x, moment.riser_y, moment.riser_turn)
        rate = (moment.rate_x, moment.rate_y, moment.rate_turn)
        return np.concatenate((k[:2].T.ravel(), pose, k[2:].T.ravel(), rate))


def put_law(element: Element, law: Law) -> Element:
    """The same element with another law."""
    return Element(
        element.name, element.title, element.text, element.coordinates, element.parameters, element.layers, law=law
    )
