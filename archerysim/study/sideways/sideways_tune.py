"""The sideways half of the bare-shaft tune: what settings and parts do to left and right, as moves only.

How far bare shafts land left or right of fletched ones today depends on the roll of the fingers, which nobody measures;
what a change does to it is known far better. So a change is shot with many bows that this one may be, and only the
differences are told.
"""

from __future__ import annotations

import math
import os
from concurrent.futures import Executor
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled
from archerysim.equipment.arrow import grains_per_pound, total_mass
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.errors import ShotError
from archerysim.fields.quantity import Quantity, quoted
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.bare_shaft import direction_at_clear, leaving_at_sight
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.flight.range_cautions import range_cautions
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.planes import check_sideways
from archerysim.shot.warnings import of_contact, with_more
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.run import run_in_order
from archerysim.study.sideways.asked import GapsMoved
from archerysim.study.sideways.choice import Choice, choose, noise_at
from archerysim.study.sideways.result import SideMove, SidewaysTune
from archerysim.study.sideways.trials import Trial, more_steps, parts_at_hand, usual_trials
from archerysim.study.sideways.unsure import unsure_inputs
from archerysim.study.uncertainty.inputs import draws_of, quasi_normal

DRAWS = 16
MOSTLY = 0.5  # of the draws in which something touches, from which on no direction is told [judgement]
SETTINGS = (("side support", "point"), ("side support",))  # kinds tried for a gap: without points at hand, and with
STEP = 2e-3  # between the readings of the slope [m]
GAP = Quantity(text="of bare beside fletched shafts", unit="cm", low="-200 cm", high="200 cm")
NAN = float("nan")


