"""A braced bow a second way: the least energy of two chains of angles and one string, by a trust-region method.

Nothing of the library's statics is used: each limb is a row of rigid cells with torsion springs between, the string one
spring that only pulls. It goes the shortest way from tip to tip on the archer's side of both limbs: round the corners
of a polygon beside each limb, all along it, found as a convex hull is. Limbs and string weigh something on request; the
arrow is left out. A minimum is stable by itself; what a bow runs away to is found as well, as another minimum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize, root

CELLS = 40
STEP = 0.004  # [m] by which the string is let out at a time
MOST = 60  # such steps
APART = (0.0, 0.15, -0.15, 0.3, -0.3)  # [rad] of either pocket from their mean, to begin with
HIGHER = 0.02  # [m] of brace height to begin with
# [m] between the roots' distances from the string: more, and the limbs have tipped opposite ways, be it that the one
# which has gone forward is caught by its string
TIPPED = 0.09
SHARES = np.linspace(0.0, 1.0, 17)  # of the limbs' natural curvature
NEAR = 1e-4  # [m] of brace height and of both tillers: met
LEAST = 1e-3  # [N] of tension in a taut string
TIED = 0.060  # [m] from the tip, over which the string comes down to the limb's axis
THINNER = 0.5  # the tip's thickness in shares of the root's, where no table tells it
STRING_DENSITY = 700.0  # [kg/m3]
GRAVITY = 9.81
SIDES = np.array([1.0, -1.0])  # the upper limb goes up


@dataclass
class TwoLimbs:
    """Both limbs of a bow, of as many cells each.

    Attributes
    ----------
    roots : (2, 2) array
        Upper and lower, x and y [m].
    leans : (2,) array
        Pocket angles, forward positive [rad].
    cells : (2,) array
        Length of a cell [m].
    springs, natural : (2, cells) arrays
        Stiffness [N m] and angle at rest [rad] at each node from the root on.
    away : (2, cells + 1) array
        How far from each node, from the root on, the string stays on the archer's side [m].
    stretch : float
        EA of the string [N].
    beyond : (2, cells) array
        Mass further out than each cell [kg], the string's half too; nil: nothing weighs anything.
    touches : bool
        Whether the limbs are in the string's way; else it meets both at the tip only.
    """

    roots: np.ndarray
    leans: np.ndarray
    cells: np.ndarray
    springs: np.ndarray
    natural: np.ndarray
    away: np.ndarray
    stretch: float
    beyond: np.ndarray
    touches: bool = True

    @classmethod
    def of(
        cls, full: Any, root_x: float | None, factor: float, leans: tuple[float, float], count: int = CELLS,
        weight: bool = False,
    ) -> TwoLimbs:  # fmt: skip
        """From a filled setup; ``root_x`` [m] where it gives none, ``factor`` on the limbs' stiffness."""
        roots, cells, springs, natural, away, beyond = [], [], [], [], [], []
        ratio = np.sqrt(full.get("bow.stiffness_ratio") or 1.0)
        strand = np.sqrt(4.0 * full.string.mass_per_length / (np.pi * STRING_DENSITY))
        for side, limb, times in (("upper", full.upper_limb, ratio), ("lower", full.lower_limb, 1.0 / ratio)):
            x = full.get(f"riser.{side}_root_x")
            roots.append((root_x if x is None else x, getattr(full.riser, f"{side}_root_y")))
            size = limb.length / count
            middles = np.linspace(0.0, 1.0, 16 * count, endpoint=False) + 0.5 / (16 * count)
            stiffness = factor * times * np.interp(middles, limb.at, limb.bending_stiffness)
            curved_at = limb.curvature_at or limb.at
            curved = np.interp(middles, curved_at, np.broadcast_to(limb.natural_curvature, len(curved_at)))
            # each node stands for half a cell to either side, the root's for the half beyond it
            owner = np.floor(middles * count + 0.5).astype(int)
            piece = limb.length / middles.size
            soft = np.bincount(owner, piece / stiffness)[:count]
            turn = np.bincount(owner, piece * curved)[:count]
            place = np.linspace(0.0, 1.0, count + 1)
            thick = limb.root_thickness * (1.0 - (1.0 - THINNER) * place)
            if limb.thickness:
                thick = np.interp(place, limb.at, limb.thickness)
            mass = piece * np.interp(middles, limb.at, limb.mass_per_length).reshape(count, -1).sum(axis=1)
            tip = limb.tip_mass + full.string.mass_per_length * (abs(roots[-1][1]) + 0.9 * limb.length)  # about
            beyond.append(weight * (tip + mass[::-1].cumsum()[::-1] - 0.5 * mass))
            cells.append(size)
            springs.append(1.0 / soft)
            natural.append(turn)
            away.append(0.5 * (thick + strand) * (1.0 - np.maximum(1.0 - limb.length * (1.0 - place) / TIED, 0.0) ** 2))
        return cls(
            np.array(roots), np.array(leans), np.array(cells), np.array(springs), np.array(natural), np.array(away),
            float(full.string.axial_stiffness), np.array(beyond),
        )  # fmt: skip

    @property
    def count(self) -> int:
        """Cells of a limb."""
        return self.springs.shape[1]

    def unstrung(self) -> np.ndarray:
        """Angles without a string (2 cells,) [rad]."""
        return (self.leans[:, None] + np.cumsum(self.natural, axis=1)).ravel()

    def bent_back(self, bend: float) -> np.ndarray:
        """Angles of limbs bent back evenly, by ``bend`` at their tips (2 cells,) [rad]."""
        return self.unstrung() - bend * np.tile(np.linspace(0.0, 1.0, self.count), 2)

    def turned(self, angles: np.ndarray) -> np.ndarray:
        """Of each limb's normal at its nodes (2, cells + 1) [rad]: between those of the cells that meet there."""
        a = angles.reshape(2, -1)
        return np.column_stack((a[:, :1], 0.5 * (a[:, 1:] + a[:, :-1]), a[:, -1:]))

    def corners(self, angles: np.ndarray) -> np.ndarray:
        """What the string lies on, from each root on (2, cells + 1, 2) [m]; the tips last."""
        a, m = angles.reshape(2, -1), self.turned(angles)
        steps = self.cells[:, None, None] * np.stack((np.sin(a), SIDES[:, None] * np.cos(a)), axis=2)
        axis = self.roots[:, None, :] + np.concatenate((np.zeros((2, 1, 2)), np.cumsum(steps, axis=1)), axis=1)
        return axis + self.away[:, :, None] * np.stack((-np.cos(m), SIDES[:, None] * np.sin(m)), axis=2)

    def way(self, angles: np.ndarray) -> tuple[list[int], np.ndarray]:
        """The string's corners from tip to tip: which of the upper limb's, then the lower's, and where they are (k, 2).

        Counted from the upper tip to the upper root, from the lower root to the lower tip. Downwards the limb is on
        the left: the string turns left round each corner that it touches.
        """
        upper, lower = self.corners(angles)
        points = np.concatenate((upper[::-1], lower))
        if not self.touches:
            return [0, len(points) - 1], points[[0, -1]]
        kept: list[int] = []
        rows = points.tolist()
        for k, (x, y) in enumerate(rows):
            while len(kept) > 1:
                (ax, ay), (bx, by) = rows[kept[-2]], rows[kept[-1]]
                if (bx - ax) * (y - by) - (by - ay) * (x - bx) > 0.0:
                    break
                kept.pop()
            kept.append(k)
        return kept, points[kept]

    def length(self, angles: np.ndarray) -> float:
        """Of the string's way [m]."""
        return float(np.hypot(*np.diff(self.way(angles)[1], axis=0).T).sum())

    def touched(self, angles: np.ndarray) -> np.ndarray:
        """Length of the way on the upper and on the lower limb [m]."""
        kept, points = self.way(angles)
        cells, upper = np.hypot(*np.diff(points, axis=0).T), np.array(kept) <= self.count
        return np.array([cells[upper[1:]].sum(), cells[~upper[:-1]].sum()])

    def energy(self, angles: np.ndarray, length: float) -> tuple[float, np.ndarray, np.ndarray]:
        """Energy [J] with a string of unloaded ``length`` [m], its gradient and its Hessian."""
        n = self.count
        a = angles.reshape(2, n)
        off = np.diff(np.column_stack((self.leans, a)), axis=1) - self.natural
        moment = self.springs * off
        total = 0.5 * float((moment * off).sum())
        gradient = moment.copy()
        gradient[:, :-1] -= moment[:, 1:]
        load = GRAVITY * SIDES[:, None] * self.cells[:, None] * self.beyond
        total += float((load * np.cos(a)).sum())
        gradient = (gradient - load * np.sin(a)).ravel()
        hessian = np.diag((-load * np.cos(a)).ravel())
        for i in range(2):
            block = hessian[i * n : (i + 1) * n, i * n : (i + 1) * n]
            block[np.diag_indices(n)] += self.springs[i] + np.append(self.springs[i, 1:], 0.0)
            np.fill_diagonal(block[1:], -self.springs[i, 1:])
            np.fill_diagonal(block[:, 1:], -self.springs[i, 1:])
        kept, points = self.way(angles)
        line = np.diff(points, axis=0)
        spans = np.hypot(*line.T)
        span = float(spans.sum())
        pull = self.stretch * (span - length) / length
        if pull <= 0.0:
            return total, gradient, hessian
        total += 0.5 * pull * (span - length)
        line /= spans[:, None]
        on = np.zeros_like(points)  # the way's derivative with each corner
        on[1:] += line
        on[:-1] -= line
        moves = np.zeros((len(kept), 2, 2 * n))
        turned = self.turned(angles)
        for k, (corner, (gx, gy)) in enumerate(zip(kept, on, strict=True)):
            limb, i = (0, n - corner) if corner <= n else (1, corner - n - 1)
            side, size, own = SIDES[limb], self.cells[limb], limb * n
            b = a[limb, :i]
            before = slice(own, own + i)
            moves[k, 0, before], moves[k, 1, before] = size * np.cos(b), -side * size * np.sin(b)
            hessian[before, before][np.diag_indices(i)] -= pull * size * (gx * np.sin(b) + gy * side * np.cos(b))
            m, h = turned[limb, i], self.away[limb, i]
            met = [own + j for j in (i - 1, i) if 0 <= j < n]
            moves[k, 0, met] += h * np.sin(m) / len(met)
            moves[k, 1, met] += side * h * np.cos(m) / len(met)
            hessian[np.ix_(met, met)] += pull * h * (gx * np.cos(m) - gy * side * np.sin(m)) / len(met) ** 2
        first = np.einsum("ki,kij->j", on, moves)
        across = np.einsum("k,kj->kj", -line[:, 1], np.diff(moves[:, 0], axis=0))
        across += np.einsum("k,kj->kj", line[:, 0], np.diff(moves[:, 1], axis=0))
        hessian += self.stretch / length * np.outer(first, first) + across.T @ (pull / spans[:, None] * across)
        return total, gradient + pull * first, hessian

    def settled(self, angles: np.ndarray, length: float) -> np.ndarray:
        """The minimum that is reached from some angles."""
        with np.errstate(over="ignore"):  # a search for a string's length that has run away
            found = minimize(
                lambda a: self.energy(a, length)[:2], angles, jac=True, hess=lambda a: self.energy(a, length)[2],
                method="trust-exact", options={"gtol": 1e-9, "maxiter": 500, "initial_trust_radius": 0.05},
            )  # fmt: skip
        return np.asarray(found.x)

    def least_stiffness(self, angles: np.ndarray, length: float) -> float:
        """Lowest eigenvalue of the Hessian [N m]."""
        return float(np.linalg.eigvalsh(self.energy(angles, length)[2])[0])

    def measures(self, angles: np.ndarray) -> tuple[float, float]:
        """Brace height, and upper less lower distance of the roots from the string's straight part [m]."""
        kept, points = self.way(angles)
        last = int(np.searchsorted(kept, self.count, "right"))  # the first of the lower limb's
        upper, lower = points[last - 1], points[last]
        along = (upper - lower) / np.hypot(*(upper - lower))
        forward = np.array([along[1], -along[0]])
        return float(-(lower @ forward)), float((self.roots[0] - self.roots[1]) @ forward)

    def tension(self, angles: np.ndarray, length: float) -> float:
        """Of the string [N]."""
        return self.stretch * (self.length(angles) - length) / length


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
    length = limbs.length(angles)
    for _ in range(MOST):
        angles = limbs.settled(angles, length)
        if not limbs.tension(angles, length) > LEAST or abs(limbs.measures(angles)[1]) > TIPPED:
            return None
        if limbs.measures(angles)[0] <= height:
            return angles, length
        length += STEP
    return None


