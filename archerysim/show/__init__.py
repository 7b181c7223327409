"""Pictures and tables of results.

Each picture is a function of a result; it draws into the axes it is given, or into a new figure that no
window knows of, and returns what it drew. Nothing is shown on a screen; `save_figure` writes a file.
`animate` and `animate_flight` write moving pictures.
"""

from archerysim.show.animate import animate, animate_flight
from archerysim.show.apart import bare_against_fletched
from archerysim.show.bow import bow
from archerysim.show.card import target_card
from archerysim.show.contributions import contributions
from archerysim.show.curve import curve
from archerysim.show.energy import energy
from archerysim.show.explain import explain
from archerysim.show.flight import flight
from archerysim.show.group import group, group_by_reading, locators_compared
from archerysim.show.notes import diagnosis
from archerysim.show.own import own_data
from archerysim.show.square import square
from archerysim.show.strips import strips
from archerysim.show.style import save_figure
from archerysim.show.sweep import sweep
from archerysim.show.throat import throat
from archerysim.show.tornado import tornado
from archerysim.show.traces import traces
from archerysim.show.tuned import tuned

__all__ = [
    "animate", "animate_flight", "bare_against_fletched", "bow", "contributions", "curve", "diagnosis", "energy",
    "explain", "flight", "group", "group_by_reading", "locators_compared", "own_data", "save_figure", "square",
    "strips", "sweep", "target_card", "throat", "tornado", "traces",
    "tuned",
]  # fmt: skip
