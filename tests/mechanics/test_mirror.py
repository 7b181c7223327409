"""A mirrored bow gives the mirrored answer: brace, draw and shot, gravity and the rest's side turned too."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.arrays import Grid, Load, Standing
from archerysim.mechanics.release.layout import WORK
from archerysim.mechanics.release.stable_step import longest_step
from archerysim.mechanics.statics.brace import LEAN_UPPER, LENGTH, BraceAim, brace_newton
from archerysim.mechanics.statics.draw import DrawAim, draw_newton
from archerysim.mechanics.statics.newton import QUICK
from archerysim.mechanics.statics.tangent import throat_block
from archerysim.shot.arrays.build import make_grid, make_rods
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.statics.brace import Bracing
from archerysim.shot.statics.first_guess import arc_shape
from archerysim.status import NO_CONVERGENCE, OK
from tests.support.mechanics import upside_down as mirror
from tests.support.mechanics.random_rows import forces, random_row
from tests.support.mechanics.release_of_arrays import Start, run, start_of
from tests.support.mechanics.risers import rod
from tests.support.shot.reference_case import BRACE_HEIGHT, mesh_with, reference, shot

RELATIVE = 1e-9


def close(got: np.ndarray, expected: np.ndarray) -> None:
    """Equal to 1e-9 of the largest value of its kind."""
    assert np.abs(got - expected).max() <= RELATIVE * np.abs(expected).max()


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize(("slope", "gap"), [(0.0, 0.0), (0.1, 3e-4)])
def test_forces(seed: int, slope: float, gap: float) -> None:
    row = random_row(np.random.default_rng(seed), slope=slope, gap=gap)
    row.throat = row.throat._replace(upper=0.0) if gap else row.throat
    tail = row.marks.tail
    expected = forces(row, row.vx, row.vy)
    vx, vy = mirror.nodes(row.vx, tail), mirror.nodes(row.vy, tail, -1.0, -1.0)
    row.x, row.y = mirror.nodes(row.x, tail), mirror.nodes(row.y, tail, -1.0, -1.0)
    row.chain, row.throat, row.marks = mirror.chain(row.chain, tail), mirror.throat(row.throat), mirror.marks(row.marks)
    got = forces(row, vx, vy)
    close(got[0], mirror.nodes(expected[0], tail))
    close(got[1], mirror.nodes(expected[1], tail, -1.0, -1.0))
    block = np.empty((10, 10))
    throat_block(row.throat, row.x, row.y, row.marks.edge_u, tail, block)
    np.testing.assert_allclose(block, block.T, atol=1e-9 * np.abs(block).max())


def bare_brace(upside_down: bool, tip: float) -> tuple[np.ndarray, np.ndarray, float, np.ndarray, int]:
    """Braced with weight and a tiller split: x, y, string length, pocket angles, tail.

    ``tip`` is the natural curvature at the limbs' tips [1/m], the upper's a fifth less.
    """
    setup = reference()
    if tip:
        for limb, share in ((setup.upper_limb, 0.8), (setup.lower_limb, 1.0)):
            limb.natural_curvature = (0.0, share * tip)
    setup.lower_limb.bending_stiffness = (24.0, 5.0)
    leans = (setup.upper_limb.pocket_angle, setup.lower_limb.pocket_angle)
    bow = Bracing(setup, 1.4857, leans, mesh_with(12))
    xy = arc_shape(setup, leans, bow.chain, bow.marks, BRACE_HEIGHT, 0.0, bow.place)
    x, y = np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1])
    c, m, throat, support = bow.chain, bow.marks, bow.throat, bow.support
    sign, tail = 1.0, bow.marks.tail
    if upside_down:
        c, x, y, m = mirror.chain(c, tail), mirror.nodes(x, tail), mirror.nodes(y, tail, -1.0, -1.0), mirror.marks(m)
        leans, sign = leans[::-1], -1.0
    grid, strung = make_grid(m, x.size), np.array([1.4857, *leans])
    for two_way in (True, False):
        code, _, _ = brace_newton(
            Standing(c, m, throat, support, grid), x, y, strung,
            BraceAim(2, BRACE_HEIGHT, sign * 3e-3, 0.0, sign * -9.81, two_way), QUICK, 1e-8, 60, memory_for(grid),
        )  # fmt: skip
        assert code == OK
    return x, y, float(strung[LENGTH]), strung[LEAN_UPPER:], tail


@pytest.mark.parametrize("tip", [0.0, 6.0])
def test_brace(tip: float) -> None:
    x, y, length, lean, tail = bare_brace(False, tip)
    mx, my, mirrored_length, mirrored_lean, _ = bare_brace(True, tip)
    assert mirrored_length == pytest.approx(length, rel=RELATIVE)
    np.testing.assert_allclose(mirrored_lean, lean[::-1], rtol=1e-8)
    close(mx, mirror.nodes(x, tail))
    close(my, mirror.nodes(y, tail, -1.0, -1.0))


@pytest.mark.parametrize("gap", [0.0, 1e-4])
def test_shot_with_friction_and_a_pinch(gap: float) -> None:
    start = start_of(shot(0.009, 12))
    start.throat = start.throat._replace(friction=0.1, friction_stiffness=1e6, half_gap=gap)
    start.pinch = np.array([0.3, 2.0])
    up, down = run(start, shot(0.009, 12).loosed.dt), run(mirror.start(start), shot(0.009, 12).loosed.dt)
    assert up.status == down.status == OK
    for line, sign in enumerate((1.0, -1.0, 1.0, -1.0)):
        close(down.states[1, line], mirror.nodes(up.states[1, line], start.marks.tail, sign, sign))
    assert down.moments[1].friction == pytest.approx(up.moments[1].friction, rel=1e-6)
    assert up.moments[1].friction > 0.0


def draw(
    start: Start, grid: Grid, target: float, torque: float, level: float, weight: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Full draw from the start's shape: x, y, force; ``weight`` is gravity, along -y where positive."""
    x, y, force = start.x.copy(), start.y.copy(), start.force.copy()
    codes = []
    for tolerance, most in ((1e-7, 60), (0.0, 3)):  # and on to rounding, which no tolerance can ask for
        code, _, residual, _ = draw_newton(
            Standing(start.chain, start.marks, start.throat, start.support, grid),
            Load(start.fingers.weight.sum(axis=0), start.fingers.first), x, y, force,
            DrawAim(target, 0.0, torque, level, False, weight), QUICK, tolerance, most, memory_for(grid),
        )  # fmt: skip
        codes.append(code)
    assert codes == [OK, NO_CONVERGENCE]
    assert residual < 1e-7
    return x, y, force


