"""The least scraping, or the least turns of the bolts, that bring a bow to a wanted tiller, weight or even bend."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled_as_built
from archerysim.equipment.bench.pockets import Turn
from archerysim.equipment.bench.wood import ScrapeAlong, check_wood
from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import UsageError
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.draw_weight import POUND
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.statics.strain import LIMBS
from archerysim.study.bench.wood.judged import Judged, departures, judged, working
from archerysim.study.bench.wood.least_change import HIGH, LOW, Least, Wanted, in_the_way, least_change, nearest
from archerysim.study.bench.wood.moves import MM, Bolts, Scraping, check_thickness
from archerysim.study.bench.wood.passes import Pass, passes_of
from archerysim.study.bench.wood.what_is_allowed import Allowed, allowed

By = Literal["scraping", "bolts"]
PLACES = np.round(np.linspace(0.0, 1.0, 21), 12)
PERCENT = 100.0
OVER = 1e-3  # [lb] over the asked weight: it is reached from above
ROOM: dict[By, float] = {"scraping": 1.0, "bolts": 5.0}  # by which their ends give way, to see what stands in the way
NEARLY = 0.2  # of a miss, in its own unit: less, and it is searched for
SPLIT, WEIGHT, EVEN = "the wanted split", "the asked draw weight", "the wanted evenness"


@result("bow.setup.name", "by", "wished", "unevenness", "passes", "warnings")
@dataclass(frozen=True)
class EvenTiller:
    """The least that has to be done to a bow for a wanted tiller.

    Arrays run along the limbs upper, lower; those along places in steps of a twentieth of the limb.

    Attributes
    ----------
    before, bow : FittedBow
        As built; and when it is done.
    by : {"scraping", "bolts"}
    wished : tuple of str
        What was wished for, in words.
    steps : tuple of ScrapeAlong or of Turn
        What is done altogether; `archerysim.change` takes them.
    stations : (array, array)
        From the root along each limb [m]; empty with bolts.
    off : (array, array)
        Depth taken off the belly there [m].
    turns : (float, float)
        Of the upper and of the lower bolt, positive = in [turn].
    draw_length : float
        At which it is weighed and its strain is judged, by the trade [m].
    place : (k,) array
        Along the limbs, 0 = root, 1 = tip.
    strains : (2, 2, k) array
        Of the more strained surface, before and after, at that draw [-]; nan where width and thickness are not known.
    bends : (2, 2, k) array
        Change of curvature, before and after, at that draw, towards the archer + [1/m].
    uneven : (float, float)
        Largest share by which the strain of the part that is to bend departs from its mean over both limbs, before and
        after; nan as above.
    judges : (Judged, Judged)
        Before and after.
    passes : tuple of Pass
        In which it is done, the first entry being the bow as it stands.
    cost : float
        What was made least: see `archerysim.even_tiller`.
    slope_error : float
        Share by which the differences with two steps disagree at the answer.
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings speak of.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.even_tiller(bow, split="5 mm", draw_weight="32 lb", mesh="coarse")
    >>> found.by, max(found.uneven) < 1.0
    ('scraping', True)
    """

    before: FittedBow
    bow: FittedBow
    by: By
    wished: tuple[str, ...]
    steps: tuple[ScrapeAlong, ...] | tuple[Turn, ...]
    stations: tuple[np.ndarray, np.ndarray]
    off: tuple[np.ndarray, np.ndarray]
    turns: Annotated[tuple[float, float], Reported("turn")]
    draw_length: Annotated[float, Reported("m")]
    place: np.ndarray
    strains: np.ndarray
    bends: Annotated[np.ndarray, Reported("1/m")]
    uneven: tuple[float, float]
    judges: tuple[Judged, Judged]
    passes: tuple[Pass, ...]
    cost: float
    slope_error: float
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]

    @property
    def unevenness(self) -> float:
        """After all passes."""
        return self.uneven[1]


def even_tiller(
    bow: Setup | FittedBow,
    *,
    split: Any = None,
    draw_weight: Any = None,
    even: Any = None,
    by: By = "scraping",
    least_thickness: Any = "0 mm",
    passes: int = 0,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
) -> EvenTiller:
    """The least scraping or the least bolt turns for a wanted split, a wanted draw weight or an even strain.

    Wood comes off the belly at stations along both limbs, straight lines between, and is never put back. What is made
    least is the mean square of its depth along the limbs and of what the depth grows by within 10 cm, so that the
    scraping is smooth [judgement]; of bolts, the sum of the squares of their turns. The string, the locators and the
    draw length stay.

    Parameters
    ----------
    bow : Setup or FittedBow
    split : str or another length with its unit, optional
        Upper tiller less lower tiller at brace.
    draw_weight : str or another force with its unit, optional
        At the archer's draw length. It is reached from above, never passed.
    even : str or float, optional
        Share by which the strain may depart from its mean over both limbs, between a tenth and eight tenths of
        each limb's length at full draw [judgement], for example "5 %".
    by : {"scraping", "bolts"}
    least_thickness : str or another length with its unit
        Left everywhere. No more than 20 % of the thickness is taken off anyhow [judgement].
    passes : int
        In how many it is done; 0: as many as leave at most 0.25 mm, or half a turn, to each, and two at least.
    changes, hold, mesh
        As for `archerysim.shoot`.

    Returns
    -------
    EvenTiller

    Raises
    ------
    SetupError
        Where nothing reaches what is wished within the bounds: it names the one that stands in the way. Where the limb
        must not be scraped, or the bow passes a limit as it stands. Where the file has no limit, nothing goes past the
        draw weight and the draw length that were measured.
    ShotError
        Where the bow cannot be braced or drawn.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.even_tiller(bow, split="5 mm", draw_weight="32 lb", mesh="coarse")
    >>> round(1e3 * found.judges[1].split, 2)
    5.0
    """
    wish = _Wish.of(split, draw_weight, even, by)
    left = in_si("least_thickness", least_thickness, "mm")
    first = FittedBow.of(bow, mesh, changes, hold, 1)
    if by == "scraping":
        for limb in LIMBS:
            check_wood(f"{limb}_limb", getattr(first.setup, f"{limb}_limb"), "scraped")
    full = filled_as_built(first.setup)
    may = allowed(first, full, PLACES)
    wish.check(may, by)
    moves: Scraping | Bolts = Bolts(first.setup, full) if by == "bolts" else _scraping(full, left)
    wanted = _wanted(full, first.mesh, wish, may, moves)
    found = _least_or_refused(wanted, wish, moves, by)
    steps = moves.steps(found.moves)
    done = first
    for step in steps:
        done = done.with_changes(step.changes(done.setup))
    stand, then = (
        judged(filled_as_built(one.setup), first.mesh, may.draw_length, PLACES, trial=False) for one in (first, done)
    )
    curve = done.draw_curve(2)
    none = (np.empty(0), np.empty(0))
    intended = stand.drawn.weight if wish.weight is None else wish.weight + 2.0 * OVER * POUND
    return EvenTiller(
        first, done, by, wish.words, steps, moves.stations if isinstance(moves, Scraping) else none,
        moves.depths(found.moves) if isinstance(moves, Scraping) else none,
        (0.0, 0.0) if isinstance(moves, Scraping) else (float(found.moves[0]), float(found.moves[1])),
        may.draw_length, PLACES, np.array([stand.strain, then.strain]), np.array([stand.bend, then.bend]),
        (uneven(stand), uneven(then)), (stand, then),
        passes_of(full, first.mesh, moves, found.moves if steps else None, may.draw_length, intended, passes),
        float(found.moves @ moves.square @ found.moves), found.slope_error, curve.warnings, curve.limits_passed,
    )  # fmt: skip


def uneven(one: Judged, place: np.ndarray = PLACES) -> float:
    """Largest share by which the strain departs from its mean over both limbs, where they are to bend."""
    return float(np.abs(departures(one.strain[:, working(place)])).max())


@dataclass(frozen=True)
class _Wish:
    """What is wished for, in SI; None for nothing."""

    split: float | None
    weight: float | None
    even: float | None

    @classmethod
    def of(cls, split: Any, weight: Any, even: Any, by: str) -> _Wish:
        if by not in ("scraping", "bolts"):
            raise UsageError("by", f"{by!r} is not known", 'give "scraping" or "bolts"')
        if split is None and weight is None and even is None:
            raise UsageError("split", "nothing is wished for", "give split, draw_weight or even")
        if even is not None and by == "bolts":
            raise SetupError(
                "even", "bolts turn a limb in its pocket, they do not make it bend evenly", "Scrape, or leave it out"
            )
        read = cls(
            None if split is None else in_si("split", split, "mm"),
            None if weight is None else in_si("draw_weight", weight, "lbf"),
            None if even is None else in_si("even", even, ""),
        )
        for name, value, low, high, unit in (
            ("split", read.split, -0.05, 0.05, "mm"), ("draw_weight", read.weight, 2 * POUND, 150 * POUND, "lbf"),
            ("even", read.even, 0.005, 0.5, ""),
        ):  # fmt: skip
            if value is not None and not low <= value <= high:
                raise SetupError(
                    name, f"{show(value, unit)} is outside {show(low, unit)} to {show(high, unit)}",
                    "Check the number and its unit",
                )  # fmt: skip
        return read

    @property
    def words(self) -> tuple[str, ...]:
        out = []
        if self.split is not None:
            out.append(f"tiller split {1e3 * self.split:+.1f} mm")
        if self.weight is not None:
            out.append(f"draw weight {self.weight / POUND:.1f} lb")
        if self.even is not None:
            out.append(f"strain even within {PERCENT * self.even:.1f} %")
        return tuple(out)

    def check(self, may: Allowed, by: str) -> None:
        """Refuse what no bow-maker could do."""
        if self.even is not None and not np.isfinite(may.stand.strain).all():
            raise SetupError("limbs.width", "no strain is known without width, thickness and modulus", "Give them")
        if self.weight is None:
            return
        if self.weight > may.heaviest + OVER * POUND:
            raise SetupError(
                "draw_weight", f"{show(self.weight, 'lbf', 4)} is more than {may.heaviest_words}",
                "Ask for less" if may.known_weight else "Ask for less; more only within the maker's figure in the file",
            )  # fmt: skip
        if by == "scraping" and self.weight > may.stand.drawn.weight - OVER * POUND:
            raise SetupError(
                "draw_weight",
                f"{show(self.weight, 'lbf', 4)} is not less than the bow's {show(may.stand.drawn.weight, 'lbf', 4)}: "
                "no wood can be put back",
                "Ask for less",
            )


def _scraping(full: BuiltSetup, left: float) -> Scraping:
    for limb in LIMBS:
        check_thickness(getattr(full, f"{limb}_limb"), f"{limb}_limb", left)
    return Scraping(full, left)


def _wanted(full: BuiltSetup, mesh: Mesh, wish: _Wish, may: Allowed, moves: Scraping | Bolts) -> Wanted:
    """The numbers asked for and bounded, each in its own unit: mm, lb, %."""
    bends = working(PLACES)

    def values(x: np.ndarray) -> np.ndarray:
        one = judged(moves.on(full, x), mesh, may.draw_length, PLACES)
        out = [one.split / MM, one.drawn.weight / POUND, one.braced.brace_height / MM]
        parts = [np.array(out)]
        if wish.even is not None:
            parts.append(PERCENT * departures(one.strain[:, bends]).ravel())
        if may.strain is not None:
            parts.append(PERCENT * one.strain.ravel())
        return np.concatenate(parts)

    rows: list[tuple[float, float, bool, str]] = [
        (-math.inf, math.inf, True, SPLIT) if wish.split is None else (wish.split / MM, wish.split / MM, True, SPLIT),
        (-math.inf, may.heaviest / POUND, False, may.heaviest_words)
        if wish.weight is None
        else (wish.weight / POUND + OVER, wish.weight / POUND + OVER, True, WEIGHT),
        (may.brace[0] / MM, may.brace[1] / MM, False, "the brace height's limits"),
    ]
    if wish.even is not None:
        rows += [(-PERCENT * wish.even, PERCENT * wish.even, True, EVEN)] * int(2 * bends.sum())
    if may.strain is not None:
        rows += [(-math.inf, PERCENT * float(most), False, may.strain_words) for most in may.strain.ravel()]
    low, high, wishes, names = zip(*rows, strict=True)
    floor = np.array([name == WEIGHT for name in names])
    return Wanted(
        values, np.array(low), np.array(high), np.array(wishes), floor, tuple(names), moves.least, moves.most,
        moves.square, moves.step,
    )  # fmt: skip


def _least_or_refused(wanted: Wanted, wish: _Wish, moves: Scraping | Bolts, by: By) -> Least:
    """The least change; where nothing meets all wishes, which bound prevents it.

    Raises
    ------
    SetupError
    """
    near, slope = nearest(wanted, np.zeros(wanted.least.size))
    if near.miss < NEARLY:
        for begin in (None, near.moves):
            found = least_change(wanted, begin)
            if found.met:
                return found
    others = [(name,) for name in dict.fromkeys(wanted.names) if name not in (SPLIT, WEIGHT, EVEN)]
    ends: list[tuple[str, ...]] = [(HIGH,), (LOW,)] if by == "scraping" else [(HIGH, LOW)]
    weight = [(WEIGHT,)] if wish.weight is not None and len(wish.words) > 1 else []
    ways = in_the_way(wanted, near, slope, (*others, ends[0], *weight, *ends[1:]), ROOM[by])
    named = {LOW: "that no wood can be put back", HIGH: _travel(moves)}
    said = [named.get(one, one) for one in ways] or ["more than one bound"]
    told = [f"split {near.values[0]:+.1f} mm", f"draw weight {near.values[1]:.1f} lb"]
    if wish.even is not None:
        k = [j for j, name in enumerate(wanted.names) if name == EVEN]
        told.append(f"strain even within {float(np.abs(near.values[k]).max()):.1f} %")
    raise SetupError(
        "even_tiller", f"{' with '.join(wish.words)} is not reached by {by}: {' and '.join(said)} "
        f"stand{'s' * (len(said) == 1)} in the way",
        f"The nearest is {', '.join(told)}",
    )  # fmt: skip


def _travel(moves: Scraping | Bolts) -> str:
    if isinstance(moves, Scraping):
        return "how deep a limb may be scraped (20 % at most, or to least_thickness)"
    return f"the bolts' travel ({'limits.most_bolt_turns' if moves.known else 'two turns, where no limit is given'})"
