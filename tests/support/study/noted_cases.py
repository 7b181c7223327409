"""Made-up notes, and what the model expects of them, shared by the tests."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from archerysim.study.notes.group_means import BARE_FACTOR, SCATTER, Noted
from archerysim.study.notes.notes_file import NotedGroup, Notes
from archerysim.study.notes.posterior import FLIGHT, SPEED, SQUARE
from archerysim.study.notes.priors import Cause
from archerysim.study.notes.response_surface import Expected, expect
from tests.support.shot.example_bows import built

MESH = "coarse"
LOW, NOW = 0.005, 0.008
PLACES = ((LOW, 18.0), (NOW, 30.0), (NOW, 18.0))
CM = 0.01


@cache
def expected(planes: int = 2) -> Expected:
    """Two readings; with the last one, two distances."""
    return expect(built("club-outdoor", MESH), PLACES, shots={1: 36, 2: 64}[planes], mesh=MESH, planes=planes)


def group(difference: float, reading: float = NOW, distance: float = 18.0, **more: Any) -> NotedGroup:
    """Six fletched hits about zero and three bare ones about a difference [m]."""
    hits = {
        "fletched": tuple(CM * one for one in (-2.0, 1.2, 0.4, -0.4, 2.6, -1.1)),
        "bare": tuple(difference + CM * one for one in (1.5, 0.0, -2.1)),
    }
    return NotedGroup(distance=distance, reading=reading, **{**hits, **more})


def notes(*groups: NotedGroup, **more: Any) -> Notes:
    """Notes of these groups."""
    return Notes(name="made up", group=groups, **more)


def noted(difference: float, sigma: float, reading: float = NOW, distance: float = 18.0) -> Noted:
    """A group as read, its scatter chosen."""
    three, six = np.zeros(3) + difference, np.zeros(6)
    nan = float("nan")
    return Noted(0, distance, reading, three, six, 0, 0, difference, sigma, nan, nan, 0.0, 0, True, "")


def case(rng: np.random.Generator, planes: int, *, real: bool) -> tuple[np.ndarray, Notes]:
    """A truth drawn from the priors and the notes of somebody who shoots with it.

    Drawn too: the archer's scatter, each setting's error of the square, the factor by which bare shafts fly
    unlike the model, the error of the speed. ``real``: heights from real shots in place of the surface, to
    which its error is added.
    """
    e = expected(planes)
    z = drawn(e.causes, rng)
    scatter = SCATTER * np.exp(0.3 * rng.normal())
    factor = 1.0 + FLIGHT * rng.normal()
    error = {reading: SQUARE * rng.normal() for reading in (LOW, NOW)}
    off = np.array([error[reading] for reading, _ in e.places])
    if real:
        launches = {reading: e.launch(reading + error[reading], z) for reading in error}
        heights = np.array([e.height(launches[reading], far) for reading, far in e.places])
        speed = launches[NOW].clear.speed
    else:
        heights = e.heights.at(z) + e.per_reading * off + e.heights.error * rng.normal(size=len(e.places))
        speed = float(e.speed.at(z)[0])
    heights = e.wanted + factor * (heights - e.wanted)
    groups = [
        NotedGroup(
            distance=far,
            reading=reading,
            fletched=tuple(scatter * far * rng.normal(size=6)),
            bare=tuple(height + BARE_FACTOR * scatter * far * rng.normal(size=3)),
        )
        for (reading, far), height in zip(e.places, heights, strict=True)
    ]
    return z, notes(*groups, speed=speed * (1.0 + SPEED * rng.normal()))


def drawn(causes: tuple[Cause, ...], rng: np.random.Generator) -> np.ndarray:
    """Normed values drawn from the priors: normal, within the bounds."""
    from scipy.stats import truncnorm

    return np.array([truncnorm.rvs(c.low, c.high, random_state=rng) for c in causes], dtype=float)
