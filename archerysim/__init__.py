"""How a bow throws an arrow: from a measured bow to the arrow's pitch as it leaves the string.

>>> import archerysim
>>> setup = archerysim.load("examples/club-outdoor.toml")
>>> launch = archerysim.shoot(setup)
>>> round(launch.clear.angle_of_attack, 1)  # [deg], below zero: tail high
-0.2

Public names are loaded when they are first used.
"""

from __future__ import annotations

import warnings
from importlib import import_module
from typing import TYPE_CHECKING, Any

from archerysim.version import VERSION as __version__

_HOMES = {
    "archerysim.equipment": (
        "Setup", "Bow", "Limb", "Lamination", "Riser", "Rod", "String", "StringMass", "Nock", "Locators", "Rest",
        "Side", "Arrow", "Archer", "Limits", "Air", "FilledSetup", "SetupError", "load", "loads", "filled", "sources",
        "field_info", "oddities", "with_si",
    ),
    "archerysim.equipment.first_setup.interview": ("first_setup", "FirstSetup"),
    "archerysim.errors": ("ArcherysimError", "ShotError", "StoreError", "UsageError"),
    "archerysim.shot.arrays.mesh": ("Mesh", "MESHES"),
    "archerysim.shot.fitted_bow": ("FittedBow",),
    "archerysim.shot.statics.fit": ("Met",),
    "archerysim.shot.statics.brace": ("Braced",),
    "archerysim.shot.statics.drawn": ("Drawn",),
    "archerysim.shot.shoot": ("fit", "brace", "draw", "shoot", "strain"),
    "archerysim.shot.draw_curve": ("DrawCurve",),
    "archerysim.shot.edit": ("Edit",),
    "archerysim.shot.launch": ("Launch",),
    "archerysim.shot.moment": ("Moment",),
    "archerysim.shot.trace": ("Trace",),
    "archerysim.shot.statics.strain": ("Strained",),
    "archerysim.shot.statics.fit_split": ("Laid",),
    "archerysim.shot.strain_along": ("strain_along", "StrainAlong"),
    "archerysim.shot.flight.fly": ("fly", "Flight"),
    "archerysim.shot.flight.seen_at": ("seen_at", "SeenAt"),
    "archerysim.shot.energy": ("Energy",),
    "archerysim.study.sweeps.sweep": ("sweep",),
    "archerysim.study.run.interrupted": ("Interrupted",),
    "archerysim.study.sweeps.table_file": ("save", "read"),
    "archerysim.shot.flight.bare_shaft": ("bare_difference", "BareDifference"),
    "archerysim.study.tuning.together": ("together_reading", "TogetherReading"),
    "archerysim.study.run.store_contents": ("open_store",),
    "archerysim.study.tuning.zero_attack": ("zero_attack_reading", "ZeroAttackReading"),
    "archerysim.study.tuning.tune": ("tune",),
    "archerysim.study.tuning.tuned": ("Tuned",),
    "archerysim.study.tuning.honest_range": ("honest_range", "HonestRange"),
    "archerysim.study.tuning.tune_two": ("tune_two", "TunedTwo"),
    "archerysim.study.sideways.sideways_tune": ("sideways_tune",),
    "archerysim.study.sideways.result": ("SidewaysTune",),
    "archerysim.study.uncertainty.sensitivity": ("sensitivity",),
    "archerysim.study.case_sheet.case_sheet": ("case_sheet", "CaseSheet"),
    "archerysim.study.two_setups.compare": ("compare", "TwoSetups"),
    "archerysim.study.bench.change": ("change", "BenchChange"),
    "archerysim.study.bench.timed_tiller": ("timed_tiller", "TimedTiller"),
    "archerysim.study.bench.bench_map": ("bench_map", "BenchMap"),
    "archerysim.study.bench.let_down": ("let_down", "LetDown"),
    "archerysim.shot.after_shot": ("after_shot", "AfterShot"),
    "archerysim.study.bench.wood.even_tiller": ("even_tiller", "EvenTiller"),
    "archerysim.study.bench.wood.limb_design": ("limb_design", "LimbDesign"),
    "archerysim.study.bench.wood.tillering": ("tillering", "Tillering"),
    "archerysim.shot.limbs_compared": ("limbs_compared", "LimbsCompared"),
    "archerysim.study.uncertainty.measure_next": ("measure_next", "MeasureNext"),
    "archerysim.study.uncertainty.uncertainty": ("uncertainty", "Uncertainty"),
    "archerysim.study.bare_shaft.flights": ("flights", "Flights"),
    "archerysim.study.bare_shaft.bare_shaft": ("bare_against_fletched",),
    "archerysim.study.bare_shaft.gaps": ("gaps", "Gaps"),
    "archerysim.study.bare_shaft.result": ("BareAgainstFletched",),
    "archerysim.study.groups.group": ("group", "Group"),
    "archerysim.study.groups.compare": ("group_by_reading", "compare_locators", "ReadingGroups", "LocatorGroups"),
    "archerysim.study.groups.scatter": ("Scatter",),
    "archerysim.study.explanation.explain": ("explain", "Explained"),
    "archerysim.study.measured.data": ("OwnData", "DrawForce", "Speeds", "Track"),
    "archerysim.study.measured.fit_data": ("compare_data", "fit_data", "OwnFit"),
    "archerysim.study.measured.compare": ("DataCompared",),
    "archerysim.study.problem.make_problem": ("problem",),
    "archerysim.study.problem.problem": ("Problem",),
    "archerysim.study.problem.evaluation": ("Evaluated",),
    "archerysim.study.problem.derivatives": ("Derivatives",),
    "archerysim.study.problem.indices": ("Indices",),
    "archerysim.study.problem.observables": ("Observable",),
    "archerysim.study.lesson.lesson": ("lesson", "Lesson"),
    "archerysim.study.journal.journal": ("read_journal", "Journal"),
    "archerysim.study.notes.notes_file": ("load_notes", "Notes"),
    "archerysim.study.notes.read_group": ("diagnose", "Diagnosis"),
}  # fmt: skip
_RENAMED: dict[str, tuple[str, str]] = {}  # old name: new one, and the version in which the old one is gone
_HOME = {name: home for home, names in _HOMES.items() for name in names}

