"""Results as xarray Datasets: names, units and long names as the fields say them (`archerysim.fields.reported`)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.fields.reported import Column, columns_of
from archerysim.fields.udunits import udunits

if TYPE_CHECKING:
    import xarray

CONVENTIONS = "CF-1.11"
Variable = tuple[tuple[str, ...], Any, dict[str, str]]  # axes, values, attributes
Variables = dict[str, Variable]


def variables_of(found: object, prefix: str = "", names: Mapping[str, str] | None = None) -> Variables:
    """The numbers and arrays of a result that say what they are.

    Parameters
    ----------
    found : dataclass
    prefix : str
        Before the name of every variable and axis.
    names : mapping of str to str, optional
        Other names of variables or axes.
    """
    kind: type = type(found)
    new = names or {}
    variables: Variables = {}
    for column in columns_of(kind):
        values = getattr(found, column.name)
        if np.ndim(values) != len(column.along):
            continue  # an array that does not say along what it runs
        axes = tuple(prefix + new.get(axis, axis) for axis in column.along)
        variables[prefix + new.get(column.name, column.name)] = (axes, np.asarray(values), attributes_of(column))
    return variables


def stacked(results: Sequence[object | None], along: str, prefix: str = "", **names: str) -> Variables:
    """Several results of one kind beside one another along a new axis; nan where there is none.

    Parameters
    ----------
    results : sequence of dataclass or None
        Their arrays are of the same shapes.
    along : str
        The new axis, the first.
    prefix : str
        Before the name of every variable.
    **names : str
        Other names of axes.
    """
    first = next((result for result in results if result is not None), None)
    if first is None:
        return {}
    kind: type = type(first)
    variables: Variables = {}
    for column in columns_of(kind):
        pattern = np.asarray(getattr(first, column.name), dtype=float)
        if pattern.ndim != len(column.along):
            continue
        values = [np.full(pattern.shape, np.nan) if each is None else getattr(each, column.name) for each in results]
        axes = (along, *(names.get(axis, axis) for axis in column.along))
        variables[prefix + column.name] = (axes, np.array(values), attributes_of(column))
    return variables


def attributes_of(column: Column) -> dict[str, str]:
    """Units, as UDUNITS calls them, and long name of a field."""
    return {"units": udunits(column.unit), "long_name": column.text or column.name.replace("_", " ")}


def words(texts: Sequence[str], axis: str, long_name: str) -> Variable:
    """A variable of words along an axis."""
    return (axis,), np.array(texts, dtype=object), {"long_name": long_name}


def dataset(variables: Variables, title: str, **attributes: str) -> xarray.Dataset:
    """A Dataset; a variable named like the one axis that it runs along becomes its coordinate."""
    import xarray

    coordinates = {name for name, (axes, _, _) in variables.items() if axes == (name,)}
    return xarray.Dataset(
        {name: one for name, one in variables.items() if name not in coordinates},
        {name: variables[name] for name in sorted(coordinates)},
        {"Conventions": CONVENTIONS, "title": title, **attributes},
    )
