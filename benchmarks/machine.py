"""On which machine a table was measured."""

from __future__ import annotations

import platform
from pathlib import Path

import numpy as np

from archerysim.study.workers import cores


def machine() -> str:
    """Processor, cores, Python."""
    name = platform.processor() or platform.machine()
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        name = next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        pass
    return f"{name}, {cores()} cores, Python {platform.python_version()}, numpy {np.__version__}"
