"""Where Newton's method starts: limbs bent along circular arcs, an arrow laid on string and rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import ShotError
from archerysim.mechanics.arrays import Chain, Marks
from archerysim.mechanics.statics.arc import FOUND, bend_both, height_of_string, pull_both
from archerysim.mechanics.statics.draw import Pulled
from archerysim.status import SLACK_STRING

if TYPE_CHECKING:
    from archerysim.shot.statics.brace import Braced


def arc_shape(
    setup: BuiltSetup,
    leans: tuple[float, float],
    chain: Chain,
    marks: Marks,
    height: float,
    tilt: float,
    place: np.ndarray,
) -> np.ndarray:
    """Each limb bent along a circular arc until its tip meets the string's line.

    Parameters
    ----------
    height, tilt : float
        Distance of the string from the pivot [m] and the angle of its forward normal below x [rad].
    place : (k,) array
        Unloaded places of the string's nodes, falling [m].

    Returns
    -------
    (n, 2) array
        Positions of the bow's nodes [m]. Raises ShotError where no arc reaches the line.
    """
    upper, lower = np.zeros((2, 2, marks.tip_u - marks.root_u + 1))
    limbs = _limbs(setup, leans, chain, marks)
    if bend_both(*limbs, np.cos(tilt), np.sin(tilt), height, upper, lower) != FOUND:
        raise ShotError("brace", SLACK_STRING, "no bend of the limbs brings their tips to the string")
    xy = np.zeros((marks.root_l + 2, 2))
    xy[marks.root_u : marks.tip_u + 1] = upper.T
    xy[marks.tip_l : marks.root_l + 1] = lower.T[::-1]
    if marks.reach_u or marks.reach_l:
        down = ((place[0] - place) / (place[0] - place[-1]))[:, None]
    else:
        down = np.linspace(0.0, 1.0, place.size)[:, None]
    xy[marks.tip_u : marks.tip_l + 1] = upper[:, -1] + down * (lower[:, -1] - upper[:, -1])
    return xy


def likely_height(
    setup: BuiltSetup, leans: tuple[float, float], chain: Chain, marks: Marks, length: float
) -> tuple[float, bool]:
    """Brace height at which the tips of `arc_shape` stand ``length`` apart [m]; see `arc.height_of_string`."""
    upper, lower = np.zeros((2, 2, marks.tip_u - marks.root_u + 1))
    found, enough = height_of_string(*_limbs(setup, leans, chain, marks), length, upper, lower)
    return float(found), bool(enough)


def drawn_shape(setup: BuiltSetup, braced: Braced, target: float) -> Pulled | None:
    """The bow with its string drawn to a point, each limb bent along a circular arc.

    Parameters
    ----------
    target : float
        x of the throat's middle [m]; its height is that at brace.

    Returns
    -------
    Pulled or None
        Positions of the bow's nodes and the finger force for the string's tension at brace; None where no
        bend of the limbs does it.
    """
    marks, throat, half = braced.marks, braced.throat, 0.5 * braced.string_length
    height = 0.5 * float(braced.y[marks.edge_u] + braced.y[marks.edge_l])
    strain = 1.0 + braced.tension / setup.string.axial_stiffness
    upper, lower = np.zeros((2, 2, marks.tip_u - marks.root_u + 1))
    limbs = _limbs(setup, braced.leans, braced.chain, marks)
    reach = strain * (half - throat), strain * (half + throat)
    if pull_both(*limbs, target, height, *reach, upper, lower) != FOUND:
        return None
    away = braced.string_place - throat
    shape, force = [], []
    for i, at in enumerate((target, height)):
        p = braced.x[: marks.tail].copy() if i == 0 else braced.y[: marks.tail].copy()
        p[marks.root_u : marks.tip_u + 1] = upper[i]
        p[marks.tip_l : marks.root_l + 1] = lower[i, ::-1]
        rise, fall = (upper[i, -1] - at) / (half - throat), (lower[i, -1] - at) / (half + throat)
        p[marks.tip_u : marks.tip_l + 1] = at + np.where(away > 0.0, rise * away, -fall * away)
        shape.append(p)
        force.append(-braced.tension / strain * (rise + fall))
    x, y = shape
    return Pulled(x, y, np.array(force))


def _limbs(
    setup: BuiltSetup, leans: tuple[float, float], chain: Chain, marks: Marks
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Roots (2, 2) [m], pocket angles [rad], cells [m] and natural bends (2, cells) [rad], upper and lower."""
    riser = setup.riser
    roots = np.array([[riser.upper_root_x, riser.upper_root_y], [riser.lower_root_x, riser.lower_root_y]])
    bend = np.array([
        chain.natural[marks.root_u : marks.tip_u], chain.natural[marks.tip_l + 1 : marks.root_l + 1][::-1],
    ])  # fmt: skip
    cells = chain.rest_length[[marks.root_u, marks.tip_l]]
    return roots, np.array(leans), cells, -2.0 * np.arctan(0.5 * bend)


def string_divided(
    x: np.ndarray, y: np.ndarray, bare: Marks, full: Marks, place: np.ndarray, length: float
) -> tuple[np.ndarray, np.ndarray]:
    """The bow's nodes with its straight string divided anew.

    Parameters
    ----------
    x, y : (k,) arrays
        Nodes of the bow with the string as ``bare`` divides it [m].
    place : (m,) array
        Unloaded places of the new string nodes above the string's middle, falling [m].
    length : float
        Unloaded length of the string [m].
    """
    upper, lower = int(full.reach_u > 0), int(full.reach_l > 0)  # an end cell that may lie on the limb stays as it is
    straight = place[upper : place.size - lower]
    down = 0.5 - place / length if not upper + lower else (straight[0] - straight) / (straight[0] - straight[-1])
    new_x, new_y = np.empty((2, full.tail))
    for old, new in ((x, new_x), (y, new_y)):
        new[: full.tip_u] = old[: bare.tip_u]
        new[full.tip_l + 1 :] = old[bare.tip_l + 1 :]
        new[full.tip_u], new[full.tip_l] = old[bare.tip_u], old[bare.tip_l]
        above, below = old[bare.tip_u + upper], old[bare.tip_l - lower]
        new[full.tip_u + upper : full.tip_l + 1 - lower] = above + down * (below - above)
    return new_x, new_y
