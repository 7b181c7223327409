"""Made-up notes, and what the model expects of them, shared by the tests."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from archerysim.study.notes.group_means import BARE_FACTOR, SCATTER, Noted, away_from_window
from archerysim.study.notes.noted_records import NotedGroup
from archerysim.study.notes.notes_file import Notes
from archerysim.study.notes.posterior import FLIGHT, SPEED, SQUARE
from archerysim.study.notes.priors import Cause
from archerysim.study.notes.response_surface import Expected, Place, expect
from tests.support.shot.example_bows import built

MESH = "coarse"
LOW, NOW = 0.005, 0.008
PLACES = (Place(LOW, 18.0), Place(NOW, 30.0), Place(NOW, 18.0))
CM = 0.01


@cache
def expected(planes: int = 2, mesh: str = MESH) -> Expected:
    """Two readings; with the last one, two distances."""
    return expect(built("club-outdoor", mesh), PLACES, mesh=mesh, planes=planes)


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


def noted(
    difference: float, sigma: float, reading: float = NOW, distance: float = 18.0, beside: float = math.nan
) -> Noted:
    """A group as read, its scatter chosen; ``beside`` is positive away from the window."""
    three, six = np.zeros(3) + difference, np.zeros(6)
    aside = sigma if math.isfinite(beside) else math.nan
    return Noted(0, distance, reading, three, six, 0, 0, difference, sigma, beside, aside, 0.0, 0, True, "")


@dataclass(frozen=True)
class Case:
    """Somebody who shoots, and the notes of it.

    Attributes
    ----------
    z : (k,) array
        The truth, normed.
    notes : Notes
    off : float
        By how much the locators really stand higher than today's reading says [m].
    """

    z: np.ndarray
    notes: Notes
    off: float


def case(rng: np.random.Generator, e: Expected, *, real: bool, aside: bool = True) -> Case:
    """A truth drawn from the priors and the notes of somebody who shoots with it.

    Drawn too: the archer's scatter, each setting's error of the square, the factor by which bare shafts fly
    unlike the model, every hit, the error of the speed. ``real``: gaps from real shots in place of the surfaces, to
    which their error is added. ``aside``: whether left and right are noted, where there are both planes.
    """
    z = drawn(e.causes, rng)
    scatter = SCATTER * np.exp(0.3 * rng.normal())
    factor = 1.0 + FLIGHT * rng.normal()
    both = aside and e.bow.planes == 2
    error = {reading: SQUARE * rng.normal() for reading in (LOW, NOW)}
    off = np.array([error[place.reading] for place in e.places])
    sides = np.zeros(len(e.places))
    if real:
        launches = {reading: e.launch(reading + error[reading], z) for reading in error}
        gaps = [e.gap(launches[place.reading], place.distance) for place in e.places]
        heights = np.array([gap.height for gap in gaps])
        sides = np.array([gap.side for gap in gaps]) if both else sides
        speed = launches[NOW].clear.speed
    else:
        up, out = rng.normal(size=2)  # of the surface, shared by the places: they are of one model
        heights = e.heights.at(z) + e.per_reading * off + e.heights.error * up
        sides = e.sides.at(z) + e.sides.error * out if both else sides
        speed = float(e.speed.at(z)[0])
    heights = e.wanted + factor * (heights - e.wanted)
    away = away_from_window(e.bow.setup)
    groups = []
    for place, height, side in zip(e.places, heights, factor * sides, strict=True):
        size = scatter * place.distance * np.array([1.0] * 6 + [BARE_FACTOR] * 3)
        up, right = size * rng.normal(size=(2, 9))
        beside = {"fletched_right": tuple(right[:6]), "bare_right": tuple(away * side + right[6:])} if both else {}
        hits = {"fletched": tuple(up[:6]), "bare": tuple(height + up[6:])} | beside
        groups.append(NotedGroup(distance=place.distance, reading=place.reading, **hits))
    return Case(z, notes(*groups, speed=speed * (1.0 + SPEED * rng.normal())), error[NOW])


def drawn(causes: tuple[Cause, ...], rng: np.random.Generator) -> np.ndarray:
    """Normed values drawn from the priors: normal, within the bounds."""
    from scipy.stats import truncnorm

    return np.array([truncnorm.rvs(c.low, c.high, random_state=rng) for c in causes], dtype=float)
