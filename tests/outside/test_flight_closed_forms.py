"""The flight against closed forms: vacuum, drag alone, small swings, static stability."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import Arrow, Setup, filled, load
from archerysim.equipment.arrow import balance_point, moment_of_inertia, total_mass
from archerysim.mechanics.flight import Flyer, normal_force, path_rates
from archerysim.shot.flight.aerodynamics import flyer
from archerysim.shot.flight.air_state import air_state
from archerysim.shot.flight.sight import find_aim
from archerysim.shot.flight.start import Start
from archerysim.shot.flight.swing import swing_of
from archerysim.shot.flight.trajectory import course
from tests.support.shot.example_bows import NAMES, path_of

SPEED = 52.0
NO_DRAG: dict[str, Any] = {"form_drag": 0.0, "wetted": 0.0, "fin_drag": 0.0}
NO_CROSS_FLOW: dict[str, Any] = {"cross_drag": 0.0, "cross_friction": 0.0}


@cache
def setup(name: str = "club-outdoor") -> Setup:
    return filled(load(path_of(name)))


def body(name: str = "club-outdoor", *, fletched: bool = True, **changes: Any) -> Flyer:
    full = setup(name)
    return flyer(full.arrow, air_state(full.air), fletched=fletched)._replace(**changes)


def flat(*six: float) -> np.ndarray:
    """A state with nothing sideways."""
    return np.array([*six, 0.0, 0.0, 0.0, 0.0])


def level(speed: float = SPEED, angle: float = 0.0) -> np.ndarray:
    return flat(0.0, 0.0, speed, 0.0, angle, 0.0)


@pytest.mark.parametrize("angle", [0.0, 0.1, -0.05])
def test_vacuum_trajectory(angle: float) -> None:
    start = flat(0.0, 1.2, SPEED * math.cos(angle), SPEED * math.sin(angle), angle, 0.7)
    flown = course(start, body(density=0.0), nose=0.0, distance=40.0)
    assert flown.reached
    for t in np.linspace(0.0, flown.end, 9):
        x, y, vx, vy, pitch, rate = flown.state(t)[:6]
        wanted = (start[2] * t, 1.2 + start[3] * t - 0.5 * 9.81 * t**2, start[2], start[3] - 9.81 * t)
        assert (x, y, vx, vy) == pytest.approx(wanted, abs=1e-7)
        assert (pitch, rate) == pytest.approx((angle + 0.7 * t, 0.7), abs=1e-8)
    assert flown.last[0] == pytest.approx(40.0, abs=1e-7)


@pytest.mark.parametrize(("distance", "height"), [(18.0, 0.0), (70.0, 0.0), (50.0, -3.0), (30.0, 5.0)])
def test_sight_in_vacuum(distance: float, height: float) -> None:
    # tan of the lower root: (v^2 - sqrt(v^4 - g (g D^2 + 2 h v^2))) / (g D), textbook.
    start = Start(level(), body(density=0.0), 0.0, 0.0)
    g, v2 = 9.81, SPEED**2
    wanted = math.atan((v2 - math.sqrt(v2**2 - g * (g * distance**2 + 2 * height * v2))) / (g * distance))
    assert find_aim(start, distance, height).elevation == pytest.approx(wanted, abs=1e-8)


@pytest.mark.parametrize("coefficient", [1.5, 2.6])
@pytest.mark.parametrize("lift", [True, False])
def test_drag_loss(coefficient: float, lift: bool) -> None:
    # v = v0 exp(-rho CD pi d^2 x / (8 m)) with a coefficient that does not change, no gravity.
    b = body(fletched=False, gravity=0.0, form_drag=coefficient, wetted=0.0)
    flown = course(level(), b, nose=0.0, distance=70.0, lift=lift)
    decay = b.density * coefficient * math.pi * b.diameter**2 / (8.0 * b.mass)
    assert flown.last[2] == pytest.approx(SPEED * math.exp(-decay * 70.0), rel=1e-7)
    assert flown.end == pytest.approx((math.exp(decay * 70.0) - 1.0) / (decay * SPEED), rel=1e-7)


def test_drag_loss_in_wind() -> None:
    # against the air the speed falls as exp(-k s) with s the way through the air
    b = body(fletched=False, gravity=0.0, form_drag=2.0, wetted=0.0, head_wind=4.0)
    flown = course(level(), b, nose=0.0, distance=50.0)
    decay = b.density * 2.0 * math.pi * b.diameter**2 / (8.0 * b.mass)
    through = 50.0 + 4.0 * flown.end
    assert flown.last[2] + 4.0 == pytest.approx((SPEED + 4.0) * math.exp(-decay * through), rel=1e-7)


def test_an_arrow_on_its_path_keeps_its_pitch_on_it() -> None:
    start = flat(0.0, 0.0, 50.0, 3.0, math.atan2(3.0, 50.0), 0.0)
    flown = course(start, body(), nose=0.0, distance=60.0, lift=False)
    assert flown.last[4] == pytest.approx(math.atan2(flown.last[3], flown.last[2]), abs=1e-7)
    rates = np.full(10, np.nan)
    path_rates(start, body(), rates)
    assert rates[5] == 0.0


@cache
def linearised() -> tuple[Any, Any]:
    """Small swings at steady speed, derived with SymPy: matrix of (angle of attack, pitch rate), its symbols.

    Slender body: normal force for each length rho U d(A w)/ds, w = -U alpha + omega s (Munk); the point a
    paraboloid of length p, the shaft from -t to n, nothing recovered at its blunt end; fletching at -f with
    slope times area L.
    """
    import sympy as sp

    alpha, omega, s = sp.symbols("alpha omega s")
    names = "rho U A t n p f L m I"
    symbols = sp.symbols(names, positive=True)
    rho, U, A, t, n, p, f, L, m, I = symbols  # noqa: E741
    w = -U * alpha + omega * s
    pieces = [(A, (s, -t, n)), (A * (n + p - s) / p, (s, n, n + p))]
    load_ = [(rho * U * sp.diff(area * w, s), span) for area, span in pieces]
    force = sum(sp.integrate(one, span) for one, span in load_)
    moment = sum(sp.integrate(one * s, span) for one, span in load_)
    fin = -rho * U * L * (-U * alpha - omega * f) / 2
    force, moment = sp.expand(force + fin), sp.expand(moment - fin * f)
    rates = sp.Matrix([omega - force / (m * U), moment / I])
    return sp.simplify(rates.jacobian([alpha, omega])), symbols


def matrix(name: str, fletched: bool) -> np.ndarray:
    """That matrix for an example's arrow."""
    full, b = setup(name), body(name, fletched=fletched)
    arrow: Arrow = full.arrow
    centre = balance_point(arrow)
    values = (
        b.density, SPEED, b.area, centre, arrow.length - centre, arrow.point_length, -b.fin_at, b.fin_lift,
        total_mass(arrow), moment_of_inertia(arrow),
    )  # fmt: skip
    linear, symbols = linearised()
    return np.array(linear.subs(dict(zip(symbols, values, strict=True))).evalf(), dtype=float)


