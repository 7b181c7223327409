"""The release as a moving picture: the whole bow, nock and rest enlarged, the arrow's swing, and the forces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import text
from archerysim.show.motion.moving_shot import MovingShot, moving_shot
from archerysim.show.motion.release_forces import forces_of, row_words, rows
from archerysim.show.motion.scene import (
    HUGE,
    LARGE,
    LETTERS,
    SMALL,
    Line,
    Panel,
    Scene,
    Words,
    enlargement,
    fitted,
    one_figure,
    page,
    paler,
)
from archerysim.show.shots.bow import RISER
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

LASTS = 8.0  # of the shown shot, about [s]
BOW = (20.0, 88.0, 560.0, 617.0)
NOCK = (600.0, 130.0, 325.0, 230.0)
REST = (940.0, 130.0, 325.0, 230.0)
SWING = (600.0, 405.0, 665.0, 110.0)
FINE = 0.01  # last digit of the enlarged views [mm]
UPPER, LOWER, STRING, ARROW = (LOOKS[name].color for name in ("upper", "lower", "string", "arrow"))
PALE_ARROW = paler(ARROW, 0.35)


def release_scene(
    launch: Launch, *, left_handed: bool = False, frames: int | None = None, slow: float | None = None
) -> Scene:
    """A shot from full draw to clear.

    Parameters
    ----------
    launch : Launch
        With its trace.
    left_handed : bool
        Mirrored, the target to the left.
    frames : int, optional
        About how many instants; all that the trace keeps if left out.
    slow : float, optional
        How many times slower than real; by default so that it lasts about 8 s.

    Returns
    -------
    Scene
        Panels: bow, nock, rest and swing, then the three rows of forces, then the page's words. Lines named
        "upper limb", "lower limb", "string" and "arrow" of the first hold the launch's nodes [mm].

    Raises
    ------
    UsageError
        If the launch has no trace.
    """
    m = moving_shot(launch, frames)
    pictures: tuple[Panel, ...] = (_bow(launch, m), _near_nock(launch, m), _near_rest(launch, m), _swing(launch, m))
    if left_handed:
        pictures = tuple(one.mirrored() for one in pictures)
    phases, forces = _phases(launch, m), forces_of(launch, m)
    rest = tuple("rest, enlarged" if on else "rest: supports no longer" for on in m.supports)
    head = page(
        Words((20.0, 45.0), (f"{launch.setup.name}: the release",), LARGE, bold=True),
        Words((20.0, 76.0), (text.reading(launch.reading * MM, read_by(launch.setup)),), LETTERS),
        Words((1265.0, 60.0), tuple(f"{1e3 * t:.1f} ms" for t in m.time), HUGE, align="right", bold=True),
        Words((600.0, 60.0), phases, LARGE),
        Words((600.0, 119.0), ("nock, enlarged",), LETTERS),
        Words((940.0, 119.0), rest, LETTERS),
        *row_words(m.time, forces),
    )
    return Scene(
        title=f"{launch.setup.name}: the release", time=m.time, unit="ms", phases=phases,
        panels=(*pictures, *rows(m.time, forces), head), slow=slow or one_figure(LASTS / float(m.time[-1])),
        notes=_notes(launch),
    )  # fmt: skip


def _notes(launch: Launch) -> tuple[str, ...]:
    """The launch's warnings; what happened at the rest in one sentence."""
    from archerysim.shot.warnings import NONE

    warnings = [one for one in launch.warnings if one != NONE]
    if not launch.events:
        return tuple(warnings)
    at = 1e3 * launch.timeline.on_rest_again
    what = f"touches the rest again at {at:.0f} ms" if np.isfinite(at) else "would touch the rest again, had it stayed"
    return (*warnings, f"In this computation the shaft {what}; how a real shaft fares, powder on the rest tells.")


def _phases(launch: Launch, m: MovingShot) -> tuple[str, ...]:
    """What goes on at each instant."""
    at = launch.timeline
    phases = []
    for k, time in enumerate(m.time):
        if k == 0:
            phases.append("full draw")
        elif k == m.time.size - 1:
            phases.append("clear")
        elif time > at.separation:
            phases.append("arrow is off the string")
        else:
            phases.append("bow drives the arrow" if time >= at.fingers.off else "fingers let go")
    return tuple(phases)


