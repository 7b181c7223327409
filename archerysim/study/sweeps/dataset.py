"""Rows of a sweep as an xarray Dataset that follows the CF conventions.

A varied field's dimension is its dotted path with underscores for dots; the path is the attribute ``path``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import SetupError, field_info, filled
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.readings import CONVENTION, READING, read_by
from archerysim.fields.udunits import udunits
from archerysim.kernel_cache.interrupts import uninterrupted
from archerysim.shot.columns import MOMENT, SHOT
from archerysim.shot.edit import FITTED_ANEW, because, held_at_points
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.hold import NOTHING
from archerysim.study.run.points import Axis, Points
from archerysim.study.run.row import NOT_SHOT, Row
from archerysim.study.sweeps.provenance import provenance

if TYPE_CHECKING:
    import xarray

TILLERS = ("bow.upper_tiller", "bow.lower_tiller")
NO_BOLT_TURN = "another bow with this tiller, not a turn of a bolt (that is lower_limb.bolt_turns)"
MOMENTS = ("separation", "clear")
WORDS = (
    ("reason", "why a point has no numbers"),
    ("events", "what happened on the way that may bend the curve"),
    ("warnings", "warnings in words"),
    ("limits_passed", "which limits the first of the warnings are about"),
)


class Table:
    """Columns of a sweep's results, made once and filled in any order; a point not filled in is `NOT_SHOT`.

    Parameters
    ----------
    size : int
        Points.
    """

    def __init__(self, size: int) -> None:
        self.moments = {q.name: np.full((size, 2), np.nan) for q in MOMENT}
        self.shots = {q.name: np.full(size, np.nan) for q in SHOT}
        self.status = np.full(size, NOT_SHOT, dtype=np.int64)
        self.words = {name: np.full(size, "", dtype=object) for name, _ in WORDS}
        self._texts: dict[str, str] = {}  # each kept once, however many points say it

    def put(self, index: int, row: Row) -> None:
        """Fill in a point's row."""
        for columns in (self.moments, self.shots):
            for name, column in columns.items():
                if name in row:
                    column[index] = row[name]
        for name, texts in self.words.items():
            text = row.get(name, "")
            texts[index] = self._texts.setdefault(text, text)
        self.status[index] = row["status"]  # last: an interrupt may come at any moment

    def close(self) -> int:
        """Say of the points not filled in that they are not; how many are filled in."""
        left = self.status == NOT_SHOT
        for columns in (self.moments, self.shots):
            for column in columns.values():
                column[left] = np.nan
        for name, texts in self.words.items():
            texts[left] = "interrupted: not shot" if name == "reason" else ""
        return int(np.sum(~left))


def load_datasets() -> None:
    """Load what a Dataset takes; the first one looks for other array libraries and loads them too."""
    with uninterrupted():
        import xarray

        xarray.Dataset({"nothing": ("nothing", [0.0])})


def dimension(path: str) -> str:
    """Name of a varied field's dimension: a dotted path without dots."""
    return path.replace(".", "_")


def dataset_of(points: Points, table: Table, attributes: dict[str, Any]) -> xarray.Dataset:
    """The table's columns as a Dataset."""
    import xarray

    shape = points.shape
    dims: tuple[str, ...] = ("case",) if points.paired else tuple(dimension(axis.path) for axis in points.axes)
    data: dict[str, Any] = {}
    for q in MOMENT:
        values = table.moments[q.name].reshape(*shape, 2)
        data[q.name] = ((*dims, "moment"), values, {"units": udunits(q.unit), "long_name": q.text})
    for q in SHOT:
        data[q.name] = (dims, table.shots[q.name].reshape(shape), {"units": udunits(q.unit), "long_name": q.text})
    status = table.status.reshape(shape)
    data["status"] = (
        dims,
        status,
        {"units": "1", "long_name": "0 where the shot was computed, else a code; see reason"},
    )
    for name, text in WORDS:
        data[name] = (dims, table.words[name].reshape(shape), {"long_name": text})
    about = {"long_name": "last push of the string, and the arrow clear of the bow"}
    coords: dict[str, Any] = {"moment": ("moment", list(MOMENTS), about)}
    for axis in points.axes:
        name = dimension(axis.path)
        coords[name] = ("case" if points.paired else name, *_coordinate(axis, attributes["reading_convention"]))
    if points.paired:
        coords["case"] = ("case", np.arange(shape[0]), {"units": "1", "long_name": "row of the table"})
    return xarray.Dataset(data, coords, attributes)


