"""The string's end cell on a rigid circle, in closed form; and what it does to a limb on whose axis it lies."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.forces.chain import chain_energy, chain_forces
from archerysim.mechanics.forces.wrap import lies_and_presses
from archerysim.mechanics.statics.brace import length_column
from archerysim.mechanics.statics.tangent import chain_tangent
from archerysim.shot.arrays.build import make_cells
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.wraps import lying
from archerysim.shot.statics.bracing import Bracing
from tests.mechanics.test_wrap import STIFFNESS, End, differences, end_of
from tests.support.mechanics.dense_matrices import blocks_for, dense, empty_matrix, free_part
from tests.support.shot.textbook_bows import textbook_bow

RADIUS = 0.12  # of the limb's axis [m]
BEGIN = np.pi - 0.8  # where the tip stands on the circle [rad], anticlockwise from x; the belly looks to -x
FREE = 0.15  # [m] of string in the air
MESHES = (8, 16, 32, 64)
TIED = 0.030  # [m]


def on_circle(cells: int, leaves: float, away: float) -> End:
    """A limb of so many cells over 1.2 rad of a circle, the string ``away`` from its axis, leaving at an angle."""
    step = 1.2 / cells
    angles = BEGIN + step * np.arange(cells + 2)
    limb = RADIUS * np.column_stack((np.cos(angles), np.sin(angles)))
    size = 2.0 * RADIUS * np.sin(0.5 * step)
    # down to the axis at the tip, as in the library; and what a smooth curve lies within its corners
    offset = away * np.minimum(size * np.arange(cells + 2) / TIED, 1.0) + size * size / (8.0 * RADIUS)
    place = (RADIUS + away) * np.array([np.cos(leaves), np.sin(leaves)])
    place += FREE * np.array([-np.sin(leaves), np.cos(leaves)])
    return end_of(limb, place, offset).taut(1e-3)


def orders(errors: list[float]) -> np.ndarray:
    """By which power of the cell's size an error falls, from mesh to mesh."""
    return np.log2(np.abs(errors[:-1]) / np.abs(errors[1:]))


@pytest.mark.parametrize("leaves", [0.35, 0.6, 0.83])
def test_length_and_angle_of_contact_on_a_circle(leaves: float) -> None:
    """With the string on the axis: tangent and arc."""
    ends = [on_circle(cells, BEGIN + leaves, 0.0) for cells in MESHES]
    length = [end.path()[4] - (RADIUS * leaves + FREE) for end in ends]
    angle = [end.path()[3] / RADIUS - leaves for end in ends]
    assert abs(length[-1]) < 1e-6
    assert abs(angle[-1]) < 1e-4
    assert orders(length)[-1] > 1.9
    assert orders(angle)[-1] > 1.9


@pytest.mark.parametrize("away", [0.0, 0.004])
def test_lengths_on_a_circle_further_round(away: float) -> None:
    """Between two string places the way grows by the arc between them, whatever it does near the tip."""
    found = []
    for cells in MESHES:
        near, far = (on_circle(cells, BEGIN + leaves, away).path() for leaves in (0.4, 0.9))
        found.append((far[4] - near[4] - (RADIUS + away) * 0.5, (far[3] - near[3]) / (RADIUS + away) - 0.5))
    for errors in zip(*found, strict=True):
        assert abs(errors[-1]) < 1e-4
        assert orders(list(errors))[-1] > 1.9


def pressed(cells: int, away: float) -> list[float]:
    """On every node well inside 0.9 rad of contact: what presses towards the middle, over tension times angle."""
    end, step = on_circle(cells, BEGIN + 0.9, away), 1.2 / cells
    f, found = end.force().reshape(-1, 2), []
    for k in range(2, cells):
        if TIED / RADIUS + 3.0 * step < k * step < 0.9 - 2.5 * step:
            i = end.nodes[1 + k]
            out = np.array([end.x[i], end.y[i]]) / RADIUS
            load = f[i] / (STIFFNESS * 1e-3 * step)
            assert load @ [-out[1], out[0]] == pytest.approx(0.0, abs=1e-9)
            found.append(float(-load @ out))
    return found


@pytest.mark.parametrize("away", [0.0, 0.004])
def test_a_circle_is_pressed_by_tension_per_radius(away: float) -> None:
    """On every node well inside the contact: towards the circle's centre, the tension times the angle of a cell."""
    errors = [(cells, one - 1.0) for cells in MESHES[1:] for one in pressed(cells, away)]
    worst = [max(abs(one) for cells, one in errors if cells == mesh) for mesh in MESHES[1:]]
    assert worst[-1] < 2e-4
    assert orders(worst)[-1] > 1.9


