"""Which values of the unmeasured inputs groups speak for: bounded least squares with priors, and draws about them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from archerysim.shot.launch import Launch
from archerysim.study.notes.group_means import Noted
from archerysim.study.notes.response_surface import Expected, Place, Setting
from archerysim.study.notes.surface import Surface, joined
from archerysim.study.uncertainty.inputs import usual_spread

RISE = 2.7055  # of chi square at the ends of a 90 % interval: the 90 % point of chi square with one degree of freedom
SQUARE = usual_spread("nock.locators.reading")  # standard deviation of a reading [m]
FLIGHT = 0.15  # of what launch and lift make: how well the flight of a bare shaft is known [judgement]
SPEED = 0.01  # of a measured arrow speed, and of what the model makes of it [judgement]
SCALE = usual_spread("bow.draw_weight")  # of a measured draw weight [N]
SETTLED, SETTLES = 0.1, 8  # of the least scatter: the surface's miss at the answer; rounds at most
NINETY = (0.05, 0.95)  # between which quantiles 90 % lie
DRAWS = 2**14  # of the inputs, half from the priors, half about the best values
WIDER = 1.5  # the spread of the latter half over the linear model's
SEED = 0
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
    draws : (d, k) array
        Values that fit the notes, each as likely as its weight.
    weights : (d,) array
        They sum to 1.
    middle, low, high : (k,) arrays
        Median and ends of the 90 % intervals of the draws.
    prior_low, prior_high : (k,) arrays
        Ends of those of the priors alone.
    chi_square : float
        Of the data alone, at ``z``.
    profiles : tuple of (p, 2) arrays
        Values of each input, and the rise of chi square with all others at their best.
    """

    z: np.ndarray
    covariance: np.ndarray
    draws: np.ndarray
    weights: np.ndarray
    middle: np.ndarray
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

    def spread_of(self, numbers: np.ndarray) -> tuple[float, float, float]:
        """Median and ends of the 90 % interval of numbers (d,) that go with the draws."""
        middle, low, high = quantiles(numbers, self.weights, (0.5, *NINETY))
        return middle, low, high


def question(
    expected: Expected, groups: tuple[Noted, ...], speed: float | None = None, weight: float | None = None
) -> Question:
    """The least squares problem of some groups at the expected places, speed [m/s] and draw weight [N].

    Notes
    -----
    The data are the heights of bare above fletched shafts and, where noted, how far they lie beside them. Covariance:
    scatter of the hits on the diagonal; error of the surface, shared by groups of one setting in the same direction;
    the square's error times the slope, shared by groups of one reading; a common factor of what launch and lift make,
    up and aside alike, because the flight of a bare shaft is known no better.
    """
    rows = [expected.places.index(Place(g.reading, g.distance, g.state)) for g in groups]
    aside = [k for k, g in enumerate(groups) if math.isfinite(g.beside) and expected.sides.value.size]
    heights, sides = expected.heights.rows(rows), expected.sides.rows([rows[k] for k in aside])
    of_both = joined([heights, sides])
    scatter = np.array([*(g.sigma for g in groups), *(groups[k].beside_sigma for k in aside)])
    settings = [expected.places[row].setting for row in rows]
    setting = [*((one, "up") for one in settings), *((settings[k], "aside") for k in aside)]
    slope = np.concatenate([expected.per_reading[rows], np.zeros(len(aside))])
    reading = np.array([*(g.reading for g in groups), *(groups[k].reading for k in aside)])
    swing = np.concatenate([heights.value - expected.wanted[rows], sides.value])
    cover = np.diag(scatter**2)
    cover += np.outer(of_both.error, of_both.error) * [[one == other for other in setting] for one in setting]
    cover += SQUARE**2 * np.outer(slope, slope) * (reading[:, None] == reading[None, :])
    cover += FLIGHT**2 * np.outer(swing, swing)
    parts, sizes = [of_both], []
    data = [*(g.difference for g in groups), *(groups[k].beside for k in aside)]
    for noted, surface, size in ((speed, expected.speed, SPEED * (speed or 0.0)), (weight, expected.weight, SCALE)):
        if noted is not None:
            parts.append(surface)
            data.append(noted)
            sizes.append(math.hypot(size, float(surface.error[0])))
    whole = np.diag(np.array([*np.zeros(len(cover)), *sizes]) ** 2)
    whole[: len(cover), : len(cover)] = cover
    bounds = np.array([(c.low, c.high) for c in expected.causes])
    return Question(joined(parts), np.array(data), np.linalg.inv(np.linalg.cholesky(whole)), bounds[:, 0], bounds[:, 1])


