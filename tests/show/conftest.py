"""Results to draw: one shot, one draw."""

from __future__ import annotations

from pathlib import Path

import pytest

import archerysim
from archerysim.equipment import Setup
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import DrawCurve

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="session")
def setup() -> Setup:
    return archerysim.load(EXAMPLES / "club-outdoor.toml")


@pytest.fixture(scope="session")
def built(setup: Setup) -> Setup:
    return archerysim.fit(setup).setup


@pytest.fixture(scope="session")
def launch(built: Setup) -> Launch:
    return archerysim.shoot(built)


@pytest.fixture(scope="session")
def drawn(built: Setup) -> DrawCurve:
    return archerysim.draw(built, 9)
