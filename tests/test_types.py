"""A user's script, checked by mypy against the wheel as it would be installed."""

from __future__ import annotations

import ast
import importlib
import importlib.metadata
import inspect
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import archerysim

ROOT = Path(__file__).resolve().parents[1]
BUILDS = 77  # the setuptools that pyproject.toml asks for

SCRIPT = """\
from typing import assert_type
import xarray
import archerysim
from archerysim import show

setup = archerysim.load("bow.toml")
assert_type(setup, archerysim.Setup)
assert_type(setup.bow, archerysim.Bow)
assert_type(setup.nock.locators, archerysim.Locators)
assert_type(setup.arrow.length, float)
assert_type(setup.replace(**{"nock.slope": "1 deg"}), archerysim.Setup)
launch = archerysim.shoot(setup, trace=True)
assert_type(launch, archerysim.Launch)
assert_type(launch.clear, archerysim.Moment)
assert_type(launch.clear.angle_of_attack, float)
assert_type(launch.clear.energy, archerysim.Energy)
assert_type(launch.trace, archerysim.Trace | None)
assert_type(archerysim.fit(setup), archerysim.FittedBow)
assert_type(archerysim.shoot(archerysim.fit(setup), changes={"nock.slope": "1 deg"}, hold="reading"), archerysim.Launch)
assert_type(launch.to_xarray(), xarray.Dataset)
assert_type(launch.traced().to_xarray(), xarray.Dataset)
assert_type(launch.traced().pitch.ndim, int)
full = archerysim.filled(setup)
assert_type(full, archerysim.FilledSetup)
assert_type(full.nock.height, float)
assert_type(full.upper_limb.at, tuple[float, ...])
assert_type(archerysim.draw(setup), archerysim.DrawCurve)
flight = archerysim.fly(launch, distance="18 m")
assert_type(flight, archerysim.Flight)
assert_type(flight.impact_height, float)
assert_type(flight.to_xarray(), xarray.Dataset)
assert_type(archerysim.draw(setup).to_xarray(), xarray.Dataset)
assert_type(archerysim.group(setup).to_xarray(), xarray.Dataset)
assert_type(archerysim.uncertainty(setup).to_xarray(), xarray.Dataset)
assert_type(archerysim.tune(setup), archerysim.Tuned)
assert_type(archerysim.tune(setup).to_xarray(), xarray.Dataset)
assert_type(archerysim.explain(launch).to_xarray(), xarray.Dataset)
assert_type(archerysim.explain(launch), archerysim.Explained)
assert_type(archerysim.uncertainty(setup), archerysim.Uncertainty)
assert_type(archerysim.group(setup), archerysim.Group)
assert_type(archerysim.bare_against_fletched(setup), archerysim.BareAgainstFletched)
assert_type(archerysim.diagnose(setup, archerysim.load_notes("notes.toml")), archerysim.Diagnosis)
try:
    archerysim.loads("")
except archerysim.ArcherysimError as error:
    assert_type(error.problem, str)
    assert_type(error.remedy, str)
"""


def installed(folder: Path) -> Path:
    """The wheel of the source archive of this checkout, built and unpacked in ``folder``."""
    source, target = folder / "source", folder / "installed"
    shutil.copytree(ROOT / "archerysim", source / "archerysim", ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    build = f"from setuptools import build_meta; build_meta.build_sdist({str(folder)!r})"
    subprocess.run([sys.executable, "-c", build], cwd=source, check=True, capture_output=True, timeout=120)
    (archive,) = folder.glob("archerysim-*.tar.gz")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", folder, archive], check=True, timeout=120)
    (wheel,) = folder.glob("*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", target, wheel], check=True, timeout=120)
    return target


def mypy(script: str, folder: Path, path: Path) -> str:
    """What mypy says about a user's script, with ``path`` among the folders of installed packages."""
    (folder / "script.py").write_text(script)
    command = [sys.executable, "-P", "-m", "mypy", "--strict", "--config-file=", "--cache-dir", folder / "cache"]
    done = subprocess.run(
        [*command, "script.py"], cwd=folder, env=os.environ | {"PYTHONPATH": str(path)},
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    return done.stdout + done.stderr


@pytest.mark.skipif(
    int(importlib.metadata.version("setuptools").split(".")[0]) < BUILDS,
    reason=f"needs setuptools {BUILDS} or newer to build the wheel",
)
def test_a_users_script_knows_every_public_name(tmp_path: Path) -> None:
    target = installed(tmp_path)
    here = {
        one.relative_to(ROOT)
        for one in (ROOT / "archerysim").rglob("*")
        if one.is_file() and "__pycache__" not in one.parts
    }
    assert here <= {one.relative_to(target) for one in target.rglob("*")}  # by way of the archive and the wheel
    asked = "".join(f"reveal_type(archerysim.{name})\n" for name in archerysim.__all__)
    pictures = "".join(f"reveal_type(show.{name})\n" for name in importlib.import_module("archerysim.show").__all__)
    said = mypy(f"{SCRIPT}{asked}{pictures}archerysim.loose_cannon\n", tmp_path, target).splitlines()
    (refused,) = [line for line in said if re.match(r"\S+ error:", line)]
    assert "loose_cannon" in refused  # the one name that is not there
    shown = [match[1] for line in said if (match := re.search(r'Revealed type is "(.*)"', line))]
    assert len(shown) == asked.count("\n") + pictures.count("\n")
    assert "Any" not in shown
    assert not [kind for kind in shown if kind.endswith("-> Any")]


def test_type_checkers_are_told_the_same_names() -> None:
    tree = ast.parse(inspect.getsource(archerysim))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    told = {
        name.asname: node.module
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for name in node.names
        if name.asname == name.name
    }
    assert told == archerysim._HOME
