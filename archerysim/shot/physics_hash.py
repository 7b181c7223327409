"""Which physics computed a shot: a hash of everything that decides its numbers."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from archerysim.kernel_cache.kernel_folder import kept_hash


@cache
def physics_version() -> str:
    """Hash of the code of kernels, shot and records (their defaults decide numbers too), without its comments."""
    package = Path(__file__).parent.parent
    return kept_hash(*(package / name for name in ("status.py", "fields", "mechanics", "equipment", "shot")))