@pytest.mark.parametrize("name", NAMES)
def test_small_swings(name: str) -> None:
    roots = np.linalg.eigvals(matrix(name, True))
    assert roots[0].imag != 0.0
    wavelength, decay = 2.0 * math.pi * SPEED / abs(roots[0].imag), SPEED / -roots[0].real
    swing = swing_of(level(angle=1e-3), body(name, gravity=0.0, **NO_DRAG, **NO_CROSS_FLOW))
    assert swing.wavelength == pytest.approx(wavelength, rel=2e-4)
    assert swing.decay_length == pytest.approx(decay, rel=2e-4)


@pytest.mark.parametrize("name", NAMES)
def test_cross_flow_shortens_the_decay(name: str) -> None:
    free = swing_of(level(angle=0.02), body(name, gravity=0.0, **NO_DRAG, **NO_CROSS_FLOW))
    damped = swing_of(level(angle=0.02), body(name, gravity=0.0, **NO_DRAG))
    assert damped.decay_length < free.decay_length  # type: ignore[operator]
    assert 15.0 < damped.wavelength < 45.0  # type: ignore[operator]


@pytest.mark.parametrize("name", NAMES)
def test_an_unfletched_shaft_does_not_right_itself_at_small_angles(name: str) -> None:
    """Its pressure centre is that of the point, half its length behind the tip: before the mass centre."""
    b = body(name, fletched=False)
    arrow = setup(name).arrow
    ahead = arrow.length + 0.5 * arrow.point_length - balance_point(arrow)
    slender = b._replace(**NO_CROSS_FLOW)
    small = 1e-4
    force, _, moment, _ = normal_force(SPEED, -SPEED * small, 0.0, 0.0, 0.0, slender)
    q = 0.5 * b.density * SPEED**2
    assert force == pytest.approx(2.0 * q * b.area * small, rel=1e-12)  # slope 2 on the cross-section (Munk 1924)
    assert moment / force == pytest.approx(ahead, rel=1e-12)
    assert ahead > 0.0
    # it turns away as the closed form says
    values, vectors = np.linalg.eig(matrix(name, False))
    k = int(np.argmax(values.real))
    assert values[k].real > 0.0
    grown = level(angle=1e-5)
    grown[5] = 1e-5 * vectors[1, k] / vectors[0, k]
    flown = course(grown, slender._replace(gravity=0.0, **NO_DRAG), nose=0.0, distance=20.0)
    angle = flown.last[4] - math.atan2(flown.last[3], flown.last[2])
    assert angle == pytest.approx(1e-5 * math.exp(values[k].real * flown.end), rel=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_an_unfletched_shaft_rights_itself_beyond_an_angle(name: str) -> None:
    """Cross-flow acts at the middle of its area, behind the mass centre: it wins where its moment is the larger.

    Moments about the mass centre with Jorgensen's or Allen and Perkins's sum (NACA report 1048, 1951), cross-flow
    coefficient constant: rho U^2 A a sin cos = rho/2 c U^2 sin^2 S (c_area behind the mass centre).
    """
    b = body(name, fletched=False, cross_friction=0.0)
    arrow = setup(name).arrow
    centre = balance_point(arrow)
    ahead = arrow.length + 0.5 * arrow.point_length - centre
    shaft, point = arrow.diameter * arrow.length, arrow.diameter * arrow.point_length * 2.0 / 3.0
    # side area of a paraboloid d sqrt(z / p): 2/3 d p, its middle 3/5 p behind the tip
    turn = shaft * (centre - 0.5 * arrow.length) - point * (arrow.length + 0.4 * arrow.point_length - centre)
    balance = math.atan(2.0 * b.area * ahead / (b.cross_drag * turn))
    assert turn > 0.0
    for factor, sign in ((0.98, 1.0), (1.02, -1.0)):
        angle = factor * balance
        moment = normal_force(SPEED * math.cos(angle), -SPEED * math.sin(angle), 0.0, 0.0, 0.0, b)[2]
        assert math.copysign(1.0, moment) == sign
    assert 0.5 < math.degrees(balance) < 8.0


@pytest.mark.parametrize("name", NAMES)
def test_a_fletched_arrow_rights_itself(name: str) -> None:
    b = body(name)
    force, _, moment, _ = normal_force(SPEED, -SPEED * 1e-4, 0.0, 0.0, 0.0, b)
    assert moment < 0.0
    behind = -moment / force / b.diameter
    assert 10.0 < behind < 80.0  # static margin in shaft diameters