__all__ = ["__version__", *sorted(_HOME)]


if TYPE_CHECKING:  # the same names for type checkers
    from archerysim.equipment import Air as Air
    from archerysim.equipment import Archer as Archer
    from archerysim.equipment import Arrow as Arrow
    from archerysim.equipment import Bow as Bow
    from archerysim.equipment import FilledSetup as FilledSetup
    from archerysim.equipment import Lamination as Lamination
    from archerysim.equipment import Limb as Limb
    from archerysim.equipment import Limits as Limits
    from archerysim.equipment import Locators as Locators
    from archerysim.equipment import Nock as Nock
    from archerysim.equipment import Rest as Rest
    from archerysim.equipment import Riser as Riser
    from archerysim.equipment import Rod as Rod
    from archerysim.equipment import Setup as Setup
    from archerysim.equipment import SetupError as SetupError
    from archerysim.equipment import Side as Side
    from archerysim.equipment import String as String
    from archerysim.equipment import StringMass as StringMass
    from archerysim.equipment import field_info as field_info
    from archerysim.equipment import filled as filled
    from archerysim.equipment import load as load
    from archerysim.equipment import loads as loads
    from archerysim.equipment import oddities as oddities
    from archerysim.equipment import sources as sources
    from archerysim.equipment import with_si as with_si
    from archerysim.equipment.first_setup.interview import FirstSetup as FirstSetup
    from archerysim.equipment.first_setup.interview import first_setup as first_setup
    from archerysim.errors import ArcherysimError as ArcherysimError
    from archerysim.errors import ShotError as ShotError
    from archerysim.errors import StoreError as StoreError
    from archerysim.errors import UsageError as UsageError
    from archerysim.shot.after_shot import AfterShot as AfterShot
    from archerysim.shot.after_shot import after_shot as after_shot
    from archerysim.shot.arrays.mesh import MESHES as MESHES
    from archerysim.shot.arrays.mesh import Mesh as Mesh
    from archerysim.shot.draw_curve import DrawCurve as DrawCurve
    from archerysim.shot.edit import Edit as Edit
    from archerysim.shot.energy import Energy as Energy
    from archerysim.shot.fitted_bow import FittedBow as FittedBow
    from archerysim.shot.flight.bare_shaft import BareDifference as BareDifference
    from archerysim.shot.flight.bare_shaft import bare_difference as bare_difference
    from archerysim.shot.flight.fly import Flight as Flight
    from archerysim.shot.flight.fly import fly as fly
    from archerysim.shot.flight.seen_at import SeenAt as SeenAt
    from archerysim.shot.flight.seen_at import seen_at as seen_at
    from archerysim.shot.launch import Launch as Launch
    from archerysim.shot.limbs_compared import LimbsCompared as LimbsCompared
    from archerysim.shot.limbs_compared import limbs_compared as limbs_compared
    from archerysim.shot.moment import Moment as Moment
    from archerysim.shot.shoot import brace as brace
    from archerysim.shot.shoot import draw as draw
    from archerysim.shot.shoot import fit as fit
    from archerysim.shot.shoot import shoot as shoot
    from archerysim.shot.shoot import strain as strain
    from archerysim.shot.statics.brace import Braced as Braced
    from archerysim.shot.statics.drawn import Drawn as Drawn
    from archerysim.shot.statics.fit import Met as Met
    from archerysim.shot.statics.fit_split import Laid as Laid
    from archerysim.shot.statics.strain import Strained as Strained
    from archerysim.shot.strain_along import StrainAlong as StrainAlong
    from archerysim.shot.strain_along import strain_along as strain_along
    from archerysim.shot.trace import Trace as Trace
    from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched as bare_against_fletched
    from archerysim.study.bare_shaft.flights import Flights as Flights
    from archerysim.study.bare_shaft.flights import flights as flights
    from archerysim.study.bare_shaft.gaps import Gaps as Gaps
    from archerysim.study.bare_shaft.gaps import gaps as gaps
    from archerysim.study.bare_shaft.result import BareAgainstFletched as BareAgainstFletched
    from archerysim.study.bench.bench_map import BenchMap as BenchMap
    from archerysim.study.bench.bench_map import bench_map as bench_map
    from archerysim.study.bench.change import BenchChange as BenchChange
    from archerysim.study.bench.change import change as change
    from archerysim.study.bench.let_down import LetDown as LetDown
    from archerysim.study.bench.let_down import let_down as let_down
    from archerysim.study.bench.timed_tiller import TimedTiller as TimedTiller
    from archerysim.study.bench.timed_tiller import timed_tiller as timed_tiller
    from archerysim.study.bench.wood.even_tiller import EvenTiller as EvenTiller
    from archerysim.study.bench.wood.even_tiller import even_tiller as even_tiller
    from archerysim.study.bench.wood.limb_design import LimbDesign as LimbDesign
    from archerysim.study.bench.wood.limb_design import limb_design as limb_design
    from archerysim.study.bench.wood.tillering import Tillering as Tillering
    from archerysim.study.bench.wood.tillering import tillering as tillering
    from archerysim.study.case_sheet.case_sheet import CaseSheet as CaseSheet
    from archerysim.study.case_sheet.case_sheet import case_sheet as case_sheet
    from archerysim.study.explanation.explain import Explained as Explained
    from archerysim.study.explanation.explain import explain as explain
    from archerysim.study.groups.compare import LocatorGroups as LocatorGroups
    from archerysim.study.groups.compare import ReadingGroups as ReadingGroups
    from archerysim.study.groups.compare import compare_locators as compare_locators
    from archerysim.study.groups.compare import group_by_reading as group_by_reading
    from archerysim.study.groups.group import Group as Group
    from archerysim.study.groups.group import group as group
    from archerysim.study.groups.scatter import Scatter as Scatter
    from archerysim.study.journal.journal import Journal as Journal
    from archerysim.study.journal.journal import read_journal as read_journal
    from archerysim.study.lesson.lesson import Lesson as Lesson
    from archerysim.study.lesson.lesson import lesson as lesson
    from archerysim.study.measured.compare import DataCompared as DataCompared
    from archerysim.study.measured.data import DrawForce as DrawForce
    from archerysim.study.measured.data import OwnData as OwnData
    from archerysim.study.measured.data import Speeds as Speeds
    from archerysim.study.measured.data import Track as Track
    from archerysim.study.measured.fit_data import OwnFit as OwnFit
    from archerysim.study.measured.fit_data import compare_data as compare_data
    from archerysim.study.measured.fit_data import fit_data as fit_data
    from archerysim.study.notes.notes_file import Notes as Notes
    from archerysim.study.notes.notes_file import load_notes as load_notes
    from archerysim.study.notes.read_group import Diagnosis as Diagnosis
    from archerysim.study.notes.read_group import diagnose as diagnose
    from archerysim.study.problem.derivatives import Derivatives as Derivatives
    from archerysim.study.problem.evaluation import Evaluated as Evaluated
    from archerysim.study.problem.indices import Indices as Indices
    from archerysim.study.problem.make_problem import problem as problem
    from archerysim.study.problem.observables import Observable as Observable
    from archerysim.study.problem.problem import Problem as Problem
    from archerysim.study.run.interrupted import Interrupted as Interrupted
    from archerysim.study.run.store_contents import open_store as open_store
    from archerysim.study.sideways.result import SidewaysTune as SidewaysTune
    from archerysim.study.sideways.sideways_tune import sideways_tune as sideways_tune
    from archerysim.study.sweeps.sweep import sweep as sweep
    from archerysim.study.sweeps.table_file import read as read
    from archerysim.study.sweeps.table_file import save as save
    from archerysim.study.tuning.honest_range import HonestRange as HonestRange
    from archerysim.study.tuning.honest_range import honest_range as honest_range
    from archerysim.study.tuning.together import TogetherReading as TogetherReading
    from archerysim.study.tuning.together import together_reading as together_reading
    from archerysim.study.tuning.tune import tune as tune
    from archerysim.study.tuning.tune_two import TunedTwo as TunedTwo
    from archerysim.study.tuning.tune_two import tune_two as tune_two
    from archerysim.study.tuning.tuned import Tuned as Tuned
    from archerysim.study.tuning.zero_attack import ZeroAttackReading as ZeroAttackReading
    from archerysim.study.tuning.zero_attack import zero_attack_reading as zero_attack_reading
    from archerysim.study.two_setups.compare import TwoSetups as TwoSetups
    from archerysim.study.two_setups.compare import compare as compare
    from archerysim.study.uncertainty.measure_next import MeasureNext as MeasureNext
    from archerysim.study.uncertainty.measure_next import measure_next as measure_next
    from archerysim.study.uncertainty.sensitivity import sensitivity as sensitivity
    from archerysim.study.uncertainty.uncertainty import Uncertainty as Uncertainty
    from archerysim.study.uncertainty.uncertainty import uncertainty as uncertainty
else:  # unseen by type checkers: an unknown name would be Any

    def __getattr__(name: str) -> Any:
        if name in _RENAMED:
            now, goes = _RENAMED[name]
            text = f"archerysim.{name} is archerysim.{now} now; the old name goes with version {goes}"
            warnings.warn(text, FutureWarning, stacklevel=2)
            return __getattr__(now)
        if name in _HOME:
            value = getattr(import_module(_HOME[name]), name)
            globals()[name] = value
            return value
        raise AttributeError(f"module 'archerysim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(set(globals()) | set(_HOME))
