"""The reference case in both planes against an independent program: an explicit chain model in space, run on meshes
of 32 and 48 cells a limb, a side of the string and an arrow, extrapolated at order 2.

Each expected value has an uncertainty, and is rounded to its last digit; extrapolations must lie within the two. Ours
are made as the reference's were, and from 48 and 96 cells.
"""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.mechanics.release.layout import SEPARATION
from tests.support.shot.reference_in_space import gaps, last_touch, results_in_space, shot_in_space, sideways

INCH = 0.0254
COLUMNS: dict[str, dict[str, float]] = {
    "5 mm": {"reading": 0.005},
    "9 mm": {},
    "13 mm": {"reading": 0.013},
    "spine 0.5": {"arrow__spine": 0.5 * INCH},
    "spine 0.7": {"arrow__spine": 0.7 * INCH},
    "side 6000 N/m": {"side__stiffness": 6000.0},
    "roll 12 deg": {"archer__side_roll": np.radians(12.0)},
}
# quantity: (values by column, uncertainty, digits given); degrees, milliseconds, millimetres and SI
TABLE: dict[str, tuple[tuple[float, ...], float, int]] = {
    "separation": ((16.538, 16.533, 16.522, 16.528, 16.543, 16.532, 16.543), 0.003, 3),
    "off the arm": ((11.39, 11.40, 11.40, 10.59, 11.97, 11.45, 10.97), 0.02, 2),
    "travel off the arm": ((229.1, 229.2, 229.3, 195.1, 254.8, 231.8, 210.7), 0.8, 1),
    "last touch": ((9.10, 9.08, 9.07, 5.85, 9.78, 6.05, 9.09), 0.04, 2),
    "nock furthest": ((9.658, 9.667, 9.676, 9.022, 10.407, 9.671, 14.947), 0.01, 3),
    "nock at separation": ((0.542, 0.532, 0.522, 1.701, -0.428, 0.379, 1.318), 0.006, 3),
    "shaft furthest": ((8.31, 8.32, 8.33, 8.75, 7.84, 7.91, 12.71), 0.04, 2),
    "side force": ((2.80, 2.80, 2.80, 2.59, 3.02, 3.48, 3.67), 0.01, 2),
    "speed": ((55.173, 55.203, 55.235, 55.212, 55.189, 55.204, 55.182), 0.003, 3),
    "vertical velocity": ((0.191, 0.265, 0.338, 0.380, 0.248, 0.265, 0.264), 0.003, 3),
    "pitch": ((1.013, 0.652, 0.291, 0.506, 0.621, 0.652, 0.652), 0.005, 3),
    "pitch rate": ((0.546, -0.125, -0.797, -1.007, 0.067, -0.124, -0.122), 0.015, 3),
    "angle of attack": ((0.814, 0.377, -0.059, 0.111, 0.364, 0.377, 0.378), 0.006, 3),
    "sideways velocity": ((-0.126, -0.121, -0.116, -0.313, 0.143, -0.140, -0.248), 0.004, 3),
    "yaw": ((0.399, 0.396, 0.393, 0.414, 0.569, 0.416, 0.424), 0.005, 3),
    "yaw rate": ((2.132, 2.118, 2.100, 2.651, 1.899, 2.055, 3.246), 0.015, 3),
    "side angle of attack": ((0.530, 0.522, 0.514, 0.739, 0.420, 0.561, 0.682), 0.003, 3),
}  # fmt: skip
# the last touch at spine 0.7: see `test_the_last_touch_of_the_weakest_shaft`
CREEPS = ("spine 0.7", "last touch")
# the weakest shaft's tail grazes the side support on coarse meshes, see `test_the_weakest_shaft_just_passes_clear`
EVEN = [column for column in COLUMNS if column != "spine 0.7"]
# rows whose error on 24 cells is not yet of one order, see `test_order_in_mesh_of_what_converges_late`
LATE = ("separation", "side force")


def value(name: str, column: str, cells: int) -> float:
    return results_in_space(shot_in_space(cells=cells, **COLUMNS[column]))[name]


def extrapolated(name: str, column: str, coarse: int, fine: int) -> float:
    """Order 2 in the cell's length."""
    one, two = (value(name, column, cells) for cells in (coarse, fine))
    return two + (two - one) / ((fine / coarse) ** 2 - 1.0)


