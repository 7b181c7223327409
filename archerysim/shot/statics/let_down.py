"""What the limbs' hysteresis adds to the force on the fingers while a bow is drawn, and takes while it is let down."""

from __future__ import annotations

from archerysim.errors import ShotError
from archerysim.mechanics.arrays import Loop
from archerysim.mechanics.statics.draw import Pulled
from archerysim.shot.arrays.hysteresis import bends, taken
from archerysim.shot.statics.draw import Drawing, draw_length_words
from archerysim.shot.statics.drawn import Drawn
from archerysim.status import NO_CONVERGENCE, OK

ASIDE = 1e-4  # to either side of a draw, to see how the limbs go on bending there [m]


def kept_from_fingers(drawing: Drawing, drawn: Drawn, loop: Loop) -> float:
    """Force between the elastic one and the one while drawing, or letting down, at one draw [N].

    By virtual work, the sum over the limbs of the loop's moment times the change of bend with the draw. To first order,
    since the shape is the elastic one. The change is that of one step of Newton's method to either side, without the
    arrow.

    Raises
    ------
    ShotError
        Where there is no such step.
    """
    n = drawing.bow_marks.tail
    here = Pulled(drawn.x[:n], drawn.y[:n], drawn.force)
    sides = []
    for aside in (-ASIDE, ASIDE):  # further drawn first
        code, found, _, _, _ = drawing.solve(
            drawing.bow_chain, drawing.bow_grid, drawing.throat, drawn.throat_x + aside, here, drawn.level, False, 1
        )
        if code not in (OK, NO_CONVERGENCE):  # nobody asks one step to converge
            raise ShotError("draw", code, draw_length_words(drawn.throat_x))
        sides.append(bends(found.x, found.y))
    rising = (sides[0] - sides[1]) / (2.0 * ASIDE)
    return float(taken(loop, bends(drawn.x, drawn.y))[:n] @ rising)
