"""How a bow throws an arrow: from a measured bow to the arrow's pitch as it leaves the string.

>>> import archerysim
>>> setup = archerysim.load("examples/club-outdoor.toml")
>>> launch = archerysim.shoot(setup)
>>> launch.clear.angle_of_attack  # [deg]

Public names are loaded when they are first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from archerysim.version import VERSION as __version__

_HOMES = {
    "archerysim.equipment": (
        "Setup", "Bow", "Limb", "Riser", "Rod", "String", "StringMass", "Nock", "Locators", "Rest", "Arrow",
        "Archer", "Limits", "Air", "SetupError", "load", "loads", "filled", "sources", "field_info", "oddities",
    ),
    "archerysim.errors": ("ArcherysimError", "ShotError", "StoreError"),
    "archerysim.shot.arrays.mesh": ("Mesh", "MESHES"),
    "archerysim.shot.fitted_bow": ("FittedBow",),
    "archerysim.shot.statics.fit": ("fit", "Fit"),
    "archerysim.shot.statics.brace": ("Braced",),
    "archerysim.shot.statics.drawn": ("Drawn",),
    "archerysim.shot.shoot": ("brace", "draw", "shoot", "DrawCurve"),
    "archerysim.shot.launch": ("Launch", "Moment", "Trace"),
    "archerysim.shot.statics.strain": ("strain", "Strained"),
    "archerysim.shot.flight.fly": ("fly", "Flight"),
    "archerysim.shot.energy": ("Energy",),
    "archerysim.study.sweeps.sweep": ("sweep",),
    "archerysim.study.run.interrupted": ("Interrupted",),
    "archerysim.study.sweeps.table_file": ("save", "read"),
    "archerysim.shot.flight.bare_shaft": ("bare_difference", "BareDifference"),
    "archerysim.study.tuning.together": ("together_reading", "TogetherReading"),
    "archerysim.study.run.store_contents": ("open_store",),
    "archerysim.study.tuning.zero_attack": ("nil_reading", "NilReading"),
    "archerysim.study.tuning.tune": ("tune", "Tuned"),
    "archerysim.study.tuning.tune_two": ("tune_two", "TunedTwo"),
    "archerysim.study.uncertainty.sensitivity": ("sensitivity",),
    "archerysim.study.uncertainty.uncertainty": ("uncertainty", "Uncertainty"),
    "archerysim.study.bare_shaft.flights": ("flights", "Flights"),
    "archerysim.study.bare_shaft.bare_shaft": ("bare_against_fletched",),
    "archerysim.study.bare_shaft.result": ("BareAgainstFletched",),
    "archerysim.study.groups.group": ("group", "Group"),
    "archerysim.study.groups.compare": ("group_by_reading", "compare_locators", "ReadingGroups", "LocatorGroups"),
    "archerysim.study.groups.scatter": ("Scatter",),
    "archerysim.study.explanation.explain": ("explain", "Explained"),
    "archerysim.study.measured.data": ("OwnData", "DrawForce", "Speeds", "Track"),
    "archerysim.study.measured.fit_data": ("compare_data", "fit_data", "OwnFit"),
    "archerysim.study.measured.compare": ("DataCompared",),
    "archerysim.study.notes.notes_file": ("load_notes", "Notes"),
    "archerysim.study.notes.read_group": ("diagnose", "Diagnosis"),
}  # fmt: skip
_HOME = {name: home for home, names in _HOMES.items() for name in names}

__all__ = ["__version__", *sorted(_HOME)]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        value = getattr(import_module(_HOME[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'archerysim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(set(globals()) | set(_HOME))
