"""Brace and draw: residuals checked apart from the solver, the extra equations, and Newton's pace."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from archerysim.mechanics.arrays import Standing
from archerysim.mechanics.statics.brace import BraceAim, brace_newton
from archerysim.mechanics.statics.newton import QUICK, forces_at_rest
from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.release.release import weight
from archerysim.shot.statics.brace import Bracing
from archerysim.shot.statics.draw import draw_to
from archerysim.shot.statics.first_guess import arc_shape
from archerysim.status import NO_CONVERGENCE, OK
from tests.mechanics.test_chain import derived_forces
from tests.mechanics.test_throat import throat_offset
from tests.support.mechanics.contact_laws import edge_law, locator_law
from tests.support.mechanics.derived_elements import rest_press
from tests.support.mechanics.random_rows import Row
from tests.support.shot.reference_case import BRACE_HEIGHT, mesh_with, reference, shot

HEIGHTS = [0.005, 0.009, 0.013]


def derived_statics(row: Row, gravity: np.ndarray) -> np.ndarray:
    """Forces (2, n) of chain, throat, rest and weight, from SymPy's gradients alone."""
    still = 0.0 * row.x
    total = derived_forces(row, still, still).T
    at = np.column_stack((row.x, row.y))[row.contact].ravel()
    slope = np.arctan2(row.throat.sin_slope, row.throat.cos_slope)
    for name, law in (("upper", edge_law), ("lower", edge_law), ("along", locator_law)):
        offset, gradient, _ = throat_offset(name, at, slope)
        total[row.contact] -= (law(row.throat, offset)[0] * gradient).reshape(5, 2)
    a, su = row.marks.tail, row.support
    j = a + int(np.searchsorted(row.x[a:], su.x)) - 1
    press, gradient, _ = (
        f(row.x[j], row.y[j], row.x[j + 1], row.y[j + 1], su.x, su.y, su.half_diameter) for f in rest_press()
    )
    if press > 0.0:
        total[[j, j + 1], 1] -= su.stiffness * press * gradient[[1, 3]]
    return (total + row.chain.mass[:, None] * gravity).T


@pytest.mark.parametrize("reading", HEIGHTS)
def test_full_draw_balances_apart_from_the_solver(reading: float) -> None:
    done = shot(reading, 12)
    b, d = done.braced, done.drawn
    row = Row(
        b.chain, b.marks, done.drawing.grid, b.frame, make_throat(done.setup.nock), make_support(done.setup), d.x, d.y,
        d.x, d.y,
    )  # fmt: skip
    total = derived_statics(row, weight(d))
    fingers = done.drawing.fingers
    shares = fingers.weight.sum(axis=0)
    touched = slice(fingers.first, fingers.first + shares.size)
    total[:, touched] += d.force[:, None] * shares
    free = b.chain.inverse_mass > 0.0
    assert np.abs(total[:, free]).max() < 1e-6
    # parallel fingers, no torque beyond the weight's, the throat where it was asked to be, the arrow level
    assert abs(np.sum(shares * (d.x[touched] * d.force[1] - d.y[touched] * d.force[0]))) < 1e-6
    u = b.marks.edge_u
    assert 0.5 * (d.x[u] + d.x[u + 1]) == pytest.approx(-0.673, abs=1e-10)
    line = np.arctan2(d.y[-1] - d.y[b.marks.tail], d.x[-1] - d.x[b.marks.tail])
    assert weight(d) == pytest.approx([9.81 * np.sin(line), -9.81 * np.cos(line)], abs=1e-12)


@pytest.mark.parametrize("reading", HEIGHTS)
def test_brace_balances_apart_from_the_solver(reading: float) -> None:
    done = shot(reading, 12)
    b = done.braced
    row = Row(
        b.chain, b.marks, done.drawing.grid, b.frame, make_throat(done.setup.nock), make_support(done.setup), b.x, b.y,
        b.x, b.y,
    )  # fmt: skip
    total = derived_statics(row, np.array([0.0, -9.81]))
    free = b.chain.inverse_mass > 0.0
    assert np.abs(total[:, free]).max() < 1e-6
    cells = np.hypot(np.diff(b.x), np.diff(b.y))[b.marks.tip_u : b.marks.tip_l]
    assert np.all(cells > b.chain.rest_length[b.marks.tip_u : b.marks.tip_l])  # taut


