"""What holds for the whole suite: timing never decides a test."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("archerysim", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("archerysim")
