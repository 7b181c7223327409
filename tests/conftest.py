"""What holds for the whole suite: timing never decides a test, and a process takes one core."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported: the tests' processes have all cores

settings.register_profile("archerysim", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("archerysim")
