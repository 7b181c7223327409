"""How sure the best reading is while some values are guessed, and what measuring each of them would make of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import InSi, Setup, filled, with_si
from archerysim.equipment.first_setup.questions import QUESTIONS
from archerysim.equipment.setup import field_info
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, variables_of, words
from archerysim.fields.units import to_si
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.study.run.how_to_run import HowToRun
from archerysim.study.run.run import run_in_order
from archerysim.study.uncertainty.inputs import inputs_from, usual_inputs, with_reading_given
from archerysim.study.uncertainty.sensitivity import AnswersMoved, answers, both_sides, values_of
from archerysim.study.uncertainty.worth_measuring import BY_WORTH

if TYPE_CHECKING:
    import xarray

NINETY = 1.645  # standard deviations that hold 90 %


@result("reading", "today", "measured", "guessed")
@dataclass(frozen=True)
class MeasureNext:
    """How sure the reading is that brings bare and fletched shafts together at 18 m, with values that are guessed.

    Attributes
    ----------
    reading : float
        By the underside [mm]; nan where this bow has none.
    today : float
        How well it is known today, either way [mm], with 90 % probability, given all that is guessed or roughly
        measured.
    measured : float
        The same once every guess is measured [mm].
    guessed : tuple of str
        Paths of the guesses, first the one that is worth most to measure.
    asked : tuple of str
        The questions of ``archerysim new`` behind them.
    moves : (k,) array
        By how much that guess alone may be moving the reading, either way [mm], with 90 %.
    then : (k,) array
        How well the reading would be known once that one and all before it are measured [mm].
    lost : tuple of str
        Inputs that could not be moved far enough to see what they do; they count as nothing.

    Examples
    --------
    >>> import archerysim
    >>> made = archerysim.first_setup(kind="club recurve", draw_weight="34 lb")
    >>> found = archerysim.measure_next(made.setup, ("bow.upper_tiller", "bow.brace_height"), mesh="coarse")
    >>> found.then.shape, bool(found.then[0] >= found.then[1])  # the more is measured, the surer
    ((2,), True)
    """

    reading: Annotated[float, Reported("mm", "reading by the underside that brings bare and fletched together")]
    today: Annotated[float, Reported("mm", "it is known to this either way, with 90 % confidence")]
    measured: Annotated[float, Reported("mm", "the same with every guess measured")]
    guessed: tuple[str, ...]
    asked: tuple[str, ...]
    moves: Annotated[np.ndarray, Reported("mm", "by how much that guess alone may be moving it, with 90 %", ("guess",))]
    then: Annotated[np.ndarray, Reported("mm", "the same with that guess and those before it measured", ("guess",))]
    lost: tuple[str, ...]

    def to_xarray(self) -> xarray.Dataset:
        """All numbers as a table with units, along "guess".

        Examples
        --------
        >>> import archerysim
        >>> made = archerysim.first_setup(kind="club recurve", draw_weight="34 lb")
        >>> found = archerysim.measure_next(made.setup, ("bow.upper_tiller", "bow.brace_height"), mesh="coarse")
        >>> found.to_xarray()["then"].attrs["units"]
        'mm'
        """
        names: Variables = {"guess": words(list(self.guessed), "guess", "what is guessed")}
        return dataset({**names, **variables_of(self)}, "what to measure next")


def measure_next(
    setup: Setup, guessed: Mapping[str, Any] | tuple[str, ...] | list[str], *, mesh: str | Mesh = "default",
    workers: int | None = None,
) -> MeasureNext:  # fmt: skip
    """Find how much surer the best reading would be with each guess measured.

    Parameters
    ----------
    setup : Setup
    guessed : mapping or sequence of dotted path
        Values that nobody has measured, such as the ``assumed`` ones of a `FirstSetup`; those that do not answer a
        question of ``archerysim new``, or are not numbers, count as they do in `archerysim.sensitivity`.
    mesh : str or Mesh
    workers : int, optional

    Returns
    -------
    MeasureNext

    Raises
    ------
    SetupError, ShotError
        Where the setup cannot be shot.

    Notes
    -----
    The effect of one standard deviation to either side, as the mean of the squares, is added up over the guesses and
    over the few inputs that decide how sure the reading of a measured bow is (``BY_WORTH``). How far a guess may be off
    is a judgement (it stands beside each question), and how well it is known once it is measured is what is usual; a
    value for which nothing is usual is then taken as known.

    Examples
    --------
    >>> import archerysim
    >>> made = archerysim.first_setup(kind="club recurve", draw_weight="34 lb")
    >>> found = archerysim.measure_next(made.setup, ("bow.upper_tiller", "bow.brace_height"), mesh="coarse")
    >>> found.measured < found.today  # [mm]
    True
    >>> sorted(found.guessed)
    ['bow.brace_height', 'bow.upper_tiller']
    """
    full = filled(setup)
    guesses = {one.path: one for one in QUESTIONS if one.spread and one.path in guessed}
    usual = {one.path: one.size(full) for one in usual_inputs(setup, 2)}
    after = {path: usual.get(path, 0.0) for path in guesses}
    spreads = {path: usual[path] for path, _, _ in BY_WORTH if path in usual}
    spreads |= _off_by(guesses)
    bow = with_reading_given(FittedBow.of(setup, mesh))
    inputs = inputs_from(bow.given, with_si(spreads), bow.planes)
    base = answers(bow)
    rows = run_in_order(bow, both_sides(inputs), AnswersMoved(inputs, base.first()), HowToRun(workers))
    moved = values_of(rows, bow.planes)[:, 0].reshape(-1, 2) - base.values[0]
    share = {one.path: _square(sides) for one, sides in zip(inputs, moved, strict=True)}
    lost = tuple(one.path for one, sides in zip(inputs, moved, strict=True) if np.isnan(sides).all())
    gain = {path: share[path] * (1.0 - (after[path] / spreads[path]) ** 2) for path in guesses}
    order = sorted(guesses, key=gain.__getitem__, reverse=True)
    whole = sum(share.values())
    left = whole - np.cumsum([0.0, *(gain[path] for path in order)])
    known = NINETY * np.sqrt(np.maximum(left, 0.0))
    return MeasureNext(
        reading=float(base.values[0]), today=float(known[0]), measured=float(known[-1]),
        guessed=tuple(order), asked=tuple(guesses[path].name.replace("-", " ") for path in order),
        moves=NINETY * np.sqrt([share[path] for path in order]), then=known[1:], lost=lost,
    )  # fmt: skip


def with_guesses(setup: Setup, guessed: Collection[str], planes: int) -> InSi:
    """How well everything is known that a range counts: as a rule, guesses by how far off they may be.

    Parameters
    ----------
    setup : Setup
    guessed : collection of str
        Paths of values that nobody has measured; those with no spread beside their question count as a rule.
    planes : int
        In how many planes it is shot.

    Returns
    -------
    InSi
        Standard deviations by path, as `archerysim.tune` and others take them for their ``uncertainty``.
    """
    full = filled(setup)
    return with_si({one.path: one.size(full) for one in usual_inputs(setup, planes)} | _off_by(guessed))


def _off_by(guessed: Collection[str]) -> dict[str, float]:
    """How far the guesses among the questions may be off, one standard deviation [SI]."""
    guesses = (one for one in QUESTIONS if one.spread and one.path in guessed)
    return {one.path: to_si(one.spread, field_info(one.path).unit) for one in guesses}


def _square(sides: np.ndarray) -> float:
    """Mean square of what moving an input to both sides does [mm^2]; of the side that has an answer, else 0."""
    there = sides[np.isfinite(sides)]
    return float((there**2).mean()) if there.size else 0.0
