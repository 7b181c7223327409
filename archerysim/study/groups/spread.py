"""How wide a group is: standard deviation with its interval, full spread, and two groups compared."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SURE = 0.95  # of the intervals


@dataclass(frozen=True)
class Spread:
    """Scatter of one quantity.

    Attributes
    ----------
    count : int
        Shots that have it.
    mean : float
        In the quantity's unit, as all below.
    deviation : float
        Standard deviation, with n - 1.
    low, high : float
        Where the standard deviation of endless shooting lies, 95 %, by chi-square; for normal scatter.
    full : float
        Highest less lowest.
    """

    count: int
    mean: float
    deviation: float
    low: float
    high: float
    full: float


def spread_of(values: np.ndarray) -> Spread:
    """Scatter of some values, nan left out; nan where fewer than two are left.

    Notes
    -----
    (n - 1) s^2 / sigma^2 is distributed as chi-square with n - 1 degrees of freedom.
    """
    from scipy.stats import chi2

    kept = values[np.isfinite(values)]
    n = int(kept.size)
    if n < 2:
        return Spread(n, float(kept.mean()) if n else np.nan, *(np.nan,) * 4)
    deviation = float(kept.std(ddof=1))
    edge = 0.5 * (1.0 - SURE)
    low, high = (deviation * float(np.sqrt((n - 1) / chi2.ppf(p, n - 1))) for p in (1.0 - edge, edge))
    return Spread(n, float(kept.mean()), deviation, low, high, float(np.ptp(kept)))


@dataclass(frozen=True)
class Ratio:
    """Standard deviation of one paired group over another's.

    Attributes
    ----------
    value, low, high : float
        With its 95 % interval; nan where a group does not scatter.
    """

    value: float
    low: float
    high: float

    @property
    def told_apart(self) -> bool:
        """Whether the interval leaves 1 out."""
        return self.low > 1.0 or self.high < 1.0


def ratio_of(values: np.ndarray, others: np.ndarray) -> Ratio:
    """Ratio of the standard deviations of two groups shot with the same draws.

    Notes
    -----
    The sum and the difference of x / sigma_x and y / sigma_y are uncorrelated (Pitman 1939, Morgan 1939 [memory]); the
    interval holds every ratio of the sigmas that this does not refute: with the paired correlation r,
    K = 1 + 2 (1 - r^2) t^2 / (n - 2), it is (s_x / s_y) sqrt(K -+ sqrt(K^2 - 1)).
    """
    from scipy.stats import t as student

    both = np.isfinite(values) & np.isfinite(others)
    x, y = values[both], others[both]
    n = int(x.size)
    if n < 3 or np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        return Ratio(np.nan, np.nan, np.nan)
    value = float(x.std(ddof=1) / y.std(ddof=1))
    r = float(np.corrcoef(x, y)[0, 1])
    k = 1.0 + 2.0 * max(0.0, 1.0 - r * r) * float(student.ppf(0.5 + 0.5 * SURE, n - 2)) ** 2 / (n - 2)
    root = np.sqrt(k * k - 1.0)
    return Ratio(value, value * float(np.sqrt(k - root)), value * float(np.sqrt(k + root)))
