"""A disk that is full, here a limit on the size of files: one line, the older file kept, nothing else left."""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from tests.support.cli.run_commands import ROOT
from tests.support.shot.example_bows import READING, path_of

# Runs command after command, whose words it is told, each in a process of its own that is forked once all is loaded and
# compiled, and then limited. (Two more processes would write their own files.)
LIMITED = """
import json, os, resource, sys
from archerysim.shot.warm_up import shoot_once
shoot_once()
import h5netcdf, matplotlib.font_manager, matplotlib.pyplot, pandas, scipy.stats, sqlite3, xarray
from archerysim.cli.main import main

for line in sys.stdin:
    words, said = json.loads(line)
    child = os.fork()
    if child == 0:
        os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT), 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
        sys.exit(main(words))
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""
JUNIOR = (str(path_of("junior")), "--mesh", "coarse")
SWEEP = ("sweep", *JUNIOR, "--over", f"{READING}=6:8:1 mm")
JOBS: dict[str, tuple[tuple[str, ...], str, str]] = {
    "netCDF": ((*SWEEP, "--out"), "a.nc", "out"),
    "CSV": ((*SWEEP, "--out"), "a.csv", "out"),
    "picture": ((*SWEEP, "--plot"), "a.png", "plot"),
    "drawing": (("draw", *JUNIOR, "--plot"), "a.svg", "plot"),
    "document": (("draw", *JUNIOR, "--plot"), "a.pdf", "plot"),
    "traces": (("shoot", *JUNIOR, "--out"), "a.csv", "out"),
    "draws": (("uncertainty", *JUNIOR, "--known-to", "nock.slope=1 deg", "--draws", "8", "--out"), "a.csv", "out"),
    "store": ((*SWEEP, "--store"), "a.sqlite", "store"),
}


@cache
def process() -> subprocess.Popen[str]:
    """`LIMITED`, once for all jobs."""
    pipe = subprocess.PIPE
    found = subprocess.Popen([sys.executable, "-c", LIMITED], cwd=ROOT, text=True, stdin=pipe, stdout=pipe)
    atexit.register(found.communicate)
    return found


def limited(folder: Path, *words: str) -> tuple[int, str]:
    """Status of a command on a full disk, and what it says on the second stream."""
    said = folder.with_name(f"{folder.name}-said")
    running = process()
    assert running.stdin is not None
    assert running.stdout is not None
    print(json.dumps([words, str(said)]), file=running.stdin, flush=True)
    return int(running.stdout.readline()), said.read_text(encoding="utf-8")


@pytest.mark.skipif(os.name != "posix", reason="limits of POSIX")
@pytest.mark.parametrize("job", JOBS)
def test_it_is_told_in_a_line(job: str, tmp_path: Path) -> None:
    arguments, name, field = JOBS[job]
    target = tmp_path / name
    if job != "store":
        target.write_text("kept")
    status, said = limited(tmp_path, *arguments, str(target))
    assert status == 2, said  # not killed by a signal
    assert said.startswith(f"archerysim: {field}: {target} cannot be written (")
    assert "Make room on the disk" in said
    assert said.count("\n") == 1
    assert [one.name for one in tmp_path.iterdir()] == [name]
    if job != "store":
        assert target.read_text() == "kept"
