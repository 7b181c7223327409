"""Which physics computed a shot: a hash of everything that decides its numbers."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from archerysim.mechanics.settings import SOURCE_HASH


@cache
def physics_version() -> str:
    """Hash of the sources of kernels, shot and records (their defaults decide numbers too)."""
    digest = hashlib.sha256(SOURCE_HASH.encode())
    here = Path(__file__).parent
    for folder in (here, here.parent / "equipment"):
        for path in sorted(folder.glob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
