"""Names of the places in what the release writes."""

from __future__ import annotations

# columns of a trace
TRACE = (
    "time",
    "edge_upper",
    "edge_lower",
    "locator",
    "rest",
    "tension_upper",
    "tension_lower",
    "tail_x",
    "tail_y",
    "centre_x",
    "centre_y",
    "velocity_x",
    "velocity_y",
    "pitch",
    "pitch_rate",
    "riser_x",
    "riser_y",
    "riser_pitch",
    "advance_upper",
    "advance_lower",
    "offset",
)
TIME, EDGE_UPPER, EDGE_LOWER, LOCATOR, REST_PUSH, TENSION_UPPER, TENSION_LOWER = range(0, 7)
TAIL_X, TAIL_Y, CENTRE_X, CENTRE_Y, VELOCITY_X, VELOCITY_Y, PITCH, PITCH_RATE = range(7, 15)
RISER_X, RISER_Y, RISER_PITCH, ADVANCE_UPPER, ADVANCE_LOWER, LOCATOR_OFFSET = range(15, 21)
# energies gone to (or come from) each part since the release began [J]
WORK = ("string", "limbs", "arrow", "nock", "locators", "rest", "hand", "fingers", "support_end")
TO_STRING, TO_LIMBS, TO_ARROW, TO_NOCK, TO_LOCATORS, TO_REST, TO_HAND, TO_FINGERS, TO_SUPPORT_END = range(len(WORK))
# what is known of a moment besides the nodes: time, the riser's pose and rates, then the works
AT, POSE, RATE, WORKS = 0, 1, 4, 7
MOMENT = WORKS + len(WORK)
# whole numbers of a shot: steps, rows of the trace, pictures, times the shaft came down on the rest again
STEPS, ROWS, FRAMES, STRIKES = range(4)
COUNTS = 4
# notes of a shot
REST_LEFT_TIME = 0  # time the rest was left [s]
LEAST_GAP = 1  # least gap after the support ended [m]
SUPPRESSED_STRIKE = 2  # deepest strike after it [m]
ENERGY_LEFT = 3  # in the rest when its support ended [J]
LARGEST_EDGE = 4  # force of an edge [N]
STRIKE_TIME = 5  # of the second strike, or nan [s]
REST_LEFT_TRAVEL, STRIKE_TRAVEL = 6, 7  # of the throat at the first and at the last of these times [m]
STRIKE_DEPTH = 8  # how deep the shaft pressed the rest from the second strike on, while supported, or nan [m]
NOTES = 9
SEPARATION, CLEAR = 0, 1  # rows of states and moments
