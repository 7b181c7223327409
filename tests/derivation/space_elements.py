"""The elements that stretch and bend in both planes: cells of string and shaft, their loss, the shaft's bend, and the
string's end cell on a limb.

z is sideways, positive away from the riser's window; the string's plane is z = 0.
"""

from __future__ import annotations

import sympy as sp

from tests.derivation.chain_elements import (
    ALONG,
    BENDING,
    CELLS,
    EX,
    EY,
    GX,
    GY,
    LENGTH,
    LOSS,
    STIFF,
    UNLOADED,
    X0,
    X1,
    X2,
    Y0,
    Y1,
    Y2,
)
from tests.derivation.chain_elements import CELL as FLAT_CELL
from tests.derivation.element import Element, Layer, dot, symbols

Z0, Z1, Z2 = symbols("z_0 z_1 z_2")
EZ, GZ, NEXT = symbols("e_z g_z l_g")
UX, UY, UZ, VX, VY, VZ, COSINE = symbols("u_x u_y u_z v_x v_y v_z d")
FLAT_WAY, ASIDE, WAY = symbols("L h \\lambda")

CELL: Layer = {**FLAT_CELL, EZ: Z1 - Z0}
LENGTHS: Layer = {LENGTH: sp.sqrt(EX**2 + EY**2 + EZ**2)}
NODES = (X0, Y0, Z0, X1, Y1, Z1)


def pulls(length: sp.Symbol) -> sp.Expr:
    """Energy of what pulls and does not push."""
    return sp.Piecewise((STIFF * (length - UNLOADED) ** 2 / 2, length > UNLOADED), (0, True))


def stretch() -> Element:
    """A cell of the shaft."""
    return Element(
        "stretch-in-space",
        "Stretch",
        "A cell of the shaft between two nodes. $e$ is the second node's place from the first, $l$ the cell's length, "
        "$l_0$ its unloaded length and $k = EA / l_0$. A cell of a limb stays in its plane and has no $z$.",
        NODES,
        (STIFF, UNLOADED),
        (CELL, LENGTHS),
        energy=STIFF * (LENGTH - UNLOADED) ** 2 / 2,
    )


def string_cell() -> Element:
    """A cell of the string."""
    return Element(
        "string-cell-in-space",
        "String cell",
        "As a stretched cell, but it only pulls.",
        NODES,
        (STIFF, UNLOADED),
        (CELL, LENGTHS),
        energy=pulls(LENGTH),
    )


def string_damper() -> Element:
    """The loss of a string cell."""
    return Element(
        "string-damper-in-space",
        "String damper",
        "A string cell resists the difference of its nodes' velocities with $c$ in all three components and with $c_a$ "
        "along itself, taut or slack. $R$ is half the lost power.",
        NODES,
        (LOSS, ALONG),
        (CELL, LENGTHS),
        loss=LOSS * (dot(EX) ** 2 + dot(EY) ** 2 + dot(EZ) ** 2) / 2 + ALONG * dot(LENGTH) ** 2 / 2,
    )


def bend() -> Element:
    """A node of the shaft between two cells."""
    return Element(
        "bend-in-space",
        "Bend of the shaft",
        "A node between two cells $e$ and $g$ with the unit vectors $u$ and $v$ and the angle $\\theta$ between them, "
        "$d = u \\cdot v = \\cos\\theta$. With $b = 2 \\tan(\\theta / 2)$, the flat shot's measure of bend, is "
        "$b^2 = 4 (1 - d) / (1 + d)$, so that $V = B b^2 / 2$ as there, with $B$ the bending stiffness over the cell's "
        "length. $d$ needs no plane in which the two cells lie, and no case where they are in line. The force is "
        "$4 B / (1 + d)^2$ times the derivative of $d$ with the node's place. A round and straight shaft bends alike "
        "in every plane and has no natural bend; its twist turns nothing.",
        (X0, Y0, Z0, X1, Y1, Z1, X2, Y2, Z2),
        (BENDING,),
        (
            {**CELLS, EZ: Z1 - Z0, GZ: Z2 - Z1},
            {**LENGTHS, NEXT: sp.sqrt(GX**2 + GY**2 + GZ**2)},
            {
                UX: EX / LENGTH, UY: EY / LENGTH, UZ: EZ / LENGTH,
                VX: GX / NEXT, VY: GY / NEXT, VZ: GZ / NEXT,
            },
            {COSINE: UX * VX + UY * VY + UZ * VZ},
        ),
        energy=2 * BENDING * (1 - COSINE) / (1 + COSINE),
    )  # fmt: skip


def end_cell() -> Element:
    """The string's end cell, on the limb or free."""
    return Element(
        "end-cell",
        "String's end cell on a limb",
        "The limb's belly is the flat shot's curve, drawn out along $z$: a cylinder. Unrolled, the belly and the plane "
        "in which the string leaves it are one plane. In the flat shot the way in it, from the tip to the string node, "
        "has the length $L$, arc and tangent; in space it is a straight line that also goes $h = z_1 - z_0$ sideways, "
        "with $z_0$ the tip's and $z_1$ the string node's. It leaves the belly at the same line of the cylinder as in "
        "the flat shot, where it has gone sideways by that part of $h$ that it has gone of $L$. The derivatives of $L$ "
        "with the nodes' places in the plane are those of the flat shot; the pull $P$ along the string acts in the "
        "plane with $P L / \\lambda$. The belly has no face across $z$: what the string presses on it has no $z$ part, "
        "and $P h / \\lambda$ pulls the tip itself. Where the cell touches the tip alone, $L^2 = e_x^2 + e_y^2$.",
        (FLAT_WAY, Z0, Z1),
        (STIFF, UNLOADED),
        ({ASIDE: Z1 - Z0}, {WAY: sp.sqrt(FLAT_WAY**2 + ASIDE**2)}),
        energy=pulls(WAY),
    )
