"""Whether the kernels have been compiled on this machine."""

from __future__ import annotations

from archerysim.mechanics.settings import CACHE


def is_cold() -> bool:
    """Whether no kernel of this version has been compiled here yet."""
    return not any(CACHE.rglob("*.nbi"))
