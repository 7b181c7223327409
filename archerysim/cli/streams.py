"""Standard output and error of the command line: letters that they cannot show, and a place that is full or gone."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any

UNTOLD = 2  # exit status where what was to be printed could not be
REFUSALS = {getattr(errno, name, None) for name in ("ENOSPC", "EDQUOT", "EFBIG", "EIO", "EBADF", "EPIPE")}


def heard(run: Callable[[], int]) -> int:
    """What ``run`` returns, once all that it printed has left; else the exit status after one line about it.

    A reader that has gone away, as ``head`` does, is no failure. Letters that the output's encoding does not have
    are printed as question marks.
    """
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        try:
            return run()
        finally:
            if sys.stdout is not None:
                sys.stdout.flush()
    except BrokenPipeError:
        _let_go(sys.stdout)
        return 0
    except OSError as error:
        if error.errno not in REFUSALS:
            raise
        _let_go(sys.stdout)
        tell(f"the output cannot be written ({error.strerror}). Make room, or send it elsewhere.")
        return UNTOLD


def tell(line: str) -> None:
    """Print a line to standard error, if it can be."""
    try:
        print(f"archerysim: {line}", file=sys.stderr, flush=True)
    except OSError:
        _let_go(sys.stderr)


def _let_go(stream: Any) -> None:
    """Have what is still held back for a stream go nowhere, so that the end of the process does not fail at it."""
    with suppress(AttributeError, OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
