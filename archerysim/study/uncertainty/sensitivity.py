"""What the answer is sensitive to: each input moved by what an archer can know of it."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, SetupError, filled
from archerysim.equipment.readings import read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import column
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.flight.range_cautions import range_cautions
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.moment import Moment
from archerysim.shot.warnings import of_contact, with_more
from archerysim.study.run.how_to_run import HowToRun, Progress
from archerysim.study.run.row import Change, Row
from archerysim.study.run.run import run_in_order
from archerysim.study.sweeps.provenance import provenance
from archerysim.study.tuning.crossing import first_two
from archerysim.study.tuning.together import DISTANCE, together_reading
from archerysim.study.tuning.zero_attack import FIRST, zero_attack_reading
from archerysim.study.uncertainty.inputs import Input, inputs_from, moved_together, with_reading_given

if TYPE_CHECKING:
    import xarray

ANSWERS: tuple[tuple[str, str, str], ...] = (
    ("together_reading", "mm", f"reading by the underside that brings bare and fletched together at {DISTANCE:g} m"),
    ("zero_attack_reading", "mm", "reading by the underside at which the angle of attack at clear is zero"),
    ("pitch", column(Moment, "pitch").unit, "pitch at clear"),
    ("pitch_rate", column(Moment, "pitch_rate").unit, "pitch rate at clear"),
    ("angle_of_attack", column(Moment, "angle_of_attack").unit, "angle of attack at clear"),
    ("vertical_velocity", column(Moment, "vertical_velocity").unit, "vertical velocity at clear"),
    ("speed", column(Moment, "speed").unit, "speed at clear"),
)
SIDEWAYS = (
    "side_angle_of_attack", column(Moment, "side_angle_of_attack").unit,
    "side angle of attack at clear",
)  # fmt: skip
NEAR = 1e-3  # [m]


def answers_in(planes: int) -> tuple[tuple[str, str, str], ...]:
    """Names, units and meanings of the answers of shots in so many planes: ``ANSWERS``, in both ``SIDEWAYS`` too."""
    return ANSWERS if planes == 1 else (*ANSWERS, SIDEWAYS)


@dataclass(frozen=True)
class Answers:
    """The answers of one bow.

    Attributes
    ----------
    values : (a,) array
        In the order of `answers_in`; nan where there is none.
    reason : str
        Why, or empty.
    launch : Launch
        At the reading that the bow was given with.
    """

    values: np.ndarray
    reason: str
    launch: Launch

    def first(self) -> tuple[float, float]:
        """Two readings [m] near both best ones, to begin with on a bow that is nearly the same."""
        together, zero_attack = 1e-3 * self.values[:2]
        if abs(together - zero_attack) > NEAR:
            return together, zero_attack
        middle = zero_attack if np.isfinite(zero_attack) else together
        return (middle - NEAR, middle + NEAR) if np.isfinite(middle) else first_two(FIRST)

    @property
    def touches(self) -> bool:
        """Whether the shaft, once it has first left, touches rest or side support on its way out."""
        passage = self.launch.passage
        touched = passage.arm_strikes > 0.0 or bool(np.isfinite(passage.tail_touch_at))
        return touched or bool(of_contact(self.launch.warnings))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Those of the shot, and the cautions for the bare shafts that one of the readings is told by."""
        cautions = range_cautions(DISTANCE, True, self.launch.setup.category)
        return tuple(with_more(self.launch.warnings, cautions))


def answers(bow: FittedBow, first: tuple[float, float] | None = None) -> Answers:
    """The answers of a bow, at the reading that it was given with; ``first`` [m] are those tried first.

    Both best readings are found from the same shots where they can be.

    Raises
    ------
    SetupError, ShotError
        Where the bow cannot be shot at its own reading.
    """
    today = read_by(bow.given).underside(bow.given.nock.locators.reading)
    launch = bow.at_reading((today, "m"))
    best, reasons = [], []
    for find in (together_reading, zero_attack_reading):
        try:
            best.append(find(bow, first=FIRST if first is None else (first, "m")).reading)
        except (SetupError, ShotError) as error:
            best.append(np.nan)
            reasons.append(str(error))
    values = np.array([*best, *(getattr(launch.clear, name) for name, _, _ in answers_in(bow.planes)[len(best) :])])
    return Answers(values, " ".join(dict.fromkeys(reasons)), launch)


@dataclass(frozen=True)
class AnswersMoved:
    """Asks for the answers of the bow fitted anew with some inputs moved by so many standard deviations.

    Where a reading has no answer, or the bow no shot, the row says why.
    """

    inputs: tuple[Input, ...]
    first: tuple[float, float]
    shots: ClassVar[int] = 16

    def __call__(self, bow: FittedBow, change: Change) -> Row:
        found = answers(
            FittedBow.of(moved_together(bow.given, self.inputs, change), bow.mesh, planes=bow.planes), self.first
        )
        return {"values": found.values.tolist(), "reason": found.reason}


def values_of(rows: Sequence[Row], planes: int) -> np.ndarray:
    """Answers of some rows of `AnswersMoved` (n, a), in so many planes; nan where there are none."""
    none = (np.nan,) * len(answers_in(planes))
    return np.array([row.get("values", none) for row in rows])


