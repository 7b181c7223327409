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

from archerysim.errors import ArcherysimError
from archerysim.shot.fitted_bow import FittedBow
from tests.random_bows.contact import contact, that_passes_clear
from tests.random_bows.sampler import random_bow
from tests.random_bows.trade import DIRECTIONS
from tests.support.shot.example_bows import NAMES, measured

SEED = 3
EXAMPLES = (*NAMES, "longbow")


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
    reason : str
        Computed; empty where it holds, and where no reason is known.
    """

    bow: str
    direction: int
    holds: bool
    change: float
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
    if bow is None:
        return []
    found = []
    for index, direction in enumerate(DIRECTIONS):
        try:
            told = direction.ask(bow)
        except ArcherysimError as error:
            found.append(Answer(name, index, False, float("nan"), f"no answer: {error}"))
            continue
        if told is None:
            continue
        change = told.after - told.before
        reason = ""
        if not told.holds and direction.plane:
            reason = " and ".join(told.contact() or contact(bow.launch()))
        found.append(Answer(name, index, told.holds, change, reason))
    return found


def every_answer(count: int, seed: int, workers: int) -> Iterator[list[Answer]]:
    """Bow after bow: the examples, then random ones."""
    names = [*EXAMPLES, *map(str, range(count))]
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(answers, names, [seed] * len(names))


def table(found: list[Answer]) -> str:
    """A line for each direction, its exceptions below."""
    lines = []
    for index, direction in enumerate(DIRECTIONS):
        here = [one for one in found if one.direction == index]
        against = [one for one in here if not one.holds]
        lines.append(f"{direction.number:10}  {len(here) - len(against):3d} of {len(here):3d}  {direction.words}")
        lines += [
            f"{'':23}  {one.bow}: {one.change:+.3g} {direction.unit}; {one.reason or 'NO REASON KNOWN'}"
            for one in against
        ]
    return "\n".join(lines)


def main() -> int:
    """0 where every exception has its reason."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=100)
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument("--workers", type=int, default=2)
    asked = options.parse_args()
    every = list(every_answer(asked.count, asked.seed, asked.workers))
    found = [one for answered in every for one in answered]
    import pickle

    pickle.dump(found, open("/tmp/w/dirs/found.pkl", "wb"))
    print(f"{sum(map(bool, every))} of {len(every)} bows were shot\n{table(found)}")
    return int(any(not one.holds and not one.reason for one in found))


if __name__ == "__main__":
    sys.exit(main())
