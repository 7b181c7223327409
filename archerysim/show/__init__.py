"""Pictures and tables of results.

Each picture is a function of a result. It draws into the axes it is given, or into a new figure, and returns what it
drew. Nothing appears on the screen; `save_figure` writes a file. `animate` and `animate_flight` write moving pictures.
Each is loaded when it is first used.

>>> import archerysim
>>> from archerysim import show
>>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
>>> figure = show.traces(launch)
>>> len(figure.axes)
4
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

_HOMES = {
    "archerysim.show.bare_shaft.gaps": ("gaps",),
    "archerysim.show.bare_shaft.plot": ("bare_against_fletched",),
    "archerysim.show.bare_shaft.target_card": ("target_card",),
    "archerysim.show.bench.even_tiller_plot": ("even_tiller",),
    "archerysim.show.bench.limb_design_plot": ("limb_design",),
    "archerysim.show.bench.plot": ("bench_change",),
    "archerysim.show.bench.timed_plot": ("timed_tiller",),
    "archerysim.show.bench.map_plot": ("bench_map",),
    "archerysim.show.bench.let_down": ("let_down",),
    "archerysim.show.bench.after_shot": ("after_shot",),
    "archerysim.show.bench.tillering_plot": ("tillering_tree",),
    "archerysim.show.case_sheet.page": ("save_sheet", "sheet_page"),
    "archerysim.show.explanation.contributions": ("contributions",),
    "archerysim.show.explanation.plot": ("explain",),
    "archerysim.show.flights.plot": ("flight",),
    "archerysim.show.flights.strips": ("strips",),
    "archerysim.show.groups.plot": ("group", "group_by_reading", "locators_compared"),
    "archerysim.show.lesson.page": ("lesson_page",),
    "archerysim.show.measured.plot": ("own_data",),
    "archerysim.show.measures.pages": ("measures_pages", "save_measures"),
    "archerysim.show.motion.animate": ("animate", "animate_flight"),
    "archerysim.show.notes.plot": ("diagnosis",),
    "archerysim.show.shots.bow": ("bow",),
    "archerysim.show.shots.clearance": ("clearance",),
    "archerysim.show.shots.draw_curve": ("curve",),
    "archerysim.show.shots.energy": ("energy",),
    "archerysim.show.shots.limbs": ("limbs",),
    "archerysim.show.shots.sideways": ("sideways",),
    "archerysim.show.shots.square": ("square",),
    "archerysim.show.shots.strain": ("strain",),
    "archerysim.show.shots.throat": ("throat",),
    "archerysim.show.shots.traces": ("traces",),
    "archerysim.show.shots.views": ("views",),
    "archerysim.show.style": ("save_figure",),
    "archerysim.show.sweeps.plot": ("sweep",),
    "archerysim.show.tuning.plot": ("tuned",),
    "archerysim.show.two_setups.plot": ("before_and_after",),
    "archerysim.show.uncertainty.plot": ("tornado",),
}
_HOME = {name: home for home, names in _HOMES.items() for name in names}

if TYPE_CHECKING:
    from archerysim.show.bare_shaft.gaps import gaps
    from archerysim.show.bare_shaft.plot import bare_against_fletched
    from archerysim.show.bare_shaft.target_card import target_card
    from archerysim.show.bench.after_shot import after_shot
    from archerysim.show.bench.even_tiller_plot import even_tiller
    from archerysim.show.bench.let_down import let_down
    from archerysim.show.bench.limb_design_plot import limb_design
    from archerysim.show.bench.map_plot import bench_map
    from archerysim.show.bench.plot import bench_change
    from archerysim.show.bench.tillering_plot import tillering_tree
    from archerysim.show.bench.timed_plot import timed_tiller
    from archerysim.show.case_sheet.page import save_sheet, sheet_page
    from archerysim.show.explanation.contributions import contributions
    from archerysim.show.explanation.plot import explain
    from archerysim.show.flights.plot import flight
    from archerysim.show.flights.strips import strips
    from archerysim.show.groups.plot import group, group_by_reading, locators_compared
    from archerysim.show.lesson.page import lesson_page
    from archerysim.show.measured.plot import own_data
    from archerysim.show.measures.pages import measures_pages, save_measures
    from archerysim.show.motion.animate import animate, animate_flight
    from archerysim.show.notes.plot import diagnosis
    from archerysim.show.shots.bow import bow
    from archerysim.show.shots.clearance import clearance
    from archerysim.show.shots.draw_curve import curve
    from archerysim.show.shots.energy import energy
    from archerysim.show.shots.limbs import limbs
    from archerysim.show.shots.sideways import sideways
    from archerysim.show.shots.square import square
    from archerysim.show.shots.strain import strain
    from archerysim.show.shots.throat import throat
    from archerysim.show.shots.traces import traces
    from archerysim.show.shots.views import views
    from archerysim.show.style import save_figure
    from archerysim.show.sweeps.plot import sweep
    from archerysim.show.tuning.plot import tuned
    from archerysim.show.two_setups.plot import before_and_after
    from archerysim.show.uncertainty.plot import tornado
else:

    def __getattr__(name: str) -> Any:
        if name in _HOME:
            value = getattr(import_module(_HOME[name]), name)
            globals()[name] = value
            return value
        raise AttributeError(f"module 'archerysim.show' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(set(globals()) | set(_HOME))


__all__ = [
    "after_shot", "animate", "animate_flight", "bare_against_fletched", "before_and_after", "bench_change",
    "bench_map", "bow", "clearance", "contributions", "curve", "diagnosis", "energy", "even_tiller", "explain",
    "flight", "gaps", "group", "group_by_reading", "lesson_page", "let_down", "limb_design", "limbs",
    "locators_compared", "measures_pages", "own_data", "save_figure", "save_measures", "save_sheet", "sheet_page",
    "sideways", "square", "strain", "strips", "sweep", "target_card", "throat", "tillering_tree", "timed_tiller",
    "tornado", "traces", "tuned", "views",
]  # fmt: skip
