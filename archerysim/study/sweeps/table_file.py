"""A sweep on disk: netCDF by the CF conventions, or CSV with its attributes in the first lines."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Container
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.csv_cells import harmless, harmless_json, line, plain
from archerysim.fields.file_reading import bytes_of
from archerysim.fields.file_writing import check_target, write_bytes
from archerysim.fields.udunits import shown
from archerysim.study.sweeps.dataset import MOMENTS

if TYPE_CHECKING:
    import xarray

MARK = "# "
FIRST = ("pitch", "pitch_rate", "vertical_velocity", "angle_of_attack", "speed")  # at clear: what is looked for first
BAND = ("_low", "_median", "_high")
IN_ONE_LINE = "warnings"  # sentences, each on a line of its own


def check_ending(path: str | os.PathLike[str]) -> None:
    """Refuse a file name that `save` could not write, before any work is done.

    Raises
    ------
    SetupError
    """
    check_target(path, "out", (".csv", ".nc"))


def save(data: xarray.Dataset, path: str | os.PathLike[str]) -> None:
    """Write a sweep, whole or not at all: ``.nc`` is netCDF, ``.csv`` has one row per point.

    A netCDF file follows the CF conventions. These ask for numbers along a dimension that only rise or only fall;
    others are written in rising order.

    Parameters
    ----------
    data : xarray.Dataset
        As `sweep` returns it.
    path : str or path-like
        Ends in ``.nc`` or ``.csv``.

    Raises
    ------
    SetupError
        If the path has another ending, or the file cannot be written.

    Examples
    --------
    >>> import archerysim
    >>> from tempfile import TemporaryDirectory
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> data = archerysim.sweep(setup, {"nock.locators.reading": "7, 8 mm"}, mesh="coarse")
    >>> with TemporaryDirectory() as folder:
    ...     archerysim.save(data, f"{folder}/sweep.csv")
    ...     archerysim.read(f"{folder}/sweep.csv").equals(data)
    True
    """
    target = Path(path)
    check_ending(target)
    write_bytes(target, _netcdf(data) if target.suffix.lower() == ".nc" else csv_text(data).encode("utf-8"), "out")


def read(path: str | os.PathLike[str]) -> xarray.Dataset:
    """Read a sweep written by `save`.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    xarray.Dataset

    Raises
    ------
    SetupError

    Examples
    --------
    >>> import archerysim
    >>> from tempfile import TemporaryDirectory
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> data = archerysim.sweep(setup, {"nock.locators.reading": "7, 8 mm"}, mesh="coarse")
    >>> with TemporaryDirectory() as folder:
    ...     archerysim.save(data, f"{folder}/sweep.nc")
    ...     again = archerysim.read(f"{folder}/sweep.nc")
    >>> again["nock_locators_reading"].values
    array([7., 8.])
    """
    import xarray

    source = Path(path)
    content = bytes_of(source, None, "in")
    try:
        if source.suffix.lower() == ".nc":
            return xarray.load_dataset(io.BytesIO(content), engine="h5netcdf")
        return _read_csv(content.decode("utf-8-sig"))
    except Exception as error:  # those who decode it raise errors of many kinds for what is damaged
        raise SetupError("in", f"{source} cannot be read: {error}", "Give a file that a sweep wrote") from None


def _netcdf(data: xarray.Dataset) -> memoryview:
    """The file's content, made in memory: HDF5 ends the process where a disk is full."""
    ordered, encoding = for_netcdf(data)
    return ordered.to_netcdf(engine="h5netcdf", encoding=encoding)


def for_netcdf(data: xarray.Dataset) -> tuple[xarray.Dataset, dict[str, dict[str, Any]]]:
    """The sweep as the CF conventions want it in a file, and how its variables are written."""
    encoding: dict[str, dict[str, Any]] = {}
    for name, coordinate in data.coords.items():
        encoding[str(name)] = {"_FillValue": None}  # a coordinate has no missing values
        values = coordinate.values
        if coordinate.dims == (name,) and np.issubdtype(values.dtype, np.number):
            steps = np.diff(values)
            if not ((steps > 0).all() or (steps < 0).all()):
                data = data.sortby(str(name))
    return data, encoding


def csv_text(data: xarray.Dataset) -> str:
    """The sweep as CSV: comment lines with the attributes as JSON, a header with units, a row a point.

    A varied field stands in the header by its dotted path, as it is typed, and units as tables show them. Texts that a
    spreadsheet would run as formulas are written as `archerysim.fields.csv_cells` says. First come what was varied,
    the status, and what is asked for most, at clear. Every row is one line: warnings have " | " between them. What has
    no value for each point, such as a slope, stands in the comment ``besides``.
    """
    dims = [str(d) for d in data["status"].dims]
    out = io.StringIO(newline="")
    about = {
        "attributes": {str(k): v for k, v in data.attrs.items()},
        "dims": dims,
        "coords": [str(c) for c in data.coords if c != "moment"],
        "variables": {str(n): {str(k): v for k, v in data[n].attrs.items()} for n in data.variables},
    }
    besides = {
        str(name): {"dims": [str(d) for d in variable.dims], "values": _nested(variable.values)}
        for name, variable in data.data_vars.items()
        if not set(dims) <= set(variable.dims)
    }
    for key, value in (about | ({"besides": besides} if besides else {})).items():
        out.write(f"{MARK}{key}: {harmless_json(value)}\n")
    columns: list[tuple[str, np.ndarray]] = []
    shape = tuple(data.sizes[d] for d in dims)
    for coordinate in about["coords"]:
        values = data[coordinate].broadcast_like(data["status"]).transpose(*dims).values
        columns.append((_head(data, str(coordinate)), values.reshape(-1)))
    for name, moment in _order(data, besides):
        variable = data[name].sel(moment=moment) if moment else data[name]
        columns.append((_head(data, name, moment), variable.transpose(*dims).values.reshape(-1)))
    one_line = [head == IN_ONE_LINE for head, _ in columns]
    out.write(line(head for head, _ in columns))
    for row in range(int(np.prod(shape))):
        cells = (
            _cell(_joined(values[row]) if one else values[row])
            for one, (_, values) in zip(one_line, columns, strict=True)
        )
        out.write(line(cells))
    return out.getvalue()


