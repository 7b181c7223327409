"""Setups: what a bow, its string, an arrow and an archer are, read from a file and checked."""

from archerysim.equipment.air import Air
from archerysim.equipment.archer import Archer, Limits
from archerysim.equipment.arrow import Arrow
from archerysim.equipment.bow import Bow, Limb
from archerysim.equipment.bowstring import String, StringMass
from archerysim.equipment.errors import SetupError
from archerysim.equipment.files import echoes, load, loads
from archerysim.equipment.filling import Source, filled, sources
from archerysim.equipment.nock import Locators, Nock, Rest
from archerysim.equipment.notes import Group, Notes, load_notes, loads_notes
from archerysim.equipment.paths import FieldInfo
from archerysim.equipment.riser import Riser, Rod
from archerysim.equipment.setup import Setup, field_info
from archerysim.equipment.typical import Oddity, oddities

__all__ = [
    "Air",
    "Archer",
    "Arrow",
    "Bow",
    "FieldInfo",
    "Group",
    "Limb",
    "Limits",
    "Locators",
    "Nock",
    "Notes",
    "Oddity",
    "Rest",
    "Riser",
    "Rod",
    "Setup",
    "SetupError",
    "Source",
    "String",
    "StringMass",
    "echoes",
    "field_info",
    "filled",
    "load",
    "load_notes",
    "loads",
    "loads_notes",
    "oddities",
    "sources",
]
