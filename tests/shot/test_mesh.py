"""The default mesh against one twice as fine, and the order by which the answer nears its limit."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from archerysim.shot.arrays.mesh import MESHES, Mesh, graded, mesh_of, string_nodes
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from tests.support.shot.example_bows import NAMES, READING, built, shot
from tests.support.shot.reference_case import results
from tests.support.shot.reference_case import shot as reference_shot

PITCH = 0.03  # [deg]
ZERO_ATTACK = {"barebow": 0.5}  # three under [mm]; others below
ZERO_OTHERS = 0.3
SPEED = 0.002  # relative
READINGS = (4.0, 8.0, 12.0)  # [mm]


def zero_attack_reading(name: str, mesh: str) -> float:
    """Reading at which the angle of attack at clear is zero [mm], on a parabola through three."""
    angles = [shot(name, h, mesh).clear.angle_of_attack for h in READINGS]
    roots = np.roots(np.polyfit(READINGS, angles, 2))
    return float(roots[np.abs(roots - np.mean(READINGS)).argmin()].real)


@pytest.mark.parametrize("name", NAMES)
def test_pitch_and_speed(name: str) -> None:
    """The whole job on either mesh, the fit too."""
    for reading in (None, *READINGS):
        default, fine = shot(name, reading), shot(name, reading, "fine")
        for one, other in ((default.separation, fine.separation), (default.clear, fine.clear)):
            assert abs(one.pitch - other.pitch) <= PITCH
            assert abs(one.speed / other.speed - 1.0) <= SPEED


@pytest.mark.parametrize("name", NAMES)
def test_the_same_bow_on_both(name: str) -> None:
    """One bow as built, not fitted again."""
    default, fine = shot(name), shoot(built(name), "fine", trace=False)
    assert abs(default.separation.pitch - fine.separation.pitch) <= PITCH
    assert abs(default.clear.pitch - fine.clear.pitch) <= PITCH
    assert abs(default.clear.speed / fine.clear.speed - 1.0) <= SPEED


@pytest.mark.parametrize("name", NAMES)
def test_reading_of_zero_attack(name: str) -> None:
    default, fine = (zero_attack_reading(name, mesh) for mesh in ("default", "fine"))
    assert abs(default - fine) <= ZERO_ATTACK.get(name, ZERO_OTHERS)


@pytest.mark.parametrize("shift", [-0.4, 0.4])
@pytest.mark.parametrize("name", NAMES)
def test_moved_nodes_of_the_string(name: str, shift: float) -> None:
    """The string's nodes moved by a share of a cell: the answer stays."""
    moved = shoot(built(name), Mesh(shift=shift), trace=False)
    assert abs(moved.clear.pitch - shot(name).clear.pitch) <= PITCH
    assert abs(moved.clear.speed / shot(name).clear.speed - 1.0) <= SPEED


def orders(name: str, cells: tuple[int, ...]) -> list[float]:
    values = [results(reference_shot(0.009, count))[name] for count in cells]
    steps = np.abs(np.diff(values))
    return [float(np.log2(a / b)) for a, b in pairwise(steps)]


@pytest.mark.parametrize("name", ["tension", "force x", "force y", "arrow's line"])
def test_order_two_at_rest(name: str) -> None:
    (order,) = orders(name, (12, 24, 48))
    assert order == pytest.approx(2.0, abs=0.3)


def test_order_two_of_the_tension_when_finer() -> None:
    first, second = orders("tension", (12, 24, 48, 96))
    assert first == pytest.approx(2.0, abs=0.06)
    assert second == pytest.approx(2.0, abs=0.03)


def test_order_two_in_the_shot() -> None:
    """Pitch at separation; the speed nears its limit faster still."""
    (order,) = orders("pitch at separation", (12, 24, 48))
    assert order == pytest.approx(2.0, abs=0.2)
    (order,) = orders("speed at separation", (12, 24, 48))
    assert order > 1.8


def test_presets() -> None:
    assert list(MESHES) == ["coarse", "default", "fine"]
    assert MESHES["default"].finer() == MESHES["fine"]
    assert MESHES["coarse"].finer() == MESHES["default"]
    assert MESHES["coarse"] == Mesh(12, 6, 12, 0.072)
    assert MESHES["default"] == Mesh.of(24) == Mesh(24, 12, 24, 0.036)
    assert MESHES["fine"] == Mesh(48, 24, 48, 0.018)
    own = Mesh(10, 12, 14)
    assert mesh_of(own) is own


def test_unknown_mesh() -> None:
    with pytest.raises(ValueError, match="coarse, default, fine"):
        mesh_of("finest")


@pytest.mark.parametrize("count", [1, 2, 7, 24])
def test_graded_cells(count: int) -> None:
    nodes = graded(0.8, 0.01, count)
    assert nodes[0] == 0.0
    assert nodes[-1] == 0.8
    cells = np.diff(nodes)
    assert cells.size == count
    assert (cells > 0.0).all()
    np.testing.assert_allclose(np.diff(cells, 2), 0.0, atol=1e-12)


def test_throat_and_fingers_stand_on_nodes() -> None:
    fingers = np.array([0.014, -0.014, -0.032])
    places = string_nodes(1.6, 0.05, 0.002, fingers, MESHES["default"])
    assert (np.diff(places) < 0.0).all()
    assert places[0] == 0.8
    assert places[-1] == -0.8
    for place in (0.052, 0.048, *(0.05 + fingers)):
        assert np.abs(places - place).min() < 1e-15


def launches(step: float) -> list[Launch]:
    """Shots with an added mass on the string moved through a node, in steps [m]."""
    base = built("club-outdoor")
    return [
        shoot(base.with_si(**{"string.masses": [{"mass": 1e-3, "at": 0.2 + k * step}]}), "default", trace=False)
        for k in range(13)
    ]


def test_a_moved_mass_moves_the_answer_smoothly() -> None:
    """No jump where a mass passes a node: speed and pitch stay on a parabola."""
    shots = launches(0.005)
    at = np.arange(len(shots))
    for values, allowed in (
        ([s.clear.speed for s in shots], 2e-4 * shots[0].clear.speed),
        ([s.clear.pitch for s in shots], 2e-3),
    ):
        fit = np.polynomial.Polynomial.fit(at, values, 2)
        assert np.abs(np.array(values) - fit(at)).max() <= allowed


def test_readings_between_do_not_jump() -> None:
    """Readings 0.02 mm apart: steps of the answer differ by little from their mean."""
    base = built("club-outdoor")
    pitches = [
        shoot(base.with_si(**{READING: (8.0 + 0.02 * k) * 1e-3}), "default", trace=False).clear.pitch for k in range(9)
    ]
    steps = np.diff(pitches)
    np.testing.assert_allclose(steps, steps.mean(), rtol=0.05)
