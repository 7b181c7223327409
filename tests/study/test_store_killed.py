"""Sweeps that are killed while they write."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.support.study import small_sweep

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills by POSIX signals")


def test_killed_twenty_times_a_sweep_loses_nothing(tmp_path: Path) -> None:
    path = tmp_path / "runs.sqlite"
    done = subprocess.run(
        [sys.executable, "-m", "tests.support.study.killed_sweep", str(path), "20", "1"],
        cwd=ROOT, check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    counts = told["counts"]
    assert len(counts) == 20
    assert counts == sorted(counts)
    assert any(0 < count < told["points"] for count in counts)  # killed on the way, not only before or after
    assert told["read"] == counts[-1]
    assert told["computed"] == told["points"] - counts[-1]
    assert told["same"]


WITH_WORKERS = """
import multiprocessing, sys
from tests.support.study import small_sweep
from tests.support.study.killed_sweep import OVER

def tell(done, total):
    if done == 20:
        print(*[child.pid for child in multiprocessing.active_children()], flush=True)

import archerysim
from archerysim.study.run import workers
if sys.argv[2] == "forkserver":
    workers.way_to_start = lambda: "forkserver"
assert workers.way_to_start() == sys.argv[2]
archerysim.sweep(small_sweep.bow(), OVER, mesh="coarse", workers=2, store=sys.argv[1], progress=tell)
sys.stdin.read()
"""


@pytest.mark.parametrize("way", ["fork", "forkserver"])
def test_workers_end_with_the_sweep_that_started_them(way: str, tmp_path: Path) -> None:
    if way == "fork" and sys.platform != "linux":
        pytest.skip("no forking of the caller here")
    path = tmp_path / "runs.sqlite"
    script = tmp_path / "script.py"  # without a guard: workers do not run it again
    script.write_text(WITH_WORKERS)
    env = dict(os.environ, PYTHONPATH=str(ROOT))
    command = [sys.executable, str(script), str(path), way]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=env) as process:
        assert process.stdout is not None
        workers = [int(word) for word in process.stdout.readline().split()]
        process.send_signal(signal.SIGKILL)
    assert len(workers) == 2
    until = time.monotonic() + 60.0
    while any(_runs(worker) for worker in workers) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(_runs(worker) for worker in workers)
    from tests.support.study.killed_sweep import OVER

    data = small_sweep.sweep(OVER, workers=1, store=path)
    assert data.attrs["points_read"] >= 20
    assert data.attrs["points_read"] + data.attrs["points_computed"] == 80


def _runs(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        try:
            os.kill(pid, 0)
        except OSError:
            return False
        return not Path("/proc/self").exists()
    return state not in "ZX"
