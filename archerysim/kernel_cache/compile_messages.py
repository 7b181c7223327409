"""Tells that kernels are being compiled, which takes a minute the first time.

By `logging`, under the name "archerysim": a warning as it begins, which Python shows by itself; at level INFO
each kernel as it begins, at DEBUG as it ends. A record of a kernel has an attribute ``kernel``: how many have
been begun, how many there are to compile, and how many others wait for this one.
"""

from __future__ import annotations

import logging
import signal
import time
from typing import Any

from numba.core import event

from archerysim.kernel_cache.interrupts import turn, when_heard
from archerysim.kernel_cache.kernel_files import KernelFiles, kept_kernels
from archerysim.kernel_cache.kernel_folder import lasting

log = logging.getLogger("archerysim")
SECONDS = 0.5  # that one takes, about


class _CompileListener(event.Listener):  # type: ignore[misc, unused-ignore]
    """Follows numba as it compiles."""

    def __init__(self) -> None:
        self.names: set[str] = set()  # of all kernels loaded
        self.kept: set[str] | None = None  # those on disk when the first was compiled
        self.begun: set[str] = set()
        self.open: list[float] = []

    def total(self) -> int:
        """How many there are to compile."""
        return max(len(self.names - (self.kept or set())), len(self.begun))

    def on_start(self, event: Any) -> None:
        files = _files(event)
        if files is None:
            return
        first = self.kept is None
        if self.kept is None:
            self.kept = set(kept_kernels(files._folder))
        self.begun.add(files.name)
        if first:
            log.warning("archerysim: compiling %s", _how_long(self.total()))
        about = (len(self.begun), self.total(), len(self.open))
        log.info("archerysim: compiling kernel %d of %d (%s)", *about[:2], files.name, extra={"kernel": about})
        if not self.open:
            turn(signal.default_int_handler, when_heard)
        self.open.append(time.perf_counter())

    def on_end(self, event: Any) -> None:
        files = _files(event)
        if files is None or not self.open:
            return
        took = time.perf_counter() - self.open.pop()
        if not self.open:
            turn(when_heard, signal.default_int_handler)
        about = (len(self.begun), self.total(), len(self.open))
        log.debug("archerysim: compiled %s in %.1f s", files.name, took, extra={"kernel": about})


def _files(event: Any) -> KernelFiles | None:
    """Where the kernel is kept that an event is about; None where it is none of ours."""
    files = getattr((event.data or {}).get("dispatcher"), "_cache", None)
    return files if isinstance(files, KernelFiles) else None


def _how_long(count: int) -> str:
    seconds = SECONDS * count
    what = "a kernel" if count == 1 else f"{count} kernels"
    long = "a minute or two" if seconds > 40 else "about half a minute" if seconds > 20 else "some seconds"
    return f"{what} for this machine ({long}, {'once' if lasting() else 'in every run'})"


COMPILES = _CompileListener()
event.register("numba:compile", COMPILES)
