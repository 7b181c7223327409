"""The string's cells: where its nodes stand, and what each weighs and yields."""

from __future__ import annotations

import numpy as np

from archerysim.equipment.filled_records import FilledString
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.mechanics.lumping import share_even, share_points
from archerysim.shot.arrays.mesh import Mesh, string_nodes

BARE = 8  # cells of the string without an arrow


def string_density(string: FilledString, length: float) -> list[tuple[float, float, float]]:
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


def bare_places(length: float, ends: tuple[float, float]) -> np.ndarray:
    """Places of the nodes of a string without an arrow, falling [m]; ``ends`` as in `string_cells`."""
    upper, lower = ends
    middle = BARE - (upper > 0.0) - (lower > 0.0)
    places = np.linspace(0.5 * length - upper, lower - 0.5 * length, middle + 1)
    return np.concatenate([[0.5 * length] * (upper > 0.0), places, [-0.5 * length] * (lower > 0.0)])


def string_cells(
    setup: FilledSetup, length: float, throat: float | None, mesh: Mesh, ends: tuple[float, float] = (0.0, 0.0)
) -> dict[str, np.ndarray]:
    """The string from the upper tip down to the lower.

    Parameters
    ----------
    length : float
        Unloaded length [m].
    throat : float or None
        Place of the throat's middle above the string's middle [m]; None for the bare string at brace.
    ends : (float, float)
        Lengths of the end cells where the string may lie on the limbs, upper and lower [m]; else 0.
    """
    string, nock = setup.string, setup.nock
    if throat is None:
        places = bare_places(length, ends)
    else:
        archer = setup.archer
        fingers = [place - archer.crawl for place in archer.finger_places]
        places = string_nodes(length, throat, 0.5 * nock.floor, fingers, mesh, ends)
    rising = places[::-1].copy()
    mass = np.zeros(places.size)
    share_even(rising, np.array(string_density(string, length)), mass)
    points = [(m.at, m.mass) for m in string.masses]
    if throat is not None:
        points += locator_masses(setup, throat)
    if points:
        share_points(rising, *np.array(points).T.copy(), mass)
    cells = places[:-1] - places[1:]
    return {
        "place": places,
        "mass": mass[::-1],
        "stretch": string.axial_stiffness / cells,
        "rest_length": cells,
        "loss": string.transverse_loss / cells,
        "axial_loss": string.axial_loss / cells,
    }


def locator_masses(setup: FilledSetup, throat: float) -> list[tuple[float, float]]:
    """Places on the string [m] and masses [kg] of the locators that are there."""
    loc = setup.nock.locators
    return [
        (throat + loc.mass_at, loc.upper_mass * loc.upper_present),
        (throat - loc.mass_at, loc.lower_mass * loc.lower_present),
    ]
