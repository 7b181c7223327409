"""A smooth curve through real shots: what an arrow does as it leaves, as a function of what was set.

Numbers as a quadratic in what was set, and beside it a sum of bumps of one form over the places that were shot
(Kriging: J. Sacks, W. J. Welch, T. J. Mitchell, H. P. Wynn, Statistical Science 4 (1989) 409 [memory]). How wide the
bumps are along each thing that was set is what leaves the least error at places left out, one after the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

STEPS = (4.0, 2.0, 1.4)  # factors by which the widths are tried, one after the other
FIRST, FIRST_ROUGH = 0.3, 1e-3
NARROWEST, WIDEST = 3.0, 0.02  # inverse widths
ROUGH = (1e-6, 0.1)
ENOUGH = 200  # places that the widths are sought with


@dataclass(frozen=True)
class Response:
    """Numbers (m,) as a function of what was set (d,), each from -1 to 1.

    Attributes
    ----------
    places : (n, d) array
        Where it was shot.
    narrow : (d,) array
        One over the width of a bump along each.
    trend : (1 + d + d (d + 1) / 2, m) array
    bumps : (n, m) array
        How high.
    rough : float
        How far, as a share of their variance, the numbers may leave the curve at a place that was shot.
    """

    places: np.ndarray
    narrow: np.ndarray
    trend: np.ndarray
    bumps: np.ndarray
    rough: float

    def at(self, places: np.ndarray) -> np.ndarray:
        """The numbers (k, m) at some places (k, d)."""
        found = quadratic(places) @ self.trend + bump(places, self.places, self.narrow) @ self.bumps
        return np.asarray(found)


def quadratic(places: np.ndarray) -> np.ndarray:
    """One, every coordinate and every product of two, (k, 1 + d + d (d + 1) / 2)."""
    count = places.shape[1]
    products = [places[:, i] * places[:, j] for i in range(count) for j in range(i, count)]
    return np.column_stack([np.ones(len(places)), places, *products])


def bump(places: np.ndarray, around: np.ndarray, narrow: np.ndarray) -> np.ndarray:
    """Bumps around some places, seen at others (k, n): (1 + r + r^2 / 3) exp(-r), r^2 = 5 sum (narrow x distance)^2."""
    apart = ((places[:, None] - around[None]) * narrow) ** 2
    r = np.sqrt(5.0 * apart.sum(axis=-1))
    return np.asarray((1.0 + r + r * r / 3.0) * np.exp(-r))


def response(places: np.ndarray, seen: np.ndarray, like: Response | None = None) -> Response:
    """The response through what was seen (n, m) at some places (n, d); one width for all numbers handed over.

    Numbers that belong together go together: what is smooth up and down need not be so sideways. The widths are those
    of ``like``, or sought.
    """
    size = seen.std(axis=0)
    size = np.where(size > 0.0, size, 1.0)
    middle = seen.mean(axis=0)
    normed = (seen - middle) / size
    narrow, rough = _widths(places[:ENOUGH], normed[:ENOUGH]) if like is None else (like.narrow, like.rough)
    inverse, trend = _solved(places, normed, narrow, rough)
    bumps = inverse @ (normed - quadratic(places) @ trend)
    trend = trend * size
    trend[0] += middle
    return Response(places, narrow, trend, bumps * size, rough)


def left_out(seen: np.ndarray, found: Response) -> np.ndarray:
    """What the response would tell (n, m) at each place that was shot, had it not been shot there."""
    return np.asarray(seen - _missed_without(found.places, seen, found.narrow, found.rough))


def _solved(places: np.ndarray, seen: np.ndarray, narrow: np.ndarray, rough: float) -> tuple[np.ndarray, np.ndarray]:
    """The inverse of the bumps' table, and the trend by least squares weighted with it."""
    inverse = np.linalg.inv(bump(places, places, narrow) + rough * np.eye(len(places)))
    table = quadratic(places)
    weighted = table.T @ inverse
    return inverse, np.linalg.solve(weighted @ table, weighted @ seen)


def _missed_without(places: np.ndarray, seen: np.ndarray, narrow: np.ndarray, rough: float) -> np.ndarray:
    """By how much (n, m) places left out are missed, one after the other."""
    inverse = np.linalg.inv(bump(places, places, narrow) + rough * np.eye(len(places)))
    table = quadratic(places)
    weighted = table.T @ inverse
    without = inverse - weighted.T @ np.linalg.solve(weighted @ table, weighted)
    return np.asarray((without @ seen) / np.diag(without)[:, None])


def _left_out(places: np.ndarray, seen: np.ndarray, narrow: np.ndarray, rough: float) -> float:
    """Sum of the logarithms of the mean squares by which places left out are missed, one after the other."""
    missed = _missed_without(places, seen, narrow, rough)
    return float(np.log((missed**2).mean(axis=0) + 1e-12).sum())


def _widths(places: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, float]:
    """One over the widths, and how rough the numbers are; each tried larger and smaller in turn."""
    narrow, rough = np.full(places.shape[1], FIRST), FIRST_ROUGH
    best = _left_out(places, seen, narrow, rough)
    for step in STEPS:
        for k in (*range(places.shape[1]), -1):
            for factor in (step, 1.0 / step):
                while True:
                    tried, rougher = narrow.copy(), rough
                    if k < 0:
                        rougher = float(np.clip(rough * factor**2, *ROUGH))
                    else:
                        tried[k] = np.clip(narrow[k] * factor, WIDEST, NARROWEST)
                    found = _left_out(places, seen, tried, rougher)
                    if not found < best - 1e-6:
                        break
                    narrow, rough, best = tried, rougher, found
    return narrow, rough
