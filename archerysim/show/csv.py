"""Curves and traces as plain CSV."""

from __future__ import annotations

import os
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.fields.csv_cells import harmless, harmless_json, line
from archerysim.fields.file_writing import write_text
from archerysim.fields.reported import Column, columns_of
from archerysim.fields.udunits import shown
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.flight.fly import Flight
from archerysim.shot.launch import Launch
from archerysim.shot.statics.strain import LIMBS, MOMENTS
from archerysim.shot.strain_along import StrainAlong
from archerysim.shot.trace import Trace
from archerysim.study.bench.bench_answers import ANSWERS

if TYPE_CHECKING:
    import xarray

    from archerysim.study.bare_shaft.flights import Flights
    from archerysim.study.bare_shaft.result import BareAgainstFletched
    from archerysim.study.bench.bench_map import BenchMap
    from archerysim.study.bench.change import BenchChange
    from archerysim.study.bench.wood.even_tiller import EvenTiller
    from archerysim.study.uncertainty.uncertainty import Uncertainty

NOTHING_MORE: Mapping[str, Any] = MappingProxyType({})
PLAINER = {"pitch": "pitch to the horizontal"}  # that of a shot is to the aim line


def write_flight(flight: Flight, path: str | os.PathLike[str]) -> None:
    """Write a flight from clear to the target, a row an instant, units in the header; pitch is to the horizontal.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    columns = _along_time(flight)
    _write({column._replace(name=PLAINER.get(column.name, column.name)).head: v for column, v in columns}, path)


def write_trace(launch: Launch, path: str | os.PathLike[str]) -> None:
    """Write a shot's traces, a row an instant, units in the header.

    Raises
    ------
    SetupError
        If the shot has no trace or the file cannot be written.
    """
    if launch.trace is None:
        raise SetupError("out", "the shot was made without traces", "Shoot with trace=True")
    _write({column.head: values for column, values in _along_time(launch.trace)}, path)


def write_curve(curve: DrawCurve, path: str | os.PathLike[str]) -> None:
    """Write a draw-force curve: draw length, force, stored energy.

    Where the limbs have hysteresis, the force while the bow is let down too.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    named = {"energy": "stored_energy"}
    columns = (one._replace(name=named.get(one.name, one.name)) for one in columns_of(DrawCurve))
    values = (curve.draw_length, curve.force, curve.let_down, curve.energy)
    pairs = zip(columns, values, strict=True)
    _write({one.head: each for one, each in pairs if each is not curve.let_down or curve.kept_by_limbs}, path)


def write_strain(found: StrainAlong, path: str | os.PathLike[str]) -> None:
    """Write how limbs bend and are strained, a row a limb, moment and place, units in the header; empty: not known.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    each = found.place.size
    columns: dict[str, Any] = {
        "limb": np.repeat(LIMBS, 2 * each).tolist(), "moment": np.tile(np.repeat(MOMENTS, each), 2).tolist(),
    }  # fmt: skip
    for one in columns_of(StrainAlong):
        values = getattr(found, one.name)
        if len(one.along) == 2:
            values = np.repeat(values[:, None, :], 2, axis=1)
        columns[one.head] = np.broadcast_to(values, (2, 2, each)).ravel()
    _write(columns, path)


def write_sections(setup: Setup, limb: str, path: str | os.PathLike[str]) -> None:
    """Write a limb's stations with its width and thickness, as ``sections`` in a setup file reads them.

    Parameters
    ----------
    setup : Setup
    limb : {"upper", "lower"}
    path : path

    Raises
    ------
    SetupError
        If the limb is not given by width and thickness, or the file cannot be written.
    """
    full = filled(setup)
    found = full.upper_limb if limb == "upper" else full.lower_limb
    if not found.width:
        raise SetupError(
            f"{limb}_limb.width",
            "not given: there are no sections to write",
            "Give width and thickness, or laminations",
        )
    columns: dict[str, Any] = {
        "station [cm]": [round(100.0 * found.length * place, 9) for place in found.at],
        "width [mm]": [round(1e3 * one, 9) for one in found.width],
        "thickness [mm]": [round(1e3 * one, 9) for one in found.thickness],
    }
    if found.laminations:
        del columns["thickness [mm]"]
    _write(columns, path)


def _along_time(found: Trace | Flight) -> list[tuple[Column, np.ndarray]]:
    """The columns of which there is a value each instant."""
    kind: type = type(found)
    return [(one, getattr(found, one.name)) for one in columns_of(kind) if one.along == ("time",)]


def write_sensitivity(found: xarray.Dataset, path: str | os.PathLike[str]) -> None:
    """Write what `archerysim.sensitivity` returned, a row an input, units in the header.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    columns: dict[str, Any] = {name: found[name].values for name in ("input", "spread", "unit", "how", "reason")}
    for name in map(str, found.data_vars):
        if found[name].dims and name not in columns:
            columns[f"{name} [{shown(found[name].attrs['units'])}]"] = found[name].values
    _write(columns, path)


