"""What reading groups says of archers whose truth is known."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from archerysim.errors import ShotError
from archerysim.study.notes.group_means import read_groups
from archerysim.study.notes.posterior import answer, settled
from archerysim.study.notes.read_group import diagnose
from archerysim.study.notes.response_surface import Expected
from archerysim.study.notes.suspicion import setting_of, suspects
from tests.support.study.noted_cases import NOW, Case, case, expected

SEED = 2024
FAR = 18.0  # of the last group [m]
WITHIN = 0.012  # of today's reading: where the true move is looked for [m]


@dataclass(frozen=True)
class Read:
    """One case, read.

    Attributes
    ----------
    inside : (k,) array of bool
        Whether each truth lies in its 90 % interval; empty where the notes were not asked.
    narrowed, by_height : (k,) arrays
        Length of each interval over the prior's, and the same by the heights alone.
    way : str
        Of the move; "contact" where that is suspected, "" where there is none.
    right : bool
        Whether a move up or down goes the way that brings bare and fletched together.
    move_inside : bool or None
        Whether the true move lies in its 90 % interval; None where no reading brings them together.
    """

    inside: np.ndarray
    narrowed: np.ndarray
    by_height: np.ndarray
    way: str
    right: bool
    move_inside: bool | None


def read(index: int, planes: int, mesh: str) -> Read:
    """One case by real shots throughout; the same index is the same case."""
    e = expected(planes, mesh)
    one = case(np.random.default_rng([SEED, index]), e, real=True)
    found = diagnose(e.states[0].bow, one.notes, expected=e, further=False, mesh=mesh)
    nothing = np.empty(0)
    inside = narrowed = by_height = nothing
    if found.answer is not None:
        inside = (found.answer.low <= one.z) & (one.z <= found.answer.high)
        narrowed, by_height = found.answer.narrowed, _by_height(e, one)
    move = found.move
    if move is None or not math.isfinite(move.probability):
        return Read(inside, narrowed, by_height, "contact" if move else "", True, None)
    off = _off(e, one, 0.0)
    true = _true_move(e, one)
    within = None if true is None else move.low <= true <= move.high
    right = move.way == "hold" or (off > 0.0) == (move.way == "up")
    return Read(inside, narrowed, by_height, move.way, right, within)


def _by_height(e: Expected, one: Case) -> np.ndarray:
    """How much the heights alone narrow the inputs."""
    groups = tuple(group for group in read_groups(e.bow.setup, one.notes) if group.used)
    contact = suspects(e, groups)
    blind = tuple(
        dataclasses.replace(group, beside=math.nan, beside_sigma=math.nan)
        for group in groups
        if setting_of(group) not in contact
    )
    return answer(settled(e, blind, one.notes.speed)[0]).narrowed


def _off(e: Expected, one: Case, move: float) -> float:
    """How far the bare shafts really land above where they ought to, after a move of the locators [m]."""
    row = [place.distance for place in e.places].index(FAR)
    return e.gap(e.launch(NOW + one.off + move, one.z), FAR).height - float(e.wanted[row])


def _true_move(e: Expected, one: Case) -> float | None:
    """The move that really brings bare and fletched together [m]; None where none near does."""
    from scipy.optimize import brentq

    try:
        moves = np.linspace(-WITHIN, WITHIN, 9)
        off = np.array([_off(e, one, float(move)) for move in moves])
        turns = np.flatnonzero(np.sign(off[:-1]) > np.sign(off[1:]))
        if not turns.size:
            return None
        first = turns[np.argmin(np.abs(moves[turns] + 0.5 * (moves[1] - moves[0])))]
        return float(brentq(lambda move: _off(e, one, move), moves[first], moves[first + 1], xtol=2e-5))
    except ShotError:
        return None


def reads(count: int, planes: int, mesh: str, workers: int = 1) -> Iterator[Read]:
    """Cases read one after the other, in their order."""
    if workers == 1:
        yield from (read(index, planes, mesh) for index in range(count))
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(read, range(count), [planes] * count, [mesh] * count)


def table(found: list[Read], names: list[str]) -> str:
    """What came of the cases, in words."""
    asked = [one for one in found if one.inside.size]
    inside = np.array([one.inside for one in asked])
    narrowed, by_height = (np.array([getattr(one, name) for one in asked]) for name in ("narrowed", "by_height"))
    moves = [one for one in found if one.way in ("up", "down")]
    known = [one.move_inside for one in found if one.move_inside is not None]
    lines = [f"{len(found)} cases, {len(asked)} of them without suspected contact with every group"]
    lines.append(f"truths inside their 90 % intervals: {100 * inside.mean():.1f} %")
    for name, here, both, one in zip(names, inside.T, narrowed.T, by_height.T, strict=True):
        lines.append(
            f"  {name:40s} {100 * here.mean():5.1f} %; interval {both.mean():.2f} of the prior's, by heights alone "
            f"{one.mean():.2f}"
        )
    lines.append(
        f"all together: {narrowed.mean():.3f} of the priors', by heights alone {by_height.mean():.3f}: "
        f"{by_height.mean() / narrowed.mean():.2f} times as narrow; in volume "
        f"{np.exp((np.log(by_height) - np.log(narrowed)).sum(axis=1).mean()):.2f} times"
    )
    right = sum(one.right for one in moves)
    lines.append(
        f"moves advised: {len(moves)}, of which the right way {right} ({100 * right / max(len(moves), 1):.1f} %)"
    )
    lines.append(f"true moves inside their 90 % interval: {sum(known)} of {len(known)}")
    lines.append(f"go up and test, for contact: {sum(one.way == 'contact' for one in found)}")
    return "\n".join(lines)
