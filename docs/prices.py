"""What a change on a bow is worth on the pages: the move of the locators that makes up for it.

Two of them: the move that brings bare and fletched shafts together again at 18 m, and the one that takes the angle of
attack at clear away again. They differ by the pitch rate, which a bare shaft feels and the angle of attack does not.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from places import table

import archerysim
from archerysim.equipment import SetupError
from archerysim.equipment.readings import READING, by_underside
from archerysim.shot.arrays.mesh import MESHES, Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.planes import PLANES
from archerysim.shot.shoot import shoot
from archerysim.study.explanation.explain import explain
from archerysim.study.explanation.neutral_bow import as_read, parts_of
from archerysim.study.notes.priors import causes_of, changes_of
from archerysim.study.tuning.together import together_reading
from archerysim.study.tuning.zero_attack import zero_attack_reading

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ("club-outdoor", "club-indoor", "barebow", "junior")
DEFAULT = MESHES["default"]
TOGETHER = "move: bare and fletched together again at 18 m [mm]"
ZERO_ATTACK = "move: no angle of attack at clear again [mm]"
NONE = "no answer"
AIMS = (together_reading, zero_attack_reading)


@cache
def setup(name: str) -> archerysim.Setup:
    """An example's setup."""
    return archerysim.load(ROOT / "examples" / f"{name}.toml")


@cache
def built(name: str) -> archerysim.Setup:
    """The same as built."""
    return archerysim.fit(setup(name)).setup


@cache
def fitted(name: str, planes: int = PLANES) -> FittedBow:
    """An example fitted, once for all tables: it keeps its shots."""
    return FittedBow.of(setup(name), planes=planes)


@cache
def as_built(name: str, mesh: str = "default") -> FittedBow:
    """An example given as built, once for all tables, on a mesh."""
    return FittedBow.of(built(name), mesh)


@cache
def shot(name: str, reading: float | None = None, mesh: str = "default") -> archerysim.Launch:
    """An example's shot, at its own reading or at another [mm]."""
    if reading is None:
        return as_built(name, mesh).launch()
    return shoot(built(name).replace(**{READING: f"{reading} mm"}), mesh, trace=False)


def aimed(bow: FittedBow, find: Callable[..., Any]) -> float:
    """The reading that meets an aim [mm]; nan for none."""
    try:
        return float(find(bow).reading)
    except SetupError as error:
        if error.path != READING:
            raise
        return float("nan")


def best_of(bow: archerysim.Setup | FittedBow, mesh: str | Mesh = DEFAULT) -> np.ndarray:
    """The reading that brings bare and fletched together at 18 m, and that of zero attack (2,) [mm]; nan for none."""
    bow = FittedBow.of(bow, mesh)
    return np.array([aimed(bow, find) for find in AIMS])


@cache
def best(name: str, mesh: str = "default") -> np.ndarray:
    """`best_of` an example as built, on a mesh."""
    return best_of(as_built(name, mesh))


@cache
def set_best(name: str, aim: int) -> FittedBow:
    """An example as built, its locators set to one of its best readings."""
    return FittedBow.of(built(name).replace(by_underside(built(name), 1e-3 * best(name)[aim])), DEFAULT)


def moves(name: str, changes: dict[str, Any], hold: tuple[str, ...] = ()) -> np.ndarray:
    """Both moves of the locators, up positive, that make up for a change on an example (2,) [mm]; nan for none.

    The locators stand where the bow as built is best, and stay tied there while it is changed, but for what is held.
    """
    bows = [set_best(name, k).with_changes(changes, hold) for k in range(len(AIMS))]
    return np.array([aimed(bow, find) - 1e3 * bow.braced.reading for bow, find in zip(bows, AIMS, strict=True)])


def in_words(move: np.ndarray, digits: int = 1) -> list[str]:
    """Cells of two moves."""
    return [f"{round(one, digits) + 0.0:+.{digits}f}" if np.isfinite(one) else NONE for one in move]


