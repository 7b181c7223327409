"""What acts sideways: side support, arm, groove, tips and fingers.

z is sideways, positive away from the riser's window; the string's plane is z = 0.
"""

from __future__ import annotations

import sympy as sp

from tests.derivation import riser_elements as risers
from tests.derivation.chain_elements import LOSS, STIFF
from tests.derivation.element import Element, Law, dot, larger, smaller, symbols
from tests.derivation.riser_elements import (
    AX,
    AY,
    DELAY,
    HALF,
    MASS,
    PLACE,
    RELEASE,
    SIDE,
    TIME,
    TURN,
    WEIGHT,
    XJ,
    XK,
    XT,
    YJ,
    YK,
    YT,
    X,
    Y,
)

ZJ, ZK, ZU, ZL, ZA, ZI = symbols("z_j z_k z_u z_l z_0 z")
PAST, FACE, SEAT, PRELOAD, TRAVEL, STOP, REACH = symbols("p o k_1 N_0 s k_s r")
SPRUNG, STOPPED, ACROSS = symbols("N_k N_s \\zeta")
FOLD, SIZE, ROLL, HOLD, GRAVITY = symbols("F_a F \\chi F_z g_z")


def side_support() -> Element:
    """The side support at one cell of the shaft."""
    springs = sp.Piecewise(
        (0, PAST <= 0),
        (SEAT * PAST**2 / 2, SEAT * PAST <= PRELOAD + STIFF * PAST),
        (PRELOAD * PAST + STIFF * PAST**2 / 2 - PRELOAD**2 / (SEAT - STIFF) / 2, True),
    )
    stands = sp.Piecewise((STOP * (PAST - TRAVEL) ** 2 / 2, PAST > TRAVEL), (0, True))
    return Element(
        "side-support",
        "Side support",
        "$t$ is a point of the riser beside the cell from node $j$ to node $k$, $\\xi$ the place beside it on the "
        "cell, $z'$ the shaft's slope there, $o$ where the shaft's axis stands when its side just touches, $p$ how far "
        "the side is past the face, and $f$ the force's part along $z$. A seat $k_1$ makes the preload $N_0$ start "
        "gently; then the spring $k$ takes over, and beyond the travel $s$ stands the hard stop $k_s$. $k_1$ is the "
        "larger of $k_s$ and $k$. $N_k$ is what seat and spring push, $N_s$ what the stop adds, $c$ the damper. The "
        "law acts on the whole change of $p$, that through $\\xi$ included: the shaft gets $(-z', 1)\\,f$ along $x$ "
        "and $z$, square to itself, and the riser $z' f$ along $x$ with the torque of this about its mass centre. With "
        "the velocities of the shaft's material there is $\\dot p = -(\\dot z - z' (\\dot x - \\dot x_t))$, and the "
        "support takes the power $f \\dot p$, from a slanting shaft that slides along it too. A force along $z$ alone "
        "would let $f z' (\\dot x - \\dot x_t)$ go unseen. The riser takes the $z$ part and does not move sideways.",
        (XJ, ZJ, XK, ZK, X, Y, TURN),
        (AX, AY, FACE, STIFF, PRELOAD, SEAT, TRAVEL, STOP, LOSS),
        (
            risers.carried(XT, YT, AX, AY),
            {PLACE: (XT - XJ) / (XK - XJ)},
            {PAST: FACE - (1 - PLACE) * ZJ - PLACE * ZK},
            {
                SPRUNG: smaller(SEAT * PAST, PRELOAD + STIFF * PAST),
                STOPPED: STOP * larger(PAST - TRAVEL, sp.S.Zero),
            },
        ),
        energy=springs + stands,
        law=Law(
            sp.Piecewise((larger(SPRUNG + STOPPED + LOSS * dot(PAST), sp.S.Zero), PAST > 0), (0, True)),
            PAST,
        ),
    )


