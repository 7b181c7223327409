"""The fit's later trials, each from the one before: from a bow braced and drawn with nearly the right stiffness.

The answer is that of bracing and drawing from scratch, where that has one. Where the way to it fails, there is none,
and the fit goes its longer way.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import SetupError, ShotError
from archerysim.mechanics.arrays import Load
from archerysim.mechanics.statics.brace import BraceAim
from archerysim.mechanics.statics.draw import DrawAim, Pulled
from archerysim.mechanics.statics.match_weight import STIFFER, match_weight
from archerysim.mechanics.statics.match_weight import Wanted as WantedWeight
from archerysim.mechanics.statics.newton import QUICK
from archerysim.mechanics.statics.room import Newton
from archerysim.shot.arrays.build import HUGE, LimbsAndArrow, make_fingers
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.statics.brace import throat_place
from archerysim.shot.statics.bracing import GRAVITY, MOST, Bracing, Square
from archerysim.shot.statics.draw import Drawing, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.first_guess import string_divided
from archerysim.shot.statics.fit_split import RatioSearch, settle
from archerysim.status import OK

NEAR = 1e-2  # relative miss of the draw weight while the string's cells are still those of the first trial
CLOSE = 1e-10  # and afterwards
SAME = 1e-8  # change of string length [m], pocket angle [rad] and stiffness' logarithm that no longer moves the cells
ROUNDS = 6
FURTHEST = 0.005  # [m] that a node may move from the first trial; beyond, it may have found another place


class Wanted(NamedTuple):
    """What a fitted bow is to have."""

    height: float  #: brace height [m]
    split: float  #: difference of the roots' distances from the string [m]
    weight: float  #: draw weight [N]
    target: float  #: x of the throat's middle where it is measured [m]


class Matched(NamedTuple):
    """A bow that meets them."""

    factor: float  #: on the stiffness of the first trial
    drawing: Drawing
    drawn: Drawn
    draws: int


def matched(
    setup: BuiltSetup,
    limbs_and_arrow: LimbsAndArrow,
    mesh: Mesh,
    wanted: Wanted,
    drawing: Drawing,
    drawn: Drawn,
    ratio: RatioSearch | None = None,
) -> Matched | None:
    """Bring a bow to its measures.

    Parameters
    ----------
    setup : BuiltSetup
    limbs_and_arrow : LimbsAndArrow
        With the stiffness of ``drawing``, but for the ratio that has been searched for.
    drawing, drawn : Drawing, Drawn
        Braced with the measured brace height and tillers, and drawn to where the weight is measured. Their arrays
        are changed.
    ratio : RatioSearch, optional
        The limbs' stiffness over each other is found too.

    Returns
    -------
    Matched or None
    """
    braced, archer = drawing.braced, setup.archer
    x, y, force = drawn.x, drawn.y, drawn.force
    begin, drawn_begin = np.array((braced.x, braced.y)), np.array((x, y))
    search = np.array([0.0, np.log(drawn.weight / wanted.weight), 1.0])
    made = (braced.chain, braced.marks, braced.string_place)
    bow = Bracing(setup, braced.string_length, braced.leans, mesh, None, limbs_and_arrow, made)
    bow.start_at(braced.x, braced.y)
    square, throat, draws = braced.square, braced.throat, 0
    support, weighed_at = drawing.support, wanted.target if drawing.weighing else None
    for turn in range(ROUNDS):
        string = bow.chain.least_force[bow.marks.tip_u : bow.marks.tip_l]
        string[:] = HUGE  # it may push on the way
        unlike = 0.0 if ratio is None else ratio.log
        before = np.array([bow.length, *bow.leans, search[STIFFER], unlike])
        try:
            if ratio is not None:
                settle(bow, ratio, wanted.height, wanted.split, False)
        except (SetupError, ShotError):
            return None
        unlike = 0.0 if ratio is None else ratio.log
        fingers = make_fingers(archer, bow.place, throat, bow.marks.tip_u)
        code, trials, level, (bow.residual, bow.iterations), (residual, count) = match_weight(
            bow.standing, support, bow.strung, Load(fingers.weight.sum(axis=0), fingers.first), Pulled(x, y, force),
            BraceAim(2, wanted.height, wanted.split, 0.0, -GRAVITY, False),
            DrawAim(
                wanted.target, archer.pressure_point, archer.grip_torque, archer.elevation, True, GRAVITY
            ),
            full_draw_x(setup), WantedWeight(wanted.weight, CLOSE if turn else NEAR), search,
            Newton(QUICK, bow.tolerance, MOST), bow.memory,
        )  # fmt: skip
        draws += trials
        if code != OK:
            return None
        if turn and np.abs(before - [bow.length, *bow.leans, search[STIFFER], unlike]).max() < SAME:
            moved = max(np.abs(begin - (bow.x, bow.y)).max(), np.abs(drawn_begin - (x, y)).max())
            string[:] = 0.0
            drawing = Drawing.of(setup, bow.braced(square, throat, bow.iterations), weighed_at)
            if moved > FURTHEST or not (drawing.taut(bow.x, bow.y) and drawing.taut(x, y)):
                return None
            energy, press = drawing.bow_energy(x, y, level), drawing.press(x, y)
            done = Drawn(wanted.target, force, level, x, y, press, energy, residual, count)
            lies = press > 0.0 or drawing.weighing
            return Matched(float(np.exp(search[STIFFER])), drawing, done, draws) if lies else None
        stiffer = limbs_and_arrow.stiffer(float(np.exp(search[STIFFER])), float(np.exp(unlike)))
        try:
            square = bare_square(bow, stiffer)
        except ShotError:
            return None
        throat = throat_place(setup, square)
        last, bow = bow, Bracing(setup, bow.length, bow.leans, mesh, throat, stiffer)
        if bow.marks != last.marks:
            return None
        bow.start_at(last.x, last.y)
    return None


def bare_square(bow: Bracing, limbs_and_arrow: LimbsAndArrow) -> Square:
    """The square put to the same bow without its arrow.

    Raises
    ------
    ShotError
    """
    length, marks = bow.length, bow.marks
    bare = Bracing(bow.setup, length, bow.leans, bow.mesh, None, limbs_and_arrow)
    bow_x, bow_y = bow.x[: marks.tail], bow.y[: marks.tail]
    bare.start_at(*string_divided(bow_x, bow_y, marks, bare.marks, bare.place, length))
    bare.newton(0)
    return bare.square()
