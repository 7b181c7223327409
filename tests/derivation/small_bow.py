"""A small bow: two cells a limb, four string cells, two arrow cells; soft enough for a general integrator.

Its string has one cell from the throat's lower edge to the lower tip, one between the throat's edges, and two above,
with a finger on the node between them and two more over the throat.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np

from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.sideways import held_out, make_sideways, side_start
from archerysim.shot.release.release import hand_at_rest, weight
from archerysim.shot.statics.brace import brace_to_height
from archerysim.shot.statics.draw import draw_to
from tests.support.mechanics.release_of_arrays import Start
from tests.support.shot.reference_case import BRACE_HEIGHT, THROAT_X, reference, set_locators

MESH = Mesh(limb=2, string=1, arrow=2, near=0.5)


def small_setup(gap: float = 0.0, friction: float = 0.0, pinch: float = 0.0) -> SimpleNamespace:
    """The setup, filled; ``gap`` is the locators' [m], ``friction`` the throat's, ``pinch`` the fingers' [N]."""
    setup = reference(places=(0.03, 0.0, -0.006), lower_lean=10.5)
    for limb, curvature in ((setup.upper_limb, -0.02), (setup.lower_limb, -0.015)):
        limb.axial_stiffness = 3e5
        limb.loss_time = 1e-4
        limb.natural_curvature = (curvature,)
    setup.string.axial_stiffness = 2e4
    setup.arrow.axial_stiffness = 2e5
    nock = setup.nock
    nock.floor, nock.slope, nock.edge_stiffness, nock.friction = 8e-3, 0.02, 3e5, friction
    setup.archer.pinch = pinch
    set_locators(nock, gap=gap, mass_at=4e-3, upper_mass=1e-3, lower_mass=1.2e-3)
    setup.archer.finger_shares = (0.25, 0.45, 0.3)
    setup.archer.release_time, setup.archer.release_delays = (4e-3, 3e-3, 3.5e-3), (0.0, 1e-4, 3e-4)
    return setup


def start_of_setup(setup: SimpleNamespace) -> Start:
    """Brace and draw."""
    braced = brace_to_height(setup, BRACE_HEIGHT, MESH)
    drawing, drawn = draw_to(setup, braced, THROAT_X)
    return Start(
        braced.chain, braced.marks, make_throat(setup.nock), make_support(setup), braced.frame, drawing.fingers,
        drawn.x, drawn.y, drawn.force, weight(drawn), hand_at_rest(drawing, drawn), 0.0,
        drawing.pinch_on(drawn.throat_x, drawn.force),
    )  # fmt: skip


@cache
def switching_start(gap: float = 0.0, friction: float = 0.0, pinch: float = 0.0) -> Start:
    """Full draw of the small bow as it is."""
    return start_of_setup(small_setup(gap, friction, pinch))


def closed_setup() -> SimpleNamespace:
    """A grip that never lets go, and a soft rest from far below that is never left."""
    setup = small_setup()
    setup.nock.grip = 2e9
    setup.rest.stiffness, setup.rest.damping, setup.rest.unlimited_support = 50.0, 0.02, True
    setup.rest.height += 0.03
    set_locators(setup.nock, reading=setup.nock.locators.reading - 0.03)  # measured from the rest's top
    return setup


@cache
def closed_start() -> Start:
    """Full draw of the small bow with its contacts held closed."""
    return start_of_setup(closed_setup())


def start_in_space(setup: SimpleNamespace, gravity: float = 0.0) -> Start:
    """Full draw in both planes; ``gravity`` is what acts along z [m/s2]."""
    flat = start_of_setup(setup)
    place, hold = held_out(setup, flat.chain, flat.marks, flat.fingers, flat.x, flat.y)
    size = float(np.hypot(*flat.force))
    side = make_sideways(setup, flat.chain, flat.marks, size, hold, gravity)
    begin = side_start(setup, flat.marks, flat.x, flat.y, place, side.support.x)
    support = flat.support._replace(travel=np.inf)  # the arm's reach ends it instead
    return replace(flat, x=begin.x, y=begin.y, support=support, sideways=side, z=begin.z)


@cache
def switching_in_space(gap: float = 0.0, friction: float = 0.0, pinch: float = 0.0, hold: float = 0.0) -> Start:
    """The small bow in both planes; ``hold`` is how far the fingers hold the nock out [m].

    The shaft leaves the arm sideways while it presses it, and the tail passes clear of the side support.
    """
    setup = small_setup(gap, friction, pinch)
    setup.archer.side_hold, setup.archer.side_roll = hold, np.radians(5.0)
    setup.side.offset, setup.rest.fold_force = -3e-3, 0.3
    return start_in_space(setup)


@cache
def closed_in_space() -> Start:
    """Its contacts held closed: the arm reaches everywhere, and a soft side support from far out is never left."""
    setup = closed_setup()
    setup.rest.kind = "shelf"
    # fingers begin to roll off, a kink in their force, at whole steps of 8 us
    setup.archer.release_delays = (0.0, 9.6e-5, 3.04e-4)
    start = start_in_space(setup, -1.5)
    assert start.sideways is not None
    far = start.sideways.support._replace(offset=0.04, stiffness=40.0, preload=0.0, travel=1.0, damping=0.02)
    return replace(start, sideways=start.sideways._replace(support=far))
