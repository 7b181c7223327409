"""Rows of a sweep as an xarray Dataset."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import field_info, filled
from archerysim.shot.quantities import MOMENT, SHOT
from archerysim.study.held import Base, said
from archerysim.study.points import Axis, Points
from archerysim.version import VERSION

if TYPE_CHECKING:
    import xarray

MOMENTS = ("separation", "clear")
READINGS = ("nock.locators.reading",)


def dataset_of(base: Base, points: Points, rows: list[dict[str, Any]]) -> xarray.Dataset:
    """Put rows into a Dataset.

    Parameters
    ----------
    rows : list of dict
        A row a point, in the order of `Points.changes`.
    """
    import xarray

    shape = points.shape
    dims: tuple[str, ...] = ("case",) if points.paired else tuple(axis.path for axis in points.axes)
    data: dict[str, Any] = {}
    blank = (np.nan, np.nan)
    for q in MOMENT:
        values = np.array([row.get(q.name, blank) for row in rows], dtype=float).reshape(*shape, 2)
        data[q.name] = ((*dims, "moment"), values, {"units": q.unit, "long_name": q.text})
    for q in SHOT:
        values = np.array([row.get(q.name, np.nan) for row in rows], dtype=float).reshape(shape)
        data[q.name] = (dims, values, {"units": q.unit, "long_name": q.text})
    status = np.array([row["status"] for row in rows], dtype=np.int64).reshape(shape)
    data["status"] = (dims, status, {"long_name": "0 where the shot was computed, else a code; see reason"})
    for name, text in (
        ("reason", "why a point has no numbers"),
        ("events", "what happened on the way that may bend the curve"),
        ("warnings", "warnings in words"),
    ):
        words = np.array([row.get(name, "") for row in rows], dtype=object).reshape(shape)
        data[name] = (dims, words, {"long_name": text})
    coords: dict[str, Any] = {"moment": list(MOMENTS)}
    for axis in points.axes:
        coords[axis.path] = ("case" if points.paired else axis.path, axis.shown(), _about(axis))
    if points.paired:
        coords["case"] = np.arange(shape[0])
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
