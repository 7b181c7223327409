"""Riser, hand, rest, weight and fingers."""

from __future__ import annotations

import sympy as sp

from tests.derivation.chain_elements import LOSS, STIFF
from tests.derivation.element import Element, Law, Layer, dot, larger, symbols

X, Y, TURN = symbols("X Y \\varphi")
PX, PY = symbols("p_x p_y")
CX, CY, TURN_STIFF, TURN_LOSS, HX, HY, HT = symbols("c_x c_y \\kappa \\gamma H_x H_y H_\\varphi")
MASS, INERTIA, GRAVITY_X, GRAVITY_Y = symbols("m I g_x g_y")
XJ, YJ, XK, YK, XT, YT, PLACE, PRESS = symbols("x_j y_j x_k y_k x_t y_t \\xi g")
AX, AY, HALF, SIDE = symbols("a_x a_y \\rho \\sigma")
XI, YI = symbols("x y")
WEIGHT, FX, FY, TIME, DELAY, RELEASE = symbols("w F_x F_y t t_0 \\tau")


def carried(x: sp.Symbol, y: sp.Symbol, ax: sp.Expr, ay: sp.Expr) -> Layer:
    """Place of a point of the riser that stands at (ax, ay) from the mass centre at full draw."""
    return {
        x: X + ax * sp.cos(TURN) - ay * sp.sin(TURN),
        y: Y + ax * sp.sin(TURN) + ay * sp.cos(TURN),
    }


def kinetic(masses: dict[tuple[sp.Symbol, sp.Symbol], sp.Symbol]) -> sp.Expr:
    """Kinetic energy of nodes and riser."""
    nodes = [mass * (dot(x) ** 2 + dot(y) ** 2) / 2 for (x, y), mass in masses.items()]
    return sp.Add(*nodes, MASS * (dot(X) ** 2 + dot(Y) ** 2) / 2, INERTIA * dot(TURN) ** 2 / 2)


def hand() -> Element:
    """The bow hand at the pivot."""
    return Element(
        "hand",
        "Riser and hand",
        "The riser, rods and the limbs' roots are one rigid body of mass $m$ and inertia $I$; $X, Y$ are its mass "
        "centre's place, $\\varphi$ its turn since full draw, positive nose up. Its kinetic energy is "
        "$T = \\tfrac12 m (\\dot X^2 + \\dot Y^2) + \\tfrac12 I \\dot\\varphi^2$, its weight's energy "
        "$-m (g_x X + g_y Y)$. A point that stood at $(a_x, a_y)$ from the mass centre at full draw is at $X + a_x "
        "\\cos\\varphi - a_y \\sin\\varphi$, $Y + a_x \\sin\\varphi + a_y \\cos\\varphi$: so are the four nodes that "
        "clamp the limbs, whose forces reach the riser through these. The pivot $p$ stood at the origin, "
        "$(-c_x, -c_y)$ from the mass centre. The hand's force and torque $H$ at full draw stay; "
        "springs and dampers are added.",
        (X, Y, TURN),
        (CX, CY, STIFF, LOSS, TURN_STIFF, TURN_LOSS, HX, HY, HT),
        (carried(PX, PY, -CX, -CY),),
        energy=STIFF * (PX**2 + PY**2) / 2 + TURN_STIFF * TURN**2 / 2 - HX * PX - HY * PY - HT * TURN,
        loss=LOSS * (dot(PX) ** 2 + dot(PY) ** 2) / 2 + TURN_LOSS * dot(TURN) ** 2 / 2,
    )


def push(stiff: sp.Expr, press: sp.Expr, damping: sp.Expr) -> sp.Expr:
    """Force of the rest while it touches; never a pull."""
    return sp.Piecewise((larger(stiff * press + damping, sp.S.Zero), press > 0), (0, True))


def rest() -> Element:
    """The arrow rest under one cell of the shaft."""
    return Element(
        "rest",
        "Rest",
        "The rest's top $t$ is a point of the riser under the cell from node $j$ to node $k$, $\\rho$ half the shaft's "
        "diameter, $\\xi$ the place over it on the cell, $g$ how far the top stands above the shaft's underside there; "
        "$\\sigma$ is 1, or $-1$ for a rest that pushes down from above (a mirrored bow). "
        "The force $f$ acts along $y$ whatever the shaft's slope: it is not the derivative of an energy. It is put "
        "in by its virtual work $\\sigma f\\,((1 - \\xi)\\,\\delta y_j + \\xi\\,\\delta y_k - \\delta y_t)$ on the "
        "material that is over the rest at the moment, and its loss sees the same, $\\dot g = "
        "\\sigma (\\dot y_t - (1 - \\xi)\\,\\dot y_j - "
        "\\xi\\,\\dot y_k)$. The tangent is not symmetric.",
        (XJ, YJ, XK, YK, X, Y, TURN),
        (AX, AY, HALF, STIFF, LOSS, SIDE),
        (
            carried(XT, YT, AX, AY),
            {PLACE: (XT - XJ) / (XK - XJ)},
            {PRESS: SIDE * (YT - (1 - PLACE) * YJ - PLACE * YK) + HALF},
        ),
        law=Law(
            push(STIFF, PRESS, LOSS * dot(PRESS)),
            PRESS,
            {YJ: SIDE * (1 - PLACE), YK: SIDE * PLACE, YT: -SIDE},
        ),
    )


def weight() -> Element:
    """The weight of a node."""
    return Element(
        "weight",
        "Weight",
        "Of a node of mass $m$; $g_x, g_y$ is the acceleration of gravity in the axes of the shot.",
        (XI, YI),
        (MASS, GRAVITY_X, GRAVITY_Y),
        (),
        energy=-MASS * (GRAVITY_X * XI + GRAVITY_Y * YI),
    )


def fade() -> sp.Expr:
    """What is left of a finger's force."""
    return sp.Piecewise(
        (1, TIME <= DELAY),
        ((1 + sp.cos(sp.pi * (TIME - DELAY) / RELEASE)) / 2, TIME < DELAY + RELEASE),
        (0, True),
    )


def finger() -> Element:
    """One finger's share on one string node."""
    return Element(
        "finger",
        "Fingers",
        "The share $w$ of the whole force $F$ at full draw that one finger puts on one string node, and what is left "
        "of it at the time $t$ after a delay $t_0$ with the release time $\\tau$.",
        (XI, YI),
        (WEIGHT, FX, FY, TIME, DELAY, RELEASE),
        (),
        energy=-WEIGHT * fade() * (FX * XI + FY * YI),
    )
