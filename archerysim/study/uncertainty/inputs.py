"""Inputs and how well an archer can know them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from archerysim.equipment import NO_CHANGES, InSi, Setup, SetupError, field_info, filled
from archerysim.equipment.filled_setup import FilledSetup, filled_as_measured
from archerysim.equipment.readings import by_underside
from archerysim.fields.given import spelled, whole_number
from archerysim.fields.quantity import Bare, in_si
from archerysim.fields.units import from_si, to_si
from archerysim.shot.edit import Edit
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.planes import check_support
from archerysim.shot.statics.fit import string_beside_riser

BOW = ("limbs.", "upper_limb.", "lower_limb.", "riser.", "string.")  # what a fit depends on
SHARES, TIMES = "archer.finger_shares", "archer.release_time"
ROD, HYSTERESIS = "riser.rods.0.frequency", "limbs.hysteresis"
NOT_FITTED = ("bolt_turns", "side_stiffness", "side_damping", "side_mass")  # of a limb, nothing to a fit
REACH = "rest.reach"
EITHER, BOTH_PLANES = (1, 2), (2,)


@dataclass(frozen=True)
class Input:
    """One uncertain input.

    Attributes
    ----------
    path : str
        Dotted path; for finger shares the finger that takes more load ("archer.finger_shares.0"), the others
        give it up in proportion; "archer.release_time" sets the times of all three fingers, as in a sweep, its value
        is the index finger's.
    spread : float
        Standard deviation, in SI; a share of the value where ``relative``.
    relative : bool
    how : str
        How it is measured, or on what the spread rests.
    planes : tuple of int
        In how many planes a shot is, for the input to count in it: 1, the flat one, or 2.
    """

    path: str
    spread: float
    relative: bool
    how: str
    planes: tuple[int, ...] = EITHER

    def value(self, full: FilledSetup) -> float:
        """Value in a filled setup, in SI."""
        value = full.get(self.path)
        return float(value[0] if self.path == TIMES else value)

    def size(self, full: FilledSetup) -> float:
        """Standard deviation for a filled setup, in SI."""
        return abs(self.spread * self.value(full)) if self.relative else self.spread

    def shown(self, full: FilledSetup) -> tuple[float, str]:
        """Standard deviation in the field's own unit, and that unit."""
        unit = field_info(self.path).unit
        return from_si(self.size(full), unit), unit

    def moved(self, full: FilledSetup, by: float) -> InSi:
        """Changes that move the input by ``by`` [SI] from its value, kept within its allowed range."""
        info = field_info(self.path)
        value = self.value(full) + by
        if info.low is not None:
            value = max(value, info.low)
        if info.high is not None:
            value = min(value, info.high)
        head, _, last = self.path.rpartition(".")
        if head == SHARES:
            shares = list(full.archer.finger_shares)
            k = int(last)
            value = min(max(value, 0.0), 0.95)
            rest = 1.0 - shares[k]
            moved = [value if i == k else s * (1.0 - value) / rest for i, s in enumerate(shares)]
            moved[-1 if k != 2 else 0] += 1.0 - sum(moved)
            return InSi({head: tuple(moved)})
        return InSi({self.path: (value,) * 3 if self.path == TIMES else value})


def _given(path: str, text: str, how: str, planes: tuple[int, ...] = EITHER) -> Input:
    return Input(path, to_si(text, field_info(path).unit), False, how, planes)


def _share(path: str, share: float, how: str, planes: tuple[int, ...] = EITHER) -> Input:
    return Input(path, share, True, how, planes)


