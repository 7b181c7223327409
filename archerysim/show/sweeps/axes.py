"""What a sweep varied, read from its Dataset: values along each parameter, labels, failed points, events."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from archerysim.errors import UsageError
from archerysim.fields.paths import ALL
from archerysim.fields.udunits import shown
from archerysim.show.style import MM
from archerysim.show.text import grouped

if TYPE_CHECKING:
    import xarray

READING = "nock.locators.reading"


@dataclass(frozen=True)
class Along:
    """One varied parameter.

    Attributes
    ----------
    dim : str
        Dimension of the Dataset.
    name : str
        Dotted path, or the dimension's name where it has none.
    values : (n,) array
        Numbers in the parameter's unit, or 0, 1, 2, ... where it has words or several columns.
    order : (n,) int array
        Order of rising values.
    words : tuple of str
        Words of the values where they are no numbers, else empty.
    unit : str
        As it is shown; empty for plain numbers and words.
    convention : str
        By which a reading is told; empty for anything else, and where the convention is varied too.
    """

    dim: str
    name: str
    values: np.ndarray
    order: np.ndarray
    words: tuple[str, ...]
    unit: str
    convention: str = ""

    @property
    def label(self) -> str:
        """Name and unit for an axis."""
        return f"{self.plain} [{self.unit}]" if self.unit else self.plain

    @property
    def apart(self) -> bool:
        """Whether a line from value to value would mean nothing."""
        return bool(self.words) or self.name == "case"

    @property
    def plain(self) -> str:
        """Name without unit."""
        if self.name == READING:
            return f"reading by the {self.convention}" if self.convention else "reading"
        if self.name == "case":
            return "row of the table"
        *inside, last = (part for part in self.name.split(".") if part != ALL and not part.isdigit())
        which = self.name.rpartition(".")[2]  # of a row
        last += f" {which}" if which == ALL or which.isdigit() else ""
        return (f"{inside[-1]}: {last}" if inside else last).replace("_", " ")

    @property
    def in_mm(self) -> bool:
        """Whether it is a reading, told in mm and sixteenths of an inch."""
        return self.name == READING and self.unit == "mm"

    def value_words(self, index: int) -> str:
        """One value with its unit."""
        if self.words:
            return self.words[index]
        return f"{self.values[index]:.6g} {self.unit}".rstrip()


def place_words(along: Along, value: float) -> str:
    """A place between the values, with its unit."""
    if along.in_mm:
        from archerysim.equipment.readings import both_units

        return both_units(value * MM)
    return f"{value:.4g} {along.unit}".rstrip()


def varied(dataset: xarray.Dataset) -> list[Along]:
    """The varied parameters; the locators' reading first, else the one with most values."""
    found = [_along(dataset, str(dim)) for dim in dataset["status"].dims]
    return sorted(found, key=lambda one: (one.name != READING, -one.values.size))


def columns_of(dataset: xarray.Dataset, dim: str) -> list[Along]:
    """What changes along one dimension: one parameter, or the columns of a table."""
    names = [str(name) for name, coord in dataset.coords.items() if coord.dims == (dim,)]
    return [_named(dataset, dim, name) for name in names if name != "case"]


def _along(dataset: xarray.Dataset, dim: str) -> Along:
    columns = columns_of(dataset, dim)
    return columns[0] if len(columns) == 1 else _named(dataset, dim, dim)


def _named(dataset: xarray.Dataset, dim: str, name: str) -> Along:
    size = dataset.sizes[dim]
    if name not in dataset.coords:
        return Along(dim, name, np.arange(float(size)), np.arange(size), (), "")
    coord = dataset.coords[name]
    raw = coord.values
    words: tuple[str, ...] = ()
    if not np.issubdtype(raw.dtype, np.number):
        words = tuple(str(value) for value in raw)
        raw = np.arange(size)
    path, unit = str(coord.attrs.get("path", name)), shown(str(coord.attrs.get("units", "")))
    by = convention(dataset) if path == READING else ""
    return Along(dim, path, raw.astype(float), np.argsort(raw, kind="stable"), words, unit, by)


def convention(dataset: xarray.Dataset) -> str:
    """By which a sweep's readings are told: "underside", "top"; empty where that was varied itself."""
    return str(dataset.attrs.get("reading_convention", "underside")).replace("varied", "")


def shown_unit(dataset: xarray.Dataset, quantity: str) -> str:
    """Unit of a quantity as it is shown; empty for plain numbers."""
    return shown(str(dataset[quantity].attrs.get("units", ""))) if quantity in dataset else ""


def failed(dataset: xarray.Dataset, dims: list[str]) -> np.ndarray:
    """True where a point has no numbers, axes in the order of ``dims``."""
    return np.asarray(dataset["status"].transpose(*dims).values != 0)


def event_names(dataset: xarray.Dataset, dims: list[str]) -> dict[str, np.ndarray]:
    """Every event that occurs, and at which points (axes in the order of ``dims``)."""
    if "events" not in dataset:
        return {}
    texts = dataset["events"].transpose(*dims).values
    sets = [set(filter(None, str(text).split("; "))) for text in texts.ravel()]
    return {name: np.array([name in one for one in sets]).reshape(texts.shape) for name in sorted(set().union(*sets))}


def warnings_of(dataset: xarray.Dataset) -> tuple[list[str], int]:
    """Each kind of warning once, with the number of points; and how many of them, the first, tell of limits."""
    if "warnings" not in dataset:
        return [], 0
    good = dataset["status"].values.ravel() == 0
    texts = [str(text) for text in dataset["warnings"].values.ravel()[good]]
    names = dataset["limits_passed"].values.ravel()[good] if "limits_passed" in dataset else []
    return grouped(texts, "points", [len(list(filter(None, str(name).split("; ")))) for name in names])


def marked(dataset: xarray.Dataset, along: Along) -> dict[str, float]:
    """Places worth marking on a parameter's axis: "today", and "square" on that of the reading, by its convention."""
    from archerysim.study.sweeps.own_point import own_value

    if along.words:
        return {}
    found = {name: own_value(dataset, along.dim, name) for name in ("today", "square")}
    return {name: value for name, value in found.items() if value is not None}


def values_of(dataset: xarray.Dataset, quantity: str, moment: str, dims: list[str]) -> np.ndarray:
    """Values of one quantity, nan at failed points, axes in the order of ``dims``.

    Raises
    ------
    UsageError
        If the Dataset has no such quantity.
    """
    if quantity not in dataset:
        there = ", ".join(map(str, dataset.data_vars))
        raise UsageError("quantities", f"the sweep has no {quantity!r}", f"it has {there}")
    data = dataset[quantity]
    if "moment" in data.dims:
        data = data.sel(moment=moment)
    values = np.array(data.transpose(*dims).values, dtype=float)
    values[failed(dataset, dims)] = np.nan
    return values
