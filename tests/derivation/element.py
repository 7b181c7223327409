"""What an element is: an energy and a loss over named measures, and what SymPy derives from them.

An element is told in layers. The first gives values from the coordinates of its nodes, each further one gives
values from those before. The energy, Rayleigh's loss function (half the lost power) or the law of a one-sided
contact are functions of any of these. SymPy differentiates every layer; the chain rule joins them, in formulas for
the forces and in numbers for the tangent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import sympy as sp

Layer = Mapping[sp.Symbol, sp.Expr]
Assignments = list[tuple[sp.Symbol, sp.Expr]]


def symbols(names: str) -> list[sp.Symbol]:
    """Real symbols, separated by blanks."""
    return [sp.Symbol(name, real=True) for name in names.split()]


def dot(symbol: sp.Symbol) -> sp.Symbol:
    """The rate of a coordinate or measure."""
    return sp.Symbol(rf"\dot{{{symbol.name}}}", real=True)


def larger(one: sp.Expr, other: sp.Expr) -> sp.Expr:
    """The larger of two, in cases."""
    return sp.Piecewise((one, one > other), (other, True))


def smaller(one: sp.Expr, other: sp.Expr) -> sp.Expr:
    """The smaller of two, in cases."""
    return sp.Piecewise((one, one < other), (other, True))


@dataclass(frozen=True)
class Law:
    """The force of a one-sided contact, whose energy and loss cannot be told apart.

    Attributes
    ----------
    force : Expr
        Along the measure, over measures and rates; at rest the derivative of the energy.
    measure : Symbol
    work : Layer
        Empty where the force works on the measure's whole change. Else the force on each of these symbols per unit of
        ``force``, and the measure's rate in the law is minus their rates by these numbers.
    """

    force: sp.Expr
    measure: sp.Symbol
    work: Layer = field(default_factory=dict)


@dataclass(frozen=True)
class Element:
    """One element.

    Attributes
    ----------
    name, title, text : str
        Name in code, heading and words of its page.
    coordinates : tuple of Symbol
        Of its nodes (or of the riser); the rates are `dot` of them.
    parameters : tuple of Symbol
        Its constants.
    layers : tuple of Layer
        From the coordinates to the measures.
    energy : Expr
        Over the measures.
    loss : Expr
        Half the lost power over measures and their rates.
    law : Law, optional
        Takes the place of energy and loss in the forces.
    """

    name: str
    title: str
    text: str
    coordinates: tuple[sp.Symbol, ...]
    parameters: tuple[sp.Symbol, ...]
    layers: tuple[Layer, ...]
    energy: sp.Expr = sp.S.Zero
    loss: sp.Expr = sp.S.Zero
    law: Law | None = None

    @property
    def rates(self) -> tuple[sp.Symbol, ...]:
        """Of the coordinates."""
        return tuple(dot(q) for q in self.coordinates)

    def placed(self, mark: str, swaps: Mapping[sp.Symbol, sp.Symbol]) -> Element:
        """The same element elsewhere: other coordinates, and ``mark`` on every other symbol."""
        swaps = dict(swaps)
        for symbol in (*self.parameters, *(s for layer in self.layers for s in layer)):
            swaps.setdefault(symbol, sp.Symbol(f"{symbol.name}@{mark}", real=True))
        swaps |= {dot(one): dot(other) for one, other in swaps.items()}

        def put(layer: Layer) -> Layer:
            return {swaps.get(s, s): value.xreplace(swaps) for s, value in layer.items()}

        law = self.law
        if law is not None:
            law = Law(law.force.xreplace(swaps), swaps[law.measure], put(law.work))
        return Element(
            self.name, self.title, self.text,
            tuple(swaps.get(q, q) for q in self.coordinates), tuple(swaps[p] for p in self.parameters),
            tuple(put(layer) for layer in self.layers),
            self.energy.xreplace(swaps), self.loss.xreplace(swaps), law,
        )  # fmt: skip

    @cached_property
    def arguments(self) -> list[sp.Symbol]:
        """What the compiled functions take, in order."""
        return [*self.coordinates, *self.rates, *self.parameters]

    @cached_property
    def forces_at(self) -> Callable[..., np.ndarray]:
        """Generalised force on each coordinate, as numbers (q,), from `arguments`."""
        return compiled(self.arguments, *forces(self.coordinates, [self]))

    @cached_property
    def tangent_at(self) -> Callable[..., np.ndarray]:
        """Energy's Hessian (q, q), from coordinates and parameters; see `rest_tangent_at` for the rest."""
        follow = self.second_order([self.energy])
        return lambda *given: follow(*given)[0][2]

    @cached_property
    def energy_at(self) -> Callable[..., float]:
        """Energy, from coordinates and parameters."""
        follow = self.second_order([self.energy])
        return lambda *given: float(follow(*given)[0][0])

    def second_order(self, expressions: Sequence[sp.Expr]) -> Callable[..., list[tuple[float, np.ndarray, np.ndarray]]]:
        """Values, gradients and Hessians of expressions over the coordinates, carried through the layers."""
        stages = []
        known = list(self.coordinates)
        for layer in (*self.layers, dict(enumerate(expressions))):
            functions = []
            for value in layer.values():
                inputs = [s for s in known if value.has(s)]
                gradient = [sp.diff(value, s) for s in inputs]
                hessian = [[sp.diff(g, s) for s in inputs] for g in gradient]
                arguments = [*inputs, *self.parameters]
                function = sp.lambdify(arguments, [value, gradient, hessian], "math", cse=True)
                functions.append((function, [known.index(s) for s in inputs]))
            stages.append(functions)
            known += [s for s in layer if isinstance(s, sp.Symbol)]
        size = len(self.coordinates)

        def follow(*given: float) -> list[tuple[float, np.ndarray, np.ndarray]]:
            at, parameters = given[:size], given[size:]
            carried = [(q, np.eye(size)[i], np.zeros((size, size))) for i, q in enumerate(at)]
            for functions in stages:
                found = []
                for function, inputs in functions:
                    value, gradient, hessian = function(*(carried[i][0] for i in inputs), *parameters)
                    inner = np.array([carried[i][1] for i in inputs]).reshape(len(inputs), size)
                    whole = inner.T @ np.array(hessian, dtype=float).reshape(len(inputs), len(inputs)) @ inner
                    for slope, i in zip(gradient, inputs, strict=True):
                        whole += slope * carried[i][2]
                    found.append((float(value), np.array(gradient, dtype=float) @ inner, whole))
                carried += found
            return carried[-len(expressions) :]

        return follow


