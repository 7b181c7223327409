"""A flight as plain text: launch, target, swing, and bare beside fletched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show.flights.paper import tear_aside, tear_up
from archerysim.show.lines import reading_lines
from archerysim.show.style import INCH, MM
from archerysim.show.text import away, number, other, pairs, speed, titled, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.shot.flight.bare_shaft import BareDifference
    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.paper import PaperTear
    from archerysim.shot.flight.swing import Swing
    from archerysim.shot.launch import Launch

LEVEL = 0.5 * MM  # heights under this are said to be level
KNOWN_BADLY = (
    "All of this depends on how the fingers roll off the string, which is poorly known until groups of bare shafts "
    "have fixed it; what a change (--set) does to it is known better."
)


def flight_table(
    launch: Launch, flight: Flight, apart: BareDifference, taped: bool = True, given: str | None = None,
    paper: PaperTear | None = None,
) -> str:  # fmt: skip
    """One flight to the target, and where a bare shaft lands beside fletched ones there.

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
    paper : PaperTear, optional
        How it tears a sheet of paper.

    Returns
    -------
    str
        Limits that are passed on top; at the end the other warnings and the cautions about bare and far shots.
    """
    from archerysim.shot.flight.range_cautions import range_cautions
    from archerysim.shot.warnings import with_more

    clear = launch.clear
    tape = "taped" if taped else "not taped"
    which = "fletched" if flight.fletched else f"bare, {tape}"
    far = target_distance(flight.distance, given)
    lines = [f"{launch.setup.name}: to {far}, {which}", ""]
    lines += titled(
        "As it leaves the bow, at clear, against the aim line",
        pairs(
            [
                ("speed", speed(clear.speed)),
                ("vertical velocity, up +", number(clear.vertical_velocity, "m/s", 3, True)),
                ("pitch, nose up +", number(clear.pitch, "deg", 3, True)),
                ("pitch rate, nose up +", number(clear.pitch_rate, "rad/s", 3, True)),
                ("angle of attack, nose up +", number(clear.angle_of_attack, "deg", 3, True)),
            ]
        ),
    )
    readings = reading_lines(launch.reading, launch.reading_top, launch.axis_above_square)
    lines += titled("Locators, by the square", readings)
    lines += titled("Flight", _flight(flight))
    lines += titled(f"Bare shaft, {tape}, beside fletched ones at {far}, same sight", _apart(apart))
    if paper:
        lines += titled("Through paper", wrapped(tear_up(paper)))
    if launch.planes == 2:
        lines += titled("Left and right", [*_left_and_right(launch, flight, apart, paper), *wrapped(KNOWN_BADLY)])
    if launch.events:
        lines += titled("On the way out of the bow", wrapped("; ".join(launch.events)))
    sentences = with_more(launch.warnings, range_cautions(flight.distance, True, launch.setup.category))
    return with_warnings(lines, sentences, len(launch.limits_passed))


def height(value: float) -> str:
    """A height on the target [m] in mm and inches, with high or low in a word."""
    word = "level" if abs(value) < LEVEL else "high" if value > 0.0 else "low"
    return f"{number(value / MM, 'mm', 1, True)} ({number(value / INCH, 'in', 2, True)}), {word}"


def aside(value: float, side: str) -> str:
    """A place beside another on the target [m] in mm and inches, ``side`` positive."""
    where = side if value > 0.0 else other(side)
    return f"{number(abs(value) / MM, 'mm', 1)} ({number(abs(value) / INCH, 'in', 2)}) to the {where}"


def _left_and_right(
    launch: Launch, flight: Flight, apart: BareDifference, paper: PaperTear | None
) -> list[str]:  # fmt: skip
    """Sight, bare shaft and swing seen from above."""
    side = away(launch.setup)
    largest = float(flight.side_angle_of_attack[np.abs(flight.side_angle_of_attack).argmax()])
    return pairs(
        [
            (f"sight's aim line, {side} +", number(flight.windage, "deg", 3, True)),
            ("bare beside fletched", aside(apart.side, side)),
            (
                f"side angle of attack at clear, nose {side} +",
                number(launch.clear.side_angle_of_attack, "deg", 3, True),
            ),
            ("largest side angle of attack", number(largest, "deg", 2, True)),
            *_swing(flight.side_swing, "left and right"),
            *([("through paper", tear_aside(paper, launch.setup))] if paper else ()),
        ]
    )


def _flight(flight: Flight) -> list[str]:
    largest = float(flight.angle_of_attack[np.abs(flight.angle_of_attack).argmax()])
    way = "point above the target's centre" if flight.reached else "point where the flight ends on the ground"
    return pairs(
        [
            ("elevation of the aim line", number(flight.elevation, "deg", 3, True)),
            ("time of flight, from clear", number(flight.time_of_flight, "s", 3)),
            ("speed at the target", speed(float(flight.speed[-1]))),
            (way, height(flight.impact_height)),
            ("direction there, up +", number(flight.impact_angle, "deg", 2, True)),
            ("largest angle of attack", number(largest, "deg", 2, True)),
            *_swing(flight.swing, "up and down"),
        ]
    )


def _swing(swing: Swing, way: str) -> list[tuple[str, str]]:
    if swing.wavelength is None:
        return [(f"swing, {way}", "none to and fro within 120 m")]
    decay = "-" if swing.decay_length is None else f"{swing.decay_length:.1f} m"
    return [(f"swing, one {way} in", f"{swing.wavelength:.1f} m"), ("swing falls to 1/e in", decay)]


def _apart(apart: BareDifference) -> list[str]:
    return pairs(
        [
            ("bare above fletched", height(apart.height)),
            ("  of it by drag and mass", f"{number(apart.drag_and_mass / MM, 'mm', 1, True)}; there with any launch"),
            ("  of it by launch and lift", number(apart.swing / MM, "mm", 1, True)),
        ]
    )
