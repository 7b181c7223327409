"""The shaft's bending: its first two modes in free flight and how much of each it carries."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from archerysim.mechanics.arrays import Chain


def free_modes(chain: Chain, tail: int, count: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """Free-flight bending modes of the arrow with its point, nock and fletching.

    Returns
    -------
    frequency : (count,) array
        [rad/s]
    shape : (count, k) array
        Deflection at the arrow's nodes, one at the largest; positive at the tail. Both arrays are read only.
    """
    mass, bend = chain.mass[tail:], chain.bend[tail + 1 : -1]
    return _modes(tuple(mass.tolist()), tuple(bend.tolist()), float(chain.rest_length[tail]), count)


@lru_cache(maxsize=16)
def _modes(mass: tuple[float, ...], bend: tuple[float, ...], size: float, count: int) -> tuple[np.ndarray, np.ndarray]:
    """`free_modes` of a shaft in numbers; kept, since most points of a sweep shoot the same shaft."""
    k = len(mass)
    curve = (np.eye(k - 2, k) - 2.0 * np.eye(k - 2, k, 1) + np.eye(k - 2, k, 2)) / size
    stiffness = curve.T @ (np.array(bend)[:, None] * curve)
    root = np.sqrt(mass)
    square, vectors = np.linalg.eigh(stiffness / np.outer(root, root))
    square = square[2 : 2 + count]
    shape = (vectors / root[:, None])[:, 2 : 2 + count].T
    shape = shape / np.abs(shape).max(axis=1, keepdims=True)
    shape *= np.sign(shape[:, :1])
    frequency = np.sqrt(square)
    frequency.flags.writeable = shape.flags.writeable = False
    return frequency, shape


def modal_parts(mass: np.ndarray, shape: np.ndarray, across: np.ndarray, speed: np.ndarray) -> np.ndarray:
    """Amplitude and speed of each mode.

    Parameters
    ----------
    mass : (k,) array
        [kg]
    shape : (m, k) array
        Mass-orthogonal shapes.
    across, speed : (k,) arrays
        Deflection from the rigid shaft's line [m] and its rate [m/s].

    Returns
    -------
    (m, 2) array
        [m], [m/s].
    """
    weighted = shape * mass
    norm = (weighted * shape).sum(axis=1)
    return np.array([weighted @ across / norm, weighted @ speed / norm]).T
