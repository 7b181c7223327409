"""Sweeps written down in a store: what each was, in words, so that its Dataset needs no script to be had again."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import StoreError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.hold import hold_sentence
from archerysim.study.run import store as stores
from archerysim.study.run.points import Axis, Points
from archerysim.study.run.row import NOT_SHOT, Question
from archerysim.study.run.run import stored
from archerysim.study.run.store import Store, inputs_of, key_from
from archerysim.study.sweeps.dataset import Table, dataset_of
from archerysim.version import VERSION

if TYPE_CHECKING:
    import xarray

LISTED = 12  # sweeps named in a message at most
LOST = "its row in the store is damaged"
MISSING = "not computed yet"


@dataclass(frozen=True)
class Kept:
    """A sweep that was written down.

    Attributes
    ----------
    points : Points
    inputs : dict
        Of which, with the changes at a point, its key is made.
    attributes : dict
        Of the Dataset.
    version : str
        Of the code that computed it.
    begun : str
        When, first.
    """

    points: Points
    inputs: dict[str, Any]
    attributes: dict[str, Any]
    version: str
    begun: str

    @property
    def words(self) -> str:
        """The sweep in a few words."""
        over = " and ".join(axis.path for axis in self.points.axes)
        other = "" if self.version == stores.version() else ", of another version"
        return f"{over} (points: {len(self.points)}, begun {self.begun}{other})"


def write_down(store: Store, bow: FittedBow, points: Points, question: Question, attributes: dict[str, Any]) -> None:
    """Write down a sweep, before its first point is computed: setup, design, what was held, its state, mesh, planes."""
    axes = [{"path": axis.path, "unit": axis.unit, "values": axis.values} for axis in points.axes]
    design = {"inputs": inputs_of(bow, question), "paired": points.paired, "axes": axes}
    about = {
        "title": attributes.get("title", bow.given.name),
        "begun": datetime.now(UTC).isoformat(timespec="seconds"),
        "archerysim": VERSION,
        "held": {
            "what": attributes.get("held", hold_sentence(points.hold)),
            "reading": bow.reading,
            "brace_height": bow.brace_height,
        },
        "attributes": attributes,
        **design,
    }
    store.remember(design, json.dumps(about, ensure_ascii=False, default=lambda value: value.tolist()))


def open_store(path: str | os.PathLike[str], sweep: int | None = None) -> xarray.Dataset:
    """Read a sweep from a store, finished or not, without the script that ran it. Nothing is written to the store.

    Parameters
    ----------
    path : path
        What `sweep` was given as ``store``.
    sweep : int, optional
        Which of several, counted from 0 in the order in which they were begun; -1 is the last.

    Returns
    -------
    xarray.Dataset
        As `sweep` returns it. A point that has not been computed yet, or whose row is damaged, has the status -2 and
        says so in ``reason``. Attributes: ``points_read``, ``points_missing``, and ``computed_by``, this version
        of archerysim or another.

    Raises
    ------
    StoreError
        If the file is not a store, is damaged or holds no sweep, or if it holds several and none was chosen; the
        message then lists them.

    Examples
    --------
    >>> import archerysim
    >>> from tempfile import TemporaryDirectory
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> with TemporaryDirectory() as folder:
    ...     data = archerysim.sweep(setup, {"nock.locators.reading": "7, 8 mm"}, store=f"{folder}/store", mesh="coarse")
    ...     kept = archerysim.open_store(f"{folder}/store")
    >>> kept.attrs["points_missing"], kept["pitch"].equals(data["pitch"])
    (0, True)
    """
    with Store(path, read_only=True) as store:
        kept = _chosen(store, sweep)
        table = Table(len(kept.points))
        key = key_from(kept.inputs)
        missing = np.ones(len(kept.points), dtype=bool)
        for index, row in stored(store, kept.points, key, kept.version):
            table.put(index, row)
            missing[index] = False
        for index in map(int, np.flatnonzero(missing)):
            lost = key(kept.points[index]) in store.damaged
            table.put(index, {"status": NOT_SHOT, "reason": LOST if lost else MISSING})
    data = dataset_of(kept.points, table, kept.attributes)
    whose = "this" if kept.version == stores.version() else "another"
    data.attrs |= {
        "points_read": int((~missing).sum()),
        "points_missing": int(missing.sum()),
        "computed_by": f"{whose} version of archerysim ({kept.version})",
    }
    return data


def _chosen(store: Store, wanted: int | None) -> Kept:
    """The sweep that is wanted, or the only one."""
    sweeps = [None if one is None else _read(*one) for one in store.remembered()]
    if not sweeps:
        raise StoreError(store.path, "holds no sweep", "Run one with this store")
    place = 0 if wanted is None and len(sweeps) == 1 else wanted
    if isinstance(place, bool) or not isinstance(place, int) or not -len(sweeps) <= place < len(sweeps):
        listed = [f"{k}: {one.words if one else 'damaged'}" for k, one in enumerate(sweeps)]
        more = [f"and {len(listed) - LISTED} more"] if len(listed) > LISTED else []
        count = f"{len(listed)} sweep{'s' * (len(listed) > 1)}"
        raise StoreError(
            store.path, f"holds {count}: {'; '.join(listed[:LISTED] + more)}",
            f"Choose one, for example sweep={len(listed) - 1}",
        )  # fmt: skip
    found = sweeps[place]
    if found is None:
        raise StoreError(
            store.path, "no longer says what that sweep was: the description is damaged",
            "Run the sweep again with this store; what is stored is read",
        )  # fmt: skip
    return found


def _read(own: str, text: str) -> Kept:
    about = json.loads(text)
    axes = tuple(
        Axis(one["path"], one["unit"], tuple(tuple(v) if isinstance(v, list) else v for v in one["values"]))
        for one in about["axes"]
    )
    return Kept(Points(axes, about["paired"]), about["inputs"], about["attributes"], own, about["begun"])