def held_and_changed(bow: FittedBow, points: Points) -> dict[str, str]:
    """What was held at every point, which of what is varied has the bow fitted anew, and what was changed before."""
    paths = [axis.path for axis in points.axes]
    anew = bow.refits(paths, points.hold)
    words = {"held": held_at_points(paths, anew, points.hold)}
    if any(path in TILLERS for path in paths):
        words["held"] += f"; {NO_BOLT_TURN}"
    if anew:
        words["fitted_anew"] = f"{FITTED_ANEW} at every point, because {because(anew)}"
    if bow.edits:
        told = [edit.words() for edit in bow.edits]
        if anew:  # nothing is kept of what held before
            told = [one.removesuffix(f"; held: {NOTHING}") for one in told]
        words["edits"] = "\n".join(told)
    return words


def _convention(bow: FittedBow, points: Points) -> str:
    """By which convention the points' readings are told; "varied" where that is varied itself."""
    varied = any(axis.path == CONVENTION for axis in points.axes)
    return "varied" if varied else read_by(bow.setup).convention


def _coordinate(axis: Axis, convention: str) -> tuple[np.ndarray, dict[str, str]]:
    """An axis' values and attributes; words, yes and no have no units."""
    values = axis.shown()
    try:
        text = field_info(axis.path).text
    except SetupError:  # a store may hold a field that has another name by now
        text = axis.path
    if axis.path == READING and convention != "varied":
        text += f", by the {convention} of the nock"
    units = {"units": udunits(axis.unit)} if np.issubdtype(values.dtype, np.number) else {}
    return values, {**units, "long_name": text, "path": axis.path}


def attributes_of(bow: FittedBow, points: Points) -> dict[str, Any]:
    """What a Dataset says of the sweep as a whole."""
    full = filled(bow.setup)
    what = f"sweep over {', '.join(axis.path for axis in points.axes)}"
    attributes: dict[str, Any] = {
        **provenance(f"launch of {bow.given.name}", bow.given, what, bow.planes),
        "setup_as_built": bow.setup.to_toml(),
        **held_and_changed(bow, points),
        "mesh": str(bow.mesh),
        "reading_today": 1e3 * bow.reading,
        "reading_square": 1e3 * 0.5 * (full.number("arrow.diameter") - full.number("nock.height")),
        "reading_convention": _convention(bow, points),
        "nock_height": 1e3 * full.number("nock.height"),
    }
    given = filled(bow.given)
    if len(points.axes) > 1 and not points.paired:
        for axis in points.axes:
            today = None if axis.path == READING else _today((full, given), axis)
            if today is not None:
                attributes[f"today_{dimension(axis.path)}"] = today
    if len(points.axes) == 1:
        axis = points.axes[0]
        today = _today((full, given), axis)
        if axis.path == READING:  # on the axis: by its own convention
            by = read_by(bow.setup)
            today = 1e3 * by.reading(bow.reading)
            attributes["square"] = 1e3 * by.reading(1e-3 * attributes["reading_square"])
        if isinstance(today, float):
            attributes["today"] = today
    return attributes


def _today(of: tuple[FilledSetup, ...], axis: Axis) -> float | None:
    """A field's value in its axis' unit, of the first setup that has it: what was measured a bow as built has not."""
    from archerysim.fields.units import from_si

    value = next((one for one in (full.get(axis.path) for full in of) if one is not None), None)
    return from_si(value, axis.unit) if isinstance(value, float) and axis.unit else None