def forces(coordinates: Sequence[sp.Symbol], elements: Sequence[Element], shared: Sequence[Layer] = ()) -> tuple[
    Assignments, list[sp.Expr]
]:  # fmt: skip
    """Generalised forces of many elements: -dV/dq - dR/dq', with the laws in place of V and R where there are any.

    Parameters
    ----------
    coordinates : sequence of Symbol
    elements : sequence of Element
        Over these coordinates or values of the shared layers.
    shared : sequence of Layer
        Values from the coordinates that the elements use as if they were coordinates (places of driven nodes).

    Returns
    -------
    assignments, forces
        Intermediate values in the order in which they are to be computed, and the force on each coordinate.
    """
    steps: Assignments = []
    slopes: list[tuple[sp.Symbol, list[tuple[sp.Symbol, sp.Symbol]]]] = []
    known = set(coordinates)
    layers = [*shared, *(layer for element in elements for layer in element.layers)]
    for number, layer in enumerate(layers):
        pieces: Assignments = []
        for symbol, value in layer.items():
            pieces.append((symbol, value))
            parts = []
            for k, s in enumerate(sorted(value.free_symbols & known, key=str)):
                slope = sp.Symbol(f"slope@{len(slopes)}@{k}", real=True)
                pieces.append((slope, sp.diff(value, s)))
                parts.append((s, slope))
            pieces.append((dot(symbol), sp.Add(*(slope * dot(s) for s, slope in parts))))
            slopes.append((symbol, parts))
        known |= set(layer)
        names = sp.numbered_symbols(f"x@{number}@", real=True)
        extra, reduced = sp.cse([value for _, value in pieces], symbols=names, list=True)
        steps += extra + [(symbol, value) for (symbol, _), value in zip(pieces, reduced, strict=True)]
    against: dict[sp.Symbol, list[sp.Expr]] = {}
    for element in elements:
        if element.law is not None:
            law = element.law
            force = sp.Symbol(f"force@{len(steps)}", real=True)
            sliding = sp.Add(*(-part * dot(s) for s, part in law.work.items()))
            steps.append((force, law.force.xreplace({dot(law.measure): sliding}) if law.work else law.force))
            for symbol, part in (law.work or {law.measure: -sp.S.One}).items():
                against.setdefault(symbol, []).append(-part * force)
            continue
        for symbol in sorted(element.energy.free_symbols & known, key=str):
            against.setdefault(symbol, []).append(sp.diff(element.energy, symbol))
        rates = {dot(symbol): symbol for symbol in known}
        for rate in sorted(element.loss.free_symbols & set(rates), key=str):
            against.setdefault(rates[rate], []).append(sp.diff(element.loss, rate))
    for number, (symbol, parts) in enumerate(reversed(slopes)):
        if symbol in against:
            whole = sp.Symbol(f"whole@{number}", real=True)
            steps.append((whole, sp.Add(*against[symbol])))
            for s, slope in parts:
                against.setdefault(s, []).append(whole * slope)
    return steps, [-sp.Add(*against.get(q, [])) for q in coordinates]


def compiled(
    arguments: Sequence[sp.Symbol], steps: Assignments, outcome: Sequence[sp.Expr]
) -> Callable[..., np.ndarray]:
    """A function of numbers that follows the steps."""
    plain: dict[sp.Symbol, sp.Symbol] = {}
    for place, symbol in enumerate([*arguments, *(symbol for symbol, _ in steps)]):
        plain[symbol] = sp.Symbol(f"v{place}", real=True)
    follow = [(plain[symbol], sp.sympify(value).xreplace(plain)) for symbol, value in steps]
    values = [sp.sympify(value).xreplace(plain) for value in outcome]
    function = sp.lambdify([plain[s] for s in arguments], values, "math", cse=lambda _: (follow, values))
    return lambda *given: np.array(function(*given), dtype=float)
