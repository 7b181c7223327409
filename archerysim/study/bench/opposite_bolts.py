"""The tiller split changed and little else: both bolts turned opposite ways, or one limb weaker and one stiffer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import InSi, SetupError, filled
from archerysim.errors import ShotError
from archerysim.fields.quantity import in_si
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.tuning.limits import TURNS

HELD = ("brace height",)
KNOTS = (-1.0, -0.5, 0.0, 0.5, 1.0)  # of the travel at which the split is found by bracing
INWARD = 0.8  # of the travel that is tried where its end gives no bow
TRIES = 12
MOST_TURNS = 10.0
STIFFER = 0.05  # of a limb's stiffness, that stands for a turn on a bow of one piece [judgement]


@dataclass(frozen=True)
class OppositeBolts:
    """How the tiller split of one bow is changed.

    Attributes
    ----------
    bow : FittedBow
    by : {"bolts", "stiffness of the limbs"}
        A bow of one piece has no bolts: its upper limb is made weaker and its lower one stiffer, as wood taken off the
        one and left on the other would.
    travel : (float, float)
        How far: turns of the lower bolt in and of the upper one out, from where they stand; of a bow of one piece as
        many times 5 % of the limbs' stiffness.
    splits : (float, float)
        Tiller splits at the ends [m].
    """

    bow: FittedBow
    by: str
    travel: tuple[float, float]
    splits: tuple[float, float]
    knots: np.ndarray
    at_knots: np.ndarray

    def changes(self, turns: float) -> InSi:
        """What is changed on the bow by so many turns; the split grows with them."""
        setup = self.bow.setup
        if self.by == "bolts":
            here = [(getattr(setup, name).bolt_turns or 0.0) for name in ("upper_limb", "lower_limb")]
            return InSi({"upper_limb.bolt_turns": here[0] - turns, "lower_limb.bolt_turns": here[1] + turns})
        out: dict[str, Any] = {}
        for name, sign in (("upper_limb", -1.0), ("lower_limb", 1.0)):
            factor, modulus = 1.0 + sign * turns * STIFFER, getattr(setup, name).modulus
            if modulus is None:
                out[f"{name}.bending_stiffness.all"] = factor
            else:
                out[f"{name}.modulus"] = factor * modulus
        return InSi(out)

    def turned(self, turns: float, hold: tuple[str, ...] = HELD) -> FittedBow:
        """The bow with both limbs changed opposite ways, its brace height held."""
        return self.bow.with_changes(self.changes(turns), hold)

    def turns_for(self, split: float) -> float:
        """Turns that come to a split, by the parabolas through the knots.

        Parameters
        ----------
        split : float
            [m]

        Raises
        ------
        SetupError
            Where it is out of reach.
        """
        low, high = self.splits
        if not low <= split <= high:
            raise SetupError(
                "split", f"{1e3 * split:.1f} mm is not within what the {self.by} can do, {1e3 * low:.1f} to "
                f"{1e3 * high:.1f} mm", "Ask for splits between these, or give limits.most_bolt_turns",
            )  # fmt: skip
        curve = np.polynomial.Polynomial.fit(self.at_knots, self.knots, min(4, self.knots.size - 1))
        return float(curve(split))


def opposite_bolts(bow: FittedBow, within: Any = None) -> OppositeBolts:
    """How the split of a bow is changed, and how far.

    Parameters
    ----------
    bow : FittedBow
    within : str or number with its unit, optional
        Most turns of each bolt from where they stand (default 2), and no more than ``limits.most_bolt_turns`` leaves.

    Raises
    ------
    SetupError, ShotError
    """
    setup = bow.setup
    by = "stiffness of the limbs" if filled(setup).bow.kind == "one piece" else "bolts"
    down, up = _travel(bow, within, by)
    knots, at = [], []
    for knot in KNOTS:
        turns = (up if knot > 0.0 else down) * abs(knot)
        for _ in range(TRIES):
            try:
                at.append(_split(bow, by, turns))
            except (SetupError, ShotError):
                turns *= INWARD
                continue
            knots.append(turns)
            break
    order = np.argsort(knots)
    turned, splits = np.array(knots)[order], np.array(at)[order]
    return OppositeBolts(
        bow, by, (float(turned[0]), float(turned[-1])), (float(splits[0]), float(splits[-1])), turned, splits
    )


def _travel(bow: FittedBow, within: Any, by: str) -> tuple[float, float]:
    """Turns down and up: the split falls and grows."""
    most = TURNS if within is None else in_si("within", within, "turn")
    if not 0.0 < most <= MOST_TURNS:
        raise SetupError("within", f"{most:g} turns is no travel of a bolt", f"Give up to {MOST_TURNS:g} turns")
    given = bow.setup.limits.most_bolt_turns
    if given is None or by != "bolts":
        return -most, most
    upper, lower = ((getattr(bow.setup, name).bolt_turns or 0.0) for name in ("upper_limb", "lower_limb"))
    up, down = min(given + upper, given - lower), min(given - upper, given + lower)
    if not (up > 0.0 and down > 0.0):
        raise SetupError(
            "limits.most_bolt_turns", f"the bolts stand at {upper:g} and {lower:g} turns, which leaves no travel",
            "Turn them back first, or look the maker's limit up again",
        )  # fmt: skip
    return -min(down, most), min(up, most)


def _split(bow: FittedBow, by: str, turns: float) -> float:
    """Tiller split of the braced bow [m]."""
    braced = OppositeBolts(bow, by, (0.0, 0.0), (0.0, 0.0), np.zeros(0), np.zeros(0)).turned(turns).braced
    return braced.upper_tiller - braced.lower_tiller
