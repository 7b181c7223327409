"""A pinch of the fingers on the nock: in the drawn bow's equilibrium, and while it lets go."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from archerysim.mechanics.arrays import Load, Standing
from archerysim.mechanics.release.layout import CLEAR
from archerysim.mechanics.statics.draw import DrawAim, draw_newton
from archerysim.mechanics.statics.newton import MOST_CAREFUL, forces_at_rest
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.energy import account, ledger_of
from archerysim.shot.release.release import loose, weight
from archerysim.shot.statics.brace import GRAVITY
from archerysim.shot.statics.curve import curve
from archerysim.shot.statics.draw import draw_to
from archerysim.shot.statics.fit import fit
from archerysim.shot.timeline import fading
from archerysim.status import TIME_CAP
from tests.support.mechanics.release_of_arrays import run, start_of
from tests.support.shot.example_bows import measured
from tests.support.shot.reference_case import THROAT_X, Shot, reference, set_locators, shot


@cache
def pinched(newtons: float, gap: float = 0.0) -> Shot:
    """The reference bow as braced, drawn by fingers that pinch."""
    setup = reference()
    setup.archer.pinch = newtons
    set_locators(setup.nock, gap=gap)
    drawing, drawn = draw_to(setup, shot(0.009, 12).braced, THROAT_X)
    return Shot(setup, drawing.braced, drawing, drawn, loose(drawing, drawn, rows=500))


@pytest.mark.parametrize("newtons", [-12.0, 3.0])
def test_full_draw_balances(newtons: float) -> None:
    """Every node rests with the fingers on the string and the pinch across them on the nock; no torque of the hand."""
    done = pinched(newtons)
    b, d, fingers = done.braced, done.drawn, done.drawing.fingers
    standing = Standing(b.chain, b.marks, done.drawing.throat, done.drawing.support, done.drawing.grid)
    fx, fy = np.empty((2, d.x.size))
    forces_at_rest(standing, d.x, d.y, *weight(d), fx, fy, memory_for(done.drawing.grid))
    across = np.array([d.force[1], -d.force[0]]) / np.hypot(*d.force)
    assert across[1] > 0.9  # up
    pinch = newtons * across
    shares = fingers.weight.sum(axis=0)
    touched = slice(fingers.first, fingers.first + shares.size)
    fx[touched] += shares * d.force[0]
    fy[touched] += shares * d.force[1]
    tail = b.marks.tail
    fx[tail] += pinch[0]
    fy[tail] += pinch[1]
    free = b.chain.inverse_mass > 0.0
    assert max(np.abs(fx[free]).max(), np.abs(fy[free]).max()) < 1e-6
    moment = np.sum(shares * (d.x[touched] * d.force[1] - d.y[touched] * d.force[0]))
    moment += d.x[tail] * pinch[1] - d.y[tail] * pinch[0]
    assert moment == pytest.approx(0.0, abs=1e-6)
    # the locators hold it: pinched down, the nock lies on the lower one
    assert done.loosed.trace.locator[0] == pytest.approx(-newtons, abs=2.0)


@pytest.mark.parametrize("newtons", [-12.0, 12.0])
def test_newton_s_pace_is_that_of_an_exact_tangent(newtons: float) -> None:
    """From the bow without a pinch: each residual [N] goes as the square of the one before, by far the less."""
    done = pinched(0.0)
    b, d, fingers = done.braced, done.drawn, done.drawing.fingers
    standing = Standing(b.chain, b.marks, done.drawing.throat, done.drawing.support, done.drawing.grid)
    load = Load(fingers.weight.sum(axis=0), fingers.first)
    aim = DrawAim(THROAT_X, 0.0, 0.0, d.level, False, GRAVITY, newtons)
    residuals = []
    for most in range(1, 4):
        x, y, force = d.x.copy(), d.y.copy(), d.force.copy()
        memory = memory_for(done.drawing.grid)
        residuals.append(draw_newton(standing, load, x, y, force, aim, MOST_CAREFUL, 0.0, most, memory)[2])
    assert residuals[0] > 1.0
    for before, after in pairwise(residuals):
        assert after < 0.1 * before**2 + 1e-8


@pytest.mark.parametrize("newtons", [-6.0, 6.0])
def test_with_play_the_nock_is_settled_on_the_locator_towards_which_it_is_pinched(newtons: float) -> None:
    """Positive offset: the string stands high in the throat, on the lower locator."""
    offset = pinched(newtons, 5e-4).loosed.trace.offset[0]
    assert -np.sign(newtons) * offset == pytest.approx(2.5e-4 + 6.0 / 1e5, abs=2e-5)


def test_held_at_full_draw_nothing_moves() -> None:
    done = pinched(3.0)
    start = start_of(done)
    start.fingers = start.fingers._replace(delay=np.full(3, 1.0))
    end = run(start, done.loosed.dt, 5e-3)
    assert end.status == TIME_CAP
    assert np.abs(end.y - start.y).max() < 1e-9


def test_what_it_gives_the_arrow_is_in_the_account() -> None:
    """Its work along the nock's way, some 7 mJ, stands with the fingers'; what is missed stays what it was."""
    missed = []
    for newtons in (0.0, -12.0):
        done = pinched(newtons)
        ledger = ledger_of(done.drawing, done.drawn, done.loosed.hand)
        energy = account(ledger, done.loosed.states[CLEAR], done.loosed.moments[CLEAR])
        missed.append(energy.residual)
    rows, archer = done.loosed.trace, done.setup.archer
    fade = fading(rows.time, done.drawing.fingers.time, done.drawing.fingers.delay) @ np.array(archer.finger_shares)
    pinch = done.drawing.pinch_on(done.drawn.throat_x, done.drawn.force)
    way = np.diff(np.column_stack((rows.tail_x, rows.tail_y)), axis=0)
    work = float(0.5 * (fade[1:] + fade[:-1]) @ (way @ pinch))
    assert abs(work) > 5e-3
    assert missed[1] == pytest.approx(missed[0], abs=1e-4)


def test_a_scale_pinches_nothing() -> None:
    """The bow that was measured is the same, whatever its archer's fingers do."""
    setup = measured("club-outdoor")
    plain, other = fit(setup, "coarse"), fit(setup.replace({"archer.pinch": "10 N"}), "coarse")
    assert other.stiffness_factor == plain.stiffness_factor
    assert [one.found for one in other.met] == [one.found for one in plain.met]
    assert other.drawing is None


def test_the_draw_curve_grows_into_it() -> None:
    """A pinch that grows with the draw: the last of the curve is full draw itself, and the curve is smooth into it."""
    done = pinched(3.0)
    pinch = curve(done.drawing, done.drawn, 9)
    forces = np.array([one.weight for one in pinch])
    assert pinch[-1] is done.drawn
    assert np.abs(np.diff(forces, 3)).max() < 0.05 * forces[-1]
    plain = pinched(0.0)
    assert forces == pytest.approx([one.weight for one in curve(plain.drawing, plain.drawn, 9)], rel=2e-3)
