"""Compiled kernels on disk: a file for each kernel and each kind of its arguments.

Numba's own files hold an index beside the programs, read back without a check: two processes that compile at
the same time can leave an index that names the wrong program, and a damaged file ends in a traceback. Here a
file stands for itself. It begins with a hash of what follows; one that does not fit is removed, and the
kernel compiled anew. It appears whole or not at all. A file that cannot be written leaves the kernel for
this run alone.
"""

from __future__ import annotations

import errno
import hashlib
import logging
import os
import pickle
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core import sigutils
from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from archerysim.kernel_cache.interrupts import heard
from archerysim.kernel_cache.private import read_private, write_private

ENDING = ".kernel"
PACKAGE = "archerysim.mechanics."  # whose code the folder's name stands for
LENGTH = hashlib.sha256().digest_size

log = logging.getLogger("archerysim")
_warned_of: set[str] = set()  # what has been said once


def name_of(function: Callable[..., Any]) -> str:
    """A kernel's name: module and function."""
    return f"{function.__module__.removeprefix(PACKAGE)}.{function.__qualname__}"


def kept_kernels(folder: Path | None) -> Counter[str]:
    """Names of the kernels in a folder whose files are whole, and for how many kinds of arguments."""
    found: Counter[str] = Counter()
    if folder is not None:
        for path in folder.glob(f"*{ENDING}"):
            with suppress(OSError):
                if _whole(read_private(path)):
                    found[path.name.rpartition("-")[0]] += 1
    return found


def _whole(content: bytes) -> bool:
    return len(content) > LENGTH and hashlib.sha256(content[LENGTH:]).digest() == content[:LENGTH]


class KernelFiles(_Cache):  # type: ignore[misc, unused-ignore]
    """Where numba looks for a kernel before it compiles it, and leaves it afterwards.

    Parameters
    ----------
    function : callable
        At the top level of its module.
    folder : Path or None
        Private, and keyed by all that the kernels depend on (`kernel_folder`); None: nothing is kept.
    """

    def __init__(self, function: Callable[..., Any], folder: Path | None) -> None:
        self._folder = folder
        self.name = name_of(function)
        self._stamp = b""
        if not function.__module__.startswith(PACKAGE):
            self._stamp = str(function.__code__.co_firstlineno).encode() + _source(function)

    @property
    def cache_path(self) -> str | None:
        return None if self._folder is None else str(self._folder)

    def enable(self) -> None:
        """Asked for by numba; there is nothing to switch."""

    def disable(self) -> None:
        """Asked for by numba; there is nothing to switch."""

    def flush(self) -> None:
        """Remove the kernel's files."""
        if self._folder is not None:
            for path in self._folder.glob(f"{self.name}-*{ENDING}"):
                _remove(path)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kernel for some arguments, or None: then numba compiles it."""
        target_context.refresh()
        if self._folder is None:
            return None
        kinds, path = self._place(sig)
        try:
            content = read_private(path)
            if not _whole(content):
                raise ValueError("is damaged")
            stored, data = pickle.loads(content[LENGTH:])
            if stored != kinds:
                raise ValueError("holds another kernel")
            with heard():
                return CompileResult._rebuild(target_context, *data)
        except FileNotFoundError:
            return None
        except Exception as error:  # whatever is wrong with it, it can be had anew
            _remove(path)
            _say("a kept kernel could not be used and is compiled anew", f"{path.name}: {_problem(error)}")
            return None

    def save_overload(self, sig: Any, cres: Any) -> None:
        """Keep a kernel that has been compiled."""
        if self._folder is None or cres.library.has_dynamic_globals or any(not one.can_cache for one in cres.lifted):
            return
        kinds, path = self._place(sig)
        try:
            data = dumps((kinds, cres._reduce()))
            write_private(path, hashlib.sha256(data).digest() + data)
        except Exception as error:
            _say("compiled kernels cannot be kept and are used for this run only", f"{self._folder}: {_problem(error)}")

    def _place(self, sig: Any) -> tuple[tuple[Any, ...], Path]:
        """Kinds of the arguments, and the file for them."""
        assert self._folder is not None
        kinds = tuple(sigutils.normalize_signature(sig)[0])
        digest = hashlib.sha256(repr([str(kind) for kind in kinds]).encode() + self._stamp).hexdigest()[:16]
        return kinds, self._folder / f"{self.name}-{digest}{ENDING}"


def _source(function: Callable[..., Any]) -> bytes:
    """What a function outside of this folder was read from."""
    try:
        return Path(function.__code__.co_filename).read_bytes()
    except OSError:
        return function.__code__.co_code


def _remove(path: Path) -> None:
    with suppress(OSError):
        path.unlink()


def _problem(error: Exception) -> str:
    if isinstance(error, OSError) and error.errno is not None:
        return "there is a link in its place" if error.errno == errno.ELOOP else os.strerror(error.errno)
    return str(error) or type(error).__name__


def _say(what: str, detail: str) -> None:
    """Say something once a run."""
    if what not in _warned_of:
        _warned_of.add(what)
        log.warning("archerysim: %s (%s)", what, detail)
