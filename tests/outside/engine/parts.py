"""A filled setup divided into links, points and springs, read anew from the words of the model.

Nothing here comes from `archerysim.shot` or `archerysim.mechanics`: how mass and stiffness are shared out is
written a second time, by plain quadrature, so that an error in either shows as a difference.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

FINE = 400  # points of quadrature in a cell
SPINE_LOAD, SPINE_SPAN = 1.94 * 4.4482216152605, 28 * 0.0254  # ASTM F2031 [N], [m]
CLOSE = 0.003  # a finger nearer than this to another node shares its force between neighbours [m]

Density = Callable[[np.ndarray], np.ndarray]


def lumped(nodes: np.ndarray, density: Density, points: Sequence[tuple[float, float]] = ()) -> np.ndarray:
    """Masses at rising ``nodes``; sum and first moment of density and points (place, mass) are kept."""
    cells = np.diff(nodes)
    inside = (np.arange(FINE) + 0.5) / FINE
    place = nodes[:-1, None] + cells[:, None] * inside
    amount = density(place) * cells[:, None] / FINE
    mass = np.zeros(nodes.size)
    mass[:-1] += (amount * (1.0 - inside)).sum(axis=1)
    mass[1:] += (amount * inside).sum(axis=1)
    for at, one in points:
        mass += one * hats(nodes, at)
    return mass


def hats(nodes: np.ndarray, at: float) -> np.ndarray:
    """What share of a point at ``at`` each of the rising nodes takes."""
    return np.array([np.interp(at, nodes, row) for row in np.eye(nodes.size)])


@dataclass(frozen=True)
class Beam:
    """Equal rigid links with springs in the hinges.

    Attributes
    ----------
    link : float
        Length of a link [m].
    mass : (k + 1,) array
        At the nodes from the root on [kg].
    spring, natural, loss : (k,) arrays
        Of the hinge before each link: stiffness [N m/rad], angle at rest [rad], loss [N m s/rad].
    """

    link: float
    mass: np.ndarray
    spring: np.ndarray
    natural: np.ndarray
    loss: np.ndarray


def limb_beam(limb: Any, links: int) -> Beam:
    """A limb; the hinge at the root has the compliance of half a link only, since the clamp acts there."""
    at = np.asarray(limb.at) * limb.length

    def table(values: Any, at: np.ndarray = at) -> Density:
        return lambda s: np.interp(s, at, np.broadcast_to(np.asarray(values, dtype=float), at.shape))

    if limb.width:
        width, thickness = table(limb.width), table(limb.thickness)

        def stiffness(s: np.ndarray) -> np.ndarray:
            return limb.modulus * width(s) * thickness(s) ** 3 / 12.0
    else:
        stiffness = table(limb.bending_stiffness)
    if limb.density:

        def density(s: np.ndarray) -> np.ndarray:
            return limb.density * width(s) * thickness(s)
    elif limb.mass_per_length is not None:
        density = table(limb.mass_per_length)
    else:
        raise ValueError("mass per length of a limb is needed")
    nodes = np.linspace(0.0, limb.length, links + 1)
    link = limb.length / links
    compliance, natural = np.empty(links), np.empty(links)
    curvature = table(limb.natural_curvature, np.asarray(limb.curvature_at or limb.at) * limb.length)
    for i in range(links):
        low, high = max(nodes[i] - 0.5 * link, 0.0), nodes[i] + 0.5 * link
        place = low + (high - low) * (np.arange(FINE) + 0.5) / FINE
        compliance[i] = np.mean(1.0 / stiffness(place)) * (high - low)
        natural[i] = np.mean(curvature(place)) * (high - low)
    mass = lumped(nodes, density, [(limb.length, limb.tip_mass)])
    return Beam(link, mass, 1.0 / compliance, natural, limb.loss_time / compliance)


def arrow_beam(arrow: Any, links: int) -> Beam:
    """The shaft behind a nock that is a body of its own: between nock and first link half a link's compliance."""
    nodes = np.linspace(0.0, arrow.length, links + 1)
    points = [
        (arrow.nock_at, arrow.nock_mass),
        (arrow.fletching_at, arrow.fletching_mass),
        (arrow.length - arrow.insert_at, arrow.insert_mass),
        (arrow.length - arrow.point_at, arrow.point_mass),
    ]
    mass = lumped(nodes, lambda s: np.full(s.shape, arrow.mass_per_length), points)
    link = arrow.length / links
    spring = np.full(links, SPINE_LOAD * SPINE_SPAN**3 / (48.0 * arrow.spine) / link)
    spring[0] *= 2.0
    return Beam(link, mass, spring, np.zeros(links), np.zeros(links))


@dataclass(frozen=True)
class Cord:
    """The string as points.

    Attributes
    ----------
    place : (k,) array
        Unloaded places above the string's middle, from the lower tip up [m].
    mass : (k,) array
        [kg]
    stiffness, loss, axial_loss : (k - 1,) arrays
        Of the cells [N/m], [N s/m].
    lower_edge : int
        Point that meets the throat's lower edge; the next meets the upper; -1 without an arrow.
    fingers : (3, k) array
        Share of the finger force by finger and point.
    """

    place: np.ndarray
    mass: np.ndarray
    stiffness: np.ndarray
    loss: np.ndarray
    axial_loss: np.ndarray
    lower_edge: int
    fingers: np.ndarray


def cord(setup: Any, throat: float | None, cells: int) -> Cord:
    """The string; ``cells`` from the outermost finger to either tip, ``throat`` the place of its middle [m]."""
    string, nock, archer = setup.string, setup.nock, setup.archer
    half = 0.5 * string.length
    points = [(one.at, one.mass) for one in string.masses]
    if throat is None:
        place = np.linspace(-half, half, 2 * cells + 1)
        edge, fingers = -1, np.zeros((3, place.size))
    else:
        wanted = throat - archer.crawl + np.asarray(archer.finger_places)
        marks = [throat - 0.5 * nock.floor, throat + 0.5 * nock.floor]
        marks += [w for w in wanted if archer.pad_width == 0.0 and min(abs(w - m) for m in marks[:2]) > CLOSE]
        marks = sorted(marks)
        ends = (np.linspace(-half, marks[0], cells + 1), np.linspace(marks[-1], half, cells + 1))
        place = np.concatenate((ends[0], marks[1:-1], ends[1]))
        edge = int(np.argmin(np.abs(place - (throat - 0.5 * nock.floor))))
        pad = archer.pad_width * ((np.arange(FINE) + 0.5) / FINE - 0.5)
        fingers = np.array([np.mean([hats(place, w + p) for p in np.unique(pad)], axis=0) for w in wanted])
        fingers *= np.asarray(archer.finger_shares)[:, None]
        loc = nock.locators
        points += [(throat + loc.mass_at, loc.upper_mass), (throat - loc.mass_at, loc.lower_mass)]

    def density(s: np.ndarray) -> np.ndarray:
        from_middle = np.abs(s - string.serving_centre)
        return (
            string.mass_per_length
            + string.serving_mass_per_length * (from_middle < 0.5 * string.serving_length)
            + string.end_serving_mass_per_length * (half - np.abs(s) < string.end_serving_length)
        )

    length = np.diff(place)
    return Cord(
        place, lumped(place, density, points), string.axial_stiffness / length, string.transverse_loss / length,
        string.axial_loss / length, edge, fingers,
    )  # fmt: skip
