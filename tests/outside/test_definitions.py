"""Definitions of the trade: static spine, draw length, the largest shaft and the locators a nock may have."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from archerysim.equipment import Setup, loads
from archerysim.equipment.arrow import bending_stiffness
from archerysim.shot.arrays.build import arrow_cells
from archerysim.shot.statics.draw import draw_to, full_draw_x
from tests.support.equipment.setup_texts import BUILT
from tests.support.mechanics.beams_and_strings import across, assert_order_2, make_chain
from tests.support.shot.reference_case import reference, shot

INCH, POUND = 0.0254, 4.4482216152605


@pytest.mark.parametrize(("spine", "stiffness"), [(0.400, 6.365), (0.500, 5.092), (0.600, 4.244)])
def test_static_spine(spine: float, stiffness: float) -> None:
    """1.94 lb at the middle of a 28 in span: EI = P l^3 / (48 d) (ASTM F2031, load and span second-hand)."""
    by_hand = 1.94 * POUND * (28.0 * INCH) ** 3 / (48.0 * spine * INCH)
    assert bending_stiffness(spine * INCH) == pytest.approx(by_hand, rel=1e-9)
    assert bending_stiffness(spine * INCH) == pytest.approx(stiffness, abs=0.0006)


def deflection(spine: float, cells: int) -> float:
    """Of the middle of a 28 in shaft on two supports under 1.94 lb, from the shaft's own matrix [m]."""
    arrow = SimpleNamespace(
        length=28.0 * INCH, spine=spine, mass_per_length=0.015, nock_mass=0.0, nock_at=0.0, fletching_mass=0.0,
        fletching_at=0.0, insert_mass=0.0, insert_at=0.0, point_mass=0.0, point_at=0.0, axial_stiffness=8e5,
    )  # fmt: skip
    parts = arrow_cells(arrow, cells)
    chain = make_chain(parts["mass"], parts["stretch"], parts["rest_length"], parts["bend"], fixed=(0, cells))
    x = np.linspace(0.0, arrow.length, cells + 1)
    load = np.zeros(cells - 1)
    load[cells // 2 - 1] = 1.94 * POUND
    return float(np.linalg.solve(across(chain, x, 0.0 * x), load)[cells // 2 - 1])


def test_a_shaft_on_the_spine_tester_bends_by_its_spine() -> None:
    spine = 0.600 * INCH
    found = [deflection(spine, cells) for cells in (12, 24, 48)]
    assert found[1] == pytest.approx(spine, rel=0.004)
    assert (4.0 * found[2] - found[1]) / 3.0 == pytest.approx(spine, rel=1e-9)
    assert_order_2(found, spine, within=0.01)


def test_draw_length_is_throat_to_pivot_plus_an_inch_and_three_quarters() -> None:
    """28 in of draw length are 26.25 in from the pivot (AMO and ATA standards)."""
    setup = reference()
    setup.archer.draw_length = 28.0 * INCH
    assert full_draw_x(setup) == pytest.approx(-26.25 * INCH, abs=1e-12)
    done = shot(0.009, 12)
    _, drawn = draw_to(setup, done.braced, full_draw_x(setup))
    u = done.braced.marks.edge_u
    assert 0.5 * (drawn.x[u] + drawn.x[u + 1]) == pytest.approx(-26.25 * INCH, abs=1e-9)
    # draw weight is the size of the fingers' force there
    assert drawn.weight == pytest.approx(np.hypot(*drawn.force), rel=1e-15)


def test_draw_weight_follows_from_the_energy_of_the_draw() -> None:
    """The fingers' work on the way from near brace is the energy stored on it."""
    done = shot(0.009, 24)
    fingers = done.drawing.fingers
    shares, first = fingers.weight.sum(axis=0), fingers.first
    u = done.braced.marks.edge_u
    begin = 0.5 * (done.braced.x[u] + done.braced.x[u + 1])
    targets = np.linspace(begin - 0.025, -0.673, 41)
    drawn = [draw_to(done.setup, done.braced, float(target))[1] for target in targets]
    part = slice(first, first + shares.size)
    places = np.array([[shares @ d.x[part], shares @ d.y[part]] for d in drawn])
    force = np.array([d.force for d in drawn])
    # trapezia of force over path with two steps, extrapolated
    works = [np.sum(0.5 * (force[::k][1:] + force[::k][:-1]) * np.diff(places[::k], axis=0)) for k in (1, 2)]
    work = (4.0 * works[0] - works[1]) / 3.0
    energy = drawn[-1].energy - drawn[0].energy
    assert work == pytest.approx(energy, rel=2e-4)


def test_the_widest_shaft_and_either_number_of_locators_are_taken() -> None:
    """9.3 mm; one or two nock locators (World Archery rule book)."""
    setup: Setup = loads(BUILT)
    for upper in (True, False):
        wide = setup.replace(**{"arrow.diameter": "9.3 mm", "nock.locators.upper_present": upper})
        assert wide.arrow.diameter == pytest.approx(9.3e-3)
