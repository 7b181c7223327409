"""From a measured bow to the bow as built.

Brace height and the two tillers say where the string stands beside the riser: the distance of its line
from the pivot and from both roots. Three distances fix a line (two numbers) and how far the roots stand
in front of or behind the pivot (one). The pockets' difference then follows from the split, the string's
length from the brace height, and one common factor on both limbs' stiffness from the draw weight. The
mean of both pocket angles cannot be told from these measures; it is ``bow.pocket_angle``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.mechanics.status import NO_CONVERGENCE
from archerysim.shot.arrays import limb_tables
from archerysim.shot.brace import Braced, brace_to_height, brace_with_string
from archerysim.shot.draw import TRADE, draw_to
from archerysim.shot.errors import ShotError
from archerysim.shot.mesh import Mesh, mesh_of

CLOSE = 1e-9  # relative miss of the draw weight
MOST = 30


@dataclass(frozen=True)
class Met:
    """How well one measured number is met.

    Attributes
    ----------
    path : str
        Dotted path of the measured field.
    wanted, found : float
        In SI.
    """

    path: str
    wanted: float
    found: float

    @property
    def miss(self) -> float:
        """Found minus wanted, in SI."""
        return self.found - self.wanted


@dataclass(frozen=True)
class Fit:
    """A measured bow as built.

    Attributes
    ----------
    setup : Setup
        Form "built": string length, pocket angles, stiffness tables and roots given; locators tied at their
        place on the string.
    met : tuple of Met
        Brace height, tillers, draw weight, with the bolts as they stood when these were measured.
    stiffness_factor : float
        What both limbs' given (or usual) stiffness was multiplied by.
    draws : int
        Draws tried.
    """

    setup: Setup
    met: tuple[Met, ...]
    stiffness_factor: float
    draws: int


def fit(setup: Setup, mesh: str | Mesh = "default") -> Fit:
    """The bow as built whose brace height, tillers and draw weight are the measured ones.

    Bolt turns in the setup are turns since the bow was measured: it is fitted without them, and they are then turned.

    Parameters
    ----------
    setup : Setup
        Form "measured". One of form "built" comes back as it is.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`. The stiffness found belongs to the mesh to some 0.05 %.

    Returns
    -------
    Fit

    Raises
    ------
    SetupError
        Where the measured numbers contradict each other.
    ShotError
        Where no such bow is found.
    """
    cells = mesh_of(mesh)
    if setup.form == "built":
        return Fit(setup, (), 1.0, 0)
    full = filled(setup)
    bow = full.bow
    wanted_weight = float(bow.draw_weight)  # type: ignore[arg-type]
    target = -(float(bow.draw_weight_at) - TRADE)  # type: ignore[arg-type]
    split, root_x = string_beside_riser(full)
    first = filled(_built(setup, full, root_x, 0.0, 1.0, 1.0))
    factor = (
        20.0
        * (wanted_weight / 150.0)
        / float(np.sqrt(np.prod([limb_tables(limb)[1][0] for limb in (first.upper_limb, first.lower_limb)])))
    )
    tried: list[tuple[float, float]] = []
    for count in range(1, MOST + 1):
        trial = _stiffer(first, factor)
        braced = brace_to_height(trial, float(bow.brace_height), cells, split)  # type: ignore[arg-type]
        _, drawn = draw_to(trial, braced, target)
        tried.append((float(np.log(factor)), float(np.log(drawn.weight / wanted_weight))))
        if abs(tried[-1][1]) < CLOSE:
            return _result(setup, full, root_x, factor, braced, count, cells, target)
        factor = float(np.exp(_next(tried)))
    raise ShotError("fit", NO_CONVERGENCE, f"the draw weight is met to {tried[-1][1]:.1e} of itself only")


def _next(tried: list[tuple[float, float]]) -> float:
    """Next logarithm of the factor: weight grows about as stiffness, then a straight line through two trials."""
    (x1, y1) = tried[-1]
    if len(tried) == 1:
        return x1 - float(np.clip(y1, -1.0, 1.0))
    x0, y0 = tried[-2]
    slope = (y1 - y0) / (x1 - x0) if x1 != x0 else 1.0
    slope = float(np.clip(slope, 0.2, 3.0))
    return x1 - float(np.clip(y1 / slope, -1.0, 1.0))


def string_beside_riser(full: Any) -> tuple[float, float]:
    """Split of the roots' distances from the string, and x of both roots [m].

    With the line's forward normal (cos t, -sin t) at the brace height from the pivot, a root at (x, y)
    stands cos(t) x - sin(t) y + brace height in front of it, which is its tiller plus half its thickness.

    Raises
    ------
    SetupError
    """
    bow, riser = full.bow, full.riser
    for name in ("upper_root_x", "lower_root_x"):
        if getattr(riser, name) is not None:
            raise SetupError(
                f"riser.{name}",
                "is one number too many beside brace height and both tillers, which say where the roots stand",
                'Remove it, or set form = "built"',
            )
    upper = bow.upper_tiller + 0.5 * full.upper_limb.root_thickness
    lower = bow.lower_tiller + 0.5 * full.lower_limb.root_thickness
    split = float(upper - lower)
    between = riser.upper_root_y - riser.lower_root_y
    sine = -split / between
    root_x = (upper - bow.brace_height + sine * riser.upper_root_y) / np.sqrt(1.0 - sine * sine)
    return split, float(root_x)


def _stiffer(full: Any, ratio: float) -> Any:
    """A filled setup with the stiffness of both limbs multiplied."""
    from msgspec.structs import replace

    limbs = {}
    for name in ("upper_limb", "lower_limb"):
        limb = getattr(full, name)
        new: dict[str, Any] = {"bending_stiffness": tuple(ratio * v for v in limb.bending_stiffness)}
        if limb.width is not None:
            new["modulus"] = ratio * limb.modulus
        limbs[name] = replace(limb, **new)
    return replace(full, **limbs)


def _built(setup: Setup, full: Any, root_x: float, lean_split: float, factor: float, length: float) -> Setup:
    """The setup in form "built" with the given guesses."""
    changes: dict[str, Any] = {"form": "built", "string.length": length}
    for name in (
        "brace_height", "upper_tiller", "lower_tiller", "draw_weight", "draw_weight_at", "pocket_angle",
        "stiffness_ratio",
    ):  # fmt: skip
        changes[f"bow.{name}"] = None
    ratio = float(np.sqrt(full.bow.stiffness_ratio))
    for name, times, side in (("upper_limb", ratio, 0.5), ("lower_limb", 1.0 / ratio, -0.5)):
        limb = getattr(full, name)
        changes[f"{name}.length"] = limb.length
        changes[f"{name}.root_thickness"] = limb.root_thickness
        changes[f"{name}.pocket_angle"] = full.bow.pocket_angle + side * lean_split
        changes[f"{name}.bolt_turns"] = None  # the bow was measured before they were turned
        if limb.width is not None:
            changes[f"{name}.modulus"] = limb.modulus * factor * times
        else:
            changes[f"{name}.bending_stiffness"] = tuple(factor * times * v for v in limb.bending_stiffness)
        if limb.density is None:
            changes[f"{name}.mass_per_length"] = limb.mass_per_length
            changes[f"{name}.mass"] = None
    changes["riser.upper_root_x"] = changes["riser.lower_root_x"] = root_x
    return setup.replace(**changes)


def _result(
    setup: Setup, full: Any, root_x: float, factor: float, braced: Braced, draws: int, mesh: Mesh, target: float
) -> Fit:
    lean_split = braced.leans[0] - braced.leans[1]
    built = _built(setup, full, root_x, lean_split, factor, braced.string_length)
    ready = filled(built)
    again = brace_with_string(ready, braced.string_length, mesh)
    turns = {f"{name}.bolt_turns": getattr(setup, name).bolt_turns for name in ("upper_limb", "lower_limb")}
    built = built.replace(**{"nock.locators.place": again.throat}, **turns)
    _, drawn = draw_to(ready, again, target)
    bow = full.bow
    met = (
        Met("bow.brace_height", bow.brace_height, again.brace_height),
        Met("bow.upper_tiller", bow.upper_tiller, again.upper_tiller),
        Met("bow.lower_tiller", bow.lower_tiller, again.lower_tiller),
        Met("bow.draw_weight", bow.draw_weight, drawn.weight),
    )
    return Fit(built, met, factor, draws)
