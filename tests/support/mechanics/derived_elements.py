"""Energies of the elements written down once more and differentiated by SymPy.

Nothing here is shared with the kernels but the definitions: a bend is 2 tan(angle / 2), the tail's
direction is that of 1.5 times the first cell's minus 0.5 times the second's, the floor is square to it but
for the slope.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import sympy as sp

Function = Callable[..., np.ndarray]
Jet = tuple[float, np.ndarray, np.ndarray]  # value, gradient, Hessian


def _compiled(arguments: list[sp.Symbol], value: sp.Expr, nodes: list[sp.Symbol]) -> tuple[Function, ...]:
    """Value, gradient and Hessian over the nodes' coordinates as functions of all arguments."""
    gradient = [sp.diff(value, q) for q in nodes]
    hessian = [[sp.diff(g, q) for q in nodes] for g in gradient]
    parts = []
    for expression in (value, gradient, hessian):
        function = sp.lambdify(arguments, expression, "numpy", cse=True)
        parts.append(lambda *given, function=function: np.array(function(*given), dtype=float))
    return tuple(parts)


@cache
def cell_length() -> tuple[Function, ...]:
    """Length of a cell over (x0, y0, x1, y1)."""
    x0, y0, x1, y1 = nodes = list(sp.symbols("x0 y0 x1 y1", real=True))
    return _compiled(nodes, sp.sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2), nodes)


@cache
def heading() -> tuple[Function, ...]:
    """Angle of a cell over (x0, y0, x1, y1)."""
    x0, y0, x1, y1 = nodes = list(sp.symbols("x0 y0 x1 y1", real=True))
    return _compiled(nodes, sp.atan2(y1 - y0, x1 - x0), nodes)


@cache
def of_headings() -> dict[str, tuple[Function, ...]]:
    """Bend at the node between two cells, and angle of a tail that begins with them, over their headings."""
    one, two = angles = list(sp.symbols("one two", real=True))
    along = [sp.Rational(3, 2) * f(one) - sp.Rational(1, 2) * f(two) for f in (sp.cos, sp.sin)]
    bend, tail = 2 * sp.tan((two - one) / 2), sp.atan2(along[1], along[0])
    return {"bend": _compiled(angles, bend, angles), "tail": _compiled(angles, tail, angles)}


def over_nodes(name: str, at: np.ndarray) -> Jet:
    """One of `of_headings` over the coordinates (6,) of three nodes, by the chain rule."""
    one, first, first_hessian = (f(*at[:4]) for f in heading())
    two, second, second_hessian = (f(*at[2:]) for f in heading())
    value, gradient, hessian = (f(one, two) for f in of_headings()[name])
    inner = np.zeros((2, 6))
    inner[0, :4], inner[1, 2:] = first, second
    whole = inner.T @ hessian @ inner
    whole[:4, :4] += gradient[0] * first_hessian
    whole[2:, 2:] += gradient[1] * second_hessian
    return float(value), gradient @ inner, whole


def bend_at_node(at: np.ndarray) -> Jet:
    """Bend 2 tan(angle / 2) at the middle of three nodes, gradient (6,) and Hessian (6, 6)."""
    return over_nodes("bend", at)


def tail_angle(at: np.ndarray) -> Jet:
    """Angle of the shaft's tail over its first three nodes, gradient (6,) and Hessian (6, 6)."""
    return over_nodes("tail", at)


@cache
def floor_offsets() -> dict[str, tuple[Function, ...]]:
    """Advance of the upper and lower edge and offset along the floor.

    Over (x, y) of the upper and lower string point and of the throat's middle and the tail's angle, then
    the slope.
    """
    *points, angle = nodes = list(sp.symbols("ux uy lx ly x0 y0 angle", real=True))
    slope = sp.Symbol("slope", real=True)
    upper, lower, tail = (sp.Matrix(points[2 * k : 2 * k + 2]) for k in range(3))
    along, across = sp.Matrix([sp.cos(angle), sp.sin(angle)]), sp.Matrix([-sp.sin(angle), sp.cos(angle)])
    # a positive slope has the floor's upper edge further forward
    floor = sp.cos(slope) * across + sp.sin(slope) * along
    normal = sp.cos(slope) * along - sp.sin(slope) * across
    offsets = {
        "upper": (upper - tail).dot(normal),
        "lower": (lower - tail).dot(normal),
        "along": ((upper + lower) / 2 - tail).dot(floor),
    }
    return {name: _compiled([*nodes, slope], value, nodes) for name, value in offsets.items()}


def throat_offset(name: str, at: np.ndarray, slope: float) -> Jet:
    """One of the offsets with its gradient (10,) and Hessian (10, 10) over the throat's five nodes.

    The chain rule joins the two pieces above: the offset over seven values, the last of them the tail's
    angle over six.
    """
    angle, turn, second = tail_angle(at[4:])
    value, gradient, hessian = (f(*at[:6], angle, slope) for f in floor_offsets()[name])
    inner = np.zeros((7, 10))
    inner[:6, :6] = np.eye(6)
    inner[6, 4:] = turn
    whole = inner.T @ hessian @ inner
    whole[4:, 4:] += gradient[6] * second
    return float(value), gradient @ inner, whole


@cache
def rest_press() -> tuple[Function, ...]:
    """How far the rest's top stands above the shaft's underside, over a cell's nodes, then the rest's x, y
    and the half diameter."""
    x0, y0, x1, y1 = nodes = list(sp.symbols("x0 y0 x1 y1", real=True))
    at_x, at_y, half = sp.symbols("at_x at_y half", real=True)
    axis = y0 + (y1 - y0) * (at_x - x0) / (x1 - x0)
    return _compiled([*nodes, at_x, at_y, half], at_y - (axis - half), nodes)