@pytest.mark.parametrize("leaves", [-0.2, 0.4, 0.9])
def test_what_presses_on_a_circle_is_the_pull_turned(leaves: float) -> None:
    """2 T sin(phi / 2), phi the angle of what lies there; and the line to the tip, by the tangent and chord of it."""
    tension = STIFFNESS * 1e-3
    errors = []
    for cells in MESHES:
        end = on_circle(cells, BEGIN + leaves, 0.0)
        _, _, press, off = lies_and_presses(end.wrap, end.rest, end.x, end.y, *np.empty((2, cells + 2)))
        arc, free = (
            RADIUS * np.array([np.sin(leaves), 1.0 - np.cos(leaves)]),
            FREE * np.array([np.cos(leaves), np.sin(leaves)]),
        )
        to = arc + free  # from the tip, along the circle there and towards its middle
        errors.append((press / tension - max(2.0 * np.sin(0.5 * leaves), 0.0), off + np.arctan2(to[1], to[0])))
        if leaves < 0.0:
            assert press == 0.0
            assert off > 0.0
    assert np.abs(errors[-1]).max() < 2e-3
    for one in np.array(errors).T:
        assert leaves < 0.0 or orders(list(one))[-1] > 0.9


def recurve(tip: float) -> object:
    """A textbook bow whose string lies on its limbs' axes at brace."""
    at = (0.0, 0.6, 0.68, 1.0)
    limb = {
        "length": 0.58, "at": at, "bending_stiffness": tuple(29.0 - 22.2 * a for a in at),
        "mass_per_length": (1e-6,) * 4, "axial_stiffness": 3e6, "pocket_angle": 0.0,
    }  # fmt: skip
    setup = textbook_bow(limb, 0.3, 1.4e5, 1e-9, 1.63, 1e-6, 0.667)
    setup.riser.upper_root_x = setup.riser.lower_root_x = -0.02
    for one in (setup.upper_limb, setup.lower_limb):
        one.natural_curvature = (0.0, 0.0, tip, tip)
    return setup


def braced(tip: float, cells: int) -> Bracing:
    bow = Bracing(recurve(tip), 1.63, (0.0, 0.0), Mesh.of(cells))
    bow.stand(0.220, 0.0)
    return bow


@pytest.mark.parametrize("tip", [6.0, 8.0])
def test_where_the_string_lies_on_the_axis_it_bends_nothing(tip: float) -> None:
    """Pull along the axis and pressure across it leave no moment there: at order 2, beside some 60 N m at the root."""
    moments = []
    for cells in (24, 48, 96):
        bow = braced(tip, cells)
        chain, marks = bow.chain, bow.marks
        touching = lying(chain.above, bow.x, bow.y)
        size = 0.58 / cells
        inside = range(marks.tip_u - int(touching / size - 1.0), marks.tip_u)
        assert len(inside) >= 1
        at = np.column_stack((bow.x, bow.y))
        moments.append(max(abs(moment(chain, at, i)) for i in inside))
        root = abs(moment(chain, at, marks.root_u))
        assert root > 20.0
    assert moments[-1] < 5e-3
    assert orders(moments)[-1] > 1.8


def moment(chain: object, at: np.ndarray, i: int) -> float:
    """At a node [N m]."""
    before, after = at[i] - at[i - 1], at[i + 1] - at[i]
    angle = np.arctan2(before[0] * after[1] - before[1] * after[0], before @ after)
    return float(chain.bend[i] * (2.0 * np.tan(0.5 * angle) - chain.natural[i]))  # type: ignore[attr-defined]


def test_the_whole_bow() -> None:
    """A bow thrown out of its shape: forces are the energy's gradient, the matrix theirs, and so with the length."""
    bow = braced(8.0, 12)
    rng = np.random.default_rng(5)
    n = bow.x.size
    x, y = bow.x + rng.uniform(-1e-4, 1e-4, n), bow.y + rng.uniform(-1e-4, 1e-4, n)
    chain, marks, still = bow.chain, bow.marks, np.zeros(n)
    for wrap in (chain.above, chain.below):
        assert lying(wrap, x, y) > 0.05

    def energy(z: np.ndarray) -> float:
        return sum(chain_energy(chain, z[0::2].copy(), z[1::2].copy(), 0, n - 1))

    def force(z: np.ndarray) -> np.ndarray:
        fx, fy = np.empty(n), np.empty(n)
        chain_forces(chain, z[0::2].copy(), z[1::2].copy(), still, still, fx, fy, make_cells(n))
        return np.column_stack((fx, fy)).ravel()

    place = np.column_stack((x, y)).ravel()
    f = force(place)
    expected = -differences(energy, place, 1e-5)
    assert np.abs(f - expected).max() <= 1e-6 * np.abs(expected).max()
    slope = -differences(force, place, 1e-6)
    parts = empty_matrix(bow.grid)
    chain_tangent(chain, bow.grid, x, y, 0.0, parts, blocks_for(n))
    matrix = dense(bow.grid, parts)
    assert np.abs(matrix - free_part(bow.grid, slope)).max() <= 1e-6 * np.abs(slope).max()
    column = np.zeros(bow.grid.first.size)
    length = bow.length
    length_column(chain, marks, bow.grid, x, y, length, column)
    steps = []
    for change in (1e-6, -1e-6):
        bow.scale(length + change)
        steps.append(force(place))
    free = np.array([2 * i + k for i in range(n) if bow.grid.place[i] >= 0 for k in (0, 1)])
    order = np.array([bow.grid.place[i] + k for i in range(n) if bow.grid.place[i] >= 0 for k in (0, 1)])
    expected = ((steps[0] - steps[1]) / 2e-6)[free]
    assert np.abs(column[order] - expected).max() <= 1e-6 * np.abs(expected).max()
