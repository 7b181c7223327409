"""The shots behind a lesson: what is asked at every place, and where they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import Leaving, gap_at
from archerysim.shot.flight.sight import Aim
from archerysim.shot.flight.start import start_of
from archerysim.study.lesson.sliders import SPLIT, Slider, changes_of, level, level_part, with_split
from archerysim.study.run.how_to_run import SIMPLY, HowToRun
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order

TOGETHER = 8  # shots of one point: one tiller split, for which the bow is fitted once
UP, SIDE = (0, 1, 2, 3, 4, 5), (6, 7, 8, 9)  # of a state: up and down, and sideways


@dataclass(frozen=True)
class LeavingStates:
    """Asks how arrows leave a bow with one tiller split and several settings, and where bare ones land.

    Attributes
    ----------
    sliders : tuple of Slider
    aim : Aim
        Of the locked sight [rad].
    distance : float
        [m]
    leaving : Leaving
        As the fletched arrow leaves with the locked sight [deg].

    A point holds "places", (k, d), as rows; all of one tiller split.
    """

    sliders: tuple[Slider, ...]
    aim: Aim
    distance: float
    leaving: Leaving

    @property
    def shots(self) -> int:
        """How long a point takes, in shots."""
        return TOGETHER

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        states, gaps = [], []
        moved = bow
        for k, place in enumerate(change["places"]):
            values = {one.name: one.value(part) for one, part in zip(self.sliders, place, strict=True)}
            if k == 0 and SPLIT in values:
                moved = with_split(bow, values[SPLIT])
            launch = moved.launch(changes_of(moved, self.sliders, values))
            gap = gap_at(launch, self.distance, self.leaving)
            states.append(start_of(launch).at(*self.aim).tolist())
            gaps.append([gap.height, gap.side])
        return {"states": states, "gaps": gaps}


def spread(sliders: tuple[Slider, ...], count: int, seed: int) -> np.ndarray:
    """Places (count, d) spread evenly over the sliders' ranges, the tiller split at a few levels."""
    from scipy.stats import qmc

    places = 2.0 * qmc.LatinHypercube(len(sliders), seed=seed, scramble=True).random(count) - 1.0
    for k, one in enumerate(sliders):
        if one.name == SPLIT:
            places[:, k] = [level_part(level(part)) for part in places[:, k]]
    return np.asarray(places)


def shoot_all(
    bow: FittedBow, question: LeavingStates, places: np.ndarray, how: HowToRun = SIMPLY
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shoot at some places.

    Returns
    -------
    places, states, gaps : (n, d), (n, 10), (n, 2) arrays
        Those that came off, those of one tiller split together. States in world axes at clear with the locked sight;
        a bare shaft above and beside the fletched one [m].
    """
    names = [one.name for one in question.sliders]
    column = names.index(SPLIT) if SPLIT in names else 0
    by = places[:, column] if SPLIT in names else np.zeros(len(places))
    bunches = []
    for split in np.unique(by):
        same = places[by == split]
        bunches += [same[k : k + TOGETHER] for k in range(0, len(same), TOGETHER)]
    rows = run_in_order(bow, [{"places": one.tolist()} for one in bunches], question, how)
    good = [k for k, row in enumerate(rows) if row["status"] == 0]
    if len(good) < 0.75 * len(bunches):
        bad = next(k for k, row in enumerate(rows) if row["status"] != 0)
        question(bow, {"places": bunches[bad].tolist()})  # raises the same once more
    return (
        np.concatenate([bunches[k] for k in good]),
        np.array([state for k in good for state in rows[k]["states"]]),
        np.array([gap for k in good for gap in rows[k]["gaps"]]),
    )