def slopes_over_spread(
    bow: FittedBow, inputs: tuple[Input, ...], rows: Sequence[Row]
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Change of the answers for one standard deviation of each input (k, a), from both sides where its range allows.

    Parameters
    ----------
    rows : sequence of Row
        Of `both_sides`.

    Returns
    -------
    slopes : (k, a) array
        nan where a side has no answer.
    reasons : tuple of str
        Why an input has no slope, or not all; empty where it has.
    """
    setup = bow.given
    full = filled(setup)
    values = values_of(rows, bow.planes)
    slopes, reasons = np.full((len(inputs), values.shape[1]), np.nan), []
    for k, one in enumerate(inputs):
        sides = rows[2 * k : 2 * k + 2]
        failed = [row["reason"] for row in sides if row["status"] != 0]
        if failed:
            reasons.append(failed[0])
            continue
        up, down = (one.value(filled(moved_together(setup, inputs, side))) - one.value(full) for side in _sides(one))
        if up == down:
            error = SetupError(one.path, "cannot move within its allowed range", "Leave it out")
            reasons.append(str(error))
            continue
        slopes[k] = (values[2 * k] - values[2 * k + 1]) / (up - down) * one.size(full)
        reasons.append(" ".join(dict.fromkeys(row["reason"] for row in sides if row["reason"])))
    return slopes, tuple(reasons)


def both_sides(inputs: tuple[Input, ...]) -> list[dict[str, float]]:
    """Points at which each input alone is moved by a standard deviation up, then down."""
    return [side for one in inputs for side in _sides(one)]


def _sides(an_input: Input) -> tuple[dict[str, float], dict[str, float]]:
    return {an_input.path: 1.0}, {an_input.path: -1.0}


def sensitivity(
    bow: Setup | FittedBow,
    uncertainty: Mapping[str, Any] | None = None,
    *,
    mesh: str | Mesh = "default",
    planes: int | None = None,
    workers: int | None = None,
    executor: Executor | None = None,
    store: str | os.PathLike[str] | None = None,
    progress: Progress = None,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> xarray.Dataset:
    """Find how each input changes the answers, by central differences over one standard deviation either way.

    A measured bow is fitted anew for each moved input: the question is what a slip of the square, the tape or the scale
    does to the answer.

    Parameters
    ----------
    bow : Setup or FittedBow
    uncertainty : mapping of dotted path to standard deviation, optional
        Numbers with their units, "20 %", or what `with_si` returns. Default: the usual ones,
        ``archerysim.study.uncertainty.inputs.USUAL``. "archer.release_time" is the time of all three fingers,
        "archer.release_time.0" the index finger's alone.
    mesh, planes, workers, executor, store, progress, changes, hold
        As for `sweep`; a point is an input moved to one side.

    Returns
    -------
    xarray.Dataset
        Dimension "input", ranked by what they do to the reading that brings bare and fletched shafts together at 18 m
        (to the reading of zero attack, where this bow has none). For each answer X of ``ANSWERS``, and in both planes
        for the side angle of attack: ``X`` (its value), ``X_per_spread`` (change for one standard deviation) and
        ``X_per_unit`` (change per unit of the input). Of what is sideways, only the changes can be believed. ``reason``
        says why an input has no numbers, or not all. The attributes ``warnings``, a line each, and ``limits_passed``
        are those of the bow as given; ``touches`` is "yes" where its shaft touches rest or side support on its way out:
        beyond the contact the changes are others.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself fails, or an input is one that a sweep refuses.

    Examples
    --------
    >>> import archerysim
    >>> slips = {"nock.locators.reading": "0.5 mm", "bow.upper_tiller": "1 mm"}
    >>> found = archerysim.sensitivity(archerysim.load("examples/club-outdoor.toml"), slips, mesh="coarse")
    >>> sorted(found["input"].values.tolist())
    ['bow.upper_tiller', 'nock.locators.reading']
    >>> float(found["angle_of_attack_per_spread"].sel(input="nock.locators.reading")) < 0.0  # locators up, nose down
    True
    """
    import xarray

    how = HowToRun(workers, executor, store, progress)
    bow = with_reading_given(FittedBow.of(bow, mesh, changes, hold, planes))
    setup, full = bow.given, filled(bow.given)
    inputs = inputs_from(setup, uncertainty, bow.planes)
    base = answers(bow)
    rows = run_in_order(bow, both_sides(inputs), AnswersMoved(inputs, base.first()), how)
    per_spread, reasons = slopes_over_spread(bow, inputs, rows)
    rank = int(np.isfinite(base.values).argmax())
    order = np.argsort(-np.abs(np.nan_to_num(per_spread[:, rank])), kind="stable")
    shown = [inputs[k].shown(full) for k in order]
    spreads = np.array([size for size, _ in shown])
    data: dict[str, Any] = {
        "spread": ("input", spreads, {"long_name": "standard deviation, in the input's unit"}),
        "unit": ("input", np.array([unit or "1" for _, unit in shown], dtype=object)),
        "how": ("input", np.array([inputs[k].how for k in order], dtype=object), {"long_name": "how it is known"}),
        "reason": ("input", np.array([reasons[k] for k in order], dtype=object)),
    }
    for m, (name, unit, text) in enumerate(answers_in(bow.planes)):
        about = {"units": udunits(unit), "long_name": text}
        data[name] = ((), base.values[m], about)
        for ending, values, words in (
            ("per_spread", per_spread[order, m], "change for one standard deviation"),
            ("per_unit", per_spread[order, m] / spreads, "change per unit of the input"),
        ):
            data[f"{name}_{ending}"] = ("input", values, {"units": udunits(unit), "long_name": f"{text}: {words}"})
    attributes = {
        **provenance(f"sensitivity of {setup.name}", setup, "sensitivity", bow.planes),
        "warnings": "\n".join(base.warnings),
        "limits_passed": "; ".join(base.launch.limits_passed),
        "touches": "yes" if base.touches else "no",
    }
    names = [inputs[k].path for k in order]
    return xarray.Dataset(data, {"input": names}, attributes)
