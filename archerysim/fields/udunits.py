"""Units by the names of UDUNITS, which files of data go by, and back to those that people read.

The CF conventions ask for units that UDUNITS knows: it has no "deg", and writes products and powers as in "m s-1".
"""

from __future__ import annotations

_NAMES = {
    "times": "1",
    "": "1",
    "deg": "degree",
    "rad/s": "rad s-1",
    "m/s": "m s-1",
    "fps": "ft s-1",
    "1/m": "m-1",
    "N m^2": "N m2",
    "kg m^2": "kg m2",
    "N/m": "N m-1",
    "N s/m": "N s m-1",
    "N m/rad": "N m rad-1",
    "N m s/rad": "N m s rad-1",
    "kg/m": "kg m-1",
    "g/m": "g m-1",
    "kg/m^3": "kg m-3",
    "gr/in": "grain in-1",
    "gr/lbf": "grain lbf-1",
    "gr": "grain",
}
_SHOWN = {name: unit for unit, name in _NAMES.items()}


def udunits(unit: str) -> str:
    """Name by which a data file calls a unit: "degree" for "deg", "1" for none."""
    return _NAMES.get(unit, unit)


def shown(units: str) -> str:
    """The unit as people read it in tables and pictures: "deg" for "degree", nothing for "1"."""
    return _SHOWN.get(units, units)
