"""Compiled kernels on disk: damaged, planted, in the way, written by several at once, or not at all."""

from __future__ import annotations

import hashlib
import logging
import os
import pickle
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from archerysim.kernel_cache import kernel_files
from archerysim.kernel_cache.kernel_files import kept_kernels
from tests.support.kernel_cache.tiny_kernel import fresh, hits

ROOT = Path(__file__).parents[2]
NAME = "tests.support.kernel_cache.tiny_kernel.twice"


@pytest.fixture(autouse=True)
def _nothing_said_yet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel_files, "_warned_of", set())


def kept(folder: Path) -> Path:
    """The one file, of a kernel compiled into the folder."""
    assert fresh(folder)(1.5) == 3.0
    (path,) = folder.iterdir()
    return path


def test_a_kernel_is_found_again(tmp_path: Path) -> None:
    path = kept(tmp_path)
    before = path.stat()
    again = fresh(tmp_path)
    assert again(2.5) == 5.0
    assert hits(again) == 1
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert kept_kernels(tmp_path) == {NAME: 1}
    assert again(3) == 6.0  # for another kind of argument
    assert kept_kernels(tmp_path) == {NAME: 2}


class Bomb:
    def __init__(self, marker: Path) -> None:
        self.marker = marker

    def __reduce__(self) -> tuple[Callable[..., object], tuple[object, ...]]:
        return Path.touch, (self.marker,)


def _with_hash(data: bytes) -> bytes:
    return hashlib.sha256(data).digest() + data


def _one_bit(content: bytes) -> bytes:
    k = len(content) // 2
    return content[:k] + bytes([content[k] ^ 1]) + content[k + 1 :]


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda content: b"",
    "a byte": lambda content: content[:1],
    "no more than the hash": lambda content: content[:32],
    "cut off": lambda content: content[: len(content) // 2],
    "the last byte": lambda content: content[:-1],
    "one bit": _one_bit,
    "garbage": lambda content: bytes(range(256)) * 40,
    "zeros": lambda content: bytes(len(content)),
    "longer": lambda content: content + b"more",
    "something else, whole": lambda content: _with_hash(pickle.dumps(("no", "kernel", "at all"))),
    "another kernel, whole": lambda content: _with_hash(pickle.dumps(((), pickle.loads(content[32:])[1]))),
    "half a kernel, whole": lambda content: _with_hash(pickle.dumps((pickle.loads(content[32:])[0], ()))),
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_file_is_cleared_and_the_kernel_compiled_anew(
    kind: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = kept(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(DAMAGE[kind](whole))
    caplog.clear()
    again = fresh(tmp_path)
    assert again(1.5) == 3.0
    assert hits(again) == 0
    (said,) = [record.getMessage() for record in caplog.records if "could not be used" in record.getMessage()]
    assert path.name in said
    assert "\n" not in said
    assert path.read_bytes() != DAMAGE[kind](whole)
    last = fresh(tmp_path)
    assert last(1.5) == 3.0
    assert hits(last) == 1
    assert list(tmp_path.iterdir()) == [path]


def test_many_damaged_files_are_told_of_once(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    first = fresh(tmp_path)
    for value in (1, 1.5, True):
        first(value)
    for path in tmp_path.iterdir():
        path.write_bytes(b"")
    assert kept_kernels(tmp_path) == {}
    caplog.clear()
    again = fresh(tmp_path)
    assert [again(value) for value in (1, 1.5, True)] == [2.0, 3.0, 2.0]
    assert sum("could not be used" in record.getMessage() for record in caplog.records) == 1


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="no owners and modes here")
def test_a_file_that_others_may_have_written_is_not_run(tmp_path: Path) -> None:
    folder, marker = tmp_path / "kernels", tmp_path / "it has run"
    folder.mkdir()
    path = kept(folder)
    path.write_bytes(_with_hash(pickle.dumps(Bomb(marker))))
    path.chmod(0o666)
    again = fresh(folder)
    assert again(1.5) == 3.0
    assert hits(again) == 0
    assert not marker.exists()


def test_a_damaged_file_is_not_read_as_a_program(tmp_path: Path) -> None:
    folder, marker = tmp_path / "kernels", tmp_path / "it has run"
    folder.mkdir()
    path = kept(folder)
    path.write_bytes(path.read_bytes()[:32] + pickle.dumps(Bomb(marker)))
    assert fresh(folder)(1.5) == 3.0
    assert not marker.exists()


def test_something_in_the_way(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    path = kept(tmp_path)
    path.unlink()
    path.mkdir()
    for _ in range(2):
        assert fresh(tmp_path)(1.5) == 3.0
    said = [record.getMessage() for record in caplog.records if record.levelno == logging.WARNING]
    assert sum("cannot be kept" in one for one in said) == 1
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("number", [28, 30, 13, 2])  # full, read-only, forbidden, folder gone
def test_a_folder_that_cannot_be_written(
    number: int, tmp_path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(kernel_files, "write_private", fail)
    compiled = fresh(tmp_path)
    assert (compiled(1.5), compiled(1), compiled(True)) == (3.0, 2.0, 2.0)
    (said,) = [record.getMessage() for record in caplog.records if "cannot be kept" in record.getMessage()]
    assert os.strerror(number) in said
    assert not list(tmp_path.iterdir())


def test_no_folder_at_all() -> None:
    compiled = fresh(None)
    assert compiled(1.5) == 3.0
    assert hits(compiled) == 0


def test_another_source_of_a_kernel_outside_of_the_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept(tmp_path)
    monkeypatch.setattr(kernel_files, "_source", lambda function: b"edited")
    edited = fresh(tmp_path)
    assert edited(1.5) == 3.0
    assert hits(edited) == 0


WRITER = """
import sys
from pathlib import Path
from tests.support.kernel_cache.tiny_kernel import fresh
sys.stdin.readline()
for _ in range(2):
    compiled = fresh(Path(sys.argv[1]))
    assert [compiled(value) for value in (1, 1.5, True, 1j)] == [2.0, 3.0, 2.0, 2j]
"""


def test_processes_that_begin_together(tmp_path: Path) -> None:
    """While a third removes what they have written."""
    env = dict(os.environ, PYTHONPATH=str(ROOT))
    command = [sys.executable, "-c", WRITER, str(tmp_path)]
    started = [
        subprocess.Popen(command, env=env, stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for process in started:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    while any(process.poll() is None for process in started):
        for path in tmp_path.glob("*.kernel"):
            path.unlink(missing_ok=True)
        time.sleep(0.05)
    for process in started:
        _, err = process.communicate()
        assert process.returncode == 0, err
        assert err.count("\n") <= 1, err
    assert not list(tmp_path.glob("*.part"))
