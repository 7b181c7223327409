"""Where the arrow lands, and a bare shaft beside fletched ones, in a dozen lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show.answers.bow import locator_words
from archerysim.show.answers.shot import WHY_NOT, attack_words, touching
from archerysim.show.flights.table import LEVEL
from archerysim.show.lines import edit_lines
from archerysim.show.shots.passage_table import NO_SHOT_BEFORE, TURN_ROUND
from archerysim.show.style import INCH, MM
from archerysim.show.text import away, number, other, speed, tail, told, turning, with_warnings

if TYPE_CHECKING:
    from archerysim.shot.flight.bare_shaft import BareDifference
    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.side_gap import SideGapChange
    from archerysim.shot.launch import Launch

CM = 1e-2  # [m]


def flight_answer(
    launch: Launch, flight: Flight, apart: BareDifference, taped: bool = True, given: str | None = None,
    change: SideGapChange | None = None, paper: str = "",
) -> str:  # fmt: skip
    """Where a bare shaft lands beside fletched ones, how the arrow arrives, and its swing on the way.

    Parameters
    ----------
    launch : Launch
    flight : Flight
        Of the fletched or the bare arrow.
    apart : BareDifference
        At the same distance.
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    given : str, optional
        The distance as it was given.
    change : SideGapChange, optional
        What the changes on the bow do to left and right of the bare shaft.
    paper : str
        How it tears a sheet of paper; "" where nobody asked.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import with_more

    clear, tape = launch.clear, "taped" if taped else "not taped"
    which = "fletched" if flight.fletched else f"bare, {tape}"
    lines = [f"{launch.setup.name}: to {target_distance(flight.distance, given)}, {which}", *edit_lines(launch.edits)]
    lines += told(
        [
            ("bare shaft", _bare(apart, tape)),
            ("sideways", bare_sideways_words(launch, change) if launch.planes == 2 else ""),
            ("clearance", touching(launch)),
            ("lands", _ground(flight)),
            ("arrives", f"after {number(flight.time_of_flight, 's', 3)} at {speed(float(flight.speed[-1]))}"),
            ("sight", f"aim line {number(flight.elevation, 'deg', 2, True)} to the horizontal, up +"),
            ("leaves", f"{tail(clear.pitch)}, {turning(clear.pitch_rate)}"),
            ("attack", attack_words(clear.angle_of_attack)),
            ("porpoising", _porpoising(flight)),
            ("paper", paper),
            ("locators", locator_words(launch.drawing.setup, launch.reading * MM)),
        ]
    )  # fmt: skip
    lines += ["  The whole flight, left and right of this one shot: --all", ""]
    sentences = with_more(launch.warnings, range_cautions(flight.distance, True, launch.setup.category))
    return with_warnings(lines, sentences, len(launch.limits_passed))


def _bare(apart: BareDifference, tape: str) -> str:
    """How high the bare shaft lands beside fletched ones."""
    words = "level with" if abs(apart.height) < LEVEL else f"{on_target(apart.height, 'high', 'low')} of"
    alone = on_target(apart.drag_and_mass, "high", "low")
    return f"{words} fletched ones, same sight, {tape}; drag and mass alone put it {alone}"


def _ground(flight: Flight) -> str:
    """Where an arrow ends that does not reach the target; "" where it does."""
    return "" if flight.reached else f"on the ground, {on_target(flight.impact_height, 'above', 'below')} the centre"


def on_target(value: float, above: str, below: str) -> str:
    """A distance on the target [m] in cm and inches, with a word for its sign."""
    return f"{abs(value) / CM:.1f} cm ({abs(value) / INCH:.1f} in) {above if value > 0.0 else below}"


def bare_sideways_words(launch: Launch, change: SideGapChange | None) -> str:
    """What the changes on the bow do to left and right of the bare shaft; without any, why nothing is told."""
    if change is None:
        return NO_SHOT_BEFORE if launch.edits else WHY_NOT
    text = "as before the changes"
    if abs(change.by) >= LEVEL:
        side = away(launch.setup)
        moved = on_target(change.by, f"to the {side}", f"to the {other(side)}")
        text = f"against the fletched ones the changes move the bare shaft {moved}"
    return f"{text}. The tail touches the side support: {TURN_ROUND}" if change.touches else text


def _porpoising(flight: Flight) -> str:
    """How far the swing is from turn to turn, and the largest angle of attack on the way."""
    largest = float(flight.angle_of_attack[np.abs(flight.angle_of_attack).argmax()])
    most = f"angle of attack {number(largest, 'deg', 2, True)} at most"
    if flight.swing.wavelength is None:
        return f"{most}; no swing to and fro within 120 m"
    return f"{most}; one swing up and down in {flight.swing.wavelength:.1f} m"
