"""What the answer is sensitive to: each input moved by what an archer can know of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.equipment.readings import read_by
from archerysim.shot.errors import ShotError
from archerysim.shot.fit import fit
from archerysim.shot.mesh import Mesh
from archerysim.study.inputs import Input, inputs_from, usual_inputs
from archerysim.study.progress import watched
from archerysim.study.tuned import at_reading, nil_reading
from archerysim.version import VERSION

if TYPE_CHECKING:
    import xarray

ANSWERS = (
    ("nil_reading", "mm", "reading by the underside at which the angle of attack at clear is nil"),
    ("pitch", "deg", "pitch at clear"),
    ("pitch_rate", "rad/s", "pitch rate at clear"),
    ("angle_of_attack", "deg", "angle of attack at clear"),
    ("vertical_velocity", "m/s", "vertical velocity at clear"),
    ("speed", "m/s", "speed at clear"),
)


def answers(setup: Setup, mesh: str | Mesh, first: tuple[float, float] | None = None) -> np.ndarray:
    """The answers of a setup, fitted anew if it is measured (6,)."""
    built = fit(setup, mesh).setup
    if setup.nock.locators.reading is None:
        raise SetupError("nock.locators.reading", "is not given", "Give it: the answers are taken there")
    today = read_by(setup).underside(setup.nock.locators.reading)
    clear = at_reading(built, today, mesh).clear
    nil = nil_reading(built, mesh, first) if first else nil_reading(built, mesh)
    return np.array([
        nil.reading, clear.pitch, clear.pitch_rate, clear.angle_of_attack, clear.vertical_velocity, clear.speed,
    ])  # fmt: skip


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
        Texts with units, "20 %", or numbers in SI. Default: the usual ones, `archerysim.study.inputs.USUAL`.
    mesh : str or Mesh
    progress
        As for `sweep`.

    Returns
    -------
    xarray.Dataset
        Dimension "input", ranked by what they do to the nil reading. For each answer X: ``X`` (its value),
        ``X_per_spread`` (change for one standard deviation) and ``X_per_unit`` (change per unit of the
        input). ``reason`` says why an input has no numbers.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself fails.
    """
    import xarray

    full = filled(setup)
    inputs = inputs_from(setup, uncertainty) if uncertainty else usual_inputs(setup)
    base = answers(setup, mesh)
    first = (base[0] * 1e-3 - 0.001, base[0] * 1e-3 + 0.001)
    per_spread = np.full((len(inputs), len(ANSWERS)), np.nan)
    reasons = [""] * len(inputs)
    for k, one in watched(enumerate(inputs), len(inputs), progress):
        try:
            per_spread[k] = slope_over_spread(setup, full, one, mesh, first)
        except (SetupError, ShotError) as error:
            reasons[k] = str(error)
    order = np.argsort(-np.abs(np.nan_to_num(per_spread[:, 0])), kind="stable")
    shown = [inputs[k].shown(full) for k in order]
    spreads = np.array([size for size, _ in shown])
    data: dict[str, Any] = {
        "spread": ("input", spreads, {"long_name": "standard deviation, in the input's unit"}),
        "unit": ("input", np.array([unit or "1" for _, unit in shown], dtype=object)),
        "how": ("input", np.array([inputs[k].how for k in order], dtype=object), {"long_name": "how it is known"}),
        "reason": ("input", np.array([reasons[k] for k in order], dtype=object)),
    }
    for m, (name, unit, text) in enumerate(ANSWERS):
        about = {"units": unit, "long_name": text}
        data[name] = ((), base[m], about)
        for ending, values, words in (
            ("per_spread", per_spread[order, m], "change for one standard deviation"),
            ("per_unit", per_spread[order, m] / spreads, "change per unit of the input"),
        ):
            data[f"{name}_{ending}"] = ("input", values, {"units": unit, "long_name": f"{text}: {words}"})
    names = [inputs[k].path for k in order]
    return xarray.Dataset(data, {"input": names}, {"setup": setup.to_toml(), "version": VERSION})


def slope_over_spread(setup: Setup, full: Any, one: Input, mesh: str | Mesh, first: tuple[float, float]) -> np.ndarray:
    """Change of the answers for one standard deviation (6,), from both sides where the range allows."""
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
    return np.asarray((high - low) / (up - down) * size)
