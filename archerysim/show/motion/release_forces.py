"""The forces of a release as rows over time: fingers, string and rest; in both planes the side support too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from archerysim.show.motion.moving_shot import MovingShot, forces_at
from archerysim.show.motion.scene import SMALL, Line, Panel, Words
from archerysim.show.motion.texts import said
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

POINTS = 500  # of a force over time
RIGHT = 1265.0  # where the numbers end on the page
FINE = 0.01  # last digit [ms], [N]
STRING = LOOKS["string"].color


class Place(NamedTuple):
    """Where rows stand on the page: the names' left, the first row's box, from one to the next."""

    left: float
    first: tuple[float, float, float, float]
    step: float


@dataclass(frozen=True)
class Force:
    """One row: name, colour, digits told, force at the shown instants and at many instants [N]."""

    name: str
    color: str
    digits: int
    shown: np.ndarray
    course: np.ndarray


def forces_of(launch: Launch, m: MovingShot) -> tuple[Force, ...]:
    pull, push, rest, side = forces_at(launch, np.linspace(0.0, m.time[-1], POINTS))
    forces = (
        Force(said("fingers_hold"), LOOKS["fingers"].color, 0, m.finger_force, pull),
        Force(said("string_pushes"), STRING, 0, m.nock_force, push),
        Force(said("rest_pushes"), LOOKS["rest"].color, 2, m.rest_force, rest),
        Force(said("side_pushes"), LOOKS["side"].color, 2, m.side_force, side),
    )
    return forces if launch.planes == 2 else forces[:-1]


def rows(times: np.ndarray, forces: tuple[Force, ...], place: Place) -> list[Panel]:
    """Each force over time, drawn as far as the time has come; each row with its own scale, name and numbers."""
    now = 1e3 * times
    last = float(now[-1])
    time = np.linspace(0.0, last, POINTS)
    panels = []
    for k, one in enumerate(forces):
        high, low = 1.08 * max(float(one.course.max()), 1e-9), min(1.3 * float(one.course.min()), 0.0)
        area = np.column_stack((np.r_[time, last, 0.0], np.r_[one.course, 0.0, 0.0]))
        end = np.full(now.size, last)
        corners = ((now, low), (now, high), (end, high), (end, low))
        cover = np.stack([np.column_stack((x, np.full(now.size, y))) for x, y in corners], axis=1)
        lines = (
            Line(one.name, area, one.color, filled=True, digit=FINE),
            Line("to come", cover, "#ffffff", filled=True, show=0.8, digit=FINE),
            Line("zero", np.array([[0.0, 0.0], [last, 0.0]]), FAINT, 1.0),
            Line("now", cover[:, :2], INK, 2.0, digit=FINE),
        )
        left, top, wide, tall = place.first
        box, window = (left, top + k * place.step, wide, tall), (0.0, last, low, high)
        ticks = _ticks(last, window, place) if one is forces[-1] else ()
        panels.append(Panel(box, window, lines, (*_words(one, last, window, place), *ticks), course=True))
    return panels


def _words(force: Force, last: float, window: tuple[float, float, float, float], place: Place) -> tuple[Words, ...]:
    """A row's name and its numbers."""
    left, _, wide, _ = place.first
    _, _, low, high = window
    unit, at = last / wide, high - 0.7 * (high - low)
    full = round(float(force.course.max()), force.digits)
    numbers = tuple(
        said("force", now=f"{now + 0.0:.{force.digits}f}", most=f"{full:.{force.digits}f}")
        for now in np.round(force.shown, force.digits)
    )
    return (
        Words(((place.left - left) * unit, at), (force.name,), part="title"),
        Words(((RIGHT - left) * unit, at), numbers, align="right", part="told"),
    )


def _ticks(last: float, window: tuple[float, float, float, float], place: Place) -> tuple[Words, ...]:
    """The time scale below the last row."""
    _, _, low, high = window
    down = low - (high - low) * (place.step - place.first[3] + 14.0) / place.first[3]
    return tuple(
        Words((t, down), (f"{t:.0f} ms" if t == 0.0 else f"{t:.0f}",), SMALL, align="center", part="tick")
        for t in np.arange(0.0, last, 5.0 if last < 40.0 else 10.0)
    )
