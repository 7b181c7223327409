"""The least change that brings several numbers where they are wanted, without passing any bound; or what prevents it.

The cost is a square form, its slope exact. The numbers' slopes are central differences, checked against those of half
the step: where the two disagree the step is halved, and what is left of the difference is told. The search is SciPy's
sequential least squares programming (D. Kraft, DFVLR-FB 88-28, 1988 [memory]).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

MET = 1e-5  # in each number's own unit: reached
AGREE = 1e-3  # of a number's largest slope, by which two steps may disagree
HALVINGS = 3
STEPS = 40  # of the search
SMALLEST = 1e-9  # of the cost: what the search stops at
ROUNDS = 6  # of linear programmes
SETTLED = 0.01  # in each number's own unit: as expected
TIDY = 1e-4  # how much a move counts beside a miss
LOW, HIGH = "low", "high"


@dataclass(frozen=True)
class Wanted:
    """What is wanted, and what must not be passed.

    Attributes
    ----------
    values : callable
        From n moves to m numbers.
    low, high : (m,) arrays
        Ends of where each number is to lie; -inf and inf for none.
    wish : (m,) array of bool
        Wished for, and missed where it cannot be had; else a bound that is never passed.
    floor : (m,) array of bool
        Wishes whose low end is a bound all the same.
    names : tuple of str
        To what each number belongs.
    least, most : (n,) arrays
        Ends of the moves.
    square : (n, n) array
        The cost is x' square x.
    step : float
        Of the differences.
    """

    values: Callable[[np.ndarray], np.ndarray]
    low: np.ndarray
    high: np.ndarray
    wish: np.ndarray
    floor: np.ndarray
    names: tuple[str, ...]
    least: np.ndarray
    most: np.ndarray
    square: np.ndarray
    step: float

    def without(self, name: str, room: float) -> Wanted:
        """The same without one bound: a number's, or that of the moves (`LOW`, `HIGH`), which get so much room."""
        if name == LOW:
            return replace(self, least=self.least - room)
        if name == HIGH:
            return replace(self, most=self.most + room)
        keep = np.array([one != name for one in self.names])
        low, high = np.where(keep, self.low, -np.inf), np.where(keep, self.high, np.inf)
        return replace(self, low=low, high=high)

    def misses(self, values: np.ndarray) -> np.ndarray:
        """By how much numbers lie outside their ends (m,)."""
        return np.asarray(np.maximum(np.maximum(self.low - values, values - self.high), 0.0))


class Least(NamedTuple):
    """The least change.

    Attributes
    ----------
    moves : (n,) array
    values : (m,) array
    miss : float
        The largest miss, in that number's unit.
    slope_error : float
        Of the numbers' slopes there, as a share of each one's largest.
    """

    moves: np.ndarray
    values: np.ndarray
    miss: float
    slope_error: float

    @property
    def met(self) -> bool:
        """Whether everything lies where it is wanted."""
        return self.miss < MET


def slopes(values: Callable[[np.ndarray], np.ndarray], at: np.ndarray, step: float) -> np.ndarray:
    """Central differences (m, n)."""
    out = []
    for k in range(at.size):
        away = np.zeros(at.size)
        away[k] = step
        out.append((values(at + away) - values(at - away)) / (2.0 * step))
    return np.array(out).T


def checked_slopes(
    values: Callable[[np.ndarray], np.ndarray], at: np.ndarray, step: float
) -> tuple[np.ndarray, float, float]:
    """Slopes whose step is halved until two agree; the step, and by what share of each row's largest they differ."""
    found = slopes(values, at, step)
    error = np.inf
    for _ in range(HALVINGS):
        finer = slopes(values, at, 0.5 * step)
        size = np.maximum(np.abs(finer).max(axis=1), 1e-12)
        error = float((np.abs(finer - found).max(axis=1) / size).max())
        if error < AGREE:
            break
        found, step = finer, 0.5 * step
    return found, step, error


class _Known:
    """Numbers and slopes where they have been asked for last."""

    def __init__(self, values: Callable[[np.ndarray], np.ndarray], step: float) -> None:
        self.raw, self.step = values, step
        self.at, self.found = np.empty(0), np.empty(0)
        self.slope_at, self.slope = np.empty(0), np.empty(0)

    def values(self, at: np.ndarray) -> np.ndarray:
        if not np.array_equal(at, self.at):
            self.found, self.at = self.raw(at), at.copy()
        return self.found

    def slopes(self, at: np.ndarray) -> np.ndarray:
        if not np.array_equal(at, self.slope_at):
            self.slope, self.slope_at = slopes(self.raw, at, self.step), at.copy()
        return self.slope


