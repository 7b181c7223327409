"""Interrupts (Ctrl-C) at moments when Python would lose them or leave halves behind.

Python turns an interrupt into a KeyboardInterrupt at the next step, wherever that is. In LLVM's calls back into
Python no error gets out: it would be printed and forgotten. In an import of compiled packages it leaves
modules behind that cannot be imported again. Only Python's own way of handling interrupts is replaced, in the
main thread, and for the while.
"""

from __future__ import annotations

import _thread
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

MOMENT = 0.05  # [s]
CALLED_BACK = {"_raw_object_cache_notify", "_raw_object_cache_getbuffer", "_on_type_disposal", "__del__"}


def turn(present: Any, wanted: Any) -> bool:
    """Have interrupts handled in another way if the present one is as expected; whether it was."""
    fits = threading.current_thread() is threading.main_thread() and signal.getsignal(signal.SIGINT) is present
    if fits:
        signal.signal(signal.SIGINT, wanted)
    return fits


def when_heard(number: int, frame: FrameType | None) -> None:
    """Interrupt, unless called back: then try again a moment later."""
    within = frame
    while within is not None:
        if within.f_code.co_name in CALLED_BACK:
            threading.Timer(MOMENT, _thread.interrupt_main).start()
            return
        within = within.f_back
    signal.default_int_handler(number, frame)


@contextmanager
def heard() -> Iterator[None]:
    """While LLVM works: no interrupt is lost."""
    turned = turn(signal.default_int_handler, when_heard)
    try:
        yield
    finally:
        if turned:
            turn(when_heard, signal.default_int_handler)


@contextmanager
def put_off() -> Iterator[list[int]]:
    """While something must not be left half done: a first interrupt is only noted, a second one interrupts."""
    came: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:
        came.append(number)
        if len(came) > 1:
            signal.default_int_handler(number, frame)

    turned = turn(signal.default_int_handler, note)
    try:
        yield came
    finally:
        if turned:
            turn(note, signal.default_int_handler)


@contextmanager
def uninterrupted() -> Iterator[None]:
    """The same, and the interrupt comes afterwards."""
    with put_off() as came:
        yield
    if came:
        raise KeyboardInterrupt
