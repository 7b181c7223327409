"""The chain's elements: stretch, string cell, damper, bend."""

from __future__ import annotations

import sympy as sp

from tests.derivation.element import Element, Layer, dot, symbols

X0, Y0, X1, Y1, X2, Y2 = symbols("x_0 y_0 x_1 y_1 x_2 y_2")
EX, EY, GX, GY = symbols("e_x e_y g_x g_y")
LENGTH, ANGLE, BEND = symbols("l \\theta b")
STIFF, UNLOADED, LOSS, ALONG, BENDING, NATURAL = symbols("k l_0 c c_a B b_0")

CELL: Layer = {EX: X1 - X0, EY: Y1 - Y0}
CELLS: Layer = {**CELL, GX: X2 - X1, GY: Y2 - Y1}
LENGTHS: Layer = {LENGTH: sp.sqrt(EX**2 + EY**2)}


def stretch() -> Element:
    """A cell of limb or shaft."""
    return Element(
        "stretch",
        "Stretch",
        "A cell of a limb or of the shaft, between two nodes. $e$ is the second node's place from the first, $l$ the "
        "cell's length, $l_0$ its unloaded length and $k = EA / l_0$.",
        (X0, Y0, X1, Y1),
        (STIFF, UNLOADED),
        (CELL, LENGTHS),
        energy=STIFF * (LENGTH - UNLOADED) ** 2 / 2,
    )


def string_cell() -> Element:
    """A cell of the string."""
    return Element(
        "string-cell",
        "String cell",
        "As a stretched cell, but it only pulls.",
        (X0, Y0, X1, Y1),
        (STIFF, UNLOADED),
        (CELL, LENGTHS),
        energy=sp.Piecewise((STIFF * (LENGTH - UNLOADED) ** 2 / 2, LENGTH > UNLOADED), (0, True)),
    )


def string_damper() -> Element:
    """The loss of a string cell."""
    return Element(
        "string-damper",
        "String damper",
        "A string cell resists the difference of its nodes' velocities with $c$ in both components and with $c_a$ "
        "along itself, taut or slack. $R$ is half the lost power.",
        (X0, Y0, X1, Y1),
        (LOSS, ALONG),
        (CELL, LENGTHS),
        loss=LOSS * (dot(EX) ** 2 + dot(EY) ** 2) / 2 + ALONG * dot(LENGTH) ** 2 / 2,
    )


def bend() -> Element:
    """A node between two cells."""
    return Element(
        "bend",
        "Bend with natural curvature",
        "A node between two cells $e$ and $g$ that are turned against each other by $\\theta$, positive "
        "counter-clockwise. The measure of bend is $b$; $b_0 = 2 \\tan(\\theta_0 / 2)$ with $\\theta_0$ the turn of "
        "the unloaded limb there, $B$ the bending stiffness over the cell's length, $c$ the moment per rate of bend.",
        (X0, Y0, X1, Y1, X2, Y2),
        (BENDING, NATURAL, LOSS),
        (
            CELLS,
            {ANGLE: sp.atan2(EX * GY - EY * GX, EX * GX + EY * GY)},
            {BEND: 2 * sp.tan(ANGLE / 2)},
        ),
        energy=BENDING * (BEND - NATURAL) ** 2 / 2,
        loss=LOSS * dot(BEND) ** 2 / 2,
    )