# what can be measured with, and how well: common practice; [judgement] where marked
USUAL: tuple[Input, ...] = (
    _given("nock.locators.reading", "0.5 mm", "square"),
    _given("bow.brace_height", "1 mm", "square"),
    _given("bow.upper_tiller", "1 mm", "square"),
    _given("bow.lower_tiller", "1 mm", "square"),
    _given("bow.draw_weight", "0.25 lbf", "scale"),
    _share("bow.arrow_speed", 0.005, "chronograph [judgement]"),
    _given("bow.pocket_angle", "3 deg", "unstrung against a straight edge [judgement]"),
    _share("bow.stiffness_ratio", 0.05, "draw force of each limb alone [judgement]"),
    _given("archer.draw_length", "0.25 in", "tape, another shot [judgement]"),
    _given("rest.height", "0.5 mm", "square [judgement]"),
    _share("rest.stiffness", 0.2, "droop under a hung 50 g [judgement]"),
    _share("rest.damping", 0.5, "not measured [judgement]"),
    _given("nock.slope", "1 deg", "seen under a glass [judgement]"),
    _given("nock.height", "0.1 mm", "calliper [judgement]"),
    _given("nock.floor", "0.3 mm", "calliper [judgement]"),
    _share("nock.grip", 0.5, "pull or tap test [judgement]"),
    _share("nock.friction", 0.5, "not measured [judgement]"),
    _given("nock.locators.gap", "0.3 mm", "felt by pushing the nock [judgement]"),
    _share("nock.locators.stiffness", 0.5, "not measured [judgement]"),
    _share("nock.locators.loss", 0.5, "not measured [judgement]"),
    _given("arrow.spine", "0.01 in", "spine tester"),
    _given("arrow.point_mass", "0.1 g", "scale"),
    _given("arrow.diameter", "0.05 mm", "calliper [judgement]"),
    _given("arrow.length", "2 mm", "tape [judgement]"),
    _given("archer.finger_shares.0", "0.1", "felt"),
    _given("archer.finger_shares.2", "0.1", "felt"),
    _given("archer.finger_places.1", "2 mm", "rule, from the throat to the middle finger [judgement]"),
    _share("archer.release_time", 0.5, "not measured"),
    _given("archer.release_delays.0", "1 ms", "not measured; never before the others [judgement]"),
    _given("archer.release_delays.2", "1 ms", "not measured; never before the others [judgement]"),
    _given("archer.pinch", "2 N", "felt [judgement]"),
    _given("archer.grip_torque", "0.5 N m", "pressure point on the grip, some 3 mm [judgement]"),
    _share("archer.hand_stiffness", 0.5, "not measured [judgement]"),
    _share("archer.hand_rotational_stiffness", 0.5, "not measured [judgement]"),
    _share("riser.mass", 0.05, "scale [judgement]"),
    _given("riser.mass_centre_y", "10 mm", "balance point [judgement]"),
    _share("riser.inertia", 0.1, "a timed swing [judgement]"),
    _share(ROD, 0.15, "heard or filmed [judgement]"),
    _share(HYSTERESIS, 0.5, "not measured [judgement]"),
    _share("upper_limb.mass", 0.05, "scale [judgement]"),
    _share("lower_limb.mass", 0.05, "scale [judgement]"),
    _share("limbs.tip_mass", 0.3, "not weighed: lamination and glue at the tip [judgement]"),
    _share("limbs.butt_mass", 0.4, "not weighed: it sits in the pocket [judgement]"),
    _given("limbs.balance", "3 mm", "limb laid across an edge [judgement]"),
    _share("string.construction_factor", 0.25, "length under load [judgement]"),
    _share("string.axial_stiffness", 0.25, "length under load [judgement]"),
    _given("nock.locators.mass_at", "0.5 mm", "rule [judgement]"),
    _given("archer.side_roll", "3 deg", "not measured [judgement]", BOTH_PLANES),
    _given("archer.side_hold", "2 mm", "seen along the string by a helper [judgement]", BOTH_PLANES),
    _given("archer.cant", "2 deg", "a level, or a picture from behind [judgement]", BOTH_PLANES),
    _given(REACH, "0.5 mm", "rule [judgement]", BOTH_PLANES),
    _given("side.offset", "0.5 mm", "seen along the string [judgement]", BOTH_PLANES),
    _share("side.stiffness", 0.3, "scale and rule [judgement]", BOTH_PLANES),
    _share("side.preload", 0.3, "scale [judgement]", BOTH_PLANES),
    _share("limbs.side_stiffness", 0.4, "a weight hung at the tip, mostly not measured [judgement]", BOTH_PLANES),
)


