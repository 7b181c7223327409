"""A disk that is full, here a limit on the size of files: one line, the older file kept, nothing else left."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.cli.run_commands import ROOT
from tests.support.shot.example_bows import READING, path_of

# Two more processes would write their own files; the limit is set once all is loaded and compiled.
LIMITED = """
import resource, sys
from archerysim.shot.warm_up import shoot_once
shoot_once()
import matplotlib.font_manager
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
from archerysim.cli.main import main
sys.exit(main(sys.argv[1:]))
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
    "draws": (("uncertainty", *JUNIOR, "--known-to", "nock.slope=1 deg", "--draws", "64", "--out"), "a.csv", "out"),
    "store": ((*SWEEP, "--store"), "a.sqlite", "store"),
}


@pytest.mark.skipif(os.name != "posix", reason="limits of POSIX")
@pytest.mark.parametrize("job", JOBS)
def test_it_is_told_in_a_line(job: str, tmp_path: Path) -> None:
    arguments, name, field = JOBS[job]
    target = tmp_path / name
    if job != "store":
        target.write_text("kept")
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, *arguments, target], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2, done.stderr  # not killed by a signal
    assert done.stderr.startswith(f"archerysim: {field}: {target} cannot be written (")
    assert "Make room on the disk" in done.stderr
    assert done.stderr.count("\n") == 1
    if job == "store":
        assert [one.name for one in tmp_path.iterdir()] == [name]
    else:
        assert [one.name for one in tmp_path.iterdir()] == [name]
        assert target.read_text() == "kept"
