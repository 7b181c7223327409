"""Pictures and tables of results.

Each picture is a function of a result; it draws into the axes it is given, or into a new figure that no
window knows of, and returns what it drew. Nothing is shown on a screen; `save_figure` writes a file.
"""

from archerysim.show.bow import bow
from archerysim.show.curve import curve
from archerysim.show.energy import energy
from archerysim.show.notes import diagnosis, diagnosis_table
from archerysim.show.square import square
from archerysim.show.style import save_figure
from archerysim.show.sweep import sweep
from archerysim.show.throat import throat
from archerysim.show.tornado import tornado
from archerysim.show.traces import traces

__all__ = [
    "bow", "curve", "diagnosis", "diagnosis_table", "energy", "save_figure", "square", "sweep", "throat", "tornado",
    "traces",
]  # fmt: skip
