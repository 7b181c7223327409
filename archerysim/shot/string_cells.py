"""The string's cells: where its nodes stand, and what each weighs and yields."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.mechanics.share import share_even, share_points
from archerysim.shot.mesh import Mesh, string_nodes

BARE = np.linspace(0.5, -0.5, 9)  # nodes of the string without an arrow, of its length above its middle


def string_density(string: Any, length: float) -> list[tuple[float, float, float]]:
    """What lies along the string, servings included: from, to (from its middle) [m], mass per length [kg/m]."""
    half = 0.5 * length
    pieces = [(-half, half, string.mass_per_length)]
    reach = 0.5 * string.serving_length
    middle = string.serving_centre
    pieces.append((max(middle - reach, -half), min(middle + reach, half), string.serving_mass_per_length))
    end = min(string.end_serving_length, half)
    pieces.append((-half, -half + end, string.end_serving_mass_per_length))
    pieces.append((half - end, half, string.end_serving_mass_per_length))
    return pieces


def string_cells(setup: Any, length: float, throat: float | None, mesh: Mesh) -> dict[str, np.ndarray]:
    """The string from the upper tip down to the lower.

    Parameters
    ----------
    length : float
        Unloaded length [m].
    throat : float or None
        Place of the throat's middle above the string's middle [m]; None for the bare string at brace.
    """
    string, nock = setup.string, setup.nock
    if throat is None:
        places = length * BARE
    else:
        point_fingers = setup.archer.finger_places if setup.archer.pad_width == 0.0 else ()
        crawl = setup.archer.crawl
        places = string_nodes(length, throat, 0.5 * nock.floor, [place - crawl for place in point_fingers], mesh)
    rising = places[::-1].copy()
    mass = np.zeros(places.size)
    share_even(rising, np.array(string_density(string, length)), mass)
    points = [(m.at, m.mass) for m in string.masses]
    if throat is not None:
        points += locator_masses(setup, throat)
    if points:
        share_points(rising, *np.array(points).T.copy(), mass)
    cells = places[:-1] - places[1:]
    yielding = cells if throat is None else evened(cells, int(np.abs(places - (throat + 0.5 * nock.floor)).argmin()))
    return {
        "place": places,
        "mass": mass[::-1],
        "stretch": string.axial_stiffness / yielding,
        "rest_length": cells,
        "loss": string.transverse_loss / yielding,
        "axial_loss": string.axial_loss / yielding,
    }


def evened(cells: np.ndarray, floor: int) -> np.ndarray:
    """Lengths by which the string's cells yield, the throat's short cell evened with its neighbours.

    The cell on the nock's floor would set the highest frequency, and with it the time step, by itself. It yields as
    much as the shorter of its neighbours, which yield so much less, both the same: neither the string's whole
    yielding nor the place of the throat's middle changes.

    Parameters
    ----------
    cells : (k,) array
        Unloaded lengths [m].
    floor : int
        The cell on the floor.

    Returns
    -------
    (k,) array
        [m]
    """
    out = cells.copy()
    shorter = min(cells[floor - 1], cells[floor + 1])
    more = max((2.0 * shorter - 2.0 * cells[floor]) / 3.0, 0.0)
    out[floor] += more
    out[floor - 1] -= 0.5 * more
    out[floor + 1] -= 0.5 * more
    return out


def locator_masses(setup: Any, throat: float) -> list[tuple[float, float]]:
    """Places on the string [m] and masses [kg] of the locators that are there."""
    loc = setup.nock.locators
    return [
        (throat + loc.mass_at, loc.upper_mass * loc.upper_present),
        (throat - loc.mass_at, loc.lower_mass * loc.lower_present),
    ]
