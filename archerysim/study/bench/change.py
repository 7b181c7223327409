"""A bow changed at the bench, one step after another: what was done, what was held, and what it does."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import Setup, load
from archerysim.equipment.bench.parts import OtherLimbs, OtherRiser
from archerysim.equipment.bench.said import FromFile, Step, step_of
from archerysim.errors import SetupError, ShotError, UsageError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import Variables, dataset, variables_of, words
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.fly import check_distance
from archerysim.shot.hold import REFIT, Hold, hold_sentence, hold_words
from archerysim.shot.launch import Launch
from archerysim.shot.limbs_compared import LimbsCompared
from archerysim.shot.strain_along import StrainAlong
from archerysim.shot.warnings import NONE, with_more
from archerysim.study.bench.bench_answers import ANSWERS, NAMES, AtBench, at_bench
from archerysim.study.bench.cautions import AFTER, cautions_of
from archerysim.study.tuning.honest_range import HonestRange, honest_range

if TYPE_CHECKING:
    import xarray


@result("bow.setup.name", "steps", "held", "distance", "warnings")
@dataclass(frozen=True)
class BenchChange:
    """A bow before and after some steps at the bench.

    Attributes
    ----------
    before, bow : FittedBow
        As built; after all steps.
    steps : tuple of str
        What was done, in words.
    held : str
        What every step held, in words.
    distance : float
        Of the target of bare and fletched shafts [m].
    at : (n + 1, a) array
        The answers (`answer` gives the place of each): of the bow as it was, then after one step after another. nan
        where there is none.
    launches : (Launch, Launch)
        Before and after, with their traces.
    strains : (StrainAlong, StrainAlong)
    limbs : (LimbsCompared, LimbsCompared)
    known_to : HonestRange or None
        Of the best reading before, where it was asked for.
    reasons : dict of str to str
        Why some answers are missing, by the step after which they are.
    cautions : tuple of str
        What the steps ask to mind, limits that bows between pass, and what has grown.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/longbow.toml")
    >>> found = archerysim.change(bow, "scrape lower belly 20 cm to 40 cm 0.3 mm", mesh="coarse", planes=1)
    >>> found.steps
    ('scrape 0.3 mm off the belly of the lower limb, 20 cm to 40 cm from the root',)
    >>> weight = found.at[:, found.answer("draw_weight")]
    >>> bool(weight[-1] < weight[0])
    True
    """

    before: FittedBow
    bow: FittedBow
    steps: tuple[str, ...]
    held: str
    distance: Annotated[float, Reported("m", "distance of the target")]
    at: np.ndarray
    launches: tuple[Launch, Launch]
    strains: tuple[StrainAlong, StrainAlong]
    limbs: tuple[LimbsCompared, LimbsCompared]
    known_to: HonestRange | None
    reasons: dict[str, str]
    cautions: tuple[str, ...] = ()

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of the bow after all steps, with the steps' cautions."""
        texts, more = self.launches[1].warnings, self.cautions
        if any(one.startswith(AFTER) for one in more):
            texts = tuple(one for one in texts if one != NONE)
        return tuple(with_more(texts, [one for one in more if one not in texts]))

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Which limits the first of the warnings speak of."""
        return self.launches[1].limits_passed

    def best_range(self, row: int) -> tuple[float, float]:
        """Where the best reading of a row lies with 90 %, by the underside [mm]; nan where that was not asked for.

        The range before, moved with the best reading: what is not known of the bow is taken as not known alike after.

        Parameters
        ----------
        row : int
            0: before; -1: after all steps.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.change(bow, "turn lower 1/4 turn in", draws=4, mesh="coarse", planes=1)
        >>> low, high = found.best_range(-1)
        >>> bool(low < high)
        True
        """
        if self.known_to is None:
            return float("nan"), float("nan")
        best = self.at[:, self.answer("best_reading")]
        moved = float(best[row] - best[0])
        return self.known_to.low + moved, self.known_to.high + moved

    def answer(self, name: str) -> int:
        """Where an answer stands in a row.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.change(bow, "turn lower 1/4 turn in", mesh="coarse", planes=1)
        >>> before, after = found.at[[0, -1], found.answer("lower_tiller")]
        >>> bool(after < before)
        True
        """
        return NAMES.index(name)

    def to_xarray(self) -> xarray.Dataset:
        """Every answer along "after": the bow as it was, then each step.

        Examples
        --------
        >>> import archerysim
        >>> bow = archerysim.load("examples/club-outdoor.toml")
        >>> found = archerysim.change(bow, "swap limbs", mesh="coarse", planes=1)
        >>> found.to_xarray().after.values.tolist()
        ['', 'swap the limbs']
        """
        table: Variables = {"after": words(["", *self.steps], "after", "the step after which the answers hold")}
        for k, (name, unit, text) in enumerate(ANSWERS):
            table[name] = (("after",), self.at[:, k], {"units": udunits(unit), "long_name": text})
        about = {"held": self.held, "setup_as_built": self.bow.setup.to_toml()}
        return dataset({**table, **variables_of(self)}, f"{self.bow.setup.name} at the bench", **about)


def change(
    bow: Setup | FittedBow,
    steps: str | Iterable[str | Step],
    *,
    hold: Hold = None,
    distance: Any = "18 m",
    draws: int = 0,
    mesh: str | Mesh = "default",
    planes: int | None = None,
) -> BenchChange:
    """Change a bow at the bench, one step after another, and compare before and after.

    A measured bow is fitted first; the steps are done to the bow as built. What nobody touches stays: the locators
    tied at their place on the string, the string, the limbs, the draw length; ``hold`` sets something again after
    every step.

    Parameters
    ----------
    bow : Setup or FittedBow
    steps : str or iterable of str
        Each as it is said at the bench: "turn lower 1/4 turn in", "shim upper 0.3 deg forward",
        "twist string 3 mm shorter", "swap limbs", "limbs from other.toml", "riser from other.toml",
        "cut both 10 mm", "heat lower 30 cm to 45 cm 0.5 1/m", "scrape lower belly 20 cm to 40 cm 0.3 mm".
        Places are from the root along the limb.
    hold : str or tuple of str, optional
        "reading", "brace height", or both: set again after each step. Default: nothing.
    distance : str or another number with its unit
        Of the target of bare and fletched shafts.
    draws : int
        Of bows that fit the same measures, for the range of the best reading; 0: no range.
    mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    BenchChange

    Raises
    ------
    SetupError
        Where a step is not understood, must not be done, or leaves no bow; it names the step.
    ShotError
        Where the bow as it was, or after all steps, cannot be shot. One between that cannot is a row without answers.

    Notes
    -----
    Scraping and heating are for solid wood only; bolts, shims and parts changed are for limbs in pockets. The model
    sees no twist, knot, set or old damage, and what it computes is no leave to do it: see the cautions with every
    answer.

    Examples
    --------
    >>> import archerysim
    >>> bow = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.change(bow, ["turn lower 1/4 turn in", "turn lower 1/4 turn out"], mesh="coarse", planes=1)
    >>> weight = found.at[:, found.answer("draw_weight")]
    >>> bool(weight[1] > weight[0]), bool(weight[2] == weight[0])  # undone, it is the same bow
    (True, True)
    """
    words_held, far = hold_words(hold), check_distance(distance)
    if words_held == REFIT:
        raise SetupError("hold", "'refit' measures the bow anew, which is not done at the bench", "Leave it out")
    asked = [steps] if isinstance(steps, str) else list(steps)
    done = [step_from(one, mesh) for one in asked]
    if not done:
        raise UsageError("steps", "there are none", 'Say what is done, for example "turn lower 1/4 turn in"')
    first = FittedBow.of(bow, mesh, planes=planes)
    bows, names = [first], [step.words for step in done]
    for step, name in zip(done, names, strict=True):
        try:
            bows.append(bows[-1].with_changes(step.changes(bows[-1].setup), words_held))
        except SetupError as error:
            raise SetupError(error.path, f"{error.problem} (step: {name})", error.remedy) from None
    before = at_bench(first, far)
    try:
        after = at_bench(bows[-1], far)
    except SetupError as error:
        raise SetupError(error.path, f"{error.problem} (after: {'; '.join(names)})", error.remedy) from None
    except ShotError as error:
        raise ShotError(error.stage, error.status, f"{error.detail}; after: {'; '.join(names)}".lstrip("; ")) from None
    reasons = {name: one.reason for name, one in (("", before), (names[-1], after)) if one.reason}
    between = [_between(one, far, name, reasons) for one, name in zip(bows[1:-1], names, strict=False)]
    rows = [before.row, *(np.full(len(ANSWERS), np.nan) if one is None else one.row for one in between)]
    shot = [None if one is None else one.launch for one in between]
    return BenchChange(
        first, bows[-1], tuple(names), hold_sentence(words_held), far, np.array([*rows, after.row]),
        (before.launch, after.launch), (before.strain, after.strain), (before.limbs, after.limbs),
        honest_range(first, distance=(far, "m"), draws=draws) if draws else None, reasons,
        cautions_of(first, done, shot, (before.strain, after.strain)),
    )  # fmt: skip


def step_from(said: str | Step, mesh: str | Mesh = "default") -> Step:
    """A step as it is said, with the parts that it takes from another setup file: read, fitted.

    Raises
    ------
    SetupError, ShotError
    """
    step = step_of(said) if isinstance(said, str) else said
    if not isinstance(step, FromFile):
        return step
    other = FittedBow.of(load(os.path.expanduser(step.path)), mesh).setup
    return OtherLimbs(other) if step.part == "limbs" else OtherRiser(other)


def _between(bow: FittedBow, distance: float, name: str, reasons: dict[str, str]) -> AtBench | None:
    """A bow between; None, with the reason, where it cannot be shot."""
    try:
        found = at_bench(bow, distance)
    except (SetupError, ShotError) as error:
        reasons[name] = str(error)
        return None
    if found.reason:
        reasons[name] = found.reason
    return found
