"""The pages of docs/derivation are what SymPy writes now, and their formulas are those that the kernels are held to."""

from __future__ import annotations

import numpy as np
import pytest
import sympy as sp

from tests.derivation import formulas
from tests.derivation.element import Element, dot
from tests.derivation.pages import COMMAND, FOLDER, groups, pages

ELEMENTS = [element for _, elements in groups().values() for element in elements]


def test_the_pages_are_up_to_date() -> None:
    fresh = pages()
    assert {path.name for path in FOLDER.iterdir()} == set(fresh)
    for name, text in fresh.items():
        assert (FOLDER / name).read_text(encoding="utf-8") == text, f"write them anew: {COMMAND}"


def number(expression: sp.Expr, at: dict[sp.Symbol, float]) -> float:
    """Value of an expression."""
    return float(sp.sympify(expression).xreplace({s: sp.Float(value) for s, value in at.items()}))


def somewhere(element: Element, seed: int) -> dict[sp.Symbol, float]:
    """Random coordinates, rates and constants, and the values of all layers with their rates."""
    rng = np.random.default_rng(seed)
    at = {s: float(rng.uniform(0.2, 1.0)) for s in element.arguments}
    for layer in element.layers:
        known = dict(at)
        for symbol, value in layer.items():
            at[symbol] = number(value, known)
            rate = sum(value.diff(s) * dot(s) for s in formulas.inputs(value, element))
            at[dot(symbol)] = number(rate, known)
    if element.law is not None and element.law.work:
        sliding = sum(-part * dot(s) for s, part in element.law.work.items())
        at[dot(element.law.measure)] = number(sliding, at)
    return at


@pytest.mark.parametrize("element", ELEMENTS, ids=lambda e: e.name)
def test_short_forms_are_the_derivatives(element: Element) -> None:
    at = somewhere(element, 1)
    for layer in element.layers:
        first, second = formulas.first_derivatives(layer, element), formulas.second_derivatives(layer, element)
        for symbol, over, value in (*first, *second):
            whole = layer[symbol].diff(*over)
            assert number(value, at) == pytest.approx(number(whole, at), rel=1e-10, abs=1e-12)


@pytest.mark.parametrize("element", ELEMENTS, ids=lambda e: e.name)
def test_printed_forces_and_tangents_are_the_compiled_ones(element: Element) -> None:
    at = somewhere(element, 2)
    if element.law is not None:
        at[formulas.FORCE] = number(element.law.force, at)
    for measure in formulas.measures(element):
        pull = element.energy.diff(measure) + element.loss.diff(dot(measure))
        at[formulas.pull_of(measure)] = number(pull, at)
        at[sp.Symbol(rf"P'_{{{measure.name}}}", real=True)] = number(element.energy.diff(measure, 2), at)
    pulls, forces = formulas.whole_pulls(element)
    for symbol, value in pulls.items():
        at[formulas.whole_pull_of(symbol)] = number(value, at)
    printed = [number(value, at) for value in forces.values()]
    given = [at[s] for s in element.arguments]
    assert printed == pytest.approx(element.forces_at(*given), rel=1e-9, abs=1e-12)
    if element.energy != 0 and element.law is None:
        whole = element.tangent_at(*(at[s] for s in (*element.coordinates, *element.parameters)))
        for (p, q), value in formulas.tangent(element).items():
            i, j = element.coordinates.index(p), element.coordinates.index(q)
            assert number(value, at) == pytest.approx(whole[i, j], rel=1e-9, abs=1e-12)
