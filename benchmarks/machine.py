"""On which machine a table was measured."""

from __future__ import annotations

import platform

import numpy as np

from archerysim.study.run.workers import cores


def machine() -> str:
    """Architecture, cores, Python."""
    return f"{platform.machine()}, {cores()} cores, Python {platform.python_version()}, numpy {np.__version__}"