def stands(limbs: TwoLimbs, height: float, split: float, by: str = "pockets") -> bool:
    """Whether a stable bow has a brace height and a split, the limbs unlike in one thing and the same in the mean.

    Looked for twice: at once, and with straight limbs first, whose curvature then grows step by step.

    Parameters
    ----------
    limbs : TwoLimbs
        With pockets, and a ratio of stiffness, of which one is to be found.
    height, split : float
        Brace height, and upper less lower distance of the roots from the string [m].
    by : str
        What makes the limbs unlike: "pockets" or "stiffness".
    """
    curved, unlike = limbs.natural, Unlike(limbs, by)
    for shares in (SHARES[-1:], SHARES):
        limbs.natural = shares[0] * curved
        for apart in APART:
            unlike.make(apart)
            first = strung(limbs, height)
            if first is not None:
                break
        if first is not None and _grown(limbs, first, apart, shares[:, None, None] * curved, unlike, height, split):
            return True
    return False


class Unlike:
    """What makes two limbs unlike: half the difference of their pockets [rad], or of their stiffness' logarithms."""

    def __init__(self, limbs: TwoLimbs, by: str) -> None:
        self.limbs, self.by = limbs, by
        self.leans, self.springs = limbs.leans.mean(), np.sqrt(limbs.springs[0] * limbs.springs[1])

    def make(self, apart: float) -> None:
        """Make them as unlike as that."""
        if self.by == "pockets":
            self.limbs.leans = self.leans + apart * SIDES
        else:
            self.limbs.springs = self.springs * np.exp(apart * SIDES)[:, None]


