"""The example setups, fitted once, and shots from them, kept so that tests share them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from archerysim.equipment import Setup, load
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot

FOLDER = Path(__file__).resolve().parents[3] / "examples"
NAMES = ("club-outdoor", "club-indoor", "barebow", "junior")
CLUB = NAMES[:2]
READING = "nock.locators.reading"
MM = 1e-3


def path_of(name: str) -> Path:
    """The setup file."""
    return FOLDER / f"{name}.toml"


@cache
def measured(name: str) -> Setup:
    """As in its file."""
    return load(path_of(name))


@cache
def fitted(name: str, mesh: str = "default") -> FittedBow:
    """Fitted on that mesh."""
    return FittedBow.of(measured(name), mesh)


def built(name: str, mesh: str = "default") -> Setup:
    """As built, its locators tied."""
    return fitted(name, mesh).setup


@cache
def shot(name: str, reading: float | None = None, mesh: str = "default") -> Launch:
    """One shot, at another reading by the underside [mm] if given, without a trace."""
    setup = built(name, mesh)
    if reading is not None:
        setup = setup.with_si(**{READING: reading * MM})
    return shoot(setup, mesh, trace=False)


@cache
def traced(name: str) -> Launch:
    """One shot with its trace."""
    return shoot(built(name), "default", trace=True)


@cache
def flat(name: str, trace: bool = False) -> Launch:
    """One shot in the bow's plane alone."""
    return shoot(built(name), "default", trace=trace, planes=1)


def changed(setup: Setup, mesh: str = "default", planes: int | None = None, **changes: Any) -> Launch:
    """A shot of a built setup with some changes; ``__`` in a name stands for a dot."""
    return shoot(
        setup.with_si(**{path.replace("__", "."): value for path, value in changes.items()}),
        mesh,
        trace=False,
        planes=planes,
    )
