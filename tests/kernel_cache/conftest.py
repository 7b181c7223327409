"""A copy of the library that may be edited."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import archerysim


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """Folder that holds a copy of the package."""
    folder = tmp_path / "clone"
    shutil.copytree(
        Path(archerysim.__file__).parent, folder / "archerysim", ignore=shutil.ignore_patterns("__pycache__")
    )
    return folder
