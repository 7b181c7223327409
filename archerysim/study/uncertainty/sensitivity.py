"""What the answer is sensitive to: each input moved by what an archer can know of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.readings import read_by
from archerysim.errors import ShotError
from archerysim.fields.reported import column
from archerysim.fields.udunits import udunits
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.moment import Moment
from archerysim.study.run.progress import watched
from archerysim.study.sweeps.provenance import provenance
from archerysim.study.tuning.together import DISTANCE, together_reading
from archerysim.study.tuning.zero_attack import FIRST, nil_reading
from archerysim.study.uncertainty.inputs import Input, inputs_from, usual_inputs

if TYPE_CHECKING:
    import xarray

ANSWERS = (
    ("together_reading", "mm", f"reading by the underside that brings bare and fletched together at {DISTANCE:g} m"),
    ("nil_reading", "mm", "reading by the underside at which the angle of attack at clear is nil"),
    ("pitch", column(Moment, "pitch").unit, "pitch at clear"),
    ("pitch_rate", column(Moment, "pitch_rate").unit, "pitch rate at clear"),
    ("angle_of_attack", column(Moment, "angle_of_attack").unit, "angle of attack at clear"),
    ("vertical_velocity", column(Moment, "vertical_velocity").unit, "vertical velocity at clear"),
    ("speed", column(Moment, "speed").unit, "speed at clear"),
)
NEAR = 1e-3  # [m]


@dataclass(frozen=True)
class Answers:
    """The answers of one bow.

    Attributes
    ----------
    values : (7,) array
        In the order of ``ANSWERS``; nan where there is none.
    reason : str
        Why, or empty.
    """

    values: np.ndarray
    reason: str

    def first(self) -> tuple[float, float]:
        """Two readings [m] near both best ones, to begin with on a bow that is nearly the same."""
        together, nil = 1e-3 * self.values[:2]
        if abs(together - nil) > NEAR:
            return together, nil
        middle = nil if np.isfinite(nil) else together
        return (middle - NEAR, middle + NEAR) if np.isfinite(middle) else FIRST


def answers(setup: Setup, mesh: str | Mesh, first: tuple[float, float] = FIRST) -> Answers:
    """The answers of a setup, fitted anew if it is measured.

    Both best readings are found from the same shots where they can be.

    Raises
    ------
    SetupError, ShotError
        Where the bow cannot be shot at its own reading.
    """
    if setup.nock.locators.reading is None:
        raise SetupError("nock.locators.reading", "is not given", "Give it: the answers are taken there")
    today = read_by(setup).underside(setup.nock.locators.reading)
    bow = FittedBow.of(setup, mesh)
    clear = bow.at_reading(today).clear
    best, reasons = [], []
    for find in (together_reading, nil_reading):
        try:
            best.append(find(bow, mesh, first).reading)
        except (SetupError, ShotError) as error:
            best.append(np.nan)
            reasons.append(str(error))
    values = np.array([
        *best, clear.pitch, clear.pitch_rate, clear.angle_of_attack, clear.vertical_velocity, clear.speed,
    ])  # fmt: skip
    return Answers(values, " ".join(dict.fromkeys(reasons)))


def sensitivity(
    setup: Setup,
    uncertainty: dict[str, Any] | None = None,
    *,
    mesh: str | Mesh = "default",
    progress: bool | Callable[[int, int], None] | None = None,
) -> xarray.Dataset:
    """Change of the answers per input, by central differences over one standard deviation either way.

    A measured setup is fitted anew for each moved input: what is asked is what a slip of the square, the
    tape or the scale does to the answer.

    Parameters
    ----------
    setup : Setup
    uncertainty : dict of dotted path to standard deviation, optional
        Texts with units, "20 %", or numbers in SI. Default: the usual ones,
        ``archerysim.study.uncertainty.inputs.USUAL``.
    mesh : str or Mesh
    progress
        As for `sweep`.

    Returns
    -------
    xarray.Dataset
        Dimension "input", ranked by what they do to the reading that brings bare and fletched shafts together at
        18 m (to the nil reading, where this bow has none). For each answer X of ``ANSWERS``: ``X`` (its value),
        ``X_per_spread`` (change for one standard deviation) and ``X_per_unit`` (change per unit of the
        input). ``reason`` says why an input has no numbers, or not all.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself fails.
    """
    import xarray

    full = filled(setup)
    inputs = inputs_from(setup, uncertainty) if uncertainty else usual_inputs(setup)
    base = answers(setup, mesh)
    per_spread = np.full((len(inputs), len(ANSWERS)), np.nan)
    reasons = [""] * len(inputs)
    for k, one in watched(enumerate(inputs), len(inputs), progress):
        try:
            per_spread[k], reasons[k] = slope_over_spread(setup, full, one, mesh, base.first())
        except (SetupError, ShotError) as error:
            reasons[k] = str(error)
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
    for m, (name, unit, text) in enumerate(ANSWERS):
        about = {"units": udunits(unit), "long_name": text}
        data[name] = ((), base.values[m], about)
        for ending, values, words in (
            ("per_spread", per_spread[order, m], "change for one standard deviation"),
            ("per_unit", per_spread[order, m] / spreads, "change per unit of the input"),
        ):
            data[f"{name}_{ending}"] = ("input", values, {"units": udunits(unit), "long_name": f"{text}: {words}"})
    names = [inputs[k].path for k in order]
    return xarray.Dataset(data, {"input": names}, provenance(f"sensitivity of {setup.name}", setup, "sensitivity"))


def slope_over_spread(
    setup: Setup, full: FilledSetup, one: Input, mesh: str | Mesh, first: tuple[float, float]
) -> tuple[np.ndarray, str]:
    """Change of the answers for one standard deviation (7,), from both sides where the range allows; why any is nan."""
    size = one.size(full)
    value = float(full.get(one.path))
    sides = []
    for sign in (1.0, -1.0):
        changes = one.moved(full, sign * size)
        moved = setup.replace(**changes)
        now = filled(moved).get(one.path)
        sides.append((float(now) - value, answers(moved, mesh, first)))
    (up, high), (down, low) = sides
    if up == down:
        raise SetupError(one.path, "cannot move within its allowed range", "Leave it out")
    reason = " ".join(dict.fromkeys(side.reason for side in (high, low) if side.reason))
    return np.asarray((high.values - low.values) / (up - down) * size), reason
