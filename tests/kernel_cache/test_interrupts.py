"""Interrupts that come at bad moments: none is lost, and nothing is left half done."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from archerysim.kernel_cache import kernel_files
from archerysim.kernel_cache.interrupts import heard, put_off, uninterrupted, when_heard
from tests.support.kernel_cache.tiny_kernel import fresh, hits


@pytest.fixture(autouse=True)
def _handled_by_python() -> Iterator[None]:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    left = signal.signal(signal.SIGINT, before)
    assert left is signal.default_int_handler


def interrupt() -> None:
    signal.raise_signal(signal.SIGINT)
    time.sleep(0.0)  # it is seen to between two steps


def test_within_a_call_back_it_is_put_off(monkeypatch: pytest.MonkeyPatch) -> None:
    again: list[threading.Timer] = []
    monkeypatch.setattr(threading.Timer, "start", lambda timer: again.append(timer))

    def _raw_object_cache_notify() -> str:
        interrupt()
        return "reached its end"

    def later(function: Callable[[], object]) -> None:
        function()
        time.sleep(0.0)

    with heard():
        assert _raw_object_cache_notify() == "reached its end"
        (timer,) = again
        with pytest.raises(KeyboardInterrupt):
            later(timer.function)
        with pytest.raises(KeyboardInterrupt):
            interrupt()


def test_it_is_heard_while_a_kernel_is_read_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fresh(tmp_path)(1.5)
    seen = []
    rebuild = kernel_files.CompileResult._rebuild

    def watched(*arguments: object) -> object:
        seen.append(signal.getsignal(signal.SIGINT))
        return rebuild(*arguments)

    monkeypatch.setattr(kernel_files.CompileResult, "_rebuild", watched)
    again = fresh(tmp_path)
    assert again(1.5) == 3.0
    assert hits(again) == 1
    assert seen == [when_heard]


def test_a_first_one_waits_and_a_second_does_not() -> None:
    with put_off() as came:
        interrupt()
        assert came == [signal.SIGINT]
        with pytest.raises(KeyboardInterrupt):
            interrupt()


def test_it_comes_afterwards() -> None:
    done = []

    def work() -> None:
        with uninterrupted():
            interrupt()
            done.append("all")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["all"]


def test_another_way_of_handling_them_stays() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with heard(), put_off() as came:
            assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
            interrupt()
        assert not came
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def test_in_other_threads_nothing_is_touched() -> None:
    seen = []

    def work() -> None:
        with heard(), uninterrupted():
            seen.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [signal.default_int_handler]