def both_starts(slope: float, rest: bool = True) -> tuple[Start, Start]:
    """A shot of an uneven bow, and the same upside down; on request without its rest."""
    start = start_of(shot(0.009, 12))
    start.throat = start.throat._replace(sin_slope=np.sin(slope), cos_slope=np.cos(slope))
    if not rest:
        start.support = start.support._replace(stiffness=0.0, damping=0.0, travel=-1.0)
    return start, mirror.start(start)


def test_draw() -> None:
    """Without a rest or weight a nock that lets go leaves the shaft's place open: here it never does."""
    start, turned = both_starts(0.02, rest=False)
    for s in (start, turned):
        s.throat = s.throat._replace(grip=1e6, snap=1.0)
    tail, n = start.marks.tail, start.x.size
    x, y, force = draw(start, make_grid(start.marks, n), -0.66, 0.8, 0.1)
    mx, my, mirrored_force = draw(turned, make_grid(turned.marks, n), -0.66, -0.8, -0.1)
    close(mx, mirror.nodes(x, tail))
    close(my, mirror.nodes(y, tail, -1.0, -1.0))
    close(mirrored_force, force * [1.0, -1.0])


def test_draw_on_the_rest() -> None:
    """With the rest and weight, from the shot's own full draw a little further."""
    start, turned = both_starts(0.0)
    tail, n = start.marks.tail, start.x.size
    x, y, force = draw(start, make_grid(start.marks, n), -0.6735, 0.0, -0.04, 9.81)
    mx, my, mirrored_force = draw(turned, make_grid(turned.marks, n), -0.6735, 0.0, 0.04, -9.81)
    close(mx, mirror.nodes(x, tail))
    close(my, mirror.nodes(y, tail, -1.0, -1.0))
    close(mirrored_force, force * [1.0, -1.0])


def test_step() -> None:
    start, turned = both_starts(0.0)
    found = []
    for s in (start, turned):
        closed = s.throat._replace(grip=1e12)
        grid = make_grid(s.marks, s.x.size)
        found.append(
            longest_step(Standing(s.chain, s.marks, closed, s.support, grid), s.inertia, s.x, s.y, memory_for(grid))[0]
        )
    # power iteration starts from a pattern that is not symmetric
    assert found[1] == pytest.approx(found[0], rel=0.01)


@pytest.mark.parametrize("bends", [False, True])
@pytest.mark.parametrize("rest", [True, False])
@pytest.mark.parametrize("slope", [0.0, 0.05])
def test_shot(slope: float, rest: bool, bends: bool) -> None:
    start, turned = both_starts(slope, rest)
    if bends:  # the weight of the reference bow on a rod of that reach
        frame = start.frame
        rods = (rod(start_x=0.03, start_y=-0.05, length=0.42, rod_mass=0.0, end_mass=0.9, frequency=15.0),)
        start.frame = frame._replace(rods=make_rods(rods, frame.cx, frame.cy))
        turned.frame = mirror.frame(start.frame)
    tail, dt = start.marks.tail, shot(0.009, 12).loosed.dt
    up, down = run(start, dt), run(turned, dt)
    assert up.status == down.status == OK
    assert up.notes.steps == down.notes.steps
    for k in (0, 1):
        for line, sign in enumerate((1.0, -1.0, 1.0, -1.0)):
            close(down.states[k, line], mirror.nodes(up.states[k, line], tail, sign, sign))
        signs = np.array([1.0, 1.0, -1.0, -1.0, 1.0, -1.0, -1.0, *np.ones(1 + len(WORK))])
        assert bool(up.moments[k].rest != 0.0) is rest  # the rest's work
        ours, theirs = (np.array(end.moments[k].tolist()) for end in (up, down))
        assert np.abs(theirs * signs - ours).max() <= RELATIVE * np.abs(ours).max()
        assert bool(up.moments[k].swinging != 0.0) is bends
