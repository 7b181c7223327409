"""Which values of the unmeasured inputs groups speak for: bounded least squares with priors, and profiles."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.study.notes.group_means import Noted
from archerysim.study.notes.response_surface import Expected, Surface
from archerysim.study.uncertainty.inputs import usual_spread

RISE = 2.7055  # of chi square at the ends of a 90 % interval: the 90 % point of chi square with one degree of freedom
SQUARE = usual_spread("nock.locators.reading")  # standard deviation of a reading [m]
FLIGHT = 0.15  # of what launch and lift make: how well the flight of a bare shaft is known [judgement]
SPEED = 0.01  # of a measured arrow speed, and of what the model makes of it [judgement]
SCALE = usual_spread("bow.draw_weight")  # of a measured draw weight [N]
CLOSE = 0.02  # of an interval's end, in prior spreads of the square root of the rise
MOST = 8
BARELY = 0.8  # an interval over this share of the prior's says little


@dataclass(frozen=True)
class Question:
    """Numbers noted, beside what the model expects of them.

    Attributes
    ----------
    surface : Surface
        Of the n numbers.
    data : (n,) array
    whitening : (n, n) array
        Turns misses into independent ones with standard deviation 1.
    low, high : (k,) arrays
        Bounds of the normed inputs.
    """

    surface: Surface
    data: np.ndarray
    whitening: np.ndarray
    low: np.ndarray
    high: np.ndarray

    def misses(self, z: np.ndarray) -> np.ndarray:
        """Data less model, whitened (n,)."""
        return np.asarray(self.whitening @ (self.data - self.surface.at(z)))

    def pull(self, z: np.ndarray) -> np.ndarray:
        """How the whitened numbers follow the inputs (n, k)."""
        return np.asarray(self.whitening @ self.surface.slopes(z))

    def chi_square(self, z: np.ndarray) -> float:
        """Of data and priors."""
        return float((self.misses(z) ** 2).sum() + (z**2).sum())

    def best(self, start: np.ndarray, held: int | None = None) -> np.ndarray:
        """Inputs with the least chi square, one of them ``held`` if so wished, from a start (k,)."""
        from scipy.optimize import least_squares

        free = np.array([i != held for i in range(len(start))])
        z = np.array(start, dtype=float)

        def residuals(some: np.ndarray) -> np.ndarray:
            z[free] = some
            return np.concatenate([self.misses(z), some])

        def slopes(some: np.ndarray) -> np.ndarray:
            z[free] = some
            return np.vstack([-self.pull(z)[:, free], np.eye(len(some))])

        inside = 1e-6 * (self.high - self.low)[free]
        begin = np.clip(z[free], self.low[free] + inside, self.high[free] - inside)
        how: dict[str, Any] = {"xtol": 1e-4, "ftol": 1e-5, "gtol": 1e-4}
        found = least_squares(residuals, begin, slopes, bounds=(self.low[free], self.high[free]), **how)
        z[free] = found.x
        return z


@dataclass(frozen=True)
class Answer:
    """What the notes say of the unmeasured inputs, all normed: prior spreads from the prior's middle.

    Attributes
    ----------
    z : (k,) array
        With the least chi square.
    covariance : (k, k) array
        Of the linear model there, priors included, bounds not.
    low, high : (k,) arrays
        Ends of the 90 % intervals by the profiles.
    prior_low, prior_high : (k,) arrays
        Ends of those of the priors alone.
    chi_square : float
        Of the data alone, at ``z``.
    profiles : tuple of (p, 2) arrays
        Values of each input, and the rise of chi square with all others at their best.
    """

    z: np.ndarray
    covariance: np.ndarray
    low: np.ndarray
    high: np.ndarray
    prior_low: np.ndarray
    prior_high: np.ndarray
    chi_square: float
    profiles: tuple[np.ndarray, ...]

    @property
    def narrowed(self) -> np.ndarray:
        """Length of each interval over that of the prior's (k,)."""
        return np.asarray((self.high - self.low) / (self.prior_high - self.prior_low))


