"""The point of a sweep that is the setup's own, against which differences are told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment.readings import READING, ReadBy

if TYPE_CHECKING:
    import xarray

CLOSE = 1e-4  # of a value: as near to today's it is today's


def own_point(dataset: xarray.Dataset) -> tuple[int, ...] | None:
    """The point with the setup's own values, where it is among those with a result; else the first of these.

    Returns
    -------
    tuple of int or None
        Its place along each dimension of ``status``; along one whose own value is not known, or not among those
        shot, the least. None: no point has a result.
    """
    good = dataset["status"].values == 0
    dims = [str(dim) for dim in dataset["status"].dims]
    orders = [_order(dataset, dim) for dim in dims]
    own = tuple(_own(dataset, dim, order) for dim, order in zip(dims, orders, strict=True))
    if good[own]:
        return own
    places = (tuple(int(order[i]) for order, i in zip(orders, at, strict=True)) for at in np.ndindex(*good.shape))
    return next((place for place in places if good[place]), None)


def own_value(dataset: xarray.Dataset, dim: str, name: str = "today") -> float | None:
    """The setup's own value along a dimension, in its unit, a reading by its convention; None where it is not known.

    Parameters
    ----------
    name : {"today", "square"}
        "square": of the reading, where the shaft's axis stands square to the string.
    """
    about, column = dataset.attrs, _column(dataset, dim)
    path = dataset[column].attrs.get("path", column) if column in dataset.coords else column
    if path == READING and f"reading_{name}" in about:
        by = str(about.get("reading_convention", "underside"))
        if by == "varied":
            return None
        return float(ReadBy(by, float(about.get("nock_height", 0.0))).reading(float(about[f"reading_{name}"])))
    name = name if dataset["status"].ndim == 1 else f"{name}_{dim}"
    return float(about[name]) if name in about else None


def _column(dataset: xarray.Dataset, dim: str) -> str:
    """What is varied along a dimension: itself, or the only column of a table."""
    names = [str(name) for name, one in dataset.coords.items() if one.dims == (dim,) and name != "case"]
    return names[0] if len(names) == 1 else dim


def _values(dataset: xarray.Dataset, dim: str) -> np.ndarray | None:
    """Numbers along a dimension; None where it has words or several columns."""
    name = _column(dataset, dim)
    if name not in dataset.coords or name == "case" or not np.issubdtype(dataset[name].dtype, np.number):
        return None
    return np.asarray(dataset[name].values)


def _order(dataset: xarray.Dataset, dim: str) -> np.ndarray:
    """Order of rising values; what has no numbers as it stands."""
    values = _values(dataset, dim)
    return np.arange(dataset.sizes[dim]) if values is None else np.argsort(values, kind="stable")


def _own(dataset: xarray.Dataset, dim: str, order: np.ndarray) -> int:
    today, values = own_value(dataset, dim), _values(dataset, dim)
    if today is not None and values is not None:
        nearest = int(np.argmin(np.abs(values - today)))
        if abs(values[nearest] - today) <= CLOSE * abs(today):
            return nearest
    return int(order[0])
