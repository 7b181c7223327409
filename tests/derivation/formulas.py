"""An element's derivatives in short: what the pages print and a test evaluates."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import sympy as sp

from tests.derivation.element import Element, Layer, dot

SHORT = 4  # coordinates of an element whose tangent is written out

Derivative = tuple[sp.Symbol, tuple[sp.Symbol, ...], sp.Expr]  # of what, with what, the value
Sum = dict[sp.Symbol, sp.Expr]


def tidy(expression: sp.Expr, layer: Layer) -> sp.Expr:
    """In short, with the layer's own values where they appear."""
    return _tidy(expression, tuple(layer.items()))


@cache
def _tidy(expression: sp.Expr, layer: tuple[tuple[sp.Symbol, sp.Expr], ...]) -> sp.Expr:
    if expression.has(sp.Piecewise):
        return sp.piecewise_fold(expression)
    for symbol, value in layer:
        factor, core = value.as_coeff_Mul()
        if not core.is_Add:
            expression = expression.subs(core, symbol / factor)
    return sp.factor(expression) if expression.is_rational_function() else expression


def neat(expression: sp.Expr) -> sp.Expr:
    """A derivative of an energy, each case by itself."""
    if isinstance(expression, sp.Piecewise):
        return sp.Piecewise(*((neat(value), condition) for value, condition in expression.args))
    return sp.factor(expression)


def inputs(value: sp.Expr, element: Element) -> list[sp.Symbol]:
    """Symbols of a value that are not constants, in a fixed order."""
    return sorted(value.free_symbols - set(element.parameters), key=lambda s: s.name)


def pairs(symbols: list[sp.Symbol]) -> Iterable[tuple[sp.Symbol, sp.Symbol]]:
    """Each with itself and every later one."""
    return ((one, other) for k, one in enumerate(symbols) for other in symbols[k:])


def first_derivatives(layer: Layer, element: Element) -> list[Derivative]:
    """Of a layer's values."""
    return [
        (symbol, (s,), tidy(sp.diff(value, s), layer))
        for symbol, value in layer.items()
        for s in inputs(value, element)
    ]


def second_derivatives(layer: Layer, element: Element) -> list[Derivative]:
    """Of a layer's values, those that are not zero."""
    found = [
        (symbol, pair, tidy(sp.diff(value, *pair), layer))
        for symbol, value in layer.items()
        for pair in pairs(inputs(value, element))
    ]
    return [derivative for derivative in found if derivative[2] != 0]


def measures(element: Element) -> list[sp.Symbol]:
    """Values that energy and loss depend on."""
    known = [*element.coordinates, *(s for layer in element.layers for s in layer)]
    return [s for s in known if element.energy.has(s) or element.loss.has(dot(s))]


def slopes(element: Element, of: sp.Symbol) -> Sum:
    """Derivatives of one value with the coordinates, in terms of the values of the layers."""
    against: Sum = {of: sp.S.One}
    for layer in reversed(element.layers):
        for symbol, value in layer.items():
            whole = against.pop(symbol, sp.S.Zero)
            if whole != 0:
                for s in inputs(value, element):
                    against[s] = against.get(s, sp.S.Zero) + whole * tidy(sp.diff(value, s), layer)
    return against


def pull_of(symbol: sp.Symbol) -> sp.Symbol:
    """dV/dm + dR/dm' of a measure."""
    return sp.Symbol(f"P_{{{symbol.name}}}", real=True)


def whole_pull_of(symbol: sp.Symbol) -> sp.Symbol:
    """Its own pull and what later layers add."""
    return sp.Symbol(f"S_{{{symbol.name}}}", real=True)


FORCE = sp.Symbol("f", real=True)  # a law's


def whole_pulls(element: Element) -> tuple[Sum, Sum]:
    """Pull on each value of the layers, the last first, and force on each coordinate."""
    law = element.law
    if law is None:
        against = {s: [pull_of(s)] for s in measures(element)}
    elif law.work:
        against = {s: [-part * FORCE] for s, part in law.work.items()}
    else:
        against = {law.measure: [FORCE]}
    pulls: Sum = {}
    for layer in reversed(element.layers):
        for symbol, value in layer.items():
            if symbol in against:
                pulls[symbol] = sp.Add(*against[symbol])
                for s in inputs(value, element):
                    slope = whole_pull_of(symbol) * tidy(sp.diff(value, s), layer)
                    against.setdefault(s, []).append(slope)
    return pulls, {q: -sp.Add(*against.get(q, [])) for q in element.coordinates}


def tangent(element: Element) -> dict[tuple[sp.Symbol, sp.Symbol], sp.Expr]:
    """The tangent written out, where it is short; of the rest while it pushes, over the shaft's nodes."""
    if element.law is not None and element.name == "rest":
        law, stiff = element.law, element.parameters[3]
        found = {}
        for row in (q for q in element.coordinates if q in law.work):
            force = stiff * law.measure * law.work[row]
            inner = {s: slopes(element, s) for s in inputs(force, element)}
            for column in element.coordinates[:SHORT]:
                slope = sp.Add(*(sp.diff(force, s) * over.get(column, sp.S.Zero) for s, over in inner.items()))
                found[row, column] = sp.factor(-slope)
        return found
    if element.law is not None or element.energy == 0 or len(element.coordinates) != SHORT:
        return {}
    (measure,) = measures(element)
    stiff, over = neat(sp.diff(element.energy, measure, 2)), slopes(element, measure)
    first, last = element.layers
    second = {pair: value for _, pair, value in second_derivatives(last, element)}
    second |= {(b, a): value for (a, b), value in second.items()}
    found = {}
    for one, other in pairs(list(element.coordinates)):
        bent = sp.Add(*(
            second.get((a, b), sp.S.Zero) * sp.diff(first[a], one) * sp.diff(first[b], other)
            for a in first for b in first
        ))  # fmt: skip
        sharp = sp.Symbol(rf"P'_{{{measure.name}}}", real=True) if isinstance(stiff, sp.Piecewise) else stiff
        found[one, other] = sharp * over[one] * over[other] + pull_of(measure) * bent
    return found
