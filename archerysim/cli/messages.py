"""What the library logs while a command runs, on the command line's second stream.

Warnings are lines, and so is how long a wait will be where there is no bar. Kernels that are being compiled are one
line that changes, on a terminal; elsewhere it is said that they are. In the end it is said how many were compiled, of
those that may be needed, and how long it took.
"""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager


class _Lines(logging.Handler):
    """Writes records as lines."""

    def __init__(self) -> None:
        super().__init__()
        self.count = self.of = 0  # of kernels: compiled, and those that may be needed
        self.begin = self.end = 0.0
        self.open = False  # a line that will change

    def emit(self, record: logging.LogRecord) -> None:
        about: tuple[int, int, int] | None = getattr(record, "kernel", None)
        if about is not None:
            self._kernel(*about, ended=record.levelno < logging.INFO)
        elif getattr(record, "wait", None) is not None:
            self._write(f"archerysim: {record.getMessage()}\n")
        elif record.levelno >= logging.WARNING:
            self._write(record.getMessage() + "\n")

    def _kernel(self, number: int, of: int, waiting: int, ended: bool) -> None:
        self.end = time.monotonic()
        if not self.count:
            self.begin = self.end
        self.count, self.of = max(self.count, number), max(self.of, of)
        if not sys.stderr.isatty():
            return
        if ended and not waiting:
            self._write("")
        elif not ended:
            self._write(f"archerysim: compiling kernel {number} of {of}")
            self.open = True

    def finish(self) -> None:
        """Tell what was compiled."""
        if not self.count:
            self._write("")
            return
        what = "all" if self.count == self.of else f"{self.count} of"
        more = "" if self.count == self.of else "; the others are compiled once they are needed"
        what = "the kernel" if self.of == 1 else f"{what} {self.of} kernels"
        self._write(f"archerysim: compiled {what} in {self.end - self.begin:.0f} s{more}\n")

    def _write(self, text: str) -> None:
        try:
            sys.stderr.write(("\r\x1b[K" if self.open else "") + text)
            sys.stderr.flush()
        except (OSError, ValueError):  # closed by whoever reads it
            pass
        self.open = False


@contextmanager
def log_shown() -> Iterator[None]:
    """While a command runs: show what is logged."""
    log = logging.getLogger("archerysim")
    lines, level = _Lines(), log.level
    log.addHandler(lines)
    log.setLevel(logging.DEBUG)
    try:
        yield
    finally:
        log.removeHandler(lines)
        log.setLevel(level)
        lines.finish()
