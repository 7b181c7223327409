"""Many shots: over every combination of some values, or over the rows of a table."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor, ProcessPoolExecutor
from typing import TYPE_CHECKING, Any

from archerysim.equipment import Setup, SetupError
from archerysim.shot.errors import ShotError
from archerysim.shot.launch import Launch
from archerysim.shot.mesh import Mesh
from archerysim.shot.quantities import MOMENT, SHOT
from archerysim.shot.shoot import shoot_built
from archerysim.study.dataset import dataset_of
from archerysim.study.held import Base, base_of, changed
from archerysim.study.points import points_of
from archerysim.study.progress import watched

if TYPE_CHECKING:
    import xarray

BATCH = 8  # points a worker takes at a time
WORTH_WORKERS = 120  # points from which starting more processes pays
BAD_SETUP = -1  # status of a point whose setup contradicts itself


def sweep(
    setup: Setup,
    over: Mapping[str, Any] | None = None,
    *,
    cases: Any = None,
    hold: str | tuple[str, ...] | list[str] | None = None,
    mesh: str | Mesh = "default",
    workers: int | None = None,
    executor: Executor | None = None,
    progress: bool | Callable[[int, int], None] | None = None,
) -> xarray.Dataset:
    """Shoot at many points.

    The bow is fitted once and frozen as built; every point changes it from there, holding what ``hold``
    says. A point that fails is a row with its status and reason.

    Parameters
    ----------
    setup : Setup
        Measured or built.
    over : mapping of dotted path to values
        Every combination is shot. Values are a range in words ("4 mm:12 mm:0.5 mm"), texts with units, or
        numbers in SI.
    cases : table
        Instead of ``over``: a mapping of columns, a data frame or a list of mappings; a shot a row.
    hold : str or tuple of str, optional
        What is held when something changes: "reading" (locators set again to the same reading), "brace
        height" (string twisted again to the same brace height), or "refit" (fitted anew at every point).
        Default: nothing else touched - locators tied at their place, string kept, limbs kept.
    mesh : str or Mesh
        "coarse", "default", "fine" or a `Mesh`.
    workers : int, optional
        Processes. Default: all cores where that pays, else this process alone. The numbers do not depend
        on it.
    executor : concurrent.futures.Executor, optional
        Runs the points instead.
    progress : bool or callable, optional
        None: a bar on a terminal when it takes longer than about two seconds. A callable gets (done, all).

    Returns
    -------
    xarray.Dataset
        A dimension a varied field (or "case"), and "moment": "separation", "clear". Each variable has
        ``units`` and ``long_name``; ``status`` is 0 where all went well and ``reason`` says what did not.

    Raises
    ------
    SetupError, ShotError
        Where the setup itself, the points or the hold are wrong.
    """
    base = base_of(setup, hold, mesh)
    points = points_of(over, cases, base.given if base.hold == ("refit",) else base.built)
    changes = points.changes()
    count = 1 if executor is not None else _workers(workers, len(changes))
    rows: list[dict[str, Any]] = [{}] * len(changes)
    for index, row in watched(_rows(base, changes, count, executor), len(changes), progress):
        rows[index] = row
    return dataset_of(base, points, rows)


def _workers(wanted: int | None, points: int) -> int:
    if wanted is not None:
        if wanted < 1:
            raise SetupError("workers", f"{wanted} is not a number of processes", "Give 1 or more")
        return min(wanted, points)
    return min(os.cpu_count() or 1, points) if points >= WORTH_WORKERS else 1


def _rows(
    base: Base, changes: list[dict[str, Any]], workers: int, executor: Executor | None
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Index and row of every point, as they end."""
    if workers == 1 and executor is None:
        for index, change in enumerate(changes):
            yield index, row_of(base, change)
        return
    from concurrent.futures import as_completed

    batches = [range(k, min(k + BATCH, len(changes))) for k in range(0, len(changes), BATCH)]
    row_of(base, changes[0])  # compiles here, so that workers find the kernels on disk
    pool = executor or ProcessPoolExecutor(workers, mp_context=_context())
    try:
        waiting = {pool.submit(rows_of, base, [changes[i] for i in batch]): batch for batch in batches}
        for future in as_completed(waiting):
            yield from zip(waiting[future], future.result(), strict=True)
    finally:
        if executor is None:
            pool.shutdown(cancel_futures=True)


def _context() -> Any:
    import multiprocessing

    return multiprocessing.get_context("forkserver" if os.name == "posix" else "spawn")


def rows_of(base: Base, changes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows of some points."""
    return [row_of(base, change) for change in changes]


def row_of(base: Base, changes: dict[str, Any]) -> dict[str, Any]:
    """What one point reports: every quantity, its status, reason and events."""
    try:
        launch = shoot_built(changed(base, changes), base.mesh, trace=False)
    except SetupError as error:
        return {"status": BAD_SETUP, "reason": str(error)}
    except ShotError as error:
        return {"status": error.status, "reason": str(error)}
    return {"status": 0, "reason": "", **numbers(launch)}


def numbers(launch: Launch) -> dict[str, Any]:
    """The quantities of a launch: those of the moments as pairs (separation, clear)."""
    row: dict[str, Any] = {
        q.name: (getattr(launch.separation, q.name), getattr(launch.clear, q.name)) for q in MOMENT
    }
    row |= {q.name: getattr(launch, q.name) for q in SHOT}
    row["events"] = "; ".join(launch.events)
    row["warnings"] = " ".join(launch.warnings)
    return row