def write_bench(found: BenchChange, path: str | os.PathLike[str]) -> None:
    """Write every answer of a bow at the bench, a row before and after each step, units in the header.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    columns: dict[str, Any] = {"after": ["", *found.steps]}
    for k, (name, unit, _) in enumerate(ANSWERS):
        columns[f"{name.replace('_', ' ')} [{unit or '-'}]"] = found.at[:, k]
    _write(columns, path)


def write_scraping(found: EvenTiller, path: str | os.PathLike[str]) -> None:
    """Write what is scraped off, a row a limb and station, units in the header.

    Raises
    ------
    SetupError
        If nothing is scraped, or the file cannot be written.
    """
    if found.by != "scraping":
        raise SetupError("out", "there are no stations: the bolts are turned", "Leave it out")
    full = filled(found.before.setup)
    limbs = (full.upper_limb, full.lower_limb)
    there = [
        np.interp(at / limb.length, limb.at, limb.thickness) for at, limb in zip(found.stations, limbs, strict=True)
    ]
    depth = np.concatenate(found.off)
    names = [name for name, at in zip(LIMBS, found.stations, strict=True) for _ in at]
    columns: dict[str, Any] = {
        "limb": names, "station [cm]": 100.0 * np.concatenate(found.stations),
        "thickness now [mm]": 1e3 * np.concatenate(there), "off [mm]": 1e3 * depth,
        "thickness then [mm]": 1e3 * (np.concatenate(there) - depth),
    }  # fmt: skip
    _write(columns, path)


def write_map(found: BenchMap, path: str | os.PathLike[str]) -> None:
    """Write every point of a map, a row a split and value of the other axis, units in the header; empty: no shot.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    across, places = found.across, list(np.ndindex(*found.values.shape[1:]))
    columns: dict[str, Any] = {
        "tiller split [mm]": [found.splits[i] for i, _ in places],
        f"{across.kind} [{across.unit or '-'}]": [across.shown[j] for _, j in places],
    }
    for name, unit, _ in found.quantities:
        columns[f"{name.replace('_', ' ')} [{unit}]"] = found.of(name).ravel()
    columns["reason"] = [found.reasons.get(place, "") for place in places]
    _write(columns, path)


def write_draws(result: Uncertainty, path: str | os.PathLike[str]) -> None:
    """Write an uncertainty's draws, a row a draw: its inputs, by their paths, then its answers; an empty cell has none.

    Comment lines on top, as JSON, say by which setup, seed, version and standard deviations the same draws come again.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    from archerysim.equipment.readings import read_by
    from archerysim.study.sweeps.provenance import provenance
    from archerysim.study.uncertainty.sensitivity import SIDEWAYS

    setup, paths = result.setup, [one.path for one in result.inputs]
    planes = 2 if SIDEWAYS[0] in result.names else 1
    about = provenance(f"uncertainty of {setup.name}", setup, "uncertainty", planes)
    about |= {"seed": result.seed, "draws": len(result.sample), "reading_convention": read_by(setup).convention}
    known = {
        one.path: {
            "one standard deviation": one.spread,
            "of": "the value" if one.relative else "SI units",
            "how": one.how,
        }
        for one in result.inputs
    }
    named = [
        *zip(paths, result.input_units, result.drawn.T, strict=True),
        *zip(result.names, result.units, result.sample.T, strict=True),
    ]
    columns = {f"{name} [{unit}]" if unit else name: values for name, unit, values in named}
    _write(columns, path, {"attributes": about, "inputs": known})


def write_bare_shaft(result: BareAgainstFletched, path: str | os.PathLike[str]) -> None:
    """Write bare against fletched, a row a distance and reading: the bow as given, and the draws' band.

    Readings are by the underside.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    count, far = len(result.readings), result.distances
    _write(
        {
            "distance [m]": np.repeat(far, count),
            "reading by the underside [mm]": np.tile(result.readings, len(far)),
            "bare above fletched, as given [m]": result.value.T.ravel(),
            "5 % point [m]": result.lower.T.ravel(),
            "median [m]": result.median.T.ravel(),
            "95 % point [m]": result.upper.T.ravel(),
            "wanted [m]": np.repeat([result.wanted((float(one), "m")) for one in far], count),
        },
        path,
    )


def write_flights(flown: Flights, path: str | os.PathLike[str]) -> None:
    """Write flights of several readings, a row a reading; readings are by the underside, an empty cell has none.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    _write(
        {
            "reading by the underside [mm]": [row.reading for row in flown.rows],
            "bare above fletched [m]": [row.apart for row in flown.rows],
            "by drag and mass alone [m]": [row.wanted for row in flown.rows],
            "reason": [row.reason for row in flown.rows],
        },
        path,
    )


def _write(columns: dict[str, Any], path: str | os.PathLike[str], about: Mapping[str, Any] = NOTHING_MORE) -> None:
    """Columns under their heads, below comment lines with what is said of all of them."""
    rows = zip(*(map(_cell, values) for values in columns.values()), strict=True)
    comments = [f"# {name}: {harmless_json(value)}\n" for name, value in about.items()]
    write_text(path, "".join([*comments, line(map(harmless, columns)), *map(line, rows)]), "out")


def _cell(value: Any) -> str:
    if isinstance(value, str):
        return harmless(value)
    return "" if np.isnan(value) else repr(float(value))
