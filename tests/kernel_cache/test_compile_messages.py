"""It is told that kernels are compiled: by logging, and on the command line."""

from __future__ import annotations

import io
import logging
import signal
import sys
from pathlib import Path
from typing import Any

import pytest

from archerysim.cli.messages import log_shown
from archerysim.kernel_cache import compile_messages
from archerysim.kernel_cache.interrupts import when_heard
from tests.support.kernel_cache.tiny_kernel import fresh


@pytest.fixture(autouse=True)
def _none_compiled_yet(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in {
        "kept": None,
        "begun": set(),
        "names": {"tests.support.kernel_cache.tiny_kernel.twice", "other"},
    }.items():
        monkeypatch.setattr(compile_messages.COMPILES, name, value)


def test_by_logging(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG, "archerysim")
    compiled = fresh(tmp_path)
    compiled(1.5)
    compiled(1.5)
    compiled(1)
    assert [(record.levelname, record.getMessage().partition(" in ")[0]) for record in caplog.records] == [
        ("WARNING", "archerysim: compiling 2 kernels for this machine (some seconds, once)"),
        ("INFO", "archerysim: compiling kernel 1 of 2 (tests.support.kernel_cache.tiny_kernel.twice)"),
        ("DEBUG", "archerysim: compiled tests.support.kernel_cache.tiny_kernel.twice"),
        ("INFO", "archerysim: compiling kernel 1 of 2 (tests.support.kernel_cache.tiny_kernel.twice)"),
        ("DEBUG", "archerysim: compiled tests.support.kernel_cache.tiny_kernel.twice"),
    ]
    caplog.clear()
    fresh(tmp_path)(1.5)
    assert not caplog.records


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("kind", [Screen, io.StringIO])
def test_on_the_command_line(kind: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    screen = kind()
    monkeypatch.setattr(sys, "stderr", screen)
    with log_shown():
        fresh(tmp_path)(1.5)
        before = screen.getvalue()
    after = screen.getvalue().removeprefix(before)
    line = "archerysim: compiling 2 kernels for this machine (some seconds, once)\n"
    if kind is Screen:
        assert before == line + "archerysim: compiling kernel 1 of 2" + "\r\x1b[K"
    else:
        assert before == line
    assert after.startswith("archerysim: compiled 1 of 2 kernels in ")
    assert after.endswith("; the others are compiled once they are needed\n")
    with log_shown():
        fresh(tmp_path)(1.5)
    assert screen.getvalue() == before + after  # nothing to tell
    assert not logging.getLogger("archerysim").handlers


def test_interrupts_are_handled_as_before_once_it_is_compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    real = compile_messages.COMPILES.on_end

    def on_end(event: Any) -> None:
        seen.append(signal.getsignal(signal.SIGINT))
        real(event)

    monkeypatch.setattr(compile_messages.COMPILES, "on_end", on_end)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        fresh(tmp_path)(1.5)
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        fresh(tmp_path)(True)
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN  # another's way of handling them stays
    finally:
        signal.signal(signal.SIGINT, before)
    assert when_heard in seen
    assert signal.SIG_IGN in seen