def least_change(wanted: Wanted, begin: np.ndarray | None = None) -> Least:
    """The least change that meets everything; its ``miss`` tells where the search found none.

    Raises
    ------
    ShotError
        Where the bow cannot be braced or drawn on the way.
    """
    from scipy.optimize import minimize

    at = np.clip(np.zeros(wanted.least.size) if begin is None else begin, wanted.least, wanted.most)
    _, step, _ = checked_slopes(wanted.values, at, wanted.step)
    known = _Known(wanted.values, step)
    equal = wanted.low == wanted.high
    low, high = np.isfinite(wanted.low) & ~equal, np.isfinite(wanted.high) & ~equal
    rules = []
    if equal.any():
        rules.append({
            "type": "eq",
            "fun": lambda x: known.values(x)[equal] - wanted.low[equal], "jac": lambda x: known.slopes(x)[equal],
        })  # fmt: skip
    if low.any() or high.any():
        rules.append({
            "type": "ineq",
            "fun": lambda x: np.concatenate(
                [known.values(x)[low] - wanted.low[low], wanted.high[high] - known.values(x)[high]]
            ),
            "jac": lambda x: np.concatenate([known.slopes(x)[low], -known.slopes(x)[high]]),
        })  # fmt: skip
    found = minimize(
        lambda x: float(x @ wanted.square @ x), at, jac=lambda x: 2.0 * wanted.square @ x, method="SLSQP",
        bounds=list(zip(wanted.least, wanted.most, strict=True)), constraints=rules,
        options={"maxiter": STEPS, "ftol": SMALLEST},
    )  # fmt: skip
    moves = np.clip(found.x, wanted.least, wanted.most)
    values = known.values(moves)
    miss = float(wanted.misses(values).max())
    error = checked_slopes(wanted.values, moves, step)[2] if miss < MET else np.nan
    return Least(moves, values, miss, error)


def nearest(wanted: Wanted, begin: np.ndarray) -> tuple[Least, np.ndarray]:
    """As near to all wishes as the bounds let, the largest miss made least, each in its own unit; and the slopes there.

    Linear programmes one after another, each with the slopes where the last one led.

    Raises
    ------
    ShotError
    """
    at = np.clip(begin, wanted.least, wanted.most)
    values = wanted.values(at)
    slope = slopes(wanted.values, at, wanted.step)
    for _ in range(ROUNDS):
        aim, expected = straight(wanted, at, values, slope)
        if aim is None:
            break
        new = wanted.values(aim)
        for _ in range(HALVINGS):
            if wanted.misses(new).max() <= wanted.misses(values).max() + SETTLED:
                break
            aim = 0.5 * (at + aim)
            new = wanted.values(aim)
        misses = wanted.misses(new)
        kept = float(misses[~wanted.wish | wanted.floor].max(initial=0.0)) < SETTLED
        settled = kept and abs(float(misses.max()) - expected) < SETTLED
        at, values = aim, new
        slope = slopes(wanted.values, at, wanted.step)
        if settled:
            break
    return Least(at, values, float(wanted.misses(values).max()), np.nan), slope


def straight(wanted: Wanted, at: np.ndarray, values: np.ndarray, slope: np.ndarray) -> tuple[np.ndarray | None, float]:
    """Where the largest miss of a wish is least and no bound is passed, were all slopes to stay; and that miss.

    None where there is no such place, the bounds themselves being passed.
    """
    from scipy.optimize import linprog

    low, high = np.isfinite(wanted.low), np.isfinite(wanted.high)
    first = values - slope @ at
    may = np.concatenate([wanted.wish[low] & ~wanted.floor[low], wanted.wish[high]]).astype(float)
    rows = np.column_stack([np.concatenate([-slope[low], slope[high]]), -may])
    ends = np.concatenate([first[low] - wanted.low[low], wanted.high[high] - first[high]])
    goal = np.append(np.full(at.size, TIDY if wanted.least.min() >= 0.0 else 0.0), 1.0)
    bounds = [*zip(wanted.least, wanted.most, strict=True), (0.0, None)]
    found = linprog(goal, A_ub=rows, b_ub=ends, bounds=bounds, method="highs")
    if not found.success:
        return None, np.inf
    return np.clip(found.x[:-1], wanted.least, wanted.most), float(found.x[-1])


def in_the_way(
    wanted: Wanted, near: Least, slope: np.ndarray, bounds: tuple[tuple[str, ...], ...], room: float
) -> tuple[str, ...]:
    """Which bound stands in the way of the wishes: the first without which they can be had, or those that help.

    Parameters
    ----------
    wanted : Wanted
    near, slope : Least, array
        As near as it goes, and the slopes there.
    bounds : tuple of tuple of str
        Names of numbers, `LOW` and `HIGH`, alone or together, in the order in which they are tried; the first of each
        is told.
    room : float
        By which the moves' ends give way.
    """
    helps = []
    for names in bounds:
        freer = wanted
        for name in names:
            freer = freer.without(name, room)
        miss = straight(freer, near.moves, near.values, slope)[1]
        if miss < max(SETTLED, 0.05 * near.miss):
            return (names[0],)
        if miss < 0.7 * near.miss:
            helps.append(names[0])
    return tuple(helps)
