"""Pictures and tables of results.

Each picture is a function of a result; it draws into the axes it is given, or into a new figure that no
window knows of, and returns what it drew. Nothing is shown on a screen; `save_figure` writes a file.
`animate` and `animate_flight` write moving pictures, `lesson_page` makes a page for a class.
"""

from archerysim.show.bare_shaft.gaps import gaps
from archerysim.show.bare_shaft.plot import bare_against_fletched
from archerysim.show.bare_shaft.target_card import target_card
from archerysim.show.explanation.contributions import contributions
from archerysim.show.explanation.plot import explain
from archerysim.show.flights.plot import flight
from archerysim.show.flights.strips import strips
from archerysim.show.groups.plot import group, group_by_reading, locators_compared
from archerysim.show.lesson.page import lesson_page
from archerysim.show.measured.plot import own_data
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
from archerysim.show.uncertainty.plot import tornado

__all__ = [
    "animate", "animate_flight", "bare_against_fletched", "bow", "clearance", "contributions", "curve", "diagnosis",
    "energy", "explain", "flight", "gaps", "group", "group_by_reading", "lesson_page", "limbs", "locators_compared",
    "own_data", "save_figure", "sideways", "square", "strain", "strips", "sweep", "target_card", "throat", "tornado",
    "traces", "tuned", "views",
]  # fmt: skip
