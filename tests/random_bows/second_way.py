"""A braced bow a second way: the least energy of two chains of angles and one spring, by a trust-region method.

Nothing of the library's statics is used: each limb is a row of rigid cells with torsion springs between, the string a
spring between the tips that only pulls. The arrow's and the limbs' weight are left out. A minimum is stable by itself;
what a bow runs away to is found as well, as another minimum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize, root

CELLS = 40
STEP = 0.004  # [m] by which the string is let out at a time
MOST = 60  # such steps
HIGHER = 0.02  # [m] of brace height to begin with
TIPPED = 0.15  # [m] of the string's ends from each other, forward: the limbs have tipped opposite ways
SHARES = np.linspace(0.0, 1.0, 17)  # of the limbs' natural curvature
NEAR = 1e-4  # [m] of brace height and of both tillers: met
LEAST = 1e-3  # [N] of tension in a taut string


@dataclass
class TwoLimbs:
    """Both limbs of a bow.

    Attributes
    ----------
    roots : (2, 2) array
        Upper and lower, x and y [m].
    leans : (2,) array
        Pocket angles, forward positive [rad].
    cells : (2,) array
        Length of a cell [m].
    springs, natural : (2, CELLS) arrays
        Stiffness [N m] and angle at rest [rad] at each node from the root on.
    stretch : float
        EA of the string [N].
    """

    roots: np.ndarray
    leans: np.ndarray
    cells: np.ndarray
    springs: np.ndarray
    natural: np.ndarray
    stretch: float

    @classmethod
    def of(cls, full: Any, root_x: float | None, factor: float, leans: tuple[float, float]) -> TwoLimbs:
        """From a filled setup; ``root_x`` [m] where it gives none, ``factor`` on the limbs' stiffness."""
        roots, cells, springs, natural = [], [], [], []
        ratio = np.sqrt(full.get("bow.stiffness_ratio") or 1.0)
        for side, limb, times in (("upper", full.upper_limb, ratio), ("lower", full.lower_limb, 1.0 / ratio)):
            x = full.get(f"riser.{side}_root_x")
            roots.append((root_x if x is None else x, getattr(full.riser, f"{side}_root_y")))
            size = limb.length / CELLS
            middles = np.linspace(0.0, 1.0, 16 * CELLS, endpoint=False) + 0.5 / (16 * CELLS)
            stiffness = factor * times * np.interp(middles, limb.at, limb.bending_stiffness)
            curved = np.interp(middles, limb.at, limb.natural_curvature)
            # each node stands for half a cell to either side, the root's for the half beyond it
            owner = np.floor(middles * CELLS + 0.5).astype(int)
            piece = limb.length / middles.size
            soft = np.bincount(owner, piece / stiffness)[:CELLS]
            turn = np.bincount(owner, piece * curved)[:CELLS]
            cells.append(size)
            springs.append(1.0 / soft)
            natural.append(turn)
        return cls(
            np.array(roots), np.array(leans), np.array(cells), np.array(springs), np.array(natural),
            float(full.string.axial_stiffness),
        )  # fmt: skip

    def unstrung(self) -> np.ndarray:
        """Angles without a string (2 CELLS,) [rad]."""
        return (self.leans[:, None] + np.cumsum(self.natural, axis=1)).ravel()

    def bent_back(self, bend: float) -> np.ndarray:
        """Angles of limbs bent back evenly, by ``bend`` at their tips (2 CELLS,) [rad]."""
        return self.unstrung() - bend * np.tile(np.linspace(0.0, 1.0, CELLS), 2)

    def tips(self, angles: np.ndarray) -> np.ndarray:
        """Both tips (2, 2) [m]."""
        a = angles.reshape(2, CELLS)
        up = np.array([1.0, -1.0])[:, None] * np.cos(a)
        return self.roots + self.cells[:, None] * np.column_stack((np.sin(a).sum(axis=1), up.sum(axis=1)))

    def energy(self, angles: np.ndarray, length: float) -> tuple[float, np.ndarray, np.ndarray]:
        """Energy [J] with a string of unloaded ``length`` [m], its gradient and its Hessian."""
        a = angles.reshape(2, CELLS)
        off = np.diff(np.column_stack((self.leans, a)), axis=1) - self.natural
        moment = self.springs * off
        total = 0.5 * float((moment * off).sum())
        gradient = moment.copy()
        gradient[:, :-1] -= moment[:, 1:]
        hessian = np.zeros((2 * CELLS, 2 * CELLS))
        for i in range(2):
            block = hessian[i * CELLS : (i + 1) * CELLS, i * CELLS : (i + 1) * CELLS]
            np.fill_diagonal(block, self.springs[i] + np.append(self.springs[i, 1:], 0.0))
            np.fill_diagonal(block[1:], -self.springs[i, 1:])
            np.fill_diagonal(block[:, 1:], -self.springs[i, 1:])
        line = self.tips(angles)
        along = line[0] - line[1]
        span = float(np.hypot(*along))
        along = along / span
        pull = self.stretch * (span - length) / length
        if pull <= 0.0:
            return total, gradient.ravel(), hessian
        total += 0.5 * pull * (span - length)
        side, size = np.array([1.0, -1.0])[:, None], self.cells[:, None]
        dx, dy = side * size * np.cos(a), -size * np.sin(a)  # of tip_u - tip_l; up and down cancel in y
        ddx, ddy = -side * size * np.sin(a), -size * np.cos(a)
        first = (dx * along[0] + dy * along[1]).ravel()
        across = (-dx * along[1] + dy * along[0]).ravel()
        second = (ddx * along[0] + ddy * along[1]).ravel()
        gradient = gradient.ravel() + pull * first
        hessian += self.stretch / length * np.outer(first, first) + pull / span * np.outer(across, across)
        hessian[np.diag_indices(2 * CELLS)] += pull * second
        return total, gradient, hessian

    def settled(self, angles: np.ndarray, length: float) -> np.ndarray:
        """The minimum that is reached from some angles."""
        found = minimize(
            lambda a: self.energy(a, length)[:2], angles, jac=True, hess=lambda a: self.energy(a, length)[2],
            method="trust-exact", options={"gtol": 1e-9, "maxiter": 500, "initial_trust_radius": 0.05},
        )  # fmt: skip
        return np.asarray(found.x)

    def least_stiffness(self, angles: np.ndarray, length: float) -> float:
        """Lowest eigenvalue of the Hessian [N m]."""
        return float(np.linalg.eigvalsh(self.energy(angles, length)[2])[0])

    def measures(self, angles: np.ndarray) -> tuple[float, float]:
        """Brace height, and upper less lower distance of the roots from the string [m]."""
        upper, lower = self.tips(angles)
        along = (upper - lower) / np.hypot(*(upper - lower))
        forward = np.array([along[1], -along[0]])
        return float(-(lower @ forward)), float((self.roots[0] - self.roots[1]) @ forward)

    def tension(self, angles: np.ndarray, length: float) -> float:
        """Of the string [N]."""
        return self.stretch * (float(np.hypot(*np.subtract(*self.tips(angles)))) - length) / length


