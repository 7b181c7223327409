"""Curves and traces as plain CSV."""

from __future__ import annotations

import os

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.csv_cells import harmless, line
from archerysim.fields.file_writing import write_text
from archerysim.fields.reported import Column, columns_of
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.flight.fly import Flight
from archerysim.shot.launch import Launch
from archerysim.shot.trace import Trace

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

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    named = {"energy": "stored_energy"}
    columns = (one._replace(name=named.get(one.name, one.name)) for one in columns_of(DrawCurve))
    values = (curve.draw_length, curve.force, curve.energy)
    _write({one.head: each for one, each in zip(columns, values, strict=True)}, path)


def _along_time(found: Trace | Flight) -> list[tuple[Column, np.ndarray]]:
    """The columns of which there is a value each instant."""
    kind: type = type(found)
    return [(one, getattr(found, one.name)) for one in columns_of(kind) if one.along == ("time",)]


def _write(columns: dict[str, np.ndarray], path: str | os.PathLike[str]) -> None:
    rows = zip(*(map(repr, map(float, values)) for values in columns.values()), strict=True)
    write_text(path, "".join([line(map(harmless, columns)), *map(line, rows)]), "out")
