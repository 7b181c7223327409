"""The nock's throat on the string: the floor's edges and the locators."""

from __future__ import annotations

import sympy as sp

from tests.derivation.chain_elements import EX, EY, GX, GY, LOSS, STIFF, X0, X1, X2, Y0, Y1, Y2
from tests.derivation.element import Element, Law, Layer, dot, larger, smaller, symbols

XU, YU, XL, YL = symbols("x_u y_u x_l y_l")
RX, RY, WX, WY = symbols("r_x r_y w_x w_y")
FIRST, SECOND, TAIL = symbols("\\alpha_1 \\alpha_2 \\psi")
ADVANCE, OFFSET, HELD = symbols("d o \\eta")
SLOPE, GRIP, SNAP, GAP, LOWER, UPPER = symbols("\\beta G s h \\lambda_l \\lambda_u")
UPPER_ADVANCE, LOWER_ADVANCE = symbols("d_u d_l")
RUB, STICK, STUCK = symbols("\\mu k_\\mu o_0")

SHAFT: Layer = {EX: X1 - X0, EY: Y1 - Y0, GX: X2 - X1, GY: Y2 - Y1}
DIRECTION: tuple[Layer, ...] = (
    {FIRST: sp.atan2(EY, EX), SECOND: sp.atan2(GY, GX)},
    {
        WX: 3 * sp.cos(FIRST) / 2 - sp.cos(SECOND) / 2,
        WY: 3 * sp.sin(FIRST) / 2 - sp.sin(SECOND) / 2,
    },
    {TAIL: sp.atan2(WY, WX)},
)
NORMAL = sp.cos(TAIL - SLOPE), sp.sin(TAIL - SLOPE)
WORDS = (
    "$e$ and $g$ are the shaft's first two cells, $\\alpha_1$ and $\\alpha_2$ their angles; the tail's direction $w$ "
    "is that of $\\tfrac32$ times the first one's unit vector minus $\\tfrac12$ times the second's, $\\psi$ its angle. "
    "The floor's forward normal stands at $\\psi - \\beta$, with $\\beta$ the throat's slope. "
)


def edge_energy(d: sp.Symbol) -> sp.Expr:
    """Energy of an edge that pushes, is held by the grip, by part of it, or has let go."""
    begin, half = GRIP / STIFF, SNAP / 2
    whole = GRIP**2 / STIFF / 2 + GRIP * (-d - begin)
    past = -d - half
    part = whole.subs(d, -half) + GRIP * (past - past**2 / SNAP)
    gone = part.subs(d, -SNAP)
    return sp.Piecewise((STIFF * d**2 / 2, d > -begin), (whole, d > -half), (part, d > -SNAP), (gone, True))


def edge() -> Element:
    """One edge of the floor against its string point."""
    held = sp.Piecewise((GRIP, ADVANCE > -SNAP / 2), (2 * GRIP * (SNAP + ADVANCE) / SNAP, ADVANCE > -SNAP), (0, True))
    return Element(
        "edge",
        "Edge of the throat's floor",
        "One string point $u$ (upper or lower) against the floor. " + WORDS + "$r$ is the string point's place from "
        "the throat's middle, $d$ its advance past the floor along the normal. $G$ is half the nock's grip, whole down "
        "to half the snap travel $s$ and gone at $s$, with $G / k < s / 2$; $\\eta$ is what it can hold at $d$. "
        "The law is the larger of the edge's push and $-\\eta$: the force on the shaft along the normal.",
        (XU, YU, X0, Y0, X1, Y1, X2, Y2),
        (SLOPE, STIFF, LOSS, GRIP, SNAP),
        (
            {RX: XU - X0, RY: YU - Y0, **SHAFT},
            *DIRECTION,
            {ADVANCE: RX * NORMAL[0] + RY * NORMAL[1]},
            {HELD: held},
        ),
        energy=edge_energy(ADVANCE),
        law=Law(larger(STIFF * ADVANCE + LOSS * dot(ADVANCE), -HELD), ADVANCE),
    )