def arm() -> Element:
    """The arrow rest's arm, which ends sideways."""
    flat = risers.rest()
    assert flat.law is not None
    within = sp.Piecewise((flat.law.force, ACROSS < REACH), (0, True))
    return Element(
        "arm",
        "Arm of the rest",
        "The flat shot's rest, as long as the shaft's axis over it, at $\\zeta$, is within the arm's reach: inside of "
        "$r$. Its force is along $y$ and has no $z$ part, so nothing but its end depends on $\\zeta$; then it falls "
        "from $f$ to zero at once and gives no impulse, and the arm, which has no mass, springs up by itself. What its "
        "spring holds at that moment, $k g^2 / 2$, stays in the arm: that is what the end of the support takes out of "
        "the account. An arm whose end gave it back would have to throw the shaft sideways.",
        (XJ, YJ, ZJ, XK, YK, ZK, X, Y, TURN),
        (AX, AY, HALF, STIFF, LOSS, SIDE, REACH),
        (*flat.layers[:-1], {**flat.layers[-1], ACROSS: (1 - PLACE) * ZJ + PLACE * ZK}),
        law=Law(within, flat.law.measure, flat.law.work),
    )


def folding() -> Element:
    """A struck arm while it folds away."""
    return Element(
        "folding-arm",
        "Arm that folds away",
        "Once the shaft has been outside of the arm's reach and comes back lower than the arm's top it strikes it from "
        "the side. The arm then carries nothing; while it folds away it pushes the shaft out with a constant force "
        "$F_a$ on the material that is over it at the moment, and takes what the shaft does against it.",
        (XJ, ZJ, XK, ZK, X, Y, TURN),
        (AX, AY, FOLD),
        (risers.carried(XT, YT, AX, AY), {PLACE: (XT - XJ) / (XK - XJ)}, {ACROSS: (1 - PLACE) * ZJ + PLACE * ZK}),
        law=Law(FOLD, ACROSS, {ZJ: 1 - PLACE, ZK: PLACE}),
    )


def groove() -> Element:
    """The nock's groove holds the string sideways."""
    return Element(
        "groove",
        "Groove of the nock",
        "While the string is in the throat, the middle of its two points $u$ and $l$ at the floor's edges is held to "
        "the shaft's tail sideways, by a spring and a damper. The nock turns freely about the string.",
        (ZU, ZL, ZA),
        (STIFF, LOSS),
        ({ACROSS: (ZU + ZL) / 2 - ZA},),
        energy=STIFF * ACROSS**2 / 2,
        loss=LOSS * dot(ACROSS) ** 2 / 2,
    )


def tip() -> Element:
    """A limb's tip sideways."""
    return Element(
        "tip",
        "Limb's tip",
        "A point of mass on a spring and a damper: twist and sideways bend of the limb together. The string alone "
        "pulls it sideways; no cell of the limb sees its $z$.",
        (ZI,),
        (STIFF, LOSS),
        (),
        energy=STIFF * ZI**2 / 2,
        loss=LOSS * dot(ZI) ** 2 / 2,
    )


def finger() -> Element:
    """One finger's share on one string node, sideways."""
    left = risers.fade()
    since = sp.Piecewise((0, TIME <= DELAY), ((TIME - DELAY) / RELEASE, TIME < DELAY + RELEASE), (1, True))
    return Element(
        "finger-sideways",
        "Fingers",
        "The share $w$ that one finger has, on one string node, of the size $F$ of the whole force at full draw. While "
        "the finger lets go, its force turns away from the window by up to the roll $\\chi$, and fades as in the flat "
        "shot. $F_z$ is what all fingers hold sideways at full draw.",
        (ZI,),
        (WEIGHT, SIZE, ROLL, HOLD, TIME, DELAY, RELEASE),
        (),
        energy=-WEIGHT * left * (SIZE * since * sp.tan(ROLL) + HOLD) * ZI,
    )


def weight() -> Element:
    """The weight of a node, sideways."""
    return Element(
        "weight-sideways",
        "Weight of a canted bow",
        "Of a node that moves sideways with the mass $m$; $g_z$ is the acceleration of gravity along $z$, zero for a "
        "bow that stands upright.",
        (ZI,),
        (MASS, GRAVITY),
        (),
        energy=-MASS * GRAVITY * ZI,
    )
