"""From filled records to what the shot sideways needs, and the places from which it starts."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.mechanics.arrays import Arm, Chain, Fingers, Marks, SideSupport, Sideways

SEAT = 1e5  # [N/m] of what the side support rests against, at both ends of its travel [judgement]
ROUNDS = 4  # of finding how far the shaft is turned: each brings three digits


class SideStart(NamedTuple):
    """Where all nodes stand at full draw in both planes: arrays (n,) [m]."""

    x: np.ndarray
    y: np.ndarray
    z: np.ndarray


def make_sideways(setup: BuiltSetup, chain: Chain, marks: Marks, force: float, hold: float, gravity: float) -> Sideways:
    """All that does not change.

    Parameters
    ----------
    force, hold : float
        Of all fingers at full draw, and what they hold sideways [N].
    gravity : float
        Acceleration of gravity along z [m/s2].
    """
    nock, archer = setup.nock, setup.archer
    limbs = (setup.upper_limb, setup.lower_limb)
    tips = (marks.tip_u, marks.tip_l)
    n = chain.mass.size
    mass, inverse = np.zeros((2, n))
    string = slice(marks.tip_u + 1, marks.tip_l)
    for part in (string, slice(marks.tail, n)):
        mass[part] = chain.mass[part]
    for tip, limb, cell in zip(tips, limbs, (marks.tip_u, marks.tip_l - 1), strict=True):
        mass[tip] = limb.side_mass + end_mass(setup, 0.5 * float(chain.rest_length[cell]))
    np.divide(1.0, mass, out=inverse, where=mass > 0.0)
    span = np.zeros(n - 1)
    span[marks.tip_u : marks.tip_l] = 1.0
    span[marks.tail :] = 1.0
    return Sideways(
        marks.tail, *tips, span, inverse, gravity * mass,
        np.array([limb.side_stiffness for limb in limbs]), np.array([limb.side_damping for limb in limbs]),
        nock.groove_stiffness, nock.groove_loss, make_side_support(setup), make_arm(setup),
        force * math.tan(archer.side_roll), hold,
    )  # fmt: skip


def end_mass(setup: BuiltSetup, length: float) -> float:
    """Mass of the string's last ``length`` [m], which moves with a tip [kg]."""
    string = setup.string
    return length * string.mass_per_length + min(length, string.end_serving_length) * string.end_serving_mass_per_length


def make_side_support(setup: BuiltSetup) -> SideSupport:
    """The side support's numbers."""
    rest, side = setup.rest, setup.side
    height = rest.height + 0.5 * setup.arrow.diameter
    return SideSupport(
        rest.forward + side.forward, height, side.offset, side.stiffness, side.preload, side.travel, SEAT, side.damping
    )


def make_arm(setup: BuiltSetup) -> Arm:
    """How far the rest supports: its reach begins at the side support's face, half a shaft beside the axis."""
    face = setup.side.offset - 0.5 * setup.arrow.diameter
    return Arm(np.inf if setup.rest.kind == "shelf" else face + setup.rest.reach, setup.rest.fold_force)


def side_start(
    setup: BuiltSetup, marks: Marks, x: np.ndarray, y: np.ndarray, string: np.ndarray, beside: float
) -> SideStart:
    """The shaft turned sideways about the throat's middle until it just touches the side support.

    Each of its cells keeps its length. Nothing then acts on it sideways.

    Parameters
    ----------
    x, y : (n,) arrays
        Places at full draw in the bow's plane [m].
    string : (n,) array
        Places z of the string's nodes, see `held_out` [m].
    beside : float
        Place of the side support along x [m].
    """
    a = marks.tail
    z = string.copy()
    nock = 0.5 * (z[marks.edge_u] + z[marks.edge_l])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x[a:]), np.diff(y[a:])))])
    cosine, sine = 1.0, 0.0
    for _ in range(ROUNDS):
        sine = float((setup.side.offset - nock) / np.interp(x[a] + (beside - x[a]) / cosine, x[a:], along))
        cosine = math.sqrt(1.0 - sine * sine)
    new_x, new_y = x.copy(), y.copy()
    new_x[a:] = x[a] + cosine * (x[a:] - x[a])
    new_y[a:] = y[a] + cosine * (y[a:] - y[a])
    z[a:] = nock + sine * along
    return SideStart(new_x, new_y, z)


def held_out(
    setup: BuiltSetup, chain: Chain, marks: Marks, fingers: Fingers, x: np.ndarray, y: np.ndarray
) -> tuple[np.ndarray, float]:
    """Places z of all nodes with the string held out of the bow's plane, and the fingers' force for it.

    The string between the springs of the limbs' tips, under its tension at full draw: one linear solve. Its own
    lengthening, of second order, is left out.

    Returns
    -------
    z : (n,) array
        [m]
    force : float
        Of all fingers along z [N].
    """
    place = np.zeros(chain.mass.size)
    wanted = setup.archer.side_hold
    if wanted == 0.0:
        return place, 0.0
    string = slice(marks.tip_u, marks.tip_l + 1)
    length = np.hypot(np.diff(x[string]), np.diff(y[string]))
    rest, stretch = chain.rest_length[marks.tip_u : marks.tip_l], chain.stretch[marks.tip_u : marks.tip_l].copy()
    stretch[0], stretch[-1] = chain.above.stretch[0], chain.below.stretch[0]
    firm = np.maximum(stretch * (length - rest), 0.0) / length
    count = length.size + 1
    matrix = np.zeros((count, count))
    for k, stiffness in enumerate(firm):
        matrix[k : k + 2, k : k + 2] += stiffness * np.array([[1.0, -1.0], [-1.0, 1.0]])
    matrix[0, 0] += setup.upper_limb.side_stiffness
    matrix[-1, -1] += setup.lower_limb.side_stiffness
    load = np.zeros(count)
    first = fingers.first - marks.tip_u
    load[first : first + fingers.weight.shape[1]] = fingers.weight.sum(axis=0)
    shape = np.linalg.solve(matrix, load)
    edges = shape[[marks.edge_u - marks.tip_u, marks.edge_l - marks.tip_u]].mean()
    force = float(wanted / edges)
    place[string] = force * shape
    return place, force
