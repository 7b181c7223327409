"""The release as a moving picture: the whole bow, nock and rest enlarged, the arrow's swing, and the forces.

In both planes the rest is looked at along the shaft, and the arrow's swing is shown from above too.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.show import text
from archerysim.show.motion.from_behind import from_behind
from archerysim.show.motion.moving_shot import MovingShot, aimed, moving_shot
from archerysim.show.motion.release_forces import Place, forces_of, rows
from archerysim.show.motion.scene import (
    DASHED,
    HUGE,
    LARGE,
    LETTERS,
    SMALL,
    Box,
    Key,
    Line,
    Panel,
    Scene,
    Words,
    fitted,
    level_line,
    one_figure,
    page,
    paler,
    scale_bar,
)
from archerysim.show.motion.swing import swing, swing_in_both
from archerysim.show.motion.texts import said
from archerysim.show.shots.bow import RISER
from archerysim.show.shots.passing import how_known
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

LASTS = 8.0  # of the shown shot, about [s]
FINE = 0.01  # last digit of the enlarged views [mm]
UPPER, LOWER, STRING, ARROW = (LOOKS[name].color for name in ("upper", "lower", "string", "arrow"))
PALE_ARROW = paler(ARROW, 0.35)


class Layout(NamedTuple):
    """Boxes of the panels on the page: left, top, width and height."""

    bow: Box
    nock: Box
    rest: Box
    swing: Box
    above: Box  #: only in both planes
    rows: Place


FLAT = Layout(
    (20.0, 88.0, 560.0, 617.0), (600.0, 130.0, 325.0, 230.0), (940.0, 130.0, 325.0, 230.0),
    (600.0, 405.0, 665.0, 110.0), (0.0, 0.0, 0.0, 0.0), Place(600.0, (760.0, 543.0, 380.0, 40.0), 46.0),
)  # fmt: skip
BOTH = Layout(
    FLAT.bow, (600.0, 122.0, 325.0, 165.0), (940.0, 122.0, 325.0, 165.0),
    (600.0, 322.0, 665.0, 82.0), (600.0, 438.0, 665.0, 82.0), Place(600.0, (830.0, 533.0, 265.0, 34.0), 39.0),
)  # fmt: skip


def release_scene(
    launch: Launch, *, left_handed: bool | None = None, frames: int | None = None, slow: float | None = None
) -> Scene:
    """A shot from full draw to clear.

    Parameters
    ----------
    launch : Launch
        With its trace.
    left_handed : bool, optional
        Mirrored, the target to the left; by default as ``archer.handed`` says.
    frames : int, optional
        About how many instants; all that the trace keeps if left out.
    slow : float, optional
        How many times slower than real; by default so that it lasts about 8 s.

    Returns
    -------
    Scene
        Panels: bow, nock, rest and swing, in both planes the swing from above, then the rows of forces, then the page's
        words. Lines named "upper limb", "lower limb", "string" and "arrow" of the first hold the launch's nodes [mm].

    Raises
    ------
    UsageError
        If the launch has no trace.
    """
    m = moving_shot(launch, frames)
    if left_handed is None:
        left_handed = text.away(launch.setup) == "right"
    place = FLAT if launch.planes == 1 else BOTH
    pictures: tuple[Panel, ...] = (_bow(launch, m, place.bow), _near_nock(launch, m, place.nock))
    if launch.planes == 1:
        pictures += (_near_rest(launch, m, place.rest), swing(launch, m, place.swing))
        rest = tuple(said("rest_enlarged" if on else "rest_idle") for on in m.supports)
    else:
        away = "right" if left_handed else "left"
        pictures += (
            from_behind(launch, m, place.rest, away), *swing_in_both(launch, m, place.swing, place.above, away)
        )  # fmt: skip
        rest = (said("from_behind"),)
    if left_handed:
        pictures = tuple(one.mirrored() for one in pictures)
    pictures = (
        _titled(pictures[0], (said("whole_bow"),), on_page_alone=True),
        _titled(pictures[1], (said("nock_enlarged"),)), _titled(pictures[2], rest), *pictures[3:],
    )  # fmt: skip
    phases, forces = _phases(launch, m), forces_of(launch, m)
    title = said("title_release", name=launch.setup.name)
    reading = text.reading(launch.reading * MM, read_by(launch.setup))
    head = page(
        Words((20.0, 45.0), (title,), LARGE, bold=True, part="head"),
        Words((20.0, 76.0), (reading,), LETTERS, part="head"),
        Words(
            (1265.0, 60.0), tuple(f"{1e3 * t:.1f} ms" for t in m.time), HUGE, align="right", bold=True, part="head"
        ),
        Words((place.nock[0], 60.0), phases, LARGE, part="head"),
    )  # fmt: skip
    return Scene(
        title=title, time=m.time, unit="ms", phases=phases, reading=reading,
        panels=(*pictures, *rows(m.time, forces, place.rows), head), slow=slow or one_figure(LASTS / float(m.time[-1])),
        notes=(*_notes(launch), *([said("mirrored")] if left_handed else [])),
    )  # fmt: skip


def _notes(launch: Launch) -> tuple[str, ...]:
    """The launch's warnings; how well left and right are known; what happened at rest and side support."""
    from archerysim.shot.warnings import NONE

    notes = [one for one in launch.warnings if one != NONE] + ([how_known(launch)] if launch.planes == 2 else [])
    if not launch.events:
        return tuple(notes)
    at = launch.timeline
    happened = [
        said(what, time=f"{1e3 * time:.0f}")
        for what, time in (
            ("touched_again", at.on_rest_again), ("arm_struck", at.arm_struck), ("tail_touched", at.tail_touches),
        )
        if np.isfinite(time)
    ]  # fmt: skip
    return (*notes, said("happened", what=" and ".join(happened) or said("had_it_stayed")))


