"""Hysteresis of the limbs: what is kept when the bow is drawn and let down, and in the shot."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from archerysim.errors import SetupError
from archerysim.mechanics.arrays import Loop
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.release.forces import evaluate
from archerysim.shot.arrays.hysteresis import bends, kept, taken, whole
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.launch import Launch, energy_history
from archerysim.shot.release.release import loop_of, model_of
from archerysim.shot.release.room import make_held, make_nodes, make_riser
from tests.support.shot.example_bows import fitted

NAME = "club-outdoor"
SHARE = 0.03
MESH = "coarse"


@cache
def shot(share: float, trace: bool = False) -> Launch:
    return fitted(NAME).launch({"limbs.hysteresis": share}, trace=trace)


@cache
def curve(share: float, points: int = 25) -> DrawCurve:
    return fitted(NAME).with_changes({"limbs.hysteresis": share}).draw_curve(points)


def loop(share: float = SHARE) -> Loop:
    return loop_of(shot(share).drawing, shot(share).drawn)


def test_the_share_asked_for_is_kept_of_a_draw_and_let_down() -> None:
    found = curve(SHARE)
    b, d = fitted(NAME).braced, found.drawn[-1]
    limbs = (b.marks.root_u - 1, b.marks.tip_u), (b.marks.tip_l, b.marks.root_l + 1)
    brace, full = (sum(chain_energy(b.chain, at.x, at.y, *cells)[1] for cells in limbs) for at in (b, d))
    work = full - brace
    assert found.kept_by_limbs == pytest.approx(SHARE * work, rel=1e-9)
    # the string, which pulls less at full draw than at brace, gives some of it
    assert found.energy[-1] < work < 1.01 * found.energy[-1]
    between = found.force - found.let_down
    assert np.all(between[1:-1] > 0.0)
    assert between[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-9)
    plain = curve(0.0)
    assert np.array_equal(plain.force, plain.let_down)
    assert np.array_equal(found.energy, plain.energy)
    assert 0.5 * (found.force + found.let_down) == pytest.approx(plain.force, rel=1e-12)


def test_the_area_between_the_curves_is_what_is_kept() -> None:
    """More closely with every point: the error of sums falls as the square of the spacing.

    What then remains is that the fingers' force, whose size the curve tells, pulls neither quite along the draw nor at
    one place of the string.
    """
    areas = []
    for points in (11, 21, 41, 81):
        found = curve(SHARE, points)
        areas.append(np.trapezoid(found.force - found.let_down, found.draw_length) / found.kept_by_limbs)
    steps = np.abs(np.diff(areas))
    assert np.log2(steps[:-1] / steps[1:]) == pytest.approx([2.0, 2.0], abs=0.25)
    finest = areas[-1] + (areas[-1] - areas[-2]) / 3.0
    assert finest == pytest.approx(1.0, abs=0.0005)


def test_each_limb_has_its_own() -> None:
    upper, lower = (
        fitted(NAME).with_changes({"limbs.hysteresis": 0.0}).with_changes({f"{limb}_limb.hysteresis": SHARE})
        for limb in ("upper", "lower")
    )
    found, other = (loop_of(bow.statics.drawing, bow.statics.drawn) for bow in (upper, lower))
    marks = upper.braced.marks
    assert np.all(found.size[marks.root_u : marks.tip_u] != 0.0)
    assert not found.size[marks.tip_u :].any()
    assert not other.size[: marks.tip_l + 1].any()
    assert whole(found) + whole(other) == pytest.approx(whole(loop()), rel=1e-9)


def test_every_place_keeps_the_same_share_of_its_change() -> None:
    """4/3 s B a^2 each, with one s along a limb: not more where the limb is bent already at brace."""
    b, found = shot(SHARE).braced, loop()
    limb = slice(b.marks.root_u, b.marks.tip_u)
    area = 8.0 / 3.0 * np.abs(found.size) * found.square**1.5
    stored = b.chain.bend * found.square
    shares = (area[limb] / stored[limb]) * 3.0 / 4.0
    assert shares == pytest.approx(np.full_like(shares, shares[0]), rel=1e-9)


def test_forces_are_the_gradient_of_what_can_still_be_given() -> None:
    """Elastic energy with what will have been kept; central differences over free nodes of a limb."""
    done = shot(SHARE)
    d = done.drawn
    b = done.braced
    rng = np.random.default_rng(4)
    x, y = 0.5 * (b.x + d.x) + rng.uniform(-2e-5, 2e-5, d.x.size), 0.5 * (b.y + d.y)
    model = model_of(done.drawing, d)
    plain = model._replace(chain=b.chain)
    held = make_held(np.zeros(2), np.zeros(3), np.zeros(2))

    def forces(which: object) -> np.ndarray:
        nodes = make_nodes(x.copy(), y.copy())
        evaluate(which, held, nodes, make_riser(b.frame), 1.0, 0.0, False, 0.0, 0.0, b.marks.tail)
        return np.array([nodes.fx, nodes.fy])

    by_loop = forces(model) - forces(plain)
    # the riser carries the roots: the state that the kernel saw
    nodes = make_nodes(x.copy(), y.copy())
    evaluate(model, held, nodes, make_riser(b.frame), 1.0, 0.0, False, 0.0, 0.0, b.marks.tail)
    x, y = nodes.x, nodes.y
    step = 1e-8
    for i in range(b.marks.root_u + 1, b.marks.tip_u, 4):
        for place, component in ((x, 0), (y, 1)):
            sides = []
            for move in (step, -step):
                place[i] += move
                sides.append(kept(loop(), x, y))
                place[i] -= move
            slope = (sides[0] - sides[1]) / (2.0 * step)
            assert by_loop[component, i] == pytest.approx(-slope, rel=1e-5, abs=1e-5)
    assert np.abs(by_loop).max() > 1.0


def test_the_shot_keeps_half_of_it_and_the_account_closes() -> None:
    done, plain = shot(SHARE), shot(0.0)
    for moment in (done.separation, done.clear):
        assert abs(moment.energy.residual) < 0.0001 * done.stored_energy
    assert plain.separation.energy.lost_hysteresis == 0.0
    energy = done.separation.energy
    assert energy.stored == plain.separation.energy.stored
    assert energy.lost_hysteresis == pytest.approx(0.5 * SHARE * energy.stored, rel=0.15)
    left = energy.limbs + energy.string + energy.riser_and_hand + energy.arrow_translation
    other = plain.separation.energy
    before = other.limbs + other.string + other.riser_and_hand + other.arrow_translation
    assert before - left == pytest.approx(energy.lost_hysteresis, rel=0.05)


def test_what_is_kept_is_the_moment_s_work_along_the_way() -> None:
    """Summed over the pictures of a traced shot: moment between the curves times the change of bend."""
    done = shot(SHARE, trace=True)
    trace = done.traced()
    found = loop()
    bend = bends(trace.frame_x, trace.frame_y)
    moment = taken(found, bend)
    work = -np.cumsum((0.5 * (moment[1:] + moment[:-1]) * np.diff(bend, axis=0)).sum(axis=1))
    _, energies = energy_history(done)
    told = np.array([one.lost_hysteresis for one in energies])
    # pictures begin at full draw
    assert told[0] == pytest.approx(0.0, abs=1e-9)
    np.testing.assert_allclose(work, told[1:], atol=0.003 * told.max())


def test_off_is_off() -> None:
    done = fitted(NAME).launch({"limbs.hysteresis": 0.0})
    assert loop_of(done.drawing, done.drawn).size.size == 0
    b = done.braced
    assert chain_energy(b.chain, b.x, b.y, b.marks.root_u - 1, b.marks.tip_u)[1] > 0.0
    assert kept(loop_of(done.drawing, done.drawn), b.x, b.y) == 0.0


def test_more_than_the_change_of_bend_can_keep_is_refused() -> None:
    """The limbs of this bow are bent already at brace, so that little of their work is change.

    At most, a place's stiffness at the loop's ends is out by 0.9 of itself: s of the module's words.
    """
    b, found = shot(SHARE).braced, loop()
    limb = slice(b.marks.root_u, b.marks.tip_u)
    steep = (2.0 * np.abs(found.size) * np.sqrt(found.square))[limb] / b.chain.bend[limb]
    most = f"{100.0 * SHARE * 0.9 / steep.max():.2g}"
    with pytest.raises(SetupError, match=rf"upper_limb.hysteresis: 20 % of the limb's work .* Give {most} % at most"):
        fitted(NAME).launch({"limbs.hysteresis": "20 %"})
    with pytest.raises(SetupError, match=r"hysteresis"):
        fitted(NAME).launch({"limbs.hysteresis": "25 %"})
