"""Rows of a sweep as an xarray Dataset."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import field_info, filled
from archerysim.shot.quantities import MOMENT, SHOT
from archerysim.study.held import Base, said
from archerysim.study.points import Axis, Points
from archerysim.study.row import Row
from archerysim.version import VERSION

if TYPE_CHECKING:
    import xarray

MOMENTS = ("separation", "clear")
READINGS = ("nock.locators.reading",)
WORDS = (
    ("reason", "why a point has no numbers"),
    ("events", "what happened on the way that may bend the curve"),
    ("warnings", "warnings in words"),
    ("limits_passed", "which limits the first of the warnings speak of"),
)


class Table:
    """Columns of a sweep's results, made once and filled in any order.

    Parameters
    ----------
    size : int
        Points.
    """

    def __init__(self, size: int) -> None:
        self.moments = {q.name: np.full((size, 2), np.nan) for q in MOMENT}
        self.shots = {q.name: np.full(size, np.nan) for q in SHOT}
        self.status = np.zeros(size, dtype=np.int64)
        self.words = {name: np.full(size, "", dtype=object) for name, _ in WORDS}
        self._texts: dict[str, str] = {}  # each kept once, however many points say it

    def put(self, index: int, row: Row) -> None:
        """Fill in a point's row."""
        self.status[index] = row["status"]
        for columns in (self.moments, self.shots):
            for name, column in columns.items():
                if name in row:
                    column[index] = row[name]
        for name, texts in self.words.items():
            text = row.get(name, "")
            texts[index] = self._texts.setdefault(text, text)


def load_datasets() -> None:
    """Load what a Dataset takes; the first one looks for other array libraries and loads them too."""
    import xarray

    xarray.Dataset({"nothing": ("nothing", [0.0])})


def dataset_of(base: Base, points: Points, table: Table) -> xarray.Dataset:
    """The table's columns as a Dataset."""
    import xarray

    shape = points.shape
    dims: tuple[str, ...] = ("case",) if points.paired else tuple(axis.path for axis in points.axes)
    data: dict[str, Any] = {}
    for q in MOMENT:
        values = table.moments[q.name].reshape(*shape, 2)
        data[q.name] = ((*dims, "moment"), values, {"units": q.unit, "long_name": q.text})
    for q in SHOT:
        data[q.name] = (dims, table.shots[q.name].reshape(shape), {"units": q.unit, "long_name": q.text})
    status = table.status.reshape(shape)
    data["status"] = (
        dims,
        status,
        {"units": "1", "long_name": "0 where the shot was computed, else a code; see reason"},
    )
    for name, text in WORDS:
        data[name] = (dims, table.words[name].reshape(shape), {"units": "1", "long_name": text})
    about = {"units": "1", "long_name": "last push of the string, and the arrow clear of the bow"}
    coords: dict[str, Any] = {"moment": ("moment", list(MOMENTS), about)}
    for axis in points.axes:
        coords[axis.path] = ("case" if points.paired else axis.path, axis.shown(), _about(axis))
    if points.paired:
        coords["case"] = ("case", np.arange(shape[0]), {"units": "1", "long_name": "row of the table"})
    return xarray.Dataset(data, coords, _attributes(base, points))


def _about(axis: Axis) -> dict[str, str]:
    return {"units": axis.unit or "1", "long_name": field_info(axis.path).text}


def _attributes(base: Base, points: Points) -> dict[str, Any]:
    full = filled(base.built)
    attributes: dict[str, Any] = {
        "title": f"launch of {base.given.name}",
        "setup": base.given.to_toml(),
        "setup_as_built": base.built.to_toml(),
        "held": said(base.hold),
        "version": VERSION,
        "mesh": str(base.mesh),
        "reading_today": 1e3 * base.reading,
        "reading_square": 1e3 * 0.5 * (full.number("arrow.diameter") - full.number("nock.height")),
    }
    if len(points.axes) == 1:
        axis = points.axes[0]
        today = 1e3 * base.reading if axis.path in READINGS else _today(full, axis)
        if isinstance(today, float):
            attributes["today"] = today
        if axis.path in READINGS:
            attributes["square"] = attributes["reading_square"]
    return attributes


def _today(full: Any, axis: Axis) -> float | None:
    from archerysim.equipment.units import from_si

    value = full.get(axis.path)
    return from_si(value, axis.unit) if isinstance(value, float) and axis.unit else None
