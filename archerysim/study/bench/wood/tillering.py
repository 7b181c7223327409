"""A stave on the tillering tree: drawn by stages, scraped until both limbs bend evenly, and only then drawn further."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, filled_as_built
from archerysim.equipment.bench.wood import ScrapeAlong, check_wood
from archerysim.errors import UsageError
from archerysim.fields.given import whole_number
from archerysim.fields.quantity import in_si
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.units import show
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.draw_weight import POUND
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.statics.brace import Braced, brace_to_height
from archerysim.shot.statics.strain import LIMBS, limit_of
from archerysim.study.bench.wood.judged import Judged, departures, draw_at_weight, judge, judged, working
from archerysim.study.bench.wood.least_change import HIGH, LOW, MET, Wanted, in_the_way, least_change, nearest
from archerysim.study.bench.wood.moves import Scraping
from archerysim.study.bench.wood.outline import natural_at, outline, target_bend

Law = Literal["even strain", "arc"]
PLACES = np.round(np.linspace(0.0, 1.0, 21), 12)
FIRST_DRAW = 0.6  # of the full draw: the first stage [judgement]
LOW_BRACE = 0.65  # of the brace height, on the long string [judgement]
HALF_INCH = 0.0127
OVER = 0.01  # [lb] over the intended weight, which is reached from above
AGAIN = 4  # scrapings at one length, where one may not take enough
NEARLY = 0.2  # of a miss, in its own unit: less, and it is searched for
SOFTER = 0.9  # of the finished bow's straight line from brace to full draw: never less at a length [judgement]
YIELDS = 0.7  # of the strain limit: beyond it wood takes set [judgement]
WEIGHT, EVEN, STRAIN = "the intended draw weight", "an even bend", "the strain limit"


@dataclass(frozen=True)
class Stage:
    """One length on the tree.

    Arrays have the upper limb first.

    Attributes
    ----------
    draw_length : float
        By the trade [m].
    long_string : bool
        Whether it hangs on the long string, at a low brace.
    brace_height : float
        [m]
    drawn_first, weight_first : float
        How far it is drawn as it stands, never past the intended weight [m]; and what it pulls there [N].
    uneven_first, uneven : float
        Unevenness at this length before and after scraping.
    weight : float
        At this length after it [N].
    upper_tiller, lower_tiller : float
        After it [m].
    steps : tuple of ScrapeAlong
        What is scraped at this length, one after another.
    at : (array, array)
        Stations from the root along each limb [m].
    off : (array, array)
        What all of ``steps`` take off there [m].
    before, after, target : (2, k, 2) arrays
        Outlines of both limbs at this length, in the riser's axes [m]: as it stands, scraped, and wanted.
    from_target : float
        Largest distance of the scraped limbs from the wanted outline [m].
    set_taken : float
        Largest change of natural curvature that working it at this length leaves, towards the archer [1/m].
    """

    draw_length: Annotated[float, Reported("m")]
    long_string: bool
    brace_height: Annotated[float, Reported("m")]
    drawn_first: Annotated[float, Reported("m")]
    weight_first: Annotated[float, Reported("N")]
    uneven_first: float
    uneven: float
    weight: Annotated[float, Reported("N")]
    upper_tiller: Annotated[float, Reported("m")]
    lower_tiller: Annotated[float, Reported("m")]
    steps: tuple[ScrapeAlong, ...]
    at: tuple[np.ndarray, np.ndarray]
    off: tuple[np.ndarray, np.ndarray]
    before: np.ndarray
    after: np.ndarray
    target: np.ndarray
    from_target: Annotated[float, Reported("m")]
    set_taken: Annotated[float, Reported("1/m")]


@result("setup.name", "law", "draw_weight", "even", "stages", "left", "warnings")
@dataclass(frozen=True)
class Tillering:
    """A stave tillered by stages.

    Attributes
    ----------
    stave, setup : Setup
        As built: before, and when it is done.
    bow : FittedBow
        Of ``setup``, to be shot.
    law : {"even strain", "arc"}
    draw_weight : float
        Intended [N].
    even : float
        Share by which strain or curvature may depart from its mean over both limbs.
    stages : tuple of Stage
    left : float
        Unevenness that remains.
    set_share : float
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings speak of.

    Examples
    --------
    >>> import archerysim
    >>> longbow = archerysim.load("examples/longbow.toml")
    >>> stave = archerysim.limb_design(longbow, draw_weight="34 lb", mesh="coarse").rough
    >>> found = archerysim.tillering(stave, draw_weight="34 lb", stages=2, mesh="coarse")
    >>> len(found.stages)
    2
    """

    stave: Setup
    setup: Setup
    bow: FittedBow
    law: Law
    draw_weight: Annotated[float, Reported("N")]
    even: float
    stages: tuple[Stage, ...]
    left: float
    set_share: float
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]


def tillering(
    bow: Setup | FittedBow,
    *,
    draw_weight: Any,
    brace_height: Any = None,
    stages: int = 5,
    even: Any = "6 %",
    law: Law = "even strain",
    set_share: float = 0.0,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
) -> Tillering:
    """Tiller a stave by stages, from a low brace on a long string to the archer's draw length.

    At each length it is drawn, never past the intended weight; scraped by the least that makes both limbs bend evenly
    there; worked at this length; judged again. Only then it is drawn further. The scraping also takes the weight down:
    with a straight line from brace to full draw as the finished bow's, to halfway between it and the intended weight or
    less, and never under 90 % of it [judgement].

    Parameters
    ----------
    bow : Setup or FittedBow
        A stave of solid wood, its limbs given by width and thickness: for example the rough one of `limb_design`.
    draw_weight : str or another force with its unit
        Intended, at the archer's draw length.
    brace_height : str or another length with its unit, optional
        Intended. Default: the bow's own. The first half of the stages have 65 % of it [judgement].
    stages : int
        From 2 to 12 lengths, the first 60 % of the draw length [judgement].
    even : str or float
        Share by which strain (or curvature) may depart from its mean over both limbs, between a tenth and eight tenths
        of their length, before the next length.
    law : {"even strain", "arc"}
        What is to be alike along the limbs: strain, or curvature, an arc of a circle.
    set_share : float
        Share of the bend beyond 70 % of the strain limit that stays in the limb when it has been worked at a length, as
        a change of its natural curvature [judgement]; 0: no set is taken.
    changes, hold, mesh
        As for `archerysim.shoot`.

    Returns
    -------
    Tillering

    Raises
    ------
    SetupError
        Where the stave is none of solid wood, too light, or cannot be made even within the bounds: it names the length
        and the bound.
    ShotError
        Where it cannot be braced or drawn.

    Examples
    --------
    >>> import archerysim
    >>> longbow = archerysim.load("examples/longbow.toml")
    >>> stave = archerysim.limb_design(longbow, draw_weight="34 lb", mesh="coarse").rough
    >>> found = archerysim.tillering(stave, draw_weight="34 lb", stages=2, mesh="coarse")
    >>> round(found.stages[-1].weight / 4.44822, 1)
    34.0
    """
    if law not in get_args(Law):
        raise UsageError("law", f"{law!r} is not known", 'give "even strain" or "arc"')
    whole_number("stages", stages, "a number of stages", 2, 12)
    weight, share = in_si("draw_weight", draw_weight, "lbf"), in_si("even", even, "")
    first = FittedBow.of(bow, mesh, changes, hold, 1)
    height = first.brace_height if brace_height is None else in_si("brace_height", brace_height, "mm")
    for name, value, low, high, unit in (
        ("draw_weight", weight, 2 * POUND, 150 * POUND, "lbf"), ("even", share, 0.01, 0.5, ""),
        ("brace_height", height, 0.1, 0.4, "mm"), ("set_share", set_share, 0.0, 1.0, ""),
    ):  # fmt: skip
        if not low <= value <= high:
            ends = f"{show(low, unit)} to {show(high, unit)}"
            raise SetupError(name, f"{show(value, unit)} is outside {ends}", "Check the number and its unit")
    setup = first.setup
    for limb in LIMBS:
        check_wood(f"{limb}_limb", getattr(setup, f"{limb}_limb"), "scraped")
    draw = float(filled_as_built(setup).archer.draw_length)
    _refuse_limits(setup, weight, draw)
    tree = _Tree(first.mesh, law, weight, share, height, draw, set_share)
    tree.refuse_light(setup)
    done: list[Stage] = []
    for k, length in enumerate(_lengths(draw, stages)):
        stage, setup = tree.stage(setup, length, k < stages // 2, k == stages - 1)
        done.append(stage)
    ready = FittedBow.of(setup, first.mesh, planes=first.planes)
    curve = ready.draw_curve(2)
    return Tillering(
        first.setup, setup, ready, law, weight, share, tuple(done), done[-1].uneven, set_share, curve.warnings,
        curve.limits_passed,
    )  # fmt: skip


def _refuse_limits(setup: Setup, weight: float, draw: float) -> None:
    limits = setup.limits
    if limits.highest_draw_weight is not None and weight > limits.highest_draw_weight:
        most = show(limits.highest_draw_weight, "lbf")
        raise SetupError(
            "draw_weight", f"{show(weight, 'lbf')} is over limits.highest_draw_weight, {most}", "Ask for less"
        )
    if limits.longest_draw is not None and draw > limits.longest_draw + 1e-9:
        most = show(limits.longest_draw, "in")
        raise SetupError("archer.draw_length", f"{show(draw, 'in')} is over limits.longest_draw, {most}", "Draw less")


def _lengths(draw: float, stages: int) -> list[float]:
    """Draw lengths of the stages, in half inches but for the last [m]."""
    even = np.linspace(FIRST_DRAW * draw, draw, stages)[:-1]
    return [*(HALF_INCH * np.round(even / HALF_INCH)).tolist(), draw]


@dataclass(frozen=True)
class _Tree:
    """What is the same at each length, in SI."""

    mesh: Mesh
    law: Law
    weight: float
    even: float
    height: float
    draw: float
    set_share: float

    def refuse_light(self, setup: Setup) -> None:
        """Refuse a stave that would be too light at full draw.

        Raises
        ------
        SetupError
        """
        full, braced = _with_string(setup, self.mesh, self.height)
        pulls = judge(filled_as_built(full), braced, self.draw, PLACES).drawn.weight
        if pulls < self.weight:
            raise SetupError(
                "draw_weight",
                f"{show(self.weight, 'lbf')} is more than the stave would pull at {show(self.draw, 'in')}, "
                f"{show(pulls, 'lbf', 3)}: no wood can be put back",
                "Take a thicker stave, or ask for less",
            )

    def stage(self, setup: Setup, length: float, low: bool, last: bool) -> tuple[Stage, Setup]:
        """One length; and the stave after it."""
        height = self.height * (LOW_BRACE if low else 1.0)
        setup, braced = _with_string(setup, self.mesh, height)
        full = filled_as_built(setup)
        stand = judge(full, braced, length, PLACES)
        drawn = draw_at_weight(full, braced, self.weight + 2.0 * OVER * POUND, length)
        pulls = stand.drawn.weight if drawn == length else judge(full, braced, drawn, PLACES).drawn.weight
        more = 0.0
        for _ in range(AGAIN):  # set and the new string take a little weight, for which more is left at first
            steps, scraped = self.scraped(setup, length, last, more)
            worked, taken = self.worked(scraped, length)
            worked, braced = _with_string(worked, self.mesh, height)
            new = filled_as_built(worked)
            then = judge(new, braced, length, PLACES, trial=False)
            short = self.weight / POUND + OVER - then.drawn.weight / POUND
            if not last or abs(short) < 0.5 * OVER:
                break
            more += short
        before, after, target = (
            np.array([outline(one, name, PLACES, bend) for name, bend in zip(LIMBS, bends, strict=True)])
            for one, bends in (
                (full, stand.bend), (new, then.bend), (new, target_bend(new, self.law, then, PLACES)),
            )
        )  # fmt: skip
        at = (Scraping(full).stations[0], Scraping(full).stations[1])
        off = [np.zeros(one.size) for one in at]
        for step in steps:
            off[LIMBS.index(step.limb)] += np.array(step.depths)
        return Stage(
            length, low, braced.brace_height, drawn, pulls, self.uneven(setup, stand), self.uneven(worked, then),
            then.drawn.weight, braced.upper_tiller, braced.lower_tiller, steps, at, (off[0], off[1]), before, after,
            target, float(np.hypot(*(after - target).transpose(2, 0, 1)).max()), taken,
        ), worked  # fmt: skip

    def values(self, setup: Setup, one: Judged) -> np.ndarray:
        """What is to be alike (2, k)."""
        return one.strain if self.law == "even strain" else one.bend - natural_at(filled_as_built(setup), PLACES)

    def uneven(self, setup: Setup, one: Judged) -> float:
        return float(np.abs(departures(self.values(setup, one)[:, working(PLACES)])).max())

    def scraped(self, setup: Setup, length: float, last: bool, more: float) -> tuple[tuple[ScrapeAlong, ...], Setup]:
        """Scraped until it bends evenly at a length.

        Raises
        ------
        SetupError
        """
        steps: list[ScrapeAlong] = []
        for _ in range(AGAIN):
            moves = Scraping(filled_as_built(setup))
            wanted = self.wanted(setup, moves, length, last, more)
            begin = np.zeros(moves.most.size)
            values = wanted.values(begin)
            if float(wanted.misses(values).max()) < MET:
                break
            near, slope = nearest(wanted, begin)
            found = least_change(wanted) if near.miss < NEARLY else near
            if not found.met and near.miss < NEARLY:
                found = least_change(wanted, near.moves)
            if not found.met and not near.miss < 0.9 * float(wanted.misses(values).max()):
                raise self.refused(wanted, near, slope, length)
            for step in moves.steps(found.moves):
                steps.append(step)
                setup = setup.replace(step.changes(setup))
            if found.met:
                break
        else:
            raise self.refused(wanted, near, slope, length)
        return tuple(steps), setup

    def refused(self, wanted: Wanted, near: Any, slope: np.ndarray, length: float) -> SetupError:
        ways = in_the_way(wanted, near, slope, ((HIGH,), (STRAIN,), (WEIGHT,), (LOW,)), 1.0)
        words = {HIGH: "how deep it may be scraped at one length", LOW: "that no wood can be put back"}
        said = [words.get(one, one) for one in ways] or ["more than one bound"]
        return SetupError(
            "tillering",
            f"at {show(length, 'in')} the stave does not come to bend evenly within {100 * self.even:.0f} %: "
            f"{' and '.join(said)} stand{'s' * (len(said) == 1)} in the way",
            "Take a thicker stave, less draw weight, or be content with less even limbs",
        )

    def wanted(self, setup: Setup, moves: Scraping, length: float, last: bool, more: float) -> Wanted:
        """The numbers asked for and bounded, each in its own unit: lb, %; so much more weight is left [lb]."""
        full, bends = filled_as_built(setup), working(PLACES)
        natural = natural_at(full, PLACES)
        limits = [limit_of(getattr(setup, f"{limb}_limb"))[0] for limb in LIMBS]

        def values(x: np.ndarray) -> np.ndarray:
            one = judged(moves.on(full, x), self.mesh, length, PLACES)
            alike = one.strain if self.law == "even strain" else one.bend - natural
            rows = [np.array([one.drawn.weight / POUND]), 100.0 * departures(alike[:, bends]).ravel()]
            return np.concatenate([*rows, 100.0 * one.strain.ravel()])

        part = (length - 0.0254 * 1.75 - self.height) / (self.draw - 0.0254 * 1.75 - self.height)
        most = self.weight / POUND + OVER + more
        line = min(1.0, part) * self.weight / POUND
        least = most if last else SOFTER * line
        most = most if last else 0.5 * (line + most)
        two, each = int(2 * bends.sum()), PLACES.size
        strain = [np.full(each, np.inf if one is None else 100.0 * one) for one in limits]
        low = np.concatenate([[least], np.full(two, -100.0 * self.even), np.full(2 * each, -np.inf)])
        high = np.concatenate([[most], np.full(two, 100.0 * self.even), *strain])
        wish = np.array([True] * (1 + two) + [False] * (2 * each))
        names = (WEIGHT, *[EVEN] * two, *[STRAIN] * (2 * each))
        floor = np.array([name == WEIGHT for name in names])
        return Wanted(values, low, high, wish, floor, names, moves.least, moves.most, moves.square, moves.step)

    def worked(self, setup: Setup, length: float) -> tuple[Setup, float]:
        """The stave after it has been worked at a length: with the set that it takes; and the most of it [1/m]."""
        if not self.set_share:
            return setup, 0.0
        full = filled_as_built(setup)
        one = judged(full, self.mesh, length, PLACES)
        out: dict[str, Any] = {}
        most = 0.0
        for k, name in enumerate(LIMBS):
            limit = limit_of(getattr(setup, f"{name}_limb"))[0]
            if limit is None:
                continue
            over = np.maximum(1.0 - YIELDS * limit / np.maximum(one.strain[k], 1e-9), 0.0)
            more = self.set_share * over * one.bend[k]
            limb = getattr(full, f"{name}_limb")
            own = limb.curvature_at or limb.at
            places = np.union1d(own, PLACES)
            places = places[np.append(np.diff(places) > 1e-9, True)]
            old = np.interp(places, own, np.broadcast_to(limb.natural_curvature, len(own)))
            out[f"{name}_limb.natural_curvature"] = tuple((old - np.interp(places, PLACES, more)).tolist())
            out[f"{name}_limb.curvature_at"] = tuple(places.tolist())
            most = max(most, float(more.max()))
        return setup.replace(InSi(out)), most


def _with_string(setup: Setup, mesh: Mesh, height: float) -> tuple[Setup, Braced]:
    """The stave with the string that braces it to a height."""
    braced = brace_to_height(filled_as_built(setup), height, mesh)
    return setup.with_si(**{"string.length": braced.string_length}), braced
