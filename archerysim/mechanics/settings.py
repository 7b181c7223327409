"""How the kernels are compiled and where their compiled forms are kept, said once.

``error_model="numpy"`` keeps the inner loops free of the zero-division branch that stops them from using
vector instructions. The fast-math flags are named: contraction, reciprocals and the sign of zero only, so
that tests for NaN stay valid and results do not depend on the order of summation.

Numba notices a change of the file a kernel stands in, but not of a kernel that it calls in another file.
The folder of the compiled forms is therefore keyed by a hash of all kernel sources.

What runs inside another kernel's loop is marked `part`: it is put into its callers' own code. A call between
kernels hands over every field of every array and counts its holders; that cost a third of a release.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
from numba import njit


def source_hash() -> str:
    """Hash of every kernel's source: two libraries with the same hash compute the same numbers."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder() -> Path:
    """Folder of the compiled kernels; ARCHERYSIM_CACHE names another place for it."""
    base = os.environ.get("ARCHERYSIM_CACHE") or os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    folder = Path(base) / "archerysim" / f"kernels-{SOURCE_HASH}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if os.access(folder, os.W_OK):
            return folder
    except OSError:
        pass
    folder = Path(tempfile.gettempdir()) / f"archerysim-{os.getuid() if hasattr(os, 'getuid') else 0}" / folder.name
    folder.mkdir(parents=True, exist_ok=True)
    return folder


SOURCE_HASH = source_hash()
CACHE = cache_folder()


def kernel(function: Callable[..., Any], inside: bool = False) -> Callable[..., Any]:
    """Compile a module-level function for numbers and arrays."""
    before = numba.config.CACHE_DIR  # type: ignore[attr-defined]
    numba.config.CACHE_DIR = str(CACHE)  # type: ignore[attr-defined]
    try:
        return njit(  # type: ignore[no-any-return]
            cache=True, nogil=True, error_model="numpy", fastmath={"contract", "arcp", "nsz"}, forceinline=inside
        )(function)
    finally:
        numba.config.CACHE_DIR = before  # type: ignore[attr-defined]


def part(function: Callable[..., Any]) -> Callable[..., Any]:
    """A `kernel` that becomes part of each kernel that calls it."""
    return kernel(function, True)
