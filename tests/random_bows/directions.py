"""`python -m tests.random_bows.directions`: ask 100 random bows and the examples for every direction of the trade.

Each bow shoots the shaft nearest to its own that passes clear, where one does.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from archerysim.equipment import filled
from archerysim.errors import ArcherysimError
from archerysim.shot.fitted_bow import FittedBow
from tests.random_bows.contact import that_passes_clear
from tests.random_bows.sampler import random_bow
from tests.random_bows.trade import DIRECTIONS, Direction
from tests.support.shot.example_bows import NAMES, measured

SEED = 3
EXAMPLES = (*NAMES, "longbow")
UNLIKE = 1.3  # lengths of limbs
SEEN = 1.0  # [mm] on the target


@dataclass(frozen=True)
class Answer:
    """What one bow says to one direction.

    Attributes
    ----------
    bow : str
    direction : int
        Place in `DIRECTIONS`.
    holds : bool
    change : float
        By how much, in the direction's unit; positive where it holds.
    touches : bool
        Whether anything does after the shaft has first left, in one of the shots that are compared.
    reason : str
        Computed; empty where it holds, and where no reason is known.
    """

    bow: str
    direction: int
    holds: bool
    change: float
    touches: bool
    reason: str = ""


def bow_of(name: str, seed: int) -> FittedBow | None:
    """An example, or a random bow by its number; None where it cannot be shot."""
    try:
        if name in EXAMPLES:
            return FittedBow.of(measured(name), planes=2)
        bow = FittedBow.of(random_bow(np.random.default_rng([seed, int(name)])), planes=2)
        bow.launch()
    except ArcherysimError:
        return None
    return that_passes_clear(bow)


def answers(name: str, seed: int = SEED) -> list[Answer]:
    """All that one bow says; nothing where it cannot be shot."""
    bow = bow_of(name, seed)
    return [] if bow is None else [one for index in range(len(DIRECTIONS)) if (one := answer(name, bow, index))]


def answer(name: str, bow: FittedBow, index: int) -> Answer | None:
    """What a bow says to a direction; None where it has no such thing."""
    direction = DIRECTIONS[index]
    try:
        told = direction.ask(bow)
    except ArcherysimError as error:
        return Answer(name, index, False, float("nan"), False, unlike(bow) or f"no answer: {error}")
    if told is None:
        return None
    touched = told.contact(direction.by == "up and down") if direction.by != "geometry" else ()
    reason = "" if told.holds else " and ".join(touched) or unlike(bow) or small(direction, told.after - told.before)
    return Answer(name, index, told.holds, told.after - told.before, bool(touched), reason)


def unlike(bow: FittedBow) -> str:
    """Whether one limb is much longer than the other: what a bolt does, and where square is, is then another thing."""
    lengths = sorted(float(limb.length) for limb in (filled(bow.setup).upper_limb, filled(bow.setup).lower_limb))
    return "one limb far longer than the other" if lengths[1] > UNLIKE * lengths[0] else ""


def small(direction: Direction, change: float) -> str:
    """Whether it is too small to be seen on the target."""
    return "too small to be seen" if direction.unit == "mm" and abs(change) < SEEN else ""


def every_answer(count: int, seed: int, workers: int) -> Iterator[list[Answer]]:
    """Bow after bow: the examples, then random ones."""
    names = [*EXAMPLES, *map(str, range(count))]
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(answers, names, [seed] * len(names))


def table(found: list[Answer]) -> str:
    """A line for each direction: in how many bows it holds, in how many in which nothing touches; exceptions below."""
    lines = []
    for index, direction in enumerate(DIRECTIONS):
        here = [one for one in found if one.direction == index]
        clear = [one for one in here if not one.touches]
        hold, hold_clear = (sum(one.holds for one in some) for some in (here, clear))
        lines.append(
            f"{direction.number:12}{hold:4d} of {len(here):3d}, nothing touching {hold_clear:3d} of {len(clear):3d}:  "
            f"{direction.words}"
        )
        lines += [f"{one.bow:>18}  {one.change:+.3g} {direction.unit}: {why(one)}" for one in here if not one.holds]
    return "\n".join(lines)


def why(one: Answer) -> str:
    """Reason of an exception in words."""
    if one.reason:
        return one.reason
    return "outside what is usual" if DIRECTIONS[one.direction].usual else "NO REASON KNOWN"


def unexplained(found: list[Answer]) -> list[Answer]:
    """Exceptions to what is a rule without a reason, and, where less than half is as usual, all that is not."""
    left = [one for one in found if not one.holds and not one.reason and not DIRECTIONS[one.direction].usual]
    for index, direction in enumerate(DIRECTIONS):
        here = [one for one in found if one.direction == index]
        if direction.usual and 2 * sum(one.holds for one in here) < len(here):
            left += [one for one in here if not one.holds]
    return left


def main() -> int:
    """0 where every exception has its reason."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=100)
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument("--workers", type=int, default=2)
    asked = options.parse_args()
    every = list(every_answer(asked.count, asked.seed, asked.workers))
    found = [one for answered in every for one in answered]
    print(f"{sum(map(bool, every))} of {len(every)} bows were shot\n{table(found)}")
    return int(bool(unexplained(found)))


if __name__ == "__main__":
    sys.exit(main())