def usual_spread(path: str) -> float:
    """Standard deviation of one of `USUAL`: in SI, or a share of the value."""
    return next(one.spread for one in USUAL if one.path == path)


def usual_inputs(setup: Setup, planes: int) -> tuple[Input, ...]:
    """Those of `USUAL` that this setup has and that count in a shot in so many planes."""
    full = filled(setup)
    kept = []
    for usual in (one for row in USUAL if planes in row.planes for one in by_limb(row, full)):
        if usual.path.startswith("bow.") and setup.form == "built":
            continue
        if _follows(setup, usual.path):
            continue
        if usual.path == ROD and not (full.riser.rods and full.riser.rods[0].bends):
            continue
        if usual.path == REACH and full.rest.kind == "shelf":
            continue
        if usual.path == HYSTERESIS and full.upper_limb.hysteresis != full.lower_limb.hysteresis:
            continue  # not one number
        single = usual.path == TIMES or isinstance(full.get(usual.path), float)
        if single and (not usual.relative or usual.value(full) != 0.0):
            kept.append(usual)
    return tuple(kept)


def by_limb(usual: Input, full: FilledSetup) -> tuple[Input, ...]:
    """An input of both limbs; of each by itself where they differ."""
    head, _, name = usual.path.partition(".")
    if head != "limbs" or full.get(f"upper_limb.{name}") == full.get(f"lower_limb.{name}"):
        return (usual,)
    return tuple(replace(usual, path=f"{limb}.{name}") for limb in ("upper_limb", "lower_limb"))


def _follows(setup: Setup, path: str) -> bool:
    """Whether an input follows from what else is given."""
    limb = setup.lower_limb if path.startswith("lower_limb.") else setup.upper_limb
    if path.endswith(".butt_mass"):
        return limb.balance is not None or (setup.bow.arrow_speed is not None and limb.mass is not None)
    if path.endswith(".balance"):
        return limb.balance is None
    return path == "string.axial_stiffness" and setup.string.axial_stiffness is None


def with_reading_given(bow: FittedBow) -> FittedBow:
    """The bow as given, with the reading that the square shows where its locators are given by their place.

    What was changed of it as built stands in the file then, with the reading that the square shows: so are arrow, nock,
    rest and archer told, and turns of the bolts, on which nothing depends that was measured.

    Raises
    ------
    SetupError
        Where a measured bow's limbs, riser or string were changed as built: nothing has been measured on it since.
    """
    edits = [edit for edit in bow.edits if not edit.refitted]
    if edits and bow.given.form == "measured":
        bow = replace(FittedBow.of(_in_the_file(bow, edits), bow.mesh, planes=bow.planes), before=bow.before)
    elif edits:
        bow = replace(FittedBow.of(bow.setup, bow.mesh, planes=bow.planes), before=bow.before)
    if bow.given.nock.locators.reading is not None:
        return bow
    return replace(bow, given=bow.given.replace(by_underside(bow.setup, bow.reading)))


def _in_the_file(bow: FittedBow, edits: list[Edit]) -> Setup:
    """The given setup with what was changed of the bow as built."""
    changes = {path: value for edit in edits for path, value in edit.changes.items()}
    for path in changes:
        if path.startswith(BOW) and not path.endswith(NOT_FITTED):
            raise SetupError(
                path, "was changed on the bow as built, and nothing has been measured on it since",
                'Hold "refit": it then goes into the file; or measure the changed bow and write a file of it',
            )  # fmt: skip
    if any("brace height" in edit.hold for edit in edits):
        raise SetupError(
            "hold", "a twisted string cannot be put into a file", "Leave it out, or write a file of the changed bow"
        )
    return bow.given.with_si(**{**changes, **by_underside(bow.setup, bow.reading)})