def best_readings() -> str:
    """Both best readings of the examples, and what the pitch rate makes of the second."""
    rows = []
    for name in EXAMPLES:
        zero_attack = zero_attack_reading(as_built(name))
        apart = bare_difference(zero_attack.launch, "18 m")
        both = [f"{one:.1f}" for one in best(name)]
        rows.append([name, *both, f"{zero_attack.launch.clear.pitch_rate:+.2f}", f"{1e3 * apart.swing:+.0f}"])
    return table(
        ("bow", "bare and fletched together at 18 m [mm]", "no angle of attack at clear [mm]",
         "pitch rate at the latter [rad/s]", "bare beside fletched there, less drag's part [mm]"),
        rows,
    )  # fmt: skip


def parts() -> str:
    """Each part of the outdoor bow made neutral: what it turns, and what move of the locators makes up for it."""
    base = as_built("club-outdoor")
    told = explain(base.setup)
    rows = []
    for part in parts_of(base):
        if part.name == "reading" or not part.changes:
            continue
        bow = base.setup.replace(as_read(base) | part.changes)
        turned = -told.of(part.name).on_actual[0]
        rows.append([part.name, part.here, f"{turned:+.3f}", *in_words(best_of(bow) - best("club-outdoor"))])
    return table(("part made neutral", "it is here", "angle of attack at clear [deg]", TOGETHER, ZERO_ATTACK), rows)


def split() -> str:
    """The tillers' difference attributed to the limbs' stiffness in place of the pockets."""
    rows = []
    for name in EXAMPLES:
        pockets, stiffness = (
            FittedBow.of(setup(name).replace(**{"bow.split_from": how})) for how in ("pockets", "stiffness")
        )
        laid, launches = stiffness.laid, [bow.launch() for bow in (pockets, stiffness)]
        assert laid is not None
        rows.append([
            f"`{name}.toml`", f"{launches[0].upper_tiller - launches[0].lower_tiller:+.1f}",
            f"{laid.stiffness_ratio:.3f}",
            f"{launches[1].clear.angle_of_attack - launches[0].clear.angle_of_attack:+.3f}",
            *in_words(best_of(stiffness) - best_of(pockets)),
        ])  # fmt: skip
    heads = ("bow", "tiller split [mm]", "stiffness ratio found", "angle of attack at clear [deg]")
    return table((*heads, TOGETHER, ZERO_ATTACK), rows)


PRIORS = {
    "archer.finger_shares.0": "setup's value, 0.1",
    "archer.finger_shares.2": "setup's value, 0.1",
    "archer.release_time": "setup's value, 50 %",
    "archer.grip_torque": "setup's value, 0.5 N m, or 3 mm",
    "rest.support_travel": "setup's value, 30 mm [judgement]",
    "archer.side_roll": "setup's value, 3 deg [judgement]",
    "archer.side_hold": "setup's value, 2 mm [judgement]",
    "rest.reach": "setup's value, 1 mm [judgement]",
    "limbs.side_stiffness": "setup's value, 40 % [judgement]",
}


def unmeasured() -> str:
    """What one prior spread of each unmeasured input does to a bare shaft, and the moves that make up for it."""
    bow = built("club-outdoor")
    causes = causes_of(bow, PLANES)
    rows = []
    for k, cause in enumerate(causes):
        sides = []
        for z in (0.5, -0.5):
            amount = np.zeros(len(causes))
            amount[k] = z
            moved = bow.replace(changes_of(bow, causes, amount))
            launch = shoot(moved.replace(by_underside(moved, 0.008)), DEFAULT, trace=False)
            sides.append((1e3 * bare_difference(launch, "18 m").height, best_of(moved)))
        (high, best_high), (low, best_low) = sides
        way = "up" if high > low else "down"
        rows.append(
            [cause.name, PRIORS[cause.path], f"{abs(high - low):.0f} mm {way}", *in_words(best_high - best_low)]
        )
    return table(
        ("input", "prior (normal, cut off)", "one spread more moves d at 18 m, reading 8 mm", TOGETHER, ZERO_ATTACK),
        rows,
    )


TABLES: dict[str, Callable[[], str]] = {
    "best-readings": best_readings,
    "parts": parts,
    "split": split,
    "unmeasured": unmeasured,
}
