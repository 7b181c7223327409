"""What is known of an input beforehand: a normal or a flat distribution, or a frozen one of SciPy."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

FARTHEST = 5.0  # standard deviations: where the bounds of a prior without ends lie
TAIL = 2.866515719235352e-07  # of a normal distribution beyond `FARTHEST`


class Prior(Protocol):
    """What a `Problem` asks of a distribution; all numbers in the input's unit."""

    @property
    def ends(self) -> tuple[float, float]:
        """Within which all but 6e-7 of it lies."""

    def log_density(self, x: np.ndarray) -> np.ndarray:
        """Natural logarithm of the density, one for each value."""

    def at(self, share: np.ndarray) -> np.ndarray:
        """The values below which such shares of it lie."""

    def below(self, x: float) -> float:
        """The share of it that lies below a value."""


@dataclass(frozen=True)
class Normal:
    """A normal distribution.

    Attributes
    ----------
    mean, spread : float
    """

    mean: float
    spread: float

    @property
    def ends(self) -> tuple[float, float]:
        return self.mean - FARTHEST * self.spread, self.mean + FARTHEST * self.spread

    def log_density(self, x: np.ndarray) -> np.ndarray:
        z = (x - self.mean) / self.spread
        return np.asarray(-0.5 * z * z - math.log(self.spread * math.sqrt(2.0 * math.pi)))

    def at(self, share: np.ndarray) -> np.ndarray:
        from scipy.special import ndtri

        return np.asarray(self.mean + self.spread * ndtri(share))

    def below(self, x: float) -> float:
        return 0.5 * math.erfc((self.mean - x) / (self.spread * math.sqrt(2.0)))


@dataclass(frozen=True)
class Flat:
    """The same density from a lowest to a highest value.

    Attributes
    ----------
    low, high : float
    """

    low: float
    high: float

    @property
    def ends(self) -> tuple[float, float]:
        return self.low, self.high

    def log_density(self, x: np.ndarray) -> np.ndarray:
        inside = (x >= self.low) & (x <= self.high)
        return np.where(inside, -math.log(self.high - self.low), -math.inf)

    def at(self, share: np.ndarray) -> np.ndarray:
        return np.asarray(self.low + (self.high - self.low) * share)

    def below(self, x: float) -> float:
        return min(max((x - self.low) / (self.high - self.low), 0.0), 1.0)


@dataclass(frozen=True)
class Frozen:
    """A frozen distribution of SciPy.

    Attributes
    ----------
    distribution : object
        With ``ppf``, ``cdf``, ``logpdf`` and ``support``.
    """

    distribution: Any

    @property
    def ends(self) -> tuple[float, float]:
        low, high = (float(one) for one in self.distribution.support())
        return (
            low if math.isfinite(low) else float(self.distribution.ppf(TAIL)),
            high if math.isfinite(high) else float(self.distribution.ppf(1.0 - TAIL)),
        )

    def log_density(self, x: np.ndarray) -> np.ndarray:
        return np.asarray(self.distribution.logpdf(x), dtype=float)

    def at(self, share: np.ndarray) -> np.ndarray:
        return np.asarray(self.distribution.ppf(share), dtype=float)

    def below(self, x: float) -> float:
        return float(self.distribution.cdf(x))
