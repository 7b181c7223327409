"""What the library logs while a command runs, on the command line's second stream.

Warnings are lines. Kernels that are being compiled are one line that changes, on a terminal; elsewhere it is
said that they are, and in the end how long it took.
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
        self.count = 0  # of kernels
        self.begin = self.end = 0.0
        self.open = False  # a line that will change

    def emit(self, record: logging.LogRecord) -> None:
        about: tuple[int, int, int] | None = getattr(record, "kernel", None)
        if about is not None:
            self._kernel(*about, ended=record.levelno < logging.INFO)
        elif record.levelno >= logging.WARNING:
            self._write(record.getMessage() + "\n")

    def _kernel(self, number: int, of: int, waiting: int, ended: bool) -> None:
        self.end = time.monotonic()
        if not self.count:
            self.begin = self.end
        self.count = max(self.count, number)
        if not sys.stderr.isatty():
            return
        if ended and not waiting:
            self._write("")
        elif not ended:
            self._write(f"archerysim: compiling kernel {number} of {of}")
            self.open = True

    def finish(self) -> None:
        """Tell what was compiled."""
        what = "a kernel" if self.count == 1 else f"{self.count} kernels"
        self._write(f"archerysim: compiled {what} in {self.end - self.begin:.0f} s\n" if self.count else "")

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