def closed_edge() -> Element:
    """One edge that holds both ways."""
    one = edge()
    return Element(
        "closed-edge",
        "Edge held closed",
        "The same edge with a grip that never lets go: spring and loss both ways.",
        one.coordinates,
        (SLOPE, STIFF, LOSS),
        one.layers[:-1],
        energy=STIFF * ADVANCE**2 / 2,
        loss=LOSS * dot(ADVANCE) ** 2 / 2,
    )


def _locators(name: str, title: str, text: str, **rest: object) -> Element:
    parameters = (SLOPE, STIFF, LOSS)
    if "law" in rest:
        parameters = (*parameters, GAP, LOWER, UPPER)
    return Element(
        name,
        title,
        text,
        (XU, YU, XL, YL, X0, Y0, X1, Y1, X2, Y2),
        parameters,
        (
            {RX: (XU + XL) / 2 - X0, RY: (YU + YL) / 2 - Y0, **SHAFT},
            *DIRECTION,
            {OFFSET: -RX * NORMAL[1] + RY * NORMAL[0]},
        ),
        **rest,  # type: ignore[arg-type]
    )


def touching_locators() -> Element:
    """Both locators, no gap."""
    return _locators(
        "locators",
        "Locators that touch",
        "Both locators without a gap hold the middle of the two string points $u$ and $l$ to the throat's middle "
        "along the floor. " + WORDS + "$r$ is the place of the string points' middle from the throat's, $o$ its part "
        "along the floor, upwards.",
        energy=STIFF * OFFSET**2 / 2,
        loss=LOSS * dot(OFFSET) ** 2 / 2,
    )


def gapped_locators() -> Element:
    """Locators that act on one side each."""
    up, down = OFFSET - GAP, OFFSET + GAP
    rate = LOSS * dot(OFFSET)
    force = sp.Piecewise(
        (LOWER * larger(STIFF * up + rate, sp.S.Zero), OFFSET > GAP),
        (UPPER * smaller(STIFF * down + rate, sp.S.Zero), OFFSET < -GAP),
        (0, True),
    )
    return _locators(
        "gapped-locators",
        "Locators with a gap, or one only",
        "$h$ is half the gap; $\\lambda_l$ and $\\lambda_u$ are 1 where the lower and the upper locator are there, "
        "else 0. Neither pulls. Measures as above.",
        energy=sp.Piecewise(
            (LOWER * STIFF * up**2 / 2, OFFSET > GAP), (UPPER * STIFF * down**2 / 2, OFFSET < -GAP), (0, True)
        ),
        law=Law(force, OFFSET),
    )


def friction() -> Element:
    """Friction along the floor, between the string and the place where it sticks."""
    most = RUB * sp.Add(*(
        larger(STIFF * d + LOSS * dot(d), sp.S.Zero) for d in (UPPER_ADVANCE, LOWER_ADVANCE)
    ))  # fmt: skip
    return Element(
        "friction",
        "Friction along the floor",
        "The string sticks to the floor at the offset $o_0$ by a spring $k_\\mu$, and slips where that would pull more "
        "than $\\mu$ times what both edges push, with their stiffness $k$ and loss $c$: $o_0$ then follows, so that "
        "the spring holds just that. $d_u, d_l$ are the advances of the two string points $u$ and $l$ past the floor. "
        "Measures as above.",
        (XU, YU, XL, YL, X0, Y0, X1, Y1, X2, Y2),
        (SLOPE, STIFF, LOSS, RUB, STICK, STUCK),
        (
            {RX: (XU + XL) / 2 - X0, RY: (YU + YL) / 2 - Y0, **SHAFT},
            *DIRECTION,
            {
                OFFSET: -RX * NORMAL[1] + RY * NORMAL[0],
                UPPER_ADVANCE: (XU - X0) * NORMAL[0] + (YU - Y0) * NORMAL[1],
                LOWER_ADVANCE: (XL - X0) * NORMAL[0] + (YL - Y0) * NORMAL[1],
            },
        ),
        law=Law(larger(smaller(STICK * (OFFSET - STUCK), most), -most), OFFSET),
    )
