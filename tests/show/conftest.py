"""Results to draw: a shot in both planes and a flat one, one draw; coarse ones, flights, pages of moving pictures."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import archerysim
from archerysim.equipment import Setup
from archerysim.shot.flight.bare_shaft import BareDifference
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import DrawCurve
from archerysim.show import animate, animate_flight
from tests.support.shot.example_bows import measured
from tests.support.show.browser import browser


@pytest.fixture(scope="session")
def setup() -> Setup:
    return measured("club-outdoor")


@pytest.fixture(scope="session")
def built(setup: Setup) -> Setup:
    return archerysim.fit(setup).setup


@pytest.fixture(scope="session")
def launch(built: Setup) -> Launch:
    return archerysim.shoot(built)


@pytest.fixture(scope="session")
def flat(built: Setup) -> Launch:
    """In the bow's plane alone."""
    return archerysim.shoot(built, planes=1)


@pytest.fixture(scope="session")
def drawn(built: Setup) -> DrawCurve:
    return archerysim.draw(built, 9)


@pytest.fixture(scope="session")
def shot(setup: Setup) -> Launch:
    return archerysim.shoot(setup, "coarse")


@pytest.fixture(scope="session")
def flat_shot(setup: Setup) -> Launch:
    return archerysim.shoot(setup, "coarse", planes=1)


@pytest.fixture(scope="session")
def pair(shot: Launch) -> BareDifference:
    return archerysim.bare_difference(shot, "18 m")


@pytest.fixture(scope="session")
def page(shot: Launch, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return animate(shot, tmp_path_factory.mktemp("pages") / "shot.html")


@pytest.fixture(scope="session")
def flight_page(pair: BareDifference, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return animate_flight(pair, tmp_path_factory.mktemp("pages") / "flight.html", frames=30)


@pytest.fixture(scope="session")
def driver() -> Iterator[Any]:
    with browser() as opened:
        yield opened