def question(
    expected: Expected, groups: tuple[Noted, ...], speed: float | None = None, weight: float | None = None
) -> Question:
    """The least squares problem of some groups at the expected places, speed [m/s] and draw weight [N].

    Notes
    -----
    The covariance of the groups' differences: scatter of the hits and error of the surface on the diagonal;
    the square's error times the slope, shared by groups of one reading; a common factor of what launch and
    lift make, because the flight of a bare shaft is known no better.
    """
    rows = [expected.places.index((g.reading, g.distance)) for g in groups]
    heights = expected.heights.rows(rows)
    slope, readings = expected.per_reading[rows], np.array([g.reading for g in groups])
    swing = heights.value - expected.wanted[rows]
    cover = np.diag(np.array([g.sigma for g in groups]) ** 2 + heights.error**2)
    cover += SQUARE**2 * np.outer(slope, slope) * (readings[:, None] == readings[None, :])
    cover += FLIGHT**2 * np.outer(swing, swing)
    surfaces, data, sizes = [heights], [g.difference for g in groups], []
    for noted, surface, size in ((speed, expected.speed, SPEED * (speed or 0.0)), (weight, expected.weight, SCALE)):
        if noted is not None:
            surfaces.append(surface)
            data.append(noted)
            sizes.append(math.hypot(size, float(surface.error[0])))
    whole = np.diag(np.array([*np.zeros(len(groups)), *sizes]) ** 2)
    whole[: len(groups), : len(groups)] = cover
    joined = Surface(
        *(np.concatenate([getattr(p, name) for p in surfaces]) for name in ("value", "slope", "bend", "error"))
    )
    bounds = np.array([(c.low, c.high) for c in expected.causes])
    return Question(joined, np.array(data), np.linalg.inv(np.linalg.cholesky(whole)), bounds[:, 0], bounds[:, 1])


def answer(asked: Question, *, points: int = 0) -> Answer:
    """Least squares, and a profile of each input.

    Parameters
    ----------
    asked : Question
    points : int
        Further points of each profile, evenly over the bounds, for a picture.
    """
    z = asked.best(np.zeros(len(asked.low)))
    pull = asked.pull(z)
    covariance = np.linalg.inv(pull.T @ pull + np.eye(len(z)))
    least = asked.chi_square(z)
    ends, profiles = [], []
    for k in range(len(z)):
        seen: dict[float, float] = {float(z[k]): 0.0}
        size = math.sqrt(covariance[k, k])
        ends.append([_end(asked, z, k, side, size, least, seen) for side in (-1.0, 1.0)])
        for value in np.linspace(asked.low[k], asked.high[k], points) if points else ():
            seen[float(value)] = _rise(asked, z, k, float(value), least)[0]
        profiles.append(np.array(sorted(seen.items())))
    low, high = np.array(ends).T
    usual = math.sqrt(RISE)
    return Answer(
        z, covariance, low, high, np.maximum(asked.low, -usual), np.minimum(asked.high, usual),
        float((asked.misses(z) ** 2).sum()), tuple(profiles),
    )  # fmt: skip


def _rise(asked: Question, z: np.ndarray, k: int, value: float, least: float) -> tuple[float, np.ndarray]:
    start = z.copy()
    start[k] = value
    found = asked.best(start, held=k)
    return max(asked.chi_square(found) - least, 0.0), found


def _end(
    asked: Question, z: np.ndarray, k: int, side: float, size: float, least: float, seen: dict[float, float]
) -> float:
    """Where chi square has risen by `RISE` on one side, or the bound; its root is nearly straight."""
    bound = float(asked.low[k] if side < 0 else asked.high[k])
    goal, centre = math.sqrt(RISE), float(z[k])
    limit = abs(bound - centre)
    if limit < 1e-6:
        return bound
    inner, inner_root, outer, outer_root = 0.0, 0.0, math.inf, math.inf
    away, start = min(goal * size, limit), z

    def value() -> float:
        return bound if away >= limit else centre + side * away  # the sum would miss the bound by its last bit

    for _ in range(MOST):
        rise, start = _rise(asked, start, k, value(), least)
        root = math.sqrt(rise)
        seen[value()] = rise
        if abs(root - goal) < CLOSE or (away == limit and root < goal):
            break
        if root < goal:
            inner, inner_root = away, root
        else:
            outer, outer_root = away, root
        if math.isinf(outer):
            away = min(max(away * goal / max(root, 0.3 * goal), 1.05 * away), limit)
        else:
            away = inner + (goal - inner_root) / (outer_root - inner_root) * (outer - inner)
    return value()
