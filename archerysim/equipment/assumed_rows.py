"""Rows of values that a setup does not give, where one of their values, or a factor on all, is to be changed.

The others are then those that the filled setup has: ``limbs.natural_curvature.2`` of limbs whose curvature is assumed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from archerysim.errors import SetupError
from archerysim.fields.given import InSi
from archerysim.fields.paths import ALL, read, resolve

if TYPE_CHECKING:
    from archerysim.equipment.filled_setup import Source
    from archerysim.equipment.setup import Setup

CURVE = ".natural_curvature"


def assumed_rows(setup: Setup, changes: Mapping[str, Any]) -> dict[str, Source]:
    """The rows of which changes set one value or a factor, and which neither they nor the setup give.

    The limbs' bending stiffness of form "measured" is not among them where it is assumed: that is a shape, without a
    size before the bow is fitted.

    Returns
    -------
    dict of str to Source
        By the row's own path ("upper_limb.natural_curvature"): its values [SI], filled in beside all other changes,
        and on what grounds.

    Raises
    ------
    SetupError
        If a path is unknown, or the other changes cannot be made.
    """
    inside = {place: path for path in changes for place in resolve(type(setup), path) if place.in_row}
    if not inside:
        return {}
    from archerysim.equipment.filled_setup import sources

    others = {path: value for path, value in changes.items() if path not in inside.values()}
    whole = setup.replace(InSi(others) if isinstance(changes, InSi) else others) if others else setup
    lacking = [row for place in inside if whole.get(row := place.path.rpartition(".")[0]) is None]
    known = sources(whole) if lacking else {}
    shape = "bending_stiffness" if setup.form == "measured" else None
    return {
        row: known[row]
        for row in lacking
        if row in known and not (row.endswith(f".{shape}") and known[row].kind == "assumed")
    }


def rows_kept(given: Setup, built: Setup, changes: Mapping[str, Any]) -> dict[str, Source]:
    """The rows of `assumed_rows` in a given setup that a bow built from it still has as they were filled in.

    A fit writes some of them down, such as the usual curvature of limbs of which nothing is told.
    """
    inside = InSi({path: None for path in changes if any(one.in_row for one in resolve(type(given), path))})
    return {row: source for row, source in assumed_rows(given, inside).items() if built.get(row) == source.value}


def with_assumed_rows(setup: Setup, changes: Mapping[str, Any]) -> Mapping[str, Any]:
    """Changes, and before them the rows that `assumed_rows` finds.

    Raises
    ------
    SetupError
        As of `assumed_rows`, or if a factor on all values of a row is given beside the row or one of its values.
    """
    for factor in (path for path in changes if path.endswith(f".{ALL}")):
        scaled = _rows(setup, factor)
        for path in changes:
            if not path.endswith(f".{ALL}") and _rows(setup, path) & scaled:
                problem = f"given together with {path}, and it is not clear which comes first"
                raise SetupError(
                    factor, problem, "Make one change after the other, or give all values as they should be"
                )
    rows = assumed_rows(setup, changes)
    if not rows:
        return changes
    taken = {row: source.value for row, source in rows.items()}
    return InSi(taken | _with_curve(setup, rows)) | read(type(setup), changes)


def _with_curve(setup: Setup, rows: Mapping[str, Source]) -> dict[str, Any]:
    """What goes with a natural curvature that is taken: its places, and the pockets' lean that is usual with it."""
    from archerysim.equipment.filled_setup import filled

    limbs = [row.removesuffix(CURVE) for row in rows if row.endswith(CURVE)]
    if not limbs:
        return {}
    full = filled(setup)
    found = {f"{limb}.curvature_at": full.get(f"{limb}.curvature_at") or None for limb in limbs}
    if setup.form == "measured" and setup.bow.pocket_angle is None:
        found["bow.pocket_angle"] = full.get("bow.pocket_angle")
    return found


def _rows(setup: Setup, path: str) -> set[str]:
    """What a path sets, as a whole or in part."""
    places = resolve(type(setup), path)
    return {place.path.rpartition(".")[0] if place.in_row else place.path for place in places}
