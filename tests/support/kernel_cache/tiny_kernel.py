"""A kernel that compiles in no time, and how to have it compiled anew."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from numba import njit

from archerysim.kernel_cache.kernel_files import KernelFiles


def twice(x):  # type: ignore[no-untyped-def]
    return 2.0 * x


def fresh(folder: Path | None) -> Any:
    """The kernel as a process has it that has just begun."""
    compiled = njit(nogil=True)(twice)
    compiled._cache = KernelFiles(twice, folder)
    return compiled


def hits(compiled: Any) -> int:
    """How many of its compiled forms were found on disk."""
    return sum(compiled.stats.cache_hits.values())
