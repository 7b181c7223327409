"""Random states of single elements."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import Arm, Chain, SideSupport, Sideways, Support, Throat, Wrap
from archerysim.mechanics.release.side_layout import Side
from archerysim.shot.release.room import make_side

COUNT = 300
TWO_WAY = -1e30


def turned(rng: np.random.Generator, cells: int, most: float = 2.0) -> np.ndarray:
    """Places (cells + 1, 2) of nodes in a row; cells of 5 mm to 0.5 m, neighbours turned by up to ``most`` [rad]."""
    length = 10.0 ** rng.uniform(-2.3, -0.3, cells)
    heading = rng.uniform(-np.pi, np.pi) + np.append(0.0, np.cumsum(rng.uniform(-most, most, cells - 1)))
    steps = length[:, None] * np.column_stack((np.cos(heading), np.sin(heading)))
    return rng.uniform(-1.0, 1.0, 2) + np.vstack((np.zeros(2), np.cumsum(steps, axis=0)))


def row(n: int, **numbers: np.ndarray) -> Chain:
    """A chain of unit masses with nothing in it but what is given."""
    per_cell, per_node = np.zeros(n - 1), np.zeros(n)
    parts = {
        "mass": np.ones(n), "inverse_mass": np.ones(n), "stretch": per_cell, "rest_length": per_cell + 1.0,
        "least_force": per_cell + TWO_WAY, "loss": per_cell, "axial_loss": per_cell,
        "bend": per_node, "natural": per_node, "bend_loss": per_node,
    }  # fmt: skip
    nowhere = Wrap(0, 1, 0, 1.0, 0, np.zeros(2), 0, np.zeros(1))
    arrays = {name: np.array(value, dtype=float) for name, value in (parts | numbers).items()}
    return Chain(**arrays, above=nowhere, below=nowhere)


def throat(rng: np.random.Generator, half_gap: float = 0.0, lower: float = 1.0, upper: float = 1.0) -> Throat:
    """A throat with random numbers; the grip is all there before half the snap travel."""
    slope = rng.uniform(-0.3, 0.3)
    return Throat(
        np.cos(slope), np.sin(slope), 10.0 ** rng.uniform(5.0, 7.0), rng.uniform(0.5, 5.0), rng.uniform(0.5, 5.0),
        rng.uniform(3e-4, 8e-4), 5e-3, 10.0 ** rng.uniform(4.0, 5.5), rng.uniform(1.0, 20.0), half_gap, lower, upper,
    )  # fmt: skip


def nocked(rng: np.random.Generator, th: Throat) -> np.ndarray:
    """Places (5, 2): string points u and l within 1 mm of the floor, and the shaft's first three nodes."""
    shaft = turned(rng, 2, 0.6)
    one, two = np.diff(shaft, axis=0)
    along = 1.5 * one / np.hypot(*one) - 0.5 * two / np.hypot(*two)
    along /= np.hypot(*along)
    across = np.array([-along[1], along[0]])
    normal = th.cos_slope * along - th.sin_slope * across
    floor = th.cos_slope * across + th.sin_slope * along
    off = rng.uniform(-5e-4, 5e-4)
    up = shaft[0] + rng.uniform(-1e-3, 1e-4) * normal + (2e-3 + off) * floor
    down = shaft[0] + rng.uniform(-1e-3, 1e-4) * normal + (-2e-3 + off) * floor
    return np.vstack((up, down, shaft))


def shaft_over_rest(rng: np.random.Generator) -> tuple[np.ndarray, Support]:
    """Two nodes of a shaft (2, 2), sloping by up to 0.5 rad, and a rest under or over it, up to 2 mm into it."""
    slope, length = rng.uniform(-0.5, 0.5), rng.uniform(0.01, 0.4)
    start = rng.uniform(-0.5, 0.5, 2)
    ends = start + np.outer([0.0, length], [np.cos(slope), np.sin(slope)])
    place, half = rng.uniform(0.05, 0.95), rng.uniform(2e-3, 5e-3)
    side = rng.choice((-1.0, 1.0))
    top = (1.0 - place) * ends[0] + place * ends[1] + [0.0, side * (rng.uniform(-1e-3, 2e-3) - half)]
    return ends, Support(top[0], top[1], 10.0 ** rng.uniform(2.0, 4.0), rng.uniform(0.1, 2.0), half, np.inf, side)


def wound(rng: np.random.Generator, cells: int, most: float = 2.0) -> np.ndarray:
    """Places (cells + 1, 3) of nodes in a row in space; cells and turns as of `turned`, each in a plane of its own."""
    ahead = rng.normal(size=3)
    ahead /= np.sqrt(ahead @ ahead)
    places = [rng.uniform(-1.0, 1.0, 3)]
    for k in range(cells):
        if k > 0:
            aside = np.cross(ahead, rng.normal(size=3))
            angle = rng.uniform(-most, most)
            ahead = np.cos(angle) * ahead + np.sin(angle) * aside / np.sqrt(aside @ aside)
        places.append(places[-1] + 10.0 ** rng.uniform(-2.3, -0.3) * ahead)
    return np.array(places)


def aside(z: np.ndarray, rates: np.ndarray, tail: int = 0, **numbers: object) -> Side:
    """Nodes sideways (n,), with nothing that acts on them but what is given; all of their cells know of z."""
    n = z.size
    parts: dict[str, object] = {
        "tail": tail, "tip_u": 0, "tip_l": 0, "span": np.ones(n - 1), "inverse_mass": np.ones(n), "weight": np.zeros(n),
        "tip_stiffness": np.zeros(2), "tip_loss": np.zeros(2), "groove_stiffness": 0.0, "groove_loss": 0.0,
        "support": SideSupport(*np.zeros(8)), "arm": Arm(np.inf, 0.0), "roll": 0.0, "hold": 0.0,
    }  # fmt: skip
    side = make_side(Sideways(**(parts | numbers)), z)  # type: ignore[arg-type]
    side.motion.vz[:] = rates
    return side


def side_support(rng: np.random.Generator) -> SideSupport:
    """A side support at the pivot's height: sprung, with a preload or without, or a plate stiffer than its seat."""
    stiffness = 10.0 ** rng.uniform(2.0, 5.5)
    return SideSupport(
        rng.uniform(-0.02, 0.02), rng.uniform(-0.02, 0.02), rng.uniform(-2e-3, 5e-3), stiffness,
        rng.choice((0.0, 1.0)) * rng.uniform(0.5, 10.0), rng.uniform(1e-4, 4e-3), 1e5, rng.uniform(0.0, 30.0),
    )  # fmt: skip
