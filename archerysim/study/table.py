"""A sweep on disk: netCDF, or CSV with its attributes in the first lines."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import SetupError
from archerysim.equipment.whole import check_target, whole_file
from archerysim.study.dataset import MOMENTS

if TYPE_CHECKING:
    import xarray

MARK = "# "


def check_ending(path: str | os.PathLike[str]) -> None:
    """Refuse a file name that `save` could not write, before any work is done.

    Raises
    ------
    SetupError
    """
    check_target(path, "out", (".csv", ".nc"))


def save(data: xarray.Dataset, path: str | os.PathLike[str]) -> None:
    """Write a sweep, whole or not at all: ``.nc`` is netCDF, ``.csv`` one row a point.

    Raises
    ------
    SetupError
        For another ending, or where the file cannot be written.
    """
    target = Path(path)
    check_ending(target)
    writer = {".nc": _write_netcdf, ".csv": _write_csv}[target.suffix.lower()]
    with whole_file(target, "out") as part:
        writer(data, part)


def read(path: str | os.PathLike[str]) -> xarray.Dataset:
    """Read a sweep written by `save`.

    Raises
    ------
    SetupError
    """
    import xarray

    source = Path(path)
    try:
        if source.suffix.lower() == ".nc":
            with xarray.open_dataset(source, engine="h5netcdf") as data:
                return data.load()
        return _read_csv(source.read_text(encoding="utf-8"))
    except (OSError, ValueError, KeyError, IndexError, StopIteration) as error:
        raise SetupError("in", f"{source} cannot be read: {error}", "Give a file that a sweep wrote") from None


def _write_netcdf(data: xarray.Dataset, path: Path) -> None:
    data.to_netcdf(path, engine="h5netcdf")


def _write_csv(data: xarray.Dataset, path: Path) -> None:
    path.write_text(csv_text(data), encoding="utf-8")


def csv_text(data: xarray.Dataset) -> str:
    """The sweep as CSV: comment lines with the attributes as JSON, a header with units, a row a point."""
    dims = [str(d) for d in data.sizes if d != "moment"]
    out = io.StringIO()
    about = {
        "attributes": {str(k): v for k, v in data.attrs.items()},
        "dims": dims,
        "coords": [str(c) for c in data.coords if c != "moment"],
        "variables": {str(n): {str(k): v for k, v in data[n].attrs.items()} for n in data.variables},
    }
    for key, value in about.items():
        out.write(f"{MARK}{key}: {json.dumps(value)}\n")
    writer = csv.writer(out, lineterminator="\n")
    columns: list[tuple[str, np.ndarray]] = []
    shape = tuple(data.sizes[d] for d in dims)
    for coordinate in about["coords"]:
        values = data[coordinate].broadcast_like(data["status"]).transpose(*dims).values
        columns.append((_head(data, str(coordinate)), values.reshape(-1)))
    for quantity in data.data_vars:
        name, variable = str(quantity), data[quantity]
        if "moment" in variable.dims:
            for moment in MOMENTS:
                values = variable.sel(moment=moment).transpose(*dims).values
                columns.append((_head(data, name, moment), values.reshape(-1)))
        else:
            columns.append((_head(data, name), variable.transpose(*dims).values.reshape(-1)))
    writer.writerow([head for head, _ in columns])
    for row in range(int(np.prod(shape))):
        writer.writerow([_cell(values[row]) for _, values in columns])
    return out.getvalue()


def _head(data: xarray.Dataset, name: str, moment: str = "") -> str:
    units = "" if name in (*WORDS, "status", "case") else data[name].attrs.get("units", "")
    label = f"{name} at {moment}" if moment else name
    return f"{label} [{units}]" if units else label


def _cell(value: Any) -> str:
    if isinstance(value, (float, np.floating)):
        return "" if np.isnan(value) else repr(float(value))
    return str(value)


def _read_csv(text: str) -> xarray.Dataset:
    import xarray

    lines = text.splitlines(keepends=True)
    about: dict[str, Any] = {}
    while lines and lines[0].startswith(MARK):
        key, _, value = lines.pop(0)[len(MARK) :].partition(": ")
        about[key] = json.loads(value)
    rows = list(csv.reader(io.StringIO("".join(lines))))
    head, body = rows[0], rows[1:]
    table = {name: [row[k] for row in body] for k, name in enumerate(head)}
    variables, dims = about["variables"], about["dims"]
    frame = {name.split(" [")[0]: values for name, values in table.items()}
    order = {d: list(dict.fromkeys(frame[d])) for d in dims}
    shape = tuple(len(order[d]) for d in dims)
    coords: dict[str, Any] = {"moment": ("moment", list(MOMENTS), variables["moment"])}
    for name in about["coords"]:
        own = (name,) if name in dims else tuple(dims)
        values = order[name] if name in dims else frame[name]
        coords[name] = (own, _typed(values), variables[name])
    data: dict[str, Any] = {}
    for name, attributes in variables.items():
        if name in coords:
            continue
        if name in frame:
            data[name] = (dims, _typed(frame[name], name).reshape(shape), attributes)
        else:
            pair = np.stack([_typed(frame[f"{name} at {m}"]).reshape(shape) for m in MOMENTS], axis=-1)
            data[name] = ((*dims, "moment"), pair, attributes)
    return xarray.Dataset(data, coords, about["attributes"])


WORDS = ("reason", "events", "warnings", "limits_passed")


def _typed(values: list[str], name: str = "") -> np.ndarray:
    if name in WORDS:
        return np.array(values, dtype=object)
    if name in ("status", "case"):
        return np.array([int(v) for v in values], dtype=np.int64)
    if set(values) <= {"True", "False"}:
        return np.array([v == "True" for v in values])
    try:
        return np.array([float(v) if v else np.nan for v in values])
    except ValueError:
        return np.array(values)