def _fingers(m: MovingShot, points: np.ndarray, radius: float, digit: float) -> list[Line]:
    return [
        Line(
            name, points[:, k : k + 1], LOOKS["fingers"].color, radius=radius, show=m.held[:, k], digit=digit,
        )
        for k, name in enumerate(("index", "middle", "ring"))
    ]  # fmt: skip


def _bar(x: float, y: float, length: float, text: str, width: float, drop: float) -> tuple[Line, Words]:
    """A scale bar ending at (x, y), its words ``drop`` above."""
    line = Line("scale bar", np.array([[x - length, y], [x, y]]), INK, width)
    return line, Words((x - 0.5 * length, y + drop), (text,), SMALL, align="center")


def _bow(launch: Launch, m: MovingShot) -> Panel:
    """The whole bow."""
    marks = launch.braced.marks
    window = fitted(BOW, m.nodes, 0.03)
    mm = BOW[2] / (window[1] - window[0])
    bar, words = _bar(window[1] - 12.0 / mm, window[2] + 14.0 / mm, 500.0, "500 mm", 4.0, 8.0 / mm)
    root = m.nodes[0, [marks.root_u, marks.root_l]]
    lines = (
        Line("riser", m.riser, RISER, 14.0),
        Line("upper limb", m.nodes[:, marks.root_u : marks.tip_u + 1], UPPER, 5.0),
        Line("lower limb", m.nodes[:, marks.tip_l : marks.root_l + 1], LOWER, 5.0),
        Line("string", m.string, STRING, 2.0),
        Line("arrow", m.nodes[:, marks.tail :], ARROW, 5.0),
        Line("rest", m.rest, LOOKS["rest"].color, filled=True),
        *_fingers(m, m.fingers, 6.0, 0.1),
        bar,
    )
    names = tuple(
        Words((x + 40.0, y + side * 60.0), (text,), LETTERS, color)
        for (x, y), side, text, color in zip(root, (1, -1), ("upper limb", "lower limb"), (UPPER, LOWER), strict=True)
    )
    return Panel(BOW, _four(window), lines, (*names, words))


def _aimed(launch: Launch, m: MovingShot, points: np.ndarray) -> np.ndarray:
    """Points along and above the arrow's line at full draw, from the nock's place there [mm]."""
    c, s = np.cos(np.radians(launch.aim_angle)), np.sin(np.radians(launch.aim_angle))
    out: np.ndarray = (points - m.nodes[0, launch.braced.marks.tail]) @ np.array([[c, -s], [s, c]])
    return out


def _close_up(launch: Launch, m: MovingShot, begin: np.ndarray, per_mm: float, level: Line) -> list[Line]:
    """String, nock and arrow large, in the aim frame, each instant counted from ``begin`` (f, 2)."""
    from archerysim.equipment import filled

    full = filled(launch.setup)
    braced = launch.braced

    def seen(points: np.ndarray) -> np.ndarray:
        out: np.ndarray = _aimed(launch, m, points) - begin[:, None]
        return out

    place = braced.string_place - braced.throat
    near = np.flatnonzero(np.abs(place) < 150.0 * MM) + braced.marks.tip_u
    near = np.arange(max(near[0] - 1, braced.marks.tip_u), min(near[-1] + 1, braced.marks.tip_l) + 1)
    lines = [
        Line("shaft", seen(m.shaft), PALE_ARROW, full.arrow.diameter / MM * per_mm, digit=FINE),
        Line("nock", seen(m.nock), PALE_ARROW, filled=True, digit=FINE),
        level,
        Line("floor", seen(m.floor), ARROW, 5.0, digit=FINE),
        Line("string", seen(m.nodes[:, near]), STRING, 3.0, digit=FINE),
    ]
    ends = seen(m.locators)
    for k in range(0, ends.shape[1], 2):
        lines += [
            Line("locator", ends[:, k : k + 2], color, width, digit=FINE)
            for color, width in ((INK, 13.0), (LOOKS["locators"].color, 10.0))
        ]
    return lines


def _level(window: tuple[float, ...]) -> Line:
    """The arrow's line at full draw."""
    return Line("line at full draw", np.array([[window[0], 0.0], [window[1], 0.0]]), FAINT, 1.5, (8.0, 6.0))


