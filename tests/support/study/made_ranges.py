"""Ranges of the best reading made by hand, from straight lines of bare above fletched over the reading."""

from __future__ import annotations

import numpy as np

from archerysim.study.tuning.aims import DEFAULT_AIM
from archerysim.study.tuning.honest_range import HonestRange


def made_range(sample: np.ndarray, distance: float = 18.0) -> HonestRange:
    """The range of some readings (n,) [mm]; nan where a draw has none."""
    good = sample[np.isfinite(sample)]
    low, middle, high = np.quantile(good, (0.05, 0.5, 0.95)) if good.size > 1 else (np.nan,) * 3
    return HonestRange(DEFAULT_AIM, distance, middle, low, high, sample, (), len(sample) - good.size, {}, 0, (), 0)


def ranges_of_lines(
    readings: np.ndarray, sample: np.ndarray, plain: np.ndarray, distances: np.ndarray
) -> tuple[HonestRange, ...]:
    """The range at each distance, from heights (n, r, d) [m] that fall straight and what is wanted of them (d,) [m]."""
    return tuple(
        made_range(np.array([_crossing(readings, line) for line in sample[:, :, j] - plain[j]]), float(far))
        for j, far in enumerate(distances)
    )


def _crossing(readings: np.ndarray, line: np.ndarray) -> float:
    good = np.isfinite(line)
    if good.sum() < 2:
        return float("nan")
    slope, start = np.polyfit(readings[good], line[good], 1)
    return float(-start / slope) if slope < 0.0 else float("nan")
