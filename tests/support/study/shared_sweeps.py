"""Sweeps that several tests look at, run once a process on the coarse mesh."""

from __future__ import annotations

from functools import cache
from typing import Any

import xarray

from archerysim.study.sweeps.provenance import DATED
from archerysim.study.sweeps.sweep import sweep
from tests.support.shot.example_bows import READING, built, measured

MESH = "coarse"
RANGE = "4 mm:12 mm:1 mm"
READINGS = "nock_locators_reading"  # the dimension of a sweep over the reading
TWO = {READING: "6 mm:8 mm:1 mm", "arrow.point_mass": "80 gr, 90 gr"}
BOLT = "upper_limb.bolt_turns"
TURNS = (-1.0, 0.0, 1.0)


def run(*arguments: Any, **options: Any) -> xarray.Dataset:
    """`sweep` on the coarse mesh."""
    return sweep(*arguments, mesh=MESH, **options)


def undated(data: xarray.Dataset) -> xarray.Dataset:
    """Without the moment at which it was computed, in which two runs of the same differ."""
    return data.assign_attrs(dict.fromkeys(DATED, ""))


@cache
def readings() -> xarray.Dataset:
    """Nine readings of the club bow, in this process alone."""
    return run(measured("club-outdoor"), {READING: RANGE}, workers=1)


@cache
def grid() -> xarray.Dataset:
    """Three readings by two points."""
    return run(built("club-outdoor", MESH), TWO)


@cache
def bolts(*hold: str) -> xarray.Dataset:
    """The upper bolt turned out, kept and turned in, holding something."""
    return run(measured("club-outdoor"), {BOLT: (TURNS, "turn")}, hold=hold)


@cache
def failing() -> xarray.Dataset:
    """Of three shafts the first is too short for the rest and the last for anything."""
    return run(built("club-outdoor", MESH), {"arrow.length": ["26 in", "28.5 in", "20 cm"]})
