"""Whether a limb's tables fit their places, its laminations and its length."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from archerysim.errors import SetupError
from archerysim.fields.units import show

if TYPE_CHECKING:
    from archerysim.equipment.limbs.limb import Limb

MOST_POINTS = 200  # of a traced profile
SAME_LENGTH = 0.5e-3  # [m] between a limb's length and its last station: rounding of what was written


def check_tables(limb: Limb, path: str) -> None:
    """Check a limb's tables against one another.

    Raises
    ------
    SetupError
        As of `archerysim.Limb`.
    """
    if limb.stations is not None:
        _check_stations(limb, path, limb.stations)
    at = limb.places
    for places, name in ((at, "at"), (limb.curvature_at or at, "curvature_at")):
        if places[0] != 0.0 or places[-1] != 1.0 or any(low >= high for low, high in pairwise(places)):
            raise SetupError(
                f"{path}.{name}",
                f"{list(places)} does not increase from 0 to 1",
                "Begin with 0 (root), end with 1 (tip), each place beyond the last",
            )
    for name in ("bending_stiffness", "mass_per_length", "width", "thickness", "natural_curvature"):
        table, places = getattr(limb, name), at
        others = f"places (0 to 1) in {path}.at" if limb.stations is None else f"{path}.stations"
        if name == "natural_curvature":
            places = limb.curvature_at or at
            others = f"places (0 to 1) in {path}.curvature_at"
        if table is not None and len(table) != len(places):
            raise SetupError(
                f"{path}.{name}",
                f"a table of {len(table)} for {len(places)} places along the limb",
                f"Give one value for each place, or other {others}",
            )
    if limb.laminations:
        _check_laminations(limb, path)
    elif limb.width is not None and limb.thickness is None:
        raise SetupError(
            f"{path}.thickness",
            f"missing: {path}.width means nothing without it",
            f"Give it too, or {path}.laminations, or leave width out",
        )
    elif limb.width is not None and limb.modulus is None and limb.material is None:
        raise SetupError(
            f"{path}.modulus",
            f"missing: {path}.width means nothing without it",
            "Give it too, or material, or leave width out",
        )
    if limb.profile_x and limb.profile_y and len(limb.profile_x) != len(limb.profile_y):
        raise SetupError(
            f"{path}.profile_x",
            f"{len(limb.profile_x)} points, profile_y has {len(limb.profile_y)}",
            "Give both numbers of each point",
        )
    if limb.profile_x and len(limb.profile_x) > MOST_POINTS:
        raise SetupError(
            f"{path}.profile_x",
            f"{len(limb.profile_x)} points",
            f"Give {MOST_POINTS} at most, evenly spread",
        )


def _check_laminations(limb: Limb, path: str) -> None:
    if limb.width is None:
        raise SetupError(
            f"{path}.width", f"missing: {path}.laminations mean nothing without it", "Give it, one for each place"
        )
    for name in ("thickness", "material", "bending_stiffness"):
        if getattr(limb, name) is not None:
            raise SetupError(
                f"{path}.{name}",
                f"given together with {path}.laminations, from which it follows",
                f"Keep one of them; change {path}.laminations.0.thickness and so on",
            )


def _check_stations(limb: Limb, path: str, stations: tuple[float, ...]) -> None:
    if stations[0] != 0.0 or any(low >= high for low, high in pairwise(stations)) or len(stations) < 2:
        raise SetupError(
            f"{path}.stations",
            f"[{', '.join(show(one, 'cm') for one in stations)}] does not increase from 0",
            "Begin with 0 cm (root), end at the tip, each station beyond the last",
        )
    if limb.length is not None and abs(stations[-1] - limb.length) > SAME_LENGTH:
        raise SetupError(
            f"{path}.stations",
            f"end at {show(stations[-1], 'mm')}, the limb is {show(limb.length, 'mm')} long",
            f"Let the last one be the limb's length, or leave {path}.length out",
        )
