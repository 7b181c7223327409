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
    "archerysim.shot.errors": ("ShotError",),
    "archerysim.shot.mesh": ("Mesh", "MESHES"),
    "archerysim.shot.fit": ("fit", "Fit"),
    "archerysim.shot.brace": ("Braced",),
    "archerysim.shot.drawn": ("Drawn",),
    "archerysim.shot.shoot": ("brace", "draw", "shoot", "DrawCurve"),
    "archerysim.shot.launch": ("Launch", "Moment", "Trace"),
    "archerysim.shot.strain": ("strain", "Strained"),
    "archerysim.shot.flight": ("fly", "Flight"),
    "archerysim.shot.energy": ("Energy",),
    "archerysim.study.sweep": ("sweep",),
    "archerysim.study.interrupted": ("Interrupted",),
    "archerysim.study.table": ("save", "read"),
    "archerysim.shot.bare": ("bare_difference", "BareDifference"),
    "archerysim.study.store": ("StoreError",),
    "archerysim.study.together": ("together_reading", "TogetherReading"),
    "archerysim.study.kept": ("open_store",),
    "archerysim.study.tuned": ("nil_reading", "NilReading"),
    "archerysim.study.tune": ("tune", "Tuned"),
    "archerysim.study.tune_two": ("tune_two", "TunedTwo"),
    "archerysim.study.sensitivity": ("sensitivity",),
    "archerysim.study.uncertainty": ("uncertainty", "Uncertainty"),
    "archerysim.study.flights": ("flights", "Flights"),
    "archerysim.study.bare": ("bare_against_fletched",),
    "archerysim.study.apart": ("BareAgainstFletched",),
    "archerysim.study.group": ("group", "Group"),
    "archerysim.study.groups": ("group_by_reading", "compare_locators", "ReadingGroups", "LocatorGroups"),
    "archerysim.study.scatter": ("Scatter",),
    "archerysim.study.explain": ("explain", "Explained"),
    "archerysim.equipment.measured": ("OwnData", "DrawForce", "Speeds", "Track"),
    "archerysim.study.own": ("compare_data", "fit_data", "OwnFit"),
    "archerysim.study.own_model": ("DataCompared",),
    "archerysim.equipment.notes": ("load_notes", "Notes"),
    "archerysim.study.diagnose": ("diagnose", "Diagnosis"),
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
