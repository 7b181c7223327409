"""Setups: what a bow, its string, an arrow and an archer are, read from a file and checked."""

from archerysim.equipment.air import Air
from archerysim.equipment.archer import Archer, Limits
from archerysim.equipment.arrow import Arrow
from archerysim.equipment.bow import Bow
from archerysim.equipment.bowstring import String, StringMass
from archerysim.equipment.filled_setup import (
    BuiltSetup,
    FilledSetup,
    MeasuredSetup,
    Source,
    filled,
    filled_as_built,
    filled_as_measured,
    sources,
)
from archerysim.equipment.limbs.lamination import Lamination
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.nock import Locators, Nock
from archerysim.equipment.rest import Rest
from archerysim.equipment.riser import Riser, Rod
from archerysim.equipment.setup import Setup, field_info
from archerysim.equipment.setup_file import echoes, load, loads
from archerysim.equipment.side import Side
from archerysim.equipment.typical import Oddity, oddities
from archerysim.errors import SetupError
from archerysim.fields.given import NO_CHANGES, InSi, with_si
from archerysim.fields.paths import FieldInfo

__all__ = [
    "NO_CHANGES",
    "Air",
    "Archer",
    "Arrow",
    "Bow",
    "BuiltSetup",
    "FieldInfo",
    "FilledSetup",
    "InSi",
    "Lamination",
    "Limb",
    "Limits",
    "Locators",
    "MeasuredSetup",
    "Nock",
    "Oddity",
    "Rest",
    "Riser",
    "Rod",
    "Setup",
    "SetupError",
    "Side",
    "Source",
    "String",
    "StringMass",
    "echoes",
    "field_info",
    "filled",
    "filled_as_built",
    "filled_as_measured",
    "load",
    "loads",
    "oddities",
    "sources",
    "with_si",
]