def _near_nock(launch: Launch, m: MovingShot) -> Panel:
    """A view that goes along with the nock, but not up and down with it."""
    tail = _aimed(launch, m, m.nodes[:, launch.braced.marks.tail])
    begin = np.column_stack((tail[:, 0], np.zeros(m.time.size)))
    per_mm = 4.0
    half = 0.5 * np.array(NOCK[2:]) / per_mm
    window = (-half[0], half[0], -half[1], half[1])
    bar, words = _bar(half[0] - 3.0, -half[1] + 3.0, 10.0, "10 mm", 4.0, 2.0)
    lines = _close_up(launch, m, begin, per_mm, _level(window))
    lines += _fingers(m, _aimed(launch, m, m.fingers) - begin[:, None], 26.0, FINE)
    names = (
        Words((3.0 - half[0], half[1] - 6.5), ("string",), SMALL, STRING),
        Words((3.0 - half[0], 3.0 - half[1]), tuple("fingers" if one.any() else "" for one in m.held), SMALL),
        Words((half[0] - 3.0, 12.0), ("arrow",), SMALL, ARROW, "right"),
        Words((9.0, 5.0), ("locators" if m.locators.shape[1] > 2 else "locator",), SMALL),
    )
    return Panel(NOCK, window, (*lines, bar), (words, *names), True)


def _near_rest(launch: Launch, m: MovingShot) -> Panel:
    """A view that stands still where the rest is at full draw."""
    spot = _aimed(launch, m, m.on_rest)
    begin = np.tile([spot[0, 0], 0.0], (m.time.size, 1))
    per_mm = 6.0
    half = 0.5 * np.array(REST[2:]) / per_mm
    window = (-half[0], half[0], -half[1], half[1])
    rest = _aimed(launch, m, m.rest) - begin[:, None]
    bar, words = _bar(half[0] - 2.0, -half[1] + 2.0, 10.0, "10 mm", 4.0, 1.3)
    lines = [
        Line("rest", rest, LOOKS["rest"].color, filled=True, show=np.where(m.supports, 1.0, 0.25), digit=FINE),
        *_close_up(launch, m, begin, per_mm, _level(window)),
        bar,
    ]
    name = Words((2.0 - half[0], 2.0 - half[1]), ("rest",), SMALL, LOOKS["rest"].color)
    return Panel(REST, window, tuple(lines), (words, name), True)


def _swing(launch: Launch, m: MovingShot) -> Panel:
    """The whole arrow beside its line at full draw, up and down enlarged."""
    arrow = _aimed(launch, m, m.nodes[:, launch.braced.marks.tail :])
    spot = _aimed(launch, m, m.on_rest)[:, None]
    begin = np.stack((arrow[:, 0, 0], np.zeros(m.time.size)), axis=-1)[:, None]
    arrow, spot = arrow - begin, spot - begin
    length = float(arrow[..., 0].max())
    left, right = -0.06 * length, 1.04 * length
    per_mm = SWING[2] / (right - left)
    low, high = min(float(arrow[..., 1].min()), 0.0), max(float(arrow[..., 1].max()), 0.0)
    times = enlargement(0.85 * SWING[3] / per_mm / (high - low))
    half = 0.5 * SWING[3] / per_mm / times
    middle = 0.5 * (low + high)
    window = (left, right, middle - half, middle + half)
    lines = (
        _level(window),
        Line("rest touches", spot, LOOKS["rest"].color, radius=7.0, show=np.where(m.supports, 1.0, 0.25), digit=FINE),
        Line("arrow", arrow, ARROW, 6.0, digit=FINE),
    )
    text = f"the arrow against its line at full draw, up-down x{times}"
    words = Words((left, window[3] + 9.0 / per_mm / times), (text,), LETTERS)
    dot = "dot: where the shaft's axis lies when it just touches the rest"
    below = Words((left, window[2] - 19.0 / per_mm / times), (dot,), SMALL, LOOKS["rest"].color)
    return Panel(SWING, window, lines, (words, below), True)


def _four(window: tuple[float, ...]) -> tuple[float, float, float, float]:
    left, right, bottom, top = window
    return float(left), float(right), float(bottom), float(top)
