"""To what the fit lays the difference of a bow's tillers: the pockets' angles, the limbs' stiffness, or both.

With the string's line, the brace height and the mean pocket angle kept, each limb meets the line by its own lean and
its own stiffness. So either the pockets' difference is found for a stiffness ratio (by bracing, in a border of the
matrix), or, around that, the ratio at which the pockets differ by what they are to: by a secant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.equipment import field_info
from archerysim.equipment.bow import SplitFrom
from archerysim.equipment.filled_setup import MeasuredSetup
from archerysim.errors import SetupError, ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.statics.bracing import Bracing
from archerysim.status import NO_CONVERGENCE

SAME_ANGLE = 1e-9  # [rad] of the pockets' difference
LEAST_APART = 1e-4  # of two logarithms of the ratio, for the slope between them: the bow changes otherwise meanwhile
TRIALS = 8  # of the ratio, until the pockets differ by what they are to
FURTHEST = 0.3  # change of the ratio's logarithm in one trial
STEEPEST, FLATTEST = -4.0, -0.05  # slope of the pockets' difference [rad] with the ratio's logarithm
ROOM = 1.5  # beyond the range allowed, in which the search may move on its way
HALF = 0.5  # of the difference that the pockets alone would have, laid to both [judgement]


ALIKE = 0.005  # pockets that differ by less are told as alike [deg]


@result("split_from", "pockets", "stiffness_ratio", "found")
@dataclass(frozen=True)
class Laid:
    """What the difference of the tillers was laid to.

    Attributes
    ----------
    split_from : {"pockets", "stiffness", "both"}
    pockets : float
        Pocket angle of the upper limb less that of the lower, as measured: with the bolts where they stood [rad].
    stiffness_ratio : float
        Bending stiffness of the upper limb over that of the lower.
    found : bool
        Whether the fit found the ratio; else it was given or assumed.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
    >>> bow.laid.split_from, bow.laid.stiffness_ratio
    ('pockets', 1.0)
    """

    split_from: SplitFrom
    pockets: Annotated[float, Reported("rad")]
    stiffness_ratio: Annotated[float, Reported()]
    found: bool

    def words(self) -> str:
        """All of it in a sentence.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.fit(archerysim.load("examples/club-outdoor.toml"))
        >>> print(bow.laid.words())
        the tillers' difference is attributed to the pockets: the upper limb leans back by
        0.49 deg against the lower; stiffness upper over lower 1
        """
        ratio = f"{self.stiffness_ratio:.4g}{', found by the fit' if self.found else ''}"
        to = {"pockets": "the pockets", "stiffness": "the limbs' stiffness", "both": "pockets and stiffness"}
        by = abs(math.degrees(self.pockets))
        way = "forward" if self.pockets >= 0.0 else "back"
        leaning = f"the upper limb leans {way} by {by:.2f} deg against the lower"
        if by < ALIKE:
            leaning = "both limbs lean alike"
        return (
            f"the tillers' difference is attributed to {to[self.split_from]}: {leaning}; stiffness upper over "
            f"lower {ratio}"
        )


class RatioSearch:
    """The ratio at which the pockets differ by what they are to.

    Attributes
    ----------
    wanted : float
        Pocket angle of the upper limb less that of the lower [rad].
    log : float
        Logarithm of the ratio so far.
    """

    def __init__(self, full: MeasuredSetup, wanted: float) -> None:
        self.wanted, self.log = wanted, 0.0
        bow, riser = full.bow, full.riser
        # The chord from root to tip turns back from the pocket's lean by as much as the limb bends; where both limbs
        # are half as much stiffer and softer by a small share, they bend by that share less and more.
        up = 0.5 * (bow.length - riser.upper_root_y + riser.lower_root_y)
        self.slope = -float(np.clip(bow.pocket_angle + math.atan2(bow.upper_tiller, up), 0.2, 1.0))
        self._last: tuple[float, float] | None = None

    @property
    def ratio(self) -> float:
        """Stiffness of the upper limb over that of the lower."""
        return math.exp(self.log)

    def miss(self, leans: tuple[float, float]) -> float:
        """By how much the pockets differ too much [rad]."""
        return leans[0] - leans[1] - self.wanted

    def moved(self, leans: tuple[float, float]) -> float:
        """Move the ratio after a trial; returns the change of its logarithm.

        Raises
        ------
        SetupError
            Where it would leave the range that is allowed by far.
        """
        miss = self.miss(leans)
        if self._last is not None and abs(self.log - self._last[0]) > LEAST_APART:
            slope = (miss - self._last[1]) / (self.log - self._last[0])
            self.slope = min(max(slope, STEEPEST), FLATTEST)
        self._last = (self.log, miss)
        change = min(max(-miss / self.slope, -FURTHEST), FURTHEST)
        self.log += change
        refuse_ratio(self.ratio, ROOM)
        return change


def refuse_ratio(ratio: float, room: float = 1.0) -> None:
    """Refuse a stiffness ratio outside the range that is allowed, widened by ``room``.

    Raises
    ------
    SetupError
    """
    about = field_info("bow.stiffness_ratio")
    assert about.low is not None
    assert about.high is not None
    if not about.low / room <= ratio <= about.high * room:
        raise SetupError(
            "bow.split_from",
            f"the tillers would need an upper limb some {ratio:.2g} times as stiff as the lower one, outside "
            f"{about.low:g} to {about.high:g}",
            'Attribute their difference to the pockets, bow.split_from = "pockets", or check the tillers',
        )


def settle(bow: Bracing, search: RatioSearch, height: float, split: float, two_way: bool) -> None:
    """Change the limbs' stiffness against each other, braced to a height with a split, until the pockets are as wanted.

    ``two_way`` as of `Bracing.newton`.

    Raises
    ------
    SetupError
        Where the ratio is none that is allowed.
    ShotError
        Where it is not found.
    """
    marks, chain = bow.marks, bow.chain
    upper, lower = slice(marks.root_u, marks.tip_u), slice(marks.tip_l + 1, marks.root_l + 1)
    before = search.log
    for _ in range(TRIALS):
        bow.newton(2, height, split, two_way=two_way)
        if abs(search.miss(bow.leans)) < SAME_ANGLE:
            bow.limbs_and_arrow = bow.limbs_and_arrow.stiffer(1.0, math.exp(search.log - before))
            return
        half = math.exp(0.5 * search.moved(bow.leans))
        for row in (chain.bend, chain.bend_loss):
            row[upper] *= half
            row[lower] /= half
    raise ShotError(
        "fit", NO_CONVERGENCE, f"the tillers are met to {search.miss(bow.leans):.1e} rad of the pockets only"
    )