def _phases(launch: Launch, m: MovingShot) -> tuple[str, ...]:
    """What goes on at each instant."""
    at = launch.timeline
    phases = []
    for k, time in enumerate(m.time):
        if k == 0:
            phases.append(said("full_draw"))
        elif k == m.time.size - 1:
            phases.append(said("clear"))
        elif time > at.separation:
            phases.append(said("off"))
        else:
            phases.append(said("driven" if time >= at.fingers.off else "let_go"))
    return tuple(phases)


def _fingers(m: MovingShot, points: np.ndarray, radius: float, digit: float) -> list[Line]:
    return [
        Line(
            name, points[:, k : k + 1], LOOKS["fingers"].color, radius=radius, show=m.held[:, k], digit=digit,
        )
        for k, name in enumerate(("index", "middle", "ring"))
    ]  # fmt: skip


def _bow(launch: Launch, m: MovingShot, box: Box) -> Panel:
    """The whole bow."""
    marks = launch.braced.marks
    window = fitted(box, m.nodes, 0.03)
    mm = box[2] / (window[1] - window[0])
    bar, words = scale_bar(window[1] - 12.0 / mm, window[2] + 14.0 / mm, 500.0, "500 mm", 4.0, 8.0 / mm)
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
        for (x, y), side, text, color in zip(
            root, (1, -1), (said("upper_limb"), said("lower_limb")), (UPPER, LOWER), strict=True
        )
    )
    keys = (
        Key(said("upper_limb"), UPPER), Key(said("lower_limb"), LOWER), Key(said("string"), STRING),
        Key(said("arrow"), ARROW), Key(said("fingers"), LOOKS["fingers"].color, dot=True),
    )  # fmt: skip
    return Panel(box, _four(window), lines, (*names, words), keys=keys)


