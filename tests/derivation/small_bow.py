"""A small bow: two cells a limb, four string cells, two arrow cells; soft enough for a general integrator.

Its string has one cell from the throat's lower edge to the lower tip, one between the throat's edges, and two above,
with a finger on the node between them and two more over the throat.
"""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

from archerysim.shot.arrays.build import make_support, make_throat
from archerysim.shot.arrays.mesh import Mesh
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


@cache
def closed_start() -> Start:
    """Full draw of the small bow with a grip that never lets go, on a soft rest from far below that is never left."""
    setup = small_setup()
    setup.nock.grip = 2e9
    setup.rest.stiffness, setup.rest.damping, setup.rest.unlimited_support = 50.0, 0.02, True
    setup.rest.height += 0.03
    set_locators(setup.nock, reading=setup.nock.locators.reading - 0.03)  # measured from the rest's top
    return start_of_setup(setup)