def sideways_tune(
    bow: Setup | FittedBow,
    distance: Any = "18 m",
    *,
    gap: str | None = None,
    spines: Any = None,
    points: Any = None,
    taped: bool = True,
    draws: int = DRAWS,
    seed: int = 0,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> SidewaysTune:
    """Find how settings of the side support and parts of the arrow move bare shafts left and right: moves only.

    Every change is made to the bow as it stands, nothing else is touched, and it is shot with as many bows as there are
    draws: bows that this one may be, given what nobody measures sideways (roll of the fingers, how far they hold the
    nock out, the limbs' tips, the arm's reach, the side support's own numbers). Where something touches after the shaft
    has first left, no left or right is given.

    Parameters
    ----------
    bow : Setup or FittedBow
    distance : str or another number with its unit
        Of the target.
    gap : str, optional
        Where groups have shown the bare shafts beside the fletched ones, seen from behind: "6 cm left". Then more steps
        are tried both ways, and the change that comes nearest to taking the gap back is named; another shaft only if it
        is one of ``spines``.
    spines, points : str or sequence, optional
        Of shafts and points at hand: "0.600, 0.650 in", ``([90, 100], "gr")``. Every combination is tried, with the
        shaft's mass per length as it is.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    draws : int
        A power of two (Sobol sequence, scrambled with ``seed``).
    seed : int
    mesh, planes, workers, executor, store, progress, changes, hold
        As for `sweep`; a point is a draw.

    Returns
    -------
    SidewaysTune

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, distance, gap, parts or draws are wrong.
    UsageError
        In one plane, where there is no left and right.

    Examples
    --------
    >>> import archerysim
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.sideways_tune(setup, gap="6 cm left", draws=4, mesh="coarse")
    >>> round(found.gap, 2)  # [m]
    0.06
    >>> found.moves[found.best].side < 0.0  # the move named takes it back
    True
    """
    far, how = check_distance(distance), HowToRun(workers, executor, store, progress)
    bow = FittedBow.of(bow, mesh, changes, hold, planes)
    check_sideways(bow.planes)
    full = filled(bow.setup)
    shown = NAN if gap is None else gap_given(gap, full.archer.handed)
    noise = noise_at(far)
    asked = abs(shown) > noise
    at_hand = parts_at_hand(full, spines, points)
    usual, left_out = usual_trials(full)
    launch = bow.launch()
    inputs = unsure_inputs(bow)
    normal = quasi_normal(len(inputs), draws, seed)
    contact = of_contact(launch.warnings)
    moves: tuple[SideMove, ...] = ()
    slope, touching, failed = NAN, 0, 0
    if not contact:
        leaving = leaving_at_sight(launch, far)
        trials = (*usual, *at_hand)
        if asked:
            trials = (*_right_way(GapsMoved(inputs, _steps(full, points), far, leaving, taped), bow, shown), *at_hand)
        question = GapsMoved(inputs, trials, far, leaving, taped)
        rows = run_in_order(bow, [{}, *draws_of(inputs, normal)], question, how)
        slope = _slope(bow, question)
        side, height = (np.array([_row(row, name, len(trials)) for row in rows]) for name in ("side", "height"))
        touches = np.array([_row(row, "contact", len(trials)) for row in rows]) > 0.0
        failed, touching = int(np.isnan(side[1:, 0]).sum()), int(touches[1:, 0].sum())
        if touching > MOSTLY * draws:
            contact = (_mostly(touching, draws),)
        else:
            reasons = rows[0]["reasons"]
            moves = tuple(
                _move(
                    bow,
                    launch,
                    trial,
                    full,
                    far,
                    slope,
                    side[:, [0, k]],
                    height[0, [0, k]],
                    touches[:, [0, k]],
                    reasons[k],
                )
                for k, trial in enumerate(trials, 1)
            )
    chosen = choose(moves, shown, noise) if asked else Choice()
    return SidewaysTune(
        setup=bow.setup, distance=far, taped=taped, moves=moves, left_out=left_out, contact=contact, inputs=inputs,
        draws=draws, touching=touching, failed=failed, side_roll=math.degrees(full.archer.side_roll),
        side_force=launch.passage.greatest_side_force, slope=slope,
        gap=shown, noise=noise, best=chosen.best, also=chosen.also, furthest=chosen.furthest,
        warnings=tuple(with_more(launch.warnings, range_cautions(far, True, bow.setup.category))),
        limits_passed=launch.limits_passed,
    )  # fmt: skip


def gap_given(gap: Any, handed: str) -> float:
    """A gap in words, "6 cm left", in m, positive away from the window.

    Raises
    ------
    SetupError
    """
    length, _, way = gap.strip().rpartition(" ") if isinstance(gap, str) else ("", "", "")
    if way.lower() not in ("left", "right"):
        raise SetupError(
            "gap", f"{quoted(gap)} does not say which way", 'Write for example "6 cm left", seen from behind'
        )
    size = GAP.single("gap", length, "refused")
    if size < 0.0:
        raise SetupError("gap", f'"{gap}" is negative', "Say it by left or right alone")
    away = "left" if handed == "right" else "right"
    return size if way.lower() == away else -size


def _steps(full: FilledSetup, points: Any) -> tuple[Trial, ...]:
    """Steps of what can be set, and of the point where none at hand are given; none twice."""
    trials = [one for one in (*usual_trials(full)[0], *more_steps(full)) if one.kind in SETTINGS[points is not None]]
    return tuple({tuple(one.changes(full).items()): one for one in reversed(trials)}.values())[::-1]


def _right_way(question: GapsMoved, bow: FittedBow, gap: float) -> tuple[Trial, ...]:
    """The trials that take something of a gap back with the bow as it is."""
    now, *moved = question(bow, {})["side"]
    return tuple(one for one, side in zip(question.trials, moved, strict=True) if (side - now) * gap < 0.0)


def _row(row: dict[str, Any], name: str, count: int) -> list[float]:
    """A row's numbers; nan where there is none."""
    return list(row[name]) if row["status"] == 0 else [NAN] * (count + 1)


def _slope(bow: FittedBow, question: GapsMoved) -> float:
    """How the height of bare over fletched follows the reading [m/m]; nan where there is no shot."""
    try:
        now, higher = (
            question.gap(launch).height for launch in (bow.launch(), bow.at_reading((bow.reading + STEP, "m")))
        )
    except (SetupError, ShotError):
        return NAN
    return (higher - now) / STEP


def _mostly(touching: int, draws: int) -> str:
    return (
        f"By the file's own numbers nothing touches, but in {touching} of {draws} bows that this one may be the tail "
        "touches the side support or the shaft strikes the arm. Check with powder or paint; raise the locators, take a "
        "shorter arm, or set the side support further in."
    )


def _move(
    bow: FittedBow, today: Launch, trial: Trial, full: FilledSetup, far: float, slope: float, side: np.ndarray,
    height: np.ndarray, touches: np.ndarray, reason: str,
) -> SideMove:  # fmt: skip
    """One trial's move, from gaps without and with it: of the bow as it is, then of the draws (n, 2)."""
    changes = trial.changes(full)
    launch = None if reason else bow.launch(changes)
    by, up = side[:, 1] - side[:, 0], float(height[1] - height[0])
    free = ~touches[1:, 0] & np.isfinite(by[1:])
    struck = free & touches[1:, 1]
    good = by[1:][free & ~touches[1:, 1]]
    contact = of_contact(launch.warnings) if launch else ()
    if launch and not contact and struck.sum() > MOSTLY * free.sum():
        contact = (_mostly(int(struck.sum()), int(free.sum())),)
    mass = total_mass(launch.drawing.setup.arrow) if launch else NAN
    told = launch is not None and not contact and good.size > 0
    low, high = np.quantile(good, (0.05, 0.95)) if told else (NAN, NAN)
    return SideMove(
        name=trial.name, kind=trial.kind, changes=dict(changes), side=float(by[0]) if told else NAN,
        side_low=float(low), side_high=float(high),
        agreeing=float(np.mean(np.sign(good) == np.sign(by[0]))) if told else NAN,
        group=sent(launch, far) - sent(today, far) if launch and told else NAN, height=up,
        reading=-1e3 * up / slope if slope < 0.0 else NAN,
        mass=1e3 * mass,
        grains_per_pound=grains_per_pound(mass, launch.drawn.weight) if launch else NAN,
        stiffer=trial.stiffer, contact=contact, touching=int(struck.sum()),
        cautions=_new_limits(today, launch) if launch else (), reason=reason,
    )  # fmt: skip


def sent(launch: Launch, distance: float) -> float:
    """How far from the bow's plane the fletched arrow hits, its sight in it, positive away from the window [m]."""
    windage = leaving_at_sight(launch, distance).aside - direction_at_clear(launch).aside
    return distance * math.tan(math.radians(launch.passage.side_aim_angle - windage))


def _new_limits(before: Launch, now: Launch) -> tuple[str, ...]:
    """Sentences of the limits that a shot passes and another before it did not."""
    pairs = zip(now.limits_passed, now.warnings, strict=False)
    return tuple(sentence for name, sentence in pairs if name not in before.limits_passed)