def _order(data: xarray.Dataset, besides: Container[str]) -> list[tuple[str, str]]:
    """The columns, each a variable and a moment ("" where it has none): those looked for first, then all others."""
    every = [
        (str(name), moment)
        for name, variable in data.data_vars.items()
        if name not in besides
        for moment in (MOMENTS if "moment" in variable.dims else ("",))
    ]
    first = [("status", ""), *((name + end, "clear") for name in FIRST for end in ("", *BAND))]
    return [*(one for one in first if one in every), *(one for one in every if one not in first)]


def _nested(values: np.ndarray) -> Any:
    """Numbers as nested lists; None where there is none."""
    if values.ndim == 0:
        return float(values) if np.isfinite(values) else None
    return [_nested(one) for one in values]


def _joined(text: Any) -> str:
    """Lines in one line; `_parted` parts them again."""
    return str(text).replace("|", "||").replace("\n", " | ")


def _parted(text: str) -> str:
    return text.replace(" | ", "\n").replace("||", "|")


def _head(data: xarray.Dataset, name: str, moment: str = "") -> str:
    attributes = data[name].attrs
    label = _label(name, attributes)
    label = f"{label} at {moment}" if moment else label
    units = shown(attributes.get("units", ""))
    return f"{label} [{units}]" if units else label


def _label(name: str, attributes: dict[Any, Any]) -> str:
    """What a column is called: a varied field by its dotted path."""
    return str(attributes.get("path", name))


def _cell(value: Any) -> str:
    if isinstance(value, (float, np.floating)):
        return "" if np.isnan(value) else repr(float(value))
    return harmless(str(value))


def _read_csv(text: str) -> xarray.Dataset:
    import xarray

    lines = text.splitlines(keepends=True)
    about: dict[str, Any] = {}
    while lines and lines[0].startswith(MARK):
        key, _, value = lines.pop(0)[len(MARK) :].partition(": ")
        about[key] = json.loads(value)
    rows = list(csv.reader(io.StringIO("".join(lines), newline="")))
    head, body = rows[0], rows[1:]
    table = {name: [row[k] for row in body] for k, name in enumerate(head)}
    variables, dims = about["variables"], about["dims"]
    frame = {name.split(" [")[0]: values for name, values in table.items()}
    label = {name: _label(name, attributes) for name, attributes in variables.items()}
    order = {d: list(dict.fromkeys(frame[label[d]])) for d in dims}
    shape = tuple(len(order[d]) for d in dims)
    coords: dict[str, Any] = {"moment": ("moment", list(MOMENTS), variables["moment"])}
    for name in about["coords"]:
        own = (name,) if name in dims else tuple(dims)
        values = order[name] if name in dims else frame[label[name]]
        coords[name] = (own, _typed(values, name, variables[name]), variables[name])
    data: dict[str, Any] = {}
    for name, attributes in variables.items():
        if name in coords:
            continue
        if name in about.get("besides", {}):
            one = about["besides"][name]
            data[name] = (one["dims"], np.array(one["values"], dtype=float), attributes)
        elif name in frame:
            data[name] = (dims, _typed(frame[name], name, attributes).reshape(shape), attributes)
        else:
            pair = np.stack(
                [_typed(frame[f"{name} at {m}"], name, attributes).reshape(shape) for m in MOMENTS], axis=-1
            )
            data[name] = ((*dims, "moment"), pair, attributes)
    return xarray.Dataset(data, coords, about["attributes"])


WORDS = ("reason", "events", "warnings", "limits_passed")


def _typed(cells: list[str], name: str, attributes: dict[str, Any]) -> np.ndarray:
    """A column's values: numbers have units, words have none."""
    if name in ("status", "case", "draws_failed"):
        return np.array([int(cell) for cell in cells], dtype=np.int64)
    if "units" in attributes:
        return np.array([float(cell) if cell else np.nan for cell in cells])
    if name not in WORDS and set(cells) <= {"True", "False"}:
        return np.array([cell == "True" for cell in cells])
    if name == IN_ONE_LINE:
        return np.array([_parted(plain(cell)) for cell in cells], dtype=object)
    return np.array([plain(cell) for cell in cells], dtype=object if name in WORDS else None)
