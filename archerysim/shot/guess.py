"""Where Newton's method starts: limbs bent along circular arcs, an arrow laid on string and rest."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.mechanics.parts import Chain, Marks
from archerysim.mechanics.status import SLACK_STRING
from archerysim.shot.errors import ShotError


def limb_nodes(root: np.ndarray, side: float, angle: float, size: float, bends: np.ndarray) -> np.ndarray:
    """Nodes (cells + 1, 2) of a limb from its pocket angle and the forward bend at each node [rad].

    ``side`` is 1 for the upper limb, -1 for the lower.
    """
    direction = angle + np.cumsum(bends)
    steps = size * np.column_stack((np.sin(direction), side * np.cos(direction)))
    return root + np.vstack((np.zeros(2), np.cumsum(steps, axis=0)))


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
    normal = np.array([np.cos(tilt), -np.sin(tilt)])
    cells = marks.tip_u - marks.root_u
    riser = setup.riser
    natural_u = -2.0 * np.arctan(0.5 * chain.natural[marks.root_u : marks.tip_u])
    natural_l = -2.0 * np.arctan(0.5 * chain.natural[marks.tip_l + 1 : marks.root_l + 1][::-1])
    share = np.full(cells, 1.0 / cells)
    share[0] *= 0.5
    limbs = []
    for x, y, side, angle, natural, size in (
        (riser.upper_root_x, riser.upper_root_y, 1.0, leans[0], natural_u, chain.rest_length[marks.root_u]),
        (riser.lower_root_x, riser.lower_root_y, -1.0, leans[1], natural_l, chain.rest_length[marks.tip_l]),
    ):
        root = np.array([x, y])
        low, high = 0.0, 2.4
        ends = [limb_nodes(root, side, angle, size, natural - bend * share)[-1] @ normal for bend in (low, high)]
        if ends[0] < -height or ends[1] > -height:
            raise ShotError("brace", SLACK_STRING, "the unstrung limbs already stand behind the string")
        for _ in range(40):
            half = 0.5 * (low + high)
            nodes = limb_nodes(root, side, angle, size, natural - half * share)
            low, high = (half, high) if nodes[-1] @ normal > -height else (low, half)
        limbs.append(nodes)
    upper, lower = limbs
    xy = np.zeros((marks.root_l + 2, 2))
    xy[marks.root_u : marks.tip_u + 1] = upper
    xy[marks.tip_l : marks.root_l + 1] = lower[::-1]
    down = np.linspace(0.0, 1.0, marks.tip_l - marks.tip_u + 1)[:, None]
    xy[marks.tip_u : marks.tip_l + 1] = upper[-1] + down * (lower[-1] - upper[-1])
    return xy


def arrow_on_string(
    setup: Any, x: np.ndarray, y: np.ndarray, bare: Marks, full: Marks, n: int, place: np.ndarray, length: float
) -> np.ndarray:
    """Positions (n, 2) with the string divided anew and a straight arrow from the throat over the rest."""
    xy = np.zeros((n, 2))
    old = np.column_stack((x, y))
    xy[: full.tip_u + 1] = old[: bare.tip_u + 1]
    xy[full.tip_l : full.tail] = old[bare.tip_l :]
    down = (0.5 - place / length)[:, None]
    xy[full.tip_u : full.tip_l + 1] = old[bare.tip_u] + down * (old[bare.tip_l] - old[bare.tip_u])
    tail = 0.5 * (xy[full.edge_u] + xy[full.edge_l])
    over = np.array([setup.rest.forward, setup.rest.height + 0.5 * setup.arrow.diameter]) - tail
    along = np.linspace(0.0, setup.arrow.length, n - full.tail)[:, None]
    xy[full.tail :] = tail + along * over / np.hypot(*over)
    return xy