def refuse_unmoved(setup: Setup, path: str) -> None:
    """Refuse what cannot be moved: with the reason that a sweep gives, else as no single number.

    Raises
    ------
    SetupError
    """
    info, full = field_info(path), filled(setup)
    value = full.get(path)
    if path == TIMES or isinstance(value, float):
        setup.replace(Input(path, 0.0, False, "").moved(full, 0.0))
        return
    if value is None and (info.unit or info.low is not None):  # of the other form, or said by another number already
        trial = setup.with_si(**{path: info.low or 0.0})
        if trial.form == "measured":
            string_beside_riser(filled_as_measured(trial))
    raise SetupError(path, "has no single number in this setup", "Give it there, or name a field with one value")


def inputs_from(setup: Setup, spreads: Mapping[str, Any] | None, planes: int) -> tuple[Input, ...]:
    """Inputs with given standard deviations; without any, the usual ones of a shot in so many planes.

    Numbers with their units, "20 %", or `archerysim.with_si`.

    Raises
    ------
    SetupError
        Where a sweep that fits the bow anew refuses the path too, it has no single number, or the standard deviation
        is none; where a shot in so many planes is not told it.
    """
    check_support(setup, planes, spreads or ())
    if not spreads:
        return usual_inputs(setup, planes)
    out = []
    bare: Bare = "in SI" if isinstance(spreads, InSi) else "in changes"
    for path, value in spreads.items():
        refuse_unmoved(setup, path)
        unit = field_info(path).unit
        value = spelled(path, value, unit)
        relative = isinstance(value, str) and value.strip().endswith("%")
        size = in_si(path, value, "%" if relative else unit, bare)
        if not size > 0.0:
            raise SetupError(path, f"a standard deviation of {value} is not positive", "Give a positive one")
        out.append(Input(path, size, relative, "given"))
    return tuple(out)


def quasi_normal(count: int, draws: int, seed: int) -> np.ndarray:
    """Quasi-random draws of ``count`` independent normal numbers, in standard deviations (draws, count).

    A Sobol sequence, scrambled with ``seed``.

    Raises
    ------
    SetupError
        If ``draws`` is not a power of two, or ``seed`` not a whole number.
    """
    from scipy.stats import norm, qmc

    whole_number("seed", seed, "a seed", 0)
    if whole_number("draws", draws, "a number of draws", 2) & (draws - 1):
        raise SetupError("draws", f"{draws} is not a power of two", "Use 64, 128, 256, ...")
    unit = qmc.Sobol(count, rng=np.random.default_rng(seed)).random(draws)
    return np.asarray(norm.ppf(np.clip(unit, 1e-9, 1.0 - 1e-9)))


def draws_of(inputs: tuple[Input, ...], normal: np.ndarray) -> list[dict[str, float]]:
    """What `moved_together` takes for every draw (n, k): how far each input is moved."""
    return [{one.path: float(amount) for one, amount in zip(inputs, row, strict=True)} for row in normal]


def moved_together(setup: Setup, inputs: tuple[Input, ...], amounts: Mapping[str, float]) -> Setup:
    """The setup with some inputs moved by so many standard deviations, each kept within its allowed range.

    Parameters
    ----------
    amounts : mapping of path to float
        Inputs not named stay as they are.

    Raises
    ------
    SetupError
    """
    full = moved = filled(setup)
    changes = NO_CHANGES
    shares = [one for one in inputs if one.path.startswith(SHARES) and one.path in amounts]
    for an_input in (an_input for an_input in inputs if an_input.path in amounts):
        change = an_input.moved(moved, amounts[an_input.path] * an_input.size(full))
        changes = changes | change
        if an_input in shares[:-1]:  # the next share moves what this one has left
            moved = filled(setup.replace(change))
    return setup.replace(changes)