def settled(
    expected: Expected, groups: tuple[Noted, ...], speed: float | None = None, weight: float | None = None
) -> tuple[Question, np.ndarray, dict[Setting, Launch], float]:
    """The question with its surfaces passing through real shots at the answer.

    Returns
    -------
    asked : Question
    gaps : (2, m) array
        At the expected places, from real shots [m].
    launches : dict of Setting to Launch
        These shots.
    miss : float
        The largest miss of the surfaces at the groups' places there [m].
    """
    here = expected
    z = np.zeros(len(expected.causes))
    felt = [expected.places.index(Place(group.reading, group.distance, group.state)) for group in groups]
    ways = 1 if expected.bow.planes == 1 else 2
    for _ in range(SETTLES):
        asked = question(here, groups, speed, weight)
        z = asked.best(z)
        gaps, launches = expected.shot_gaps(z)
        model = np.array([here.heights.at(z), here.sides.at(z)][:ways])
        miss = gaps[:ways] - model
        if np.abs(miss[:, felt]).max() < SETTLED * min(group.sigma for group in groups):
            break
        sides = here.sides.shifted(miss[1]) if ways == 2 else here.sides
        here = replace(here, heights=here.heights.shifted(miss[0]), sides=sides)
    return asked, gaps, launches, float(np.abs(miss[:, felt]).max())


def answer(asked: Question, *, points: int = 0) -> Answer:
    """Least squares, draws about them, and a profile of each input.

    Parameters
    ----------
    asked : Question
    points : int
        Of each profile, evenly over the bounds, for a picture.
    """
    z = asked.best(np.zeros(len(asked.low)))
    pull = asked.pull(z)
    covariance = np.linalg.inv(pull.T @ pull + np.eye(len(z)))
    draws, weights = _drawn(asked, z, covariance)
    middle, low, high = np.array([quantiles(column, weights, (0.5, *NINETY)) for column in draws.T]).T
    prior = by_prior(np.array(NINETY)[:, None], asked.low, asked.high)
    least = asked.chi_square(z)
    profiles = tuple(_profile(asked, z, k, least, points) for k in range(len(z)))
    return Answer(
        z, covariance, draws, weights, middle, low, high, prior[0], prior[1], float((asked.misses(z) ** 2).sum()),
        profiles,
    )  # fmt: skip


def _drawn(asked: Question, z: np.ndarray, covariance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Inputs that fit the notes, and how likely each is: importance sampling from a mixture of two densities.

    Half of the draws are from the priors, half from a normal about the best values, somewhat wider than the linear
    model's; what lies out of bounds has no weight.
    """
    rng = np.random.default_rng(SEED)
    half, k = DRAWS // 2, len(z)
    first = by_prior(rng.random((half, k)), asked.low, asked.high)
    root = np.linalg.cholesky(covariance)
    second = z + WIDER * rng.normal(size=(half, k)) @ root.T
    draws = np.vstack([first, second])
    inside = np.all((draws >= asked.low) & (draws <= asked.high), axis=1)
    draws = draws[inside]
    priors = -0.5 * (draws**2).sum(axis=1) - np.log(_mass(asked.low, asked.high)).sum()
    away = np.linalg.solve(root, (draws - z).T) / WIDER
    about = -0.5 * (away**2).sum(axis=0) - np.log(np.diag(root) * WIDER).sum()  # of both without (2 pi)^(k/2)
    misses = (asked.data - asked.surface.at(draws)) @ asked.whitening.T
    likely = priors - 0.5 * (misses**2).sum(axis=1)
    logs = likely - np.logaddexp(priors, about)
    weights = np.exp(logs - logs.max())
    return draws, weights / weights.sum()


def by_prior(unit: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Normed inputs (..., k) of which shares ``unit`` of the priors, normal between bounds (k,), lie below."""
    from scipy.special import ndtr, ndtri

    return np.asarray(ndtri(ndtr(low) + unit * _mass(low, high)))


def _mass(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Share of a standard normal between bounds."""
    from scipy.special import ndtr

    return np.asarray(ndtr(high) - ndtr(low))


def quantiles(numbers: np.ndarray, weights: np.ndarray, at: tuple[float, ...]) -> list[float]:
    """Quantiles of weighted numbers (d,)."""
    order = np.argsort(numbers)
    share = np.cumsum(weights[order]) - 0.5 * weights[order]
    return [float(one) for one in np.interp(at, share, numbers[order])]


def _profile(asked: Question, z: np.ndarray, k: int, least: float, points: int) -> np.ndarray:
    """Values of one input, and the rise of chi square there with all others at their best."""
    seen: dict[float, float] = {float(z[k]): 0.0}
    for value in np.linspace(asked.low[k], asked.high[k], points) if points else ():
        start = z.copy()
        start[k] = value
        seen[float(value)] = max(asked.chi_square(asked.best(start, held=k)) - least, 0.0)
    return np.array(sorted(seen.items()))
