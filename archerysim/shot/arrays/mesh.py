"""How finely the bow is divided: three presets, and the places of nodes along string and arrow."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from archerysim.errors import UsageError
from archerysim.mechanics.lumping import share_line, share_points


@dataclass(frozen=True)
class Mesh:
    """Number of cells.

    Attributes
    ----------
    limb : int
        Cells of each limb.
    string : int
        Cells from the outermost finger to the limb tip, on either side.
    arrow : int
        Cells of the shaft.
    near : float
        Longest cell between throat and outermost finger [m].
    shift : float
        Share of a cell by which the string's nodes outside the fingers are moved (a test of independence).

    Examples
    --------
    >>> import archerysim
    >>> archerysim.Mesh(limb=30, string=15, arrow=30, near=0.03)
    Mesh(limb=30, string=15, arrow=30, near=0.03, shift=0.0)
    >>> archerysim.MESHES["coarse"].limb < archerysim.MESHES["default"].limb < archerysim.MESHES["fine"].limb
    True
    """

    limb: int = 24
    string: int = 12
    arrow: int = 24
    near: float = 0.036
    shift: float = 0.0

    @classmethod
    def of(cls, cells: int) -> Mesh:
        """A mesh with the default's proportions and that many cells in each limb.

        Examples
        --------
        >>> import archerysim
        >>> archerysim.Mesh.of(24) == archerysim.MESHES["default"]
        True
        >>> archerysim.Mesh.of(40).limb
        40
        """
        return cls(cells, cells // 2, cells, 0.036 * 24 / cells)

    def finer(self, factor: int = 2) -> Mesh:
        """The same mesh with every count multiplied.

        Examples
        --------
        >>> import archerysim
        >>> archerysim.MESHES["default"].finer() == archerysim.MESHES["fine"]
        True
        """
        return Mesh(self.limb * factor, self.string * factor, self.arrow * factor, self.near / factor, self.shift)


MESHES = {"coarse": Mesh.of(12), "default": Mesh(), "fine": Mesh.of(48)}


def mesh_of(mesh: str | Mesh) -> Mesh:
    """The mesh of that name, or the one given."""
    if isinstance(mesh, Mesh):
        return mesh
    if not isinstance(mesh, str) or mesh not in MESHES:
        raise UsageError("mesh", f"{mesh!r} is not known", f"use one of {', '.join(MESHES)} or a Mesh(...)")
    return MESHES[mesh]


def graded(length: float, first: float, count: int) -> np.ndarray:
    """Node places of ``count`` cells over ``length``, the first about ``first`` long, growing steadily.

    Returns
    -------
    (count + 1,) array
        From 0 to length [m]. Cell k is as long as (1 + c k) times the first, c chosen to fill the length.
    """
    if count == 1:
        return np.array([0.0, length])
    first = min(first, length / count)
    growth = (length / first - count) / (count * (count - 1) / 2)
    return np.array([first * (k + 0.5 * growth * (k * (k - 1))) for k in range(count)] + [length])


def string_nodes(
    length: float, throat: float, half_floor: float, fingers: Sequence[float], mesh: Mesh,
    ends: tuple[float, float] = (0.0, 0.0),
) -> np.ndarray:  # fmt: skip
    """Places of the string's nodes, from the upper tip down.

    The throat's two edges and every finger's middle stand on a node (a finger closer than 3 mm to another
    node shares its force between neighbours instead).

    Parameters
    ----------
    length : float
        Unloaded length of the string [m].
    throat : float
        Place of the throat's middle above the string's middle [m].
    half_floor : float
        Half the floor's length [m].
    fingers : k numbers
        Finger places from the throat's middle, up [m].
    ends : (float, float)
        Lengths of the end cells where the string may lie on the limbs, upper and lower [m]; else 0.

    Returns
    -------
    (n,) array
        Places above the string's middle, falling from length/2 to -length/2 [m].
    """
    above = _side(half_floor, sorted(f for f in fingers if f > 0.0), 0.5 * length - throat, mesh, ends[0])
    below = _side(half_floor, sorted(-f for f in fingers if f < 0.0), 0.5 * length + throat, mesh, ends[1])
    above.reverse()
    return np.array([throat + place for place in above] + [throat - place for place in below])


def _side(half_floor: float, fingers: list[float], end: float, mesh: Mesh, lying: float) -> list[float]:
    """Places on one side, away from the throat's middle [m]."""
    marks = [half_floor]
    for place in fingers:
        if place - marks[-1] > 0.003 and end - place > 0.01:
            marks.append(place)
    nodes = [half_floor]
    for a, b in itertools.pairwise(marks):
        count = max(1, math.ceil((b - a) / mesh.near - 0.25))
        nodes.extend(a + (b - a) * k / count for k in range(1, count + 1))
    outer = graded(end - lying - marks[-1], 0.75 * mesh.near, max(mesh.string - (1 if lying > 0.0 else 0), 1))
    if mesh.shift:
        cells = np.diff(outer)
        outer[1:-1] += mesh.shift * cells[1:]
    nodes.extend((marks[-1] + outer[1:]).tolist())
    if lying > 0.0:
        nodes.append(end)
    return nodes


def shared_points(nodes: np.ndarray, at: ArrayLike, amounts: ArrayLike) -> np.ndarray:
    """Point amounts shared between neighbouring nodes (rising places); see `mechanics.share`."""
    out = np.zeros(nodes.size)
    share_points(np.ascontiguousarray(nodes), np.array(at, dtype=float), np.array(amounts, dtype=float), out)
    return out


def shared_line(nodes: np.ndarray, at: ArrayLike, density: ArrayLike) -> np.ndarray:
    """A piecewise linear density shared between nodes (rising places); see `mechanics.share`."""
    out = np.zeros(nodes.size)
    share_line(np.ascontiguousarray(nodes), np.array(at, dtype=float), np.array(density, dtype=float), out)
    return out