def _grown(
    limbs: TwoLimbs, first: tuple[np.ndarray, float], apart: float, curved: np.ndarray, unlike: Unlike, height: float,
    split: float,
) -> bool:  # fmt: skip
    angles, length = first
    free = np.array([length, apart])

    def miss(free: np.ndarray) -> np.ndarray:
        nonlocal angles
        unlike.make(free[1])
        angles = limbs.settled(angles, free[0])
        return np.subtract(limbs.measures(angles), (height, split))

    for natural in curved:
        limbs.natural = natural
        free = root(miss, free, options={"eps": 1e-6, "xtol": 1e-9}).x
        if np.abs(miss(free)).max() > NEAR or limbs.tension(angles, free[0]) < LEAST:
            return False
    return limbs.least_stiffness(angles, free[0]) > 0.0


def braced_with(limbs: TwoLimbs, length: float) -> np.ndarray | None:
    """Angles of a bow that stays braced with a string of unloaded ``length`` [m]; looked for as in `stands`."""
    found = _let_out(limbs, length)
    if found is not None:
        return found
    curved = limbs.natural
    limbs.natural = 0.0 * curved
    angles = limbs.bent_back(0.8)
    for share in SHARES:
        limbs.natural = share * curved
        angles = limbs.settled(angles, length)
        if not _braced(limbs, angles, length):
            limbs.natural = curved
            return None
    return angles


def _let_out(limbs: TwoLimbs, length: float) -> np.ndarray | None:
    """Bent back until the tips are nearer to each other than the string is long, then let out step by step."""
    for bend in np.linspace(0.0, 3.0, 301):
        angles = limbs.bent_back(bend)
        if limbs.measures(angles)[0] > 0.0 and limbs.length(angles) < length - 5.0 * STEP:
            break
    else:
        return None
    for now in np.linspace(limbs.length(angles), length, 10):
        angles = limbs.settled(angles, now)
    return angles if _braced(limbs, angles, length) else None


def _braced(limbs: TwoLimbs, angles: np.ndarray, length: float) -> bool:
    height, split = limbs.measures(angles)
    return limbs.tension(angles, length) > LEAST and abs(split) < TIPPED and height > 0.0
