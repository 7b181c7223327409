"""How steep a sweep's curves are, and how steep those of every bow of its band: a band of points does not say it.

At each point by itself the band holds 90 % of the bows; a bow that lies high at one point mostly does so at the next.
So the curve's slope is known better than its height, and has a band of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment.readings import READING

if TYPE_CHECKING:
    import xarray

OF = ("pitch", "pitch_to_bow", "pitch_rate", "vertical_velocity", "angle_of_attack", "speed")
LINE = "slope of a straight line through all points (least squares)"


def slope_dim(dataset: xarray.Dataset) -> str | None:
    """The dimension along which slopes are told: the reading's, else the only one, if it has numbers.

    Returns
    -------
    str or None
        None where a line from point to point would mean nothing: words, rows of a table, a single value.
    """
    dims = [str(dim) for dim in dataset["status"].dims]
    along = [dim for dim in dims if dim in dataset.coords and dataset[dim].attrs.get("path") == READING] or dims
    if len(along) != 1 or along[0] not in dataset.coords or along[0] == "case":
        return None
    values = dataset[along[0]].values
    return along[0] if np.issubdtype(values.dtype, np.number) and np.unique(values).size > 1 else None


def slope(x: np.ndarray, y: np.ndarray, axis: int) -> np.ndarray:
    """Slope of the straight line that fits best along an axis, nan left out; nan where less than half is there.

    Parameters
    ----------
    x : (n,) array
    y : array
        With n values along ``axis``.
    """
    values = np.moveaxis(y, axis, -1)
    there = np.isfinite(values)
    count = there.sum(axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        middle = np.where(there, x, 0.0).sum(axis=-1) / count
        off = np.where(there, x - middle[..., None], 0.0)
        found = (off * np.where(there, values, 0.0)).sum(axis=-1) / (off * off).sum(axis=-1)
    return np.where((count >= 2) & (2 * count >= x.size), found, np.nan)


def per(unit: str, of: str) -> str:
    """A unit by the names of UDUNITS, for one of another."""
    if of == "1":
        return unit
    return f"{'' if unit == '1' else f'{unit} '}{f'({of})-1' if ' ' in of else f'{of}-1'}"


def slopes(dataset: xarray.Dataset, samples: dict[str, np.ndarray], quantiles: Any) -> dict[str, Any]:
    """Variables ``X_slope`` of the sweep's own curves, for each X of ``OF``, and those of the draws' curves.

    ``X_slope_low``, ``X_slope_median`` and ``X_slope_high`` are points of the draws, ``X_slope_of_draws`` has them all.

    Parameters
    ----------
    dataset : xarray.Dataset
        The sweep.
    samples : dict of str to (draws, ..., 2) array
        Numbers at all points with the bow of each draw.
    quantiles : callable
        Of the first axis of an array: name, words and values of each point that is told.
    """
    dim = slope_dim(dataset)
    if dim is None:
        return {}
    x = np.asarray(dataset[dim].values, dtype=float)
    out: dict[str, Any] = {}
    for name in OF:
        dims = tuple(str(one) for one in dataset[name].dims)
        axis = dims.index(dim)
        left = tuple(one for one in dims if one != dim)
        about = dataset[name].attrs
        units = {"units": per(about["units"], dataset[dim].attrs.get("units", "1"))}
        text = f"{about['long_name']}: {LINE}"
        of_draws = slope(x, samples[name], axis + 1)
        own = slope(x, np.asarray(dataset[name].values, dtype=float), axis)
        found = {"": (own, ""), **{f"_{end}": (values, f": {words}") for end, words, values in quantiles(of_draws)}}
        for end, (values, words) in found.items():
            out[f"{name}_slope{end}"] = (left, values, {**units, "long_name": text + words})
        out[f"{name}_slope_of_draws"] = (("draw", *left), of_draws, {**units, "long_name": f"{text}: of every draw"})
    return out