def strung(limbs: TwoLimbs, height: float) -> tuple[np.ndarray, float] | None:
    """The bow at about a brace height: limbs bent back evenly until the string stands there, then let go.

    From a string some centimetres too short it is let out step by step, as a stringer lets a bow down.

    Returns
    -------
    angles, length : array, float, or None
        None where the bow runs away before.
    """
    bends = np.linspace(0.0, 3.0, 301)
    heights = np.array([limbs.measures(limbs.bent_back(bend))[0] for bend in bends])
    further = np.flatnonzero(heights > height + HIGHER)
    if not further.size:
        return None
    angles = limbs.bent_back(bends[further[0]])
    length = float(np.hypot(*np.subtract(*limbs.tips(angles))))
    for _ in range(MOST):
        angles = limbs.settled(angles, length)
        if not limbs.tension(angles, length) > LEAST or abs(limbs.measures(angles)[1]) > TIPPED:
            return None
        if limbs.measures(angles)[0] <= height:
            return angles, length
        length += STEP
    return None


def stands(limbs: TwoLimbs, mean: float, height: float, split: float) -> bool:
    """Whether a stable bow has a brace height and a split, with pockets that lean ``mean`` in the mean.

    Found for straight limbs first, whose curvature then grows step by step.

    Parameters
    ----------
    limbs : TwoLimbs
        With both pockets at the mean.
    mean : float
        [rad]
    height, split : float
        Brace height, and upper less lower distance of the roots from the string [m].
    """
    curved = limbs.natural
    limbs.natural = 0.0 * curved
    first = strung(limbs, height)
    if first is None:
        return False
    angles, length = first
    free = np.array([length, 0.0])

    def miss(free: np.ndarray) -> np.ndarray:
        nonlocal angles
        limbs.leans = np.array([mean + free[1], mean - free[1]])
        angles = limbs.settled(angles, free[0])
        return np.subtract(limbs.measures(angles), (height, split))

    for share in SHARES:
        limbs.natural = share * curved
        free = root(miss, free, options={"eps": 1e-6, "xtol": 1e-9}).x
        if np.abs(miss(free)).max() > NEAR or limbs.tension(angles, free[0]) < LEAST:
            return False
    return limbs.least_stiffness(angles, free[0]) > 0.0


def stands_with(limbs: TwoLimbs, length: float) -> bool:
    """Whether a bow stays braced with a string of unloaded ``length`` [m]."""
    curved = limbs.natural
    limbs.natural = 0.0 * curved
    angles = limbs.bent_back(0.8)
    for share in SHARES:
        limbs.natural = share * curved
        angles = limbs.settled(angles, length)
        if limbs.tension(angles, length) < LEAST or abs(limbs.measures(angles)[1]) > TIPPED:
            return False
    return limbs.measures(angles)[0] > 0.0
