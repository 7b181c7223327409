"""Curves and traces as plain CSV."""

from __future__ import annotations

import os

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.csv_cells import harmless, line
from archerysim.fields.file_writing import write_text
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.flight.fly import Flight
from archerysim.shot.launch import Launch

TRACE_UNITS = {
    "time": "s", "edge_upper": "N", "edge_lower": "N", "locator": "N", "rest": "N", "tension_upper": "N",
    "tension_lower": "N", "pitch": "deg", "pitch_rate": "rad/s", "speed": "m/s", "vertical_velocity": "m/s",
    "nock_x": "m", "nock_y": "m", "riser_x": "m", "riser_y": "m", "riser_pitch": "deg", "advance_upper": "m",
    "advance_lower": "m", "locator_offset": "m",
}  # fmt: skip


FLIGHT_UNITS = {
    "time": "s", "x": "m", "y": "m", "nose_y": "m", "tail_y": "m", "pitch": "deg", "pitch_rate": "rad/s",
    "angle_of_attack": "deg", "speed": "m/s",
}  # fmt: skip
PLAINER = {"pitch": "pitch to the horizontal"}  # that of a shot is to the aim line


def write_flight(flight: Flight, path: str | os.PathLike[str]) -> None:
    """Write a flight from clear to the target, a row an instant, units in the header; pitch is to the horizontal.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    _write({f"{PLAINER.get(name, name)} [{unit}]": getattr(flight, name) for name, unit in FLIGHT_UNITS.items()}, path)


def write_trace(launch: Launch, path: str | os.PathLike[str]) -> None:
    """Write a shot's traces, a row an instant, units in the header.

    Raises
    ------
    SetupError
        If the shot has no trace or the file cannot be written.
    """
    if launch.trace is None:
        raise SetupError("out", "the shot was made without traces", "Shoot with trace=True")
    _write({f"{name} [{unit}]": getattr(launch.trace, name) for name, unit in TRACE_UNITS.items()}, path)


def write_curve(curve: DrawCurve, path: str | os.PathLike[str]) -> None:
    """Write a draw-force curve: draw length, force, stored energy.

    Raises
    ------
    SetupError
        If the file cannot be written.
    """
    _write({"draw_length [m]": curve.draw_length, "force [N]": curve.force, "stored_energy [J]": curve.energy}, path)


def _write(columns: dict[str, np.ndarray], path: str | os.PathLike[str]) -> None:
    rows = zip(*(map(repr, map(float, values)) for values in columns.values()), strict=True)
    write_text(path, "".join([line(map(harmless, columns)), *map(line, rows)]), "out")
