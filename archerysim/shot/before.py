"""The bow before anything on it was changed: what a change is told against."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from archerysim.equipment import Setup, SetupError, filled
from archerysim.errors import ShotError
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.statics.brace import Braced, brace_with_string
from archerysim.shot.statics.draw import draw_to, full_draw_x
from archerysim.shot.statics.fit import Fit, fit


@dataclass(frozen=True)
class Before:
    """The bow before any change.

    Attributes
    ----------
    setup : Setup
        As given.
    weight : float
        Its draw weight at its archer's own draw length [N]; nan where it cannot be drawn so far.
    words : {"as given", "as measured"}
    """

    setup: Setup
    weight: float
    words: str = "as given"


def before_of(setup: Setup | Before | None, mesh: str | Mesh, now: Setup | None = None) -> Before | None:
    """The bow before any change, drawn once; a bow that cannot be shot has no draw weight to compare with.

    Parameters
    ----------
    setup : Setup, Before or None
    mesh : str or Mesh
    now : Setup, optional
        The bow as it is now. Where ``setup`` is None and its bolts have been turned since it was measured, it is
        compared with itself as measured.
    """
    if isinstance(setup, Before):
        return setup
    if setup is not None:
        return _drawn(setup, mesh)
    if now is None or not turned_since(now):
        return None
    return replace(_drawn(now.with_si(**{"limbs.bolt_turns": 0.0}), mesh), words="as measured")


def turned_since(setup: Setup) -> bool:
    """Whether a bow's bolts have been turned since it was measured."""
    return setup.form == "measured" and any(limb.bolt_turns for limb in (setup.upper_limb, setup.lower_limb))


def _drawn(setup: Setup, mesh: str | Mesh) -> Before:
    try:
        done = fit(setup, mesh)
        full = filled(done.setup)
        braced = brace_with_string(full, full.number("string.length"), mesh_of(mesh))
    except (SetupError, ShotError):
        return Before(setup, math.nan)
    return Before(setup, own_weight(done, braced))


def own_weight(done: Fit, braced: Braced) -> float:
    """Draw weight of a bow as built at its archer's own draw length [N]; nan where it cannot be drawn so far."""
    full = filled(done.setup)
    target = full_draw_x(full)
    if done.drawn is not None and done.drawn.throat_x == target:
        return done.drawn.weight
    try:
        return draw_to(full, braced, target)[1].weight
    except (SetupError, ShotError):
        return math.nan
