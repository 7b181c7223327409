"""Ctrl-C, sent to every process as a terminal does: once, a sweep tells and writes what is done; twice, it ends."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from archerysim.__main__ import run
from archerysim.study.run.row import NOT_SHOT
from archerysim.study.sweeps.dataset import dimension
from archerysim.study.sweeps.table_file import read
from tests.support.cli import interrupted_command
from tests.support.cli.run_commands import ROOT, Ran, compiled, here
from tests.support.shot.example_bows import path_of

pytestmark = pytest.mark.skipif(os.name != "posix", reason="groups of processes as POSIX has them")
SCRIPT = Path(interrupted_command.__file__)
READING = "nock.locators.reading"
FLAT = ("--mesh", "coarse", "--planes", "1")
SWEEP = ("sweep", str(path_of("club-outdoor")), "--over", f"{READING}=4 mm:5.1 mm:0.1 mm", *FLAT)

WAIT = re.compile("archerysim: .* to be shot: .*\n")  # how long it will be: where the machine is busy it is told

GROUP = ("group", str(path_of("club-outdoor")), "--shots", "12", *FLAT)


@pytest.fixture(autouse=True)
def _heeded() -> Iterator[None]:
    """A shell has its jobs in the background ignore Ctrl-C, and so those that they start: here it is heeded."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def interrupted(place: str, *options: str | Path, times: int = 1, command: tuple[str, ...] = SWEEP) -> Ran:
    """A sweep, or another command, that is interrupted each time it waits."""
    compiled()
    words = [sys.executable, str(SCRIPT), place, *command, *map(str, options)]
    process = subprocess.Popen(
        words, cwd=ROOT, env=dict(os.environ, PYTHONPATH=str(ROOT)), start_new_session=True, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stderr is not None
    said = []
    for _ in range(times):
        while not (line := process.stderr.readline()).startswith("waiting"):
            assert line, "".join(said)
            said.append(line)
        os.killpg(process.pid, signal.SIGINT)
    try:
        out, err = process.communicate(timeout=300)
    finally:
        with suppress(ProcessLookupError):
            until = time.monotonic() + 60.0
            while time.monotonic() < until:  # helpers of multiprocessing end a moment after it
                os.killpg(process.pid, 0)
                time.sleep(0.02)
            os.killpg(process.pid, signal.SIGKILL)
            pytest.fail("a process is left behind")
    err = WAIT.sub("", "".join(said) + err.replace("waiting\n", ""))
    assert "Traceback" not in err
    assert "Exception" not in err
    return Ran(process.returncode, out, err)


@pytest.mark.parametrize("workers", ["1", "2"])
def test_once_prints_and_writes_what_is_done(workers: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table, store = tmp_path / "sweep.csv", tmp_path / "runs.sqlite"
    options = ("--out", table, "--store", store)
    done = interrupted("points", *options, "--workers", workers)
    assert done.status == 130
    data = read(table)
    assert data.sizes[dimension(READING)] == 12
    status = data["status"].values
    assert (status == 0).sum() == 7  # while the eighth is handed over
    left = data.where(data["status"] == NOT_SHOT, drop=True)
    assert left.sizes[dimension(READING)] == 5
    assert set(left["reason"].values) == {"interrupted: not shot"}
    assert left["pitch"].isnull().all()
    assert data.attrs["points_not_shot"] == 5
    rows = [line for line in done.out.splitlines() if re.match(r"\s*[\d.]+ mm \(", line)]
    assert len(rows) == 7
    assert "7 of 12 points are shot" in done.out
    assert "No result" not in done.out
    (said,) = done.err.splitlines()
    assert said.startswith("archerysim: interrupted: 7 of 12 points are shot")
    assert str(table) in said
    assert f"kept in {store}: the same command goes on from there" in said

    again = here(capsys, *SWEEP, *options, "--workers", "1")
    assert again.status == 0
    words = WAIT.sub("", again.err).split()
    assert int(words[0]) >= 7  # read
    assert int(words[0]) + int(words[3]) == 12
    assert (read(table)["status"].values == 0).all()


def test_once_without_a_store_names_it(tmp_path: Path) -> None:
    done = interrupted("points", "--workers", "1", "--plot", tmp_path / "sweep.png")
    assert done.status == 130
    assert "--store FILE" in done.err
    assert "no picture is drawn" in done.err
    assert not list(tmp_path.iterdir())
    assert len(done.out.splitlines()) > 8


def test_once_before_anything_is_done(tmp_path: Path) -> None:
    """An older file stays."""
    table = tmp_path / "sweep.csv"
    table.write_text("an older one")
    done = interrupted("first point", "--workers", "1", "--out", table)
    assert done == Ran(130, "", "archerysim: interrupted\n")
    assert table.read_text() == "an older one"


def test_once_while_the_workers_are_busy(tmp_path: Path) -> None:
    """They are not waited for, however long they would take."""
    done = interrupted("worker", "--workers", "2", "--out", tmp_path / "sweep.csv")
    assert done.status == 130
    assert "1 of 12 points are shot" in done.err
    assert (read(tmp_path / "sweep.csv")["status"].values == 0).sum() == 1


@pytest.mark.parametrize(("workers", "least"), [("1", 12), ("2", 1)])
def test_once_while_packages_are_imported(workers: str, least: int, tmp_path: Path) -> None:
    """By halves they could not be imported again, and what is done would be lost."""
    table = tmp_path / "sweep.csv"
    done = interrupted("tables", "--workers", workers, "--out", table)
    assert done.status == 130
    count = (read(table)["status"].values == 0).sum()
    assert least <= count <= 12
    assert done.err.startswith(f"archerysim: interrupted: {count} of 12 points are shot; {table} holds them")


def test_once_while_the_command_line_is_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    def main() -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("archerysim.cli.main.main", main)
    assert run() == 130


def test_twice_ends_at_once(tmp_path: Path) -> None:
    """Before what is done has been written; no half of a file is left."""
    done = interrupted("writing", "--workers", "2", "--out", tmp_path / "sweep.csv", times=2)
    assert done.status == 130
    assert done.err == "archerysim: interrupted\n"
    assert not list(tmp_path.iterdir())


def test_while_it_compiles(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "archerysim", "check", str(path_of("club-outdoor"))]
    env = dict(os.environ, ARCHERYSIM_CACHE=str(tmp_path), PYTHONPATH=str(ROOT))
    process = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    assert process.stderr.readline().startswith("archerysim: compiling ")
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=300)
    assert (process.returncode, out) == (130, "")
    assert err.splitlines()[-1] == "archerysim: interrupted"
    assert len(err.splitlines()) <= 2  # how much was compiled, and this
    assert not list(tmp_path.rglob("*.part"))


def test_a_group_goes_on_from_its_store(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its points are kept as they come back from the workers; one process goes on as a sweep does, above."""
    store, alone = tmp_path / "runs.sqlite", (*GROUP, "--workers", "1")
    done = interrupted("points", "--store", store, command=(*GROUP, "--workers", "2"))
    assert done.status == 130
    assert done.out == ""
    assert (
        done.err == f"archerysim: interrupted; what is done is kept in {store}: the same command goes on from there\n"
    )
    again = here(capsys, *alone, "--store", store)
    assert (again.status, again.out) == (0, here(capsys, *alone).out)  # whatever shoots it


def test_without_a_store_a_group_is_lost() -> None:
    assert interrupted("points", command=(*GROUP, "--workers", "1")).err == "archerysim: interrupted\n"
