"""Lays a straight arrow on the string and the rest of a bow that stands still."""

from __future__ import annotations

import numpy as np

from archerysim.equipment.filled_setup import FilledSetup
from archerysim.mechanics.arrays import TURN, Chain, Marks, Support, Throat, X, Y
from archerysim.mechanics.statics.lay_arrow import SETTLING, Lying, seat_arrow


def never_lets_go(throat: Throat) -> Throat:
    """The throat with a grip that holds however far the string is: one answer only, found more surely."""
    return throat._replace(snap=1.0e3)


def held_both_ways(throat: Throat) -> bool:
    """Whether two locators without play hold the nock, so that it has one place on the string."""
    return throat.half_gap == 0.0 and throat.lower > 0.0 and throat.upper > 0.0


def trials(throat: Throat) -> list[tuple[Throat, Throat | None]]:
    """Throats to solve with, in turn until one has an answer: (first, then).

    As it is; with a grip that never lets go and then as it is; and a nock with one locator as if it had two, since
    before the string moves its grip on the serving, which is friction, keeps it from sliding off.
    """
    ways: list[tuple[Throat, Throat | None]] = [(throat, None), (never_lets_go(throat), throat)]
    if not (throat.lower and throat.upper):
        ways.append((throat._replace(lower=1.0, upper=1.0), None))
    return ways


def seated(
    setup: FilledSetup,
    chain: Chain,
    marks: Marks,
    throat: Throat,
    support: Support,
    x: np.ndarray,
    y: np.ndarray,
    gravity: tuple[float, float],
    push: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Positions of all nodes with the arrow where it comes to lie.

    Parameters
    ----------
    chain, marks : Chain, Marks
        With the arrow.
    x, y : (bow,) arrays
        The bow's nodes [m].
    gravity : (float, float)
        [m/s2]
    push : (2,) array, optional
        Force on the nock [N].
    """
    a, u, n = marks.tail, marks.edge_u, chain.mass.size
    along = np.linspace(0.0, setup.arrow.length, n - a)
    mass = chain.mass[a:]
    total = float(mass.sum())
    tail = np.array([0.5 * (x[u] + x[u + 1]), 0.5 * (y[u] + y[u + 1])])
    over = np.array([support.x, support.y + support.half_diameter]) - tail
    place = np.array([tail[0], tail[1], np.arctan2(over[1], over[0])])
    balance, pushed = float(mass @ along) / total, (0.0, 0.0) if push is None else push
    lying = Lying(x[u], y[u], x[u + 1], y[u + 1], total, balance, *gravity, *pushed)
    seat_arrow(throat, support, lying, place, np.empty(SETTLING))
    full_x, full_y = np.empty(n), np.empty(n)
    full_x[:a], full_y[:a] = x[:a], y[:a]
    full_x[a:] = place[X] + along * np.cos(place[TURN])
    full_y[a:] = place[Y] + along * np.sin(place[TURN])
    return full_x, full_y