@pytest.mark.parametrize(("torque", "arm"), [(1.5, 0.0), (0.0, 0.02), (-1.0, -0.03)])
def test_the_hand_s_torque_turns_the_finger_force(torque: float, arm: float) -> None:
    """sum(x Fy - (y - arm) Fx) = -torque about the pivot."""
    setup = reference()
    setup.archer.grip_torque, setup.archer.pressure_point = torque, arm
    drawing, d = draw_to(setup, shot(0.009, 12).braced, -0.673)
    shares, first = drawing.fingers.weight.sum(axis=0), drawing.fingers.first
    touched = slice(first, first + shares.size)
    moment = np.sum(shares * (d.x[touched] * d.force[1] - (d.y[touched] - arm) * d.force[0]))
    assert moment == pytest.approx(-torque, abs=1e-6)
    assert d.residual < 1e-6


class Bare:
    """A bare reference bow near its brace, for `brace_newton` alone."""

    def __init__(self) -> None:
        setup = reference()
        leans = (setup.upper_limb.pocket_angle, setup.lower_limb.pocket_angle)
        self.bow = Bracing(setup, 1.4857, leans, mesh_with(12))
        xy = arc_shape(setup, leans, self.bow.chain, self.bow.marks, BRACE_HEIGHT, 0.0)
        self.bow.start(xy)

    def solve(self, unknowns: int, height: float, split: float = 0.0, most: int = 60) -> tuple[int, int, float]:
        b = self.bow
        return brace_newton(
            b.standing, b.x, b.y, b.found, BraceAim(unknowns, height, split, 0.0, -9.81, True), QUICK, 1e-8, most,
            b.memory,
        )  # fmt: skip


def test_brace_meets_height_and_split() -> None:
    bare = Bare()
    assert bare.solve(1, BRACE_HEIGHT)[0] == OK
    assert bare.bow.measures()[0] == pytest.approx(BRACE_HEIGHT, abs=1e-10)
    assert bare.solve(2, 0.215, 4e-3)[0] == OK
    height, upper, lower = bare.bow.measures()
    assert height == pytest.approx(0.215, abs=1e-10)
    assert upper - lower == pytest.approx(4e-3, abs=1e-10)
    assert sum(bare.bow.leans) == pytest.approx(np.radians(20.0), abs=1e-12)


def test_the_string_found_gives_its_brace_height_again() -> None:
    bare = Bare()
    bare.solve(1, 0.21)
    length = bare.bow.length
    bare.solve(1, 0.23)
    assert bare.bow.length < length  # a shorter string braces higher
    bare.bow.scale(length)
    assert bare.solve(0, 0.0)[0] == OK
    assert bare.bow.measures()[0] == pytest.approx(0.21, abs=1e-9)


@pytest.mark.parametrize("unknowns", [0, 1, 2])
def test_newton_s_last_steps_square_the_residual(unknowns: int) -> None:
    """Exact matrix and border: once near, the residual falls as its square until rounding."""
    bare = Bare()
    assert bare.solve(1, BRACE_HEIGHT)[0] == OK
    bare.bow.scale(bare.bow.length * (1.0002 if unknowns == 0 else 1.0))
    height, split = BRACE_HEIGHT + 1e-3, bare.bow.measures()[1] - bare.bow.measures()[2] + 5e-4
    residuals = []
    for _ in range(7):
        code, _, residual = bare.solve(unknowns, height, split, most=1)
        residuals.append(residual)
        if code == OK:
            break
    assert code == OK
    assert len(residuals) <= 6
    # power 2 shows where a residual is well above rounding and the one after it too
    for before, after in pairwise(residuals[1:]):
        if before < 10.0 and after > 1e-6:
            assert after < 0.2 * before**1.5


def test_too_few_iterations_are_told() -> None:
    bare = Bare()
    code, count, residual = bare.solve(1, BRACE_HEIGHT, most=1)
    assert (code, count) == (NO_CONVERGENCE, 1)
    assert residual > 1e-8


def test_static_forces_are_the_derived_ones() -> None:
    done = shot(0.005, 12)
    b, d = done.braced, done.drawn
    rng = np.random.default_rng(0)
    x, y = d.x + rng.uniform(-1e-5, 1e-5, d.x.size), d.y + rng.uniform(-1e-5, 1e-5, d.x.size)
    throat, support = make_throat(done.setup.nock), make_support(done.setup)
    row = Row(b.chain, b.marks, done.drawing.grid, b.frame, throat, support, x, y, x, y)
    fx, fy = np.empty((2, x.size))
    grid = done.drawing.grid
    forces_at_rest(Standing(b.chain, b.marks, throat, support, grid), x, y, 0.3, -9.8, fx, fy, memory_for(grid))
    expected = derived_statics(row, np.array([0.3, -9.8]))
    np.testing.assert_allclose([fx, fy], expected, atol=1e-11 * np.abs(expected).max())
