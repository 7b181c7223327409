"""The draw-force curve: equilibria from brace to full draw."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import Standing
from archerysim.mechanics.forces.throat import edge_force
from archerysim.mechanics.statics.draw import DrawAim, Pulled
from archerysim.mechanics.statics.draw_curve import FACTS, draw_along, least_advance
from archerysim.mechanics.statics.newton import QUICK
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.statics.brace import GRAVITY
from archerysim.shot.statics.bracing import tolerance_of
from archerysim.shot.statics.draw import MOST, Drawing, full_draw_x
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.lay_arrow import held_both_ways
from archerysim.status import OK

WEAKER = 0.97  # of the nock's grip, to see how much the string yields to it
STEADY = 0.7  # of the yielding at which the string would jump off the nock's edge


def curve(drawing: Drawing, last: Drawn, points: int) -> list[Drawn]:
    """Equilibria from near brace to full draw ``last``, evenly spaced, ``points - 1`` of them.

    Gravity keeps the direction that it has at full draw.

    Raises
    ------
    ShotError
    """
    targets = np.linspace(drawing.begin, last.throat_x, points)[:-1]
    found = curve_along(drawing, targets, last.level) or curve_anew(drawing, targets[1:], last.level)
    for one in found:
        drawing.stays_at(one)
    return [*found, last]


def curve_along(drawing: Drawing, places: np.ndarray, level: float) -> list[Drawn]:
    """The curve with the arrow on the string all the way.

    Empty where one equilibrium is not found so, or there may be two: a nock with play, or with one locator, may lie
    against either; a string that has gone off the nock's edge from one draw to the next may have jumped.
    """
    throat = drawing.throat
    if not held_both_ways(throat):
        return []
    b, archer, k = drawing.braced, drawing.setup.archer, places.size
    x, y = np.empty((2, k, b.x.size))
    force, facts = np.zeros((k, 2)), np.zeros(k, FACTS).view(np.recarray)
    x[0], y[0] = b.x, b.y
    far = full_draw_x(drawing.setup) - drawing.begin
    code = draw_along(
        Standing(b.chain, b.marks, throat, drawing.support, drawing.grid), drawing.load, places, Pulled(x, y, force),
        facts, DrawAim(0.0, archer.pressure_point, archer.grip_torque / far, level, False, GRAVITY, archer.pinch / far),
        QUICK, tolerance_of(b.chain), MOST, memory_for(drawing.grid),
    )  # fmt: skip
    if code != OK:
        return []
    advance = facts.least_advance
    on, off = advance[1:] >= 0.0, advance[1:] <= -throat.snap
    if ((on[:-1] & off[1:]) | (off[:-1] & on[1:])).any():
        return []
    letting_go = np.flatnonzero((advance < 0.0) & (advance > -throat.snap))
    if letting_go.size:
        i = letting_go[-1]
        if not lets_go_steadily(drawing, float(places[i]), Pulled(x[i], y[i], force[i]), level):
            return []
    return [
        Drawn(place, force[i], level, x[i], y[i], press, energy, residual, int(count))
        for i, (place, (energy, press, residual, count, _)) in enumerate(
            zip(places.tolist(), facts.tolist(), strict=True)
        )
    ][1:]


def lets_go_steadily(drawing: Drawing, place: float, drawn: Pulled, level: float) -> bool:
    """Whether the string yields so little that the nock's grip lets go of it steadily.

    Where it yields more, it jumps off the edge at some draw and back on at another: between the two there are two
    answers, and which one is found depends on where it is looked for. Tried with a grip a little weaker.
    """
    throat, marks = drawing.throat, drawing.bow_marks
    weaker = throat._replace(grip=WEAKER * throat.grip)
    code, found, _, _, _ = drawing.solve(drawing.braced.chain, drawing.grid, weaker, place, drawn, level, False)
    before, _ = least_advance(throat, marks, drawn.x, drawn.y)
    after, _ = least_advance(throat, marks, found.x, found.y)
    less = edge_force(weaker, after, 0.0)[0] - edge_force(throat, before, 0.0)[0]
    return bool(code == OK and (before - after) * 2.0 * throat.grip < STEADY * less * throat.snap)


def curve_anew(drawing: Drawing, targets: np.ndarray, level: float) -> list[Drawn]:
    """The curve with every equilibrium found as that at full draw is, whatever others are asked for."""
    return [drawing.drawn_at(float(target), drawing.bow_found(float(target))[0], level) for target in targets]
