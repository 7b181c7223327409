"""Which folder holds the compiled kernels.

Its name tells apart whatever they depend on: the code of all kernels (a kernel holds parts of those that it
calls), Python, numba, LLVM, numpy and how numba is set, and the processor. What is found there is therefore
fit to be used; where anything differs the folder is another one, and empty at first.

`ARCHERYSIM_CACHE` names another place for it; else it is under `XDG_CACHE_HOME` or `~/.cache`. Where no
folder of the user's own can be had there, one is made for this run, and removed as it ends.
"""

from __future__ import annotations

import atexit
import hashlib
import logging
import os
import shutil
import sys
import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path

from archerysim.kernel_cache.code_hash import code_hash, sources
from archerysim.kernel_cache.private import private_folder, read_private, user, write_private

VARIABLE = "ARCHERYSIM_CACHE"
FORMAT = 1  # of the files of kernels
KERNELS = Path(__file__).parent.parent / "mechanics"
STATUS = KERNELS.with_name("status.py")  # whose numbers stand in them
SETTINGS = (  # numba's settings that decide what is compiled
    "OPT", "LOOP_VECTORIZE", "SLP_VECTORIZE", "ENABLE_AVX", "USING_SVML", "BOUNDSCHECK", "DEBUGINFO_DEFAULT",
)  # fmt: skip

log = logging.getLogger("archerysim")
_made: list[Path] = []  # for this run


@cache
def home() -> Path | None:
    """The library's own folder of things kept from run to run; None where there is none."""
    try:
        return _home_in(Path(os.environ.get(VARIABLE) or os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"))
    except (OSError, RuntimeError, ValueError) as error:  # RuntimeError: no home folder
        problem = str(error.strerror or error) if isinstance(error, OSError) else str(error)
        where = getattr(error, "filename", None)
    try:
        made = Path(tempfile.mkdtemp(prefix="archerysim-"))
        atexit.register(_remove, made, os.getpid())
        own = _home_in(made)
        _made.append(own)
    except OSError:
        own = None
    else:
        os.environ[VARIABLE] = str(made)  # processes started from here use it too
    log.warning(
        "archerysim: compiled kernels are not kept: %s; let %s name a folder of your own",
        f"{where}: {problem}" if where else problem, VARIABLE,
    )  # fmt: skip
    return own


def lasting() -> bool:
    """Whether what is kept is there in the next run."""
    return home() is not None and home() not in _made


def _home_in(base: Path) -> Path:
    base = Path(os.path.realpath(base))
    shared = base.is_dir() and base.stat().st_mode & 0o022  # as /tmp: every user has one there
    return private_folder(base / (f"archerysim-{user()}" if shared and user() is not None else "archerysim"))


def _remove(folder: Path, process: int) -> None:
    if os.getpid() == process:
        shutil.rmtree(folder, ignore_errors=True)


def kept_hash(*paths: Path) -> str:
    """`code_hash` of some sources; kept, as parsing them takes longer than reading (some 60 ms for all kernels)."""
    raw = hashlib.sha256()
    for name, path in sources(*paths):
        content = path.read_bytes()
        raw.update(f"{name}\n{len(content)}\n".encode() + content)
    folder = home()
    kept = folder / f"code-{raw.hexdigest()[:32]}" if folder is not None else None
    if kept is not None:
        with suppress(OSError, ValueError):
            known = read_private(kept).decode("ascii")
            if len(known) == 16 and int(known, 16) >= 0:
                return known
    found = code_hash(*paths)
    if kept is not None:
        with suppress(OSError):
            write_private(kept, found.encode("ascii"))
    return found


def kernel_folder() -> Path | None:
    """The folder of the compiled kernels, made where it is not there; None where they cannot be kept."""
    folder = home()
    if folder is None:
        return None
    try:
        return private_folder(folder / f"kernels-{_key()}")
    except OSError as error:
        log.warning("archerysim: compiled kernels are not kept: %s; let %s name another folder", error, VARIABLE)
        return None


def _key() -> str:
    """Hash of all that decides a compiled kernel."""
    import llvmlite
    import numba
    import numpy as np
    from numba.core.registry import cpu_target

    parts = (
        FORMAT, kept_hash(KERNELS, STATUS),
        sys.implementation.cache_tag, getattr(sys, "abiflags", ""), sys.maxsize, sys.byteorder,
        numba.__version__, llvmlite.__version__, np.__version__,
        cpu_target.target_context.codegen().magic_tuple(),  # system, processor and its features
        [(name, getattr(numba.config, name, None)) for name in SETTINGS],
    )  # fmt: skip
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]