def _close_up(launch: Launch, m: MovingShot, begin: np.ndarray, per_mm: float, level: Line) -> list[Line]:
    """String, nock and arrow large, in the aim frame, each instant counted from ``begin`` (f, 2)."""
    from archerysim.equipment import filled

    full = filled(launch.setup)
    braced = launch.braced

    def seen(points: np.ndarray) -> np.ndarray:
        out: np.ndarray = aimed(launch, m, points) - begin[:, None]
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


def _near_nock(launch: Launch, m: MovingShot, box: Box) -> Panel:
    """A view that goes along with the nock, but not up and down with it."""
    tail = aimed(launch, m, m.nodes[:, launch.braced.marks.tail])
    begin = np.column_stack((tail[:, 0], np.zeros(m.time.size)))
    per_mm = 4.0
    half = 0.5 * np.array(box[2:]) / per_mm
    window = (-half[0], half[0], -half[1], half[1])
    bar, words = scale_bar(half[0] - 3.0, -half[1] + 3.0, 10.0, "10 mm", 4.0, 2.0)
    lines = _close_up(launch, m, begin, per_mm, level_line(window))
    lines += _fingers(m, aimed(launch, m, m.fingers) - begin[:, None], 26.0, FINE)
    locators = said("locators" if m.locators.shape[1] > 2 else "locator")
    names = (
        Words((3.0 - half[0], half[1] - 6.5), (said("string"),), SMALL, STRING),
        Words((3.0 - half[0], 3.0 - half[1]), tuple(said("fingers") if one.any() else "" for one in m.held), SMALL),
        Words((half[0] - 3.0, 12.0), (said("arrow"),), SMALL, ARROW, "right"),
        Words((9.0, 5.0), (locators,), SMALL),
    )
    keys = (
        Key(said("string"), STRING), Key(said("nock"), ARROW), Key(locators, LOOKS["locators"].color, dot=True),
        Key(said("fingers"), LOOKS["fingers"].color, dot=True), Key(said("line_at_full_draw"), FAINT, DASHED),
    )  # fmt: skip
    return Panel(box, window, (*lines, bar), (words, *names), True, keys)


def _near_rest(launch: Launch, m: MovingShot, box: Box) -> Panel:
    """A view that stands still where the rest is at full draw."""
    spot = aimed(launch, m, m.on_rest)
    begin = np.tile([spot[0, 0], 0.0], (m.time.size, 1))
    per_mm = 6.0
    half = 0.5 * np.array(box[2:]) / per_mm
    window = (-half[0], half[0], -half[1], half[1])
    rest = aimed(launch, m, m.rest) - begin[:, None]
    bar, words = scale_bar(half[0] - 2.0, -half[1] + 2.0, 10.0, "10 mm", 4.0, 1.3)
    lines = [
        Line("rest", rest, LOOKS["rest"].color, filled=True, show=np.where(m.supports, 1.0, 0.25), digit=FINE),
        *_close_up(launch, m, begin, per_mm, level_line(window)),
        bar,
    ]
    name = Words((2.0 - half[0], 2.0 - half[1]), (said("rest"),), SMALL, LOOKS["rest"].color)
    keys = (
        Key(said("rest"), LOOKS["rest"].color), Key(said("shaft"), PALE_ARROW),
        Key(said("line_at_full_draw"), FAINT, DASHED),
    )  # fmt: skip
    return Panel(box, window, tuple(lines), (words, name), True, keys)


def _titled(panel: Panel, titles: tuple[str, ...], on_page_alone: bool = False) -> Panel:
    """With a title above."""
    left, _, low, high = panel.window
    up = high + 11.0 * (high - low) / panel.box[3]
    title = Words((left, up), ("",) if on_page_alone else titles, LETTERS, part="title", whole=titles)
    return replace(panel, words=(*panel.words, title))


def _four(window: tuple[float, ...]) -> tuple[float, float, float, float]:
    left, right, bottom, top = window
    return float(left), float(right), float(bottom), float(top)
