"""Where Newton's method starts: limbs bent along circular arcs, an arrow laid on string and rest."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.mechanics.arc import bend_limb
from archerysim.mechanics.parts import Chain, Marks
from archerysim.mechanics.status import SLACK_STRING
from archerysim.shot.errors import ShotError

MOST_BEND = 2.4  # [rad]


def arc_shape(
    setup: Any, leans: tuple[float, float], chain: Chain, marks: Marks, height: float, tilt: float
) -> np.ndarray:
    """Each limb bent along a circular arc until its tip meets the string's line.

    Parameters
    ----------
    height, tilt : float
        Distance of the string from the pivot [m] and the angle of its forward normal below x [rad].

    Returns
    -------
    (n, 2) array
        Positions of the bow's nodes [m]. Raises ShotError where no arc reaches the line.
    """
    upper, lower = bent_limbs(setup, leans, chain, marks, height, tilt)
    xy = np.zeros((marks.root_l + 2, 2))
    xy[marks.root_u : marks.tip_u + 1] = upper.T
    xy[marks.tip_l : marks.root_l + 1] = lower.T[::-1]
    down = np.linspace(0.0, 1.0, marks.tip_l - marks.tip_u + 1)[:, None]
    xy[marks.tip_u : marks.tip_l + 1] = upper[:, -1] + down * (lower[:, -1] - upper[:, -1])
    return xy


def bent_limbs(
    setup: Any, leans: tuple[float, float], chain: Chain, marks: Marks, height: float, tilt: float
) -> tuple[np.ndarray, np.ndarray]:
    """The limbs of `arc_shape`: for either one x and y from root to tip, (2, cells + 1) [m]."""
    cells = marks.tip_u - marks.root_u
    riser = setup.riser
    limbs = []
    for x, y, side, angle, bend, size in (
        (riser.upper_root_x, riser.upper_root_y, 1.0, leans[0], chain.natural[marks.root_u : marks.tip_u],
         chain.rest_length[marks.root_u]),
        (riser.lower_root_x, riser.lower_root_y, -1.0, leans[1],
         chain.natural[marks.tip_l + 1 : marks.root_l + 1][::-1], chain.rest_length[marks.tip_l]),
    ):  # fmt: skip
        nodes = np.empty((2, cells + 1))
        natural = -2.0 * np.arctan(0.5 * bend)
        if not bend_limb(
            x, y, side, angle, size, natural, np.cos(tilt), -np.sin(tilt), -height, MOST_BEND, nodes[0], nodes[1]
        ):
            raise ShotError("brace", SLACK_STRING, "no bend of the limbs brings their tips to the string")
        limbs.append(nodes)
    return limbs[0], limbs[1]


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
    old = np.column_stack((x, y))
    xy = np.empty((full.tail, 2))
    xy[: full.tip_u + 1] = old[: bare.tip_u + 1]
    xy[full.tip_l :] = old[bare.tip_l :]
    down = (0.5 - place / length)[:, None]
    xy[full.tip_u : full.tip_l + 1] = old[bare.tip_u] + down * (old[bare.tip_l] - old[bare.tip_u])
    return xy[:, 0], xy[:, 1]
