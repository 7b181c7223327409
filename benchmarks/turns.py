"""Timing in turns, so that a machine that slows down slows all alike."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np


def in_turns(runs: Sequence[Callable[[], Any]], seconds: float) -> np.ndarray:
    """Least processor time of each, run in turns for so long together [ms]."""
    for run in runs:
        run()  # what is still to be compiled
    least, end = np.full(len(runs), np.inf), time.perf_counter() + seconds
    while time.perf_counter() < end:
        for k, run in enumerate(runs):
            start = time.process_time()
            run()
            least[k] = min(least[k], time.process_time() - start)
    return 1e3 * least