@pytest.mark.parametrize("name", TABLE)
@pytest.mark.parametrize("column", COLUMNS)
def test_every_row_of_every_column(name: str, column: str) -> None:
    values, uncertainty, digits = TABLE[name]
    expected, allowed = values[list(COLUMNS).index(column)], uncertainty + 0.5 * 10.0**-digits
    assert abs(extrapolated(name, column, 32, 48) - expected) <= allowed
    if (column, name) != CREEPS:
        assert abs(extrapolated(name, column, 48, 96) - expected) <= allowed


@pytest.mark.parametrize("name", TABLE)
def test_extrapolations_agree(name: str) -> None:
    """From 24 and 48 cells and from 48 and 96: within a third of the uncertainty, as in the flat reference case."""
    _, uncertainty, _ = TABLE[name]
    coarse, fine = (extrapolated(name, "9 mm", cells, 2 * cells) for cells in (24, 48))
    assert coarse == pytest.approx(fine, abs=uncertainty / 3.0)


def order(name: str, cells: int, columns: list[str]) -> float:
    """By slope over meshes of so many cells, twice and four times as many.

    Of the differences' root mean square over columns: in one alone the parts of an error may cancel at some mesh.
    """
    parts = np.array([[value(name, column, k * cells) for column in columns] for k in (1, 2, 4)])
    coarse, fine = np.sqrt(np.mean(np.diff(parts, axis=0) ** 2, axis=1))
    return float(np.log2(coarse / fine))


@pytest.mark.parametrize("name", [name for name in TABLE if name not in LATE])
def test_order_in_mesh(name: str) -> None:
    assert order(name, 24, EVEN) > 1.5


@pytest.mark.parametrize("name", LATE)
def test_order_in_mesh_of_what_converges_late(name: str) -> None:
    """From 48 cells on.

    Separation: two parts of its error cancel on 24 cells, where it is under a microsecond. The greatest side force: its
    top is a ripple of some tenths of a millisecond, a bending wave of the shaft, which 24 cells make too slow.
    """
    assert order(name, 24, EVEN) < 1.5
    assert order(name, 48, ["9 mm", "spine 0.5", "side 6000 N/m"]) > 1.75


def test_the_last_touch_of_the_weakest_shaft() -> None:
    """At spine 0.7 the shaft's front half creeps off the side support: when, follows no order on meshes under 64 cells.

    Those of 24 to 48 cells scatter by 0.04 ms, and the reference, from two of them, lies as far from the finer ones.
    """
    column, name = CREEPS
    coarse = [value(name, column, cells) for cells in (24, 28, 32, 36, 40, 48)]
    fine = [value(name, column, cells) for cells in (64, 96)]
    assert np.ptp(coarse) > 0.035
    assert any(np.diff(coarse) > 0.0)
    assert any(np.diff(coarse) < 0.0)
    assert fine == pytest.approx([9.74, 9.74], abs=0.01)
    values, uncertainty, _ = TABLE[name]
    assert fine[-1] == pytest.approx(values[list(COLUMNS).index(column)], abs=1.25 * uncertainty)


def test_the_weakest_shaft_just_passes_clear() -> None:
    """At spine 0.7 the tail passes the side support by 0.03 mm, after separation; coarse meshes have it graze.

    What it does on 24 cells turns the arrow by a hundredth of a degree: hence 32 cells, where it does nothing.
    """
    done = {cells: shot_in_space(cells=cells, **COLUMNS["spine 0.7"]) for cells in (24, 32, 48, 96)}
    force = {cells: float(sideways(one).notes.tail_force) for cells, one in done.items()}
    assert 0.5 < force[24] < 1.0
    assert 0.0 < force[32] < 0.1
    assert force[48] == force[96] == 0.0
    assert 1e3 * gaps(done[96], rear=True)[1].min() == pytest.approx(0.03, abs=0.005)
    assert sideways(done[24]).notes.side_left_time > done[24].loosed.moments[SEPARATION].time


@pytest.mark.parametrize("column", EVEN)
def test_the_tail_passes_clear(column: str) -> None:
    """So the last touch is the front half's."""
    for cells in (24, 48, 96):
        done = shot_in_space(cells=cells, **COLUMNS[column])
        assert gaps(done, rear=True)[1].min() > 0.1e-3
        assert sideways(done).notes.tail_force == 0.0
        assert last_touch(done) == pytest.approx(sideways(done).notes.side_left_time, abs=5e-6)
