"""The flight as a moving picture: the way to the target with the drop taken out, and each arrow close."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.fields.units import target_distance
from archerysim.show import text
from archerysim.show.flights.looks import looks_of, numbered
from archerysim.show.motion.flight_outline import drop_path, ends_of, placed, state_of
from archerysim.show.motion.scene import (
    DASHED,
    HUGE,
    LARGE,
    LETTERS,
    SMALL,
    Key,
    Line,
    Panel,
    Scene,
    Words,
    enlargement,
    one_figure,
    page,
)
from archerysim.show.motion.short_names import cut, short
from archerysim.show.motion.texts import said
from archerysim.show.style import FAINT, INK, MM
from archerysim.show.text_widths import text_width

if TYPE_CHECKING:
    from archerysim.shot.flight.bare_shaft import BareDifference
    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing_free import QuietPath

LASTS = 8.0  # of the shown flight, about [s]
FRAMES = 161
MOST = 3  # flights in one picture
WAY = (20.0, 130.0, 1240.0, 345.0)
CLOSE_TOP, CLOSE_HEIGHT = 560.0, 130.0
KEYS = 193.0  # from key to key, so that the third ends before the word of the target
TITLE = 640.0  # room left of the numbers
DASHES = {  # of the trails of arrows of one kind
    True: ((), (14.0, 6.0), (2.0, 5.0)),
    False: ((), (20.0, 6.0), (4.0, 8.0)),
}
VANE = np.array([(0.025, 0.0), (0.03, 0.012), (0.05, 0.010), (0.085, 0.0)])  # before the throat, for the picture [m]
GHOST_STEP = 2.0  # between two shafts that stay to be seen, in arrow lengths
FINE = 1e-4  # last digit [m]


def flight_scene(
    flights: Flight | BareDifference | Sequence[Flight],
    *,
    names: Sequence[str] | None = None,
    left_handed: bool | None = None,
    frames: int | None = None,
    slow: float | None = None,
) -> Scene:
    """One to three flights to the same target.

    Parameters
    ----------
    flights : Flight, BareDifference or sequence of Flight
    names : sequence of str, optional
        Of the flights; "fletched" and "bare" if left out.
    left_handed : bool, optional
        Mirrored, the target to the left; by default as the flights' archer draws.
    frames : int, optional
        Instants, evenly spaced.
    slow : float, optional
        How many times slower than real; by default so that it lasts about 8 s.

    Returns
    -------
    Scene
        Panels: the way, one close-up for each flight, then the page's words. Lines named "shaft, NAME" of the first
        hold tail and nose [m]: distance, and height above the path that gravity and drag alone would make.

    Raises
    ------
    UsageError
        If there are no flights or too many, names do not fit, or the distances differ.
    """
    from archerysim.shot.flight.range_cautions import range_cautions

    shown = _several(flights)
    called = _names(shown, names)
    time = np.linspace(0.0, max(one.time_of_flight for one in shown), frames or FRAMES)
    path = drop_path(next((one for one in shown if one.fletched), shown[0]))
    pictures: tuple[Panel, ...] = (_way(shown, called, path, time), *_close(shown, called, time))
    if left_handed is None:
        left_handed = shown[0].handed == "left"
    if left_handed:
        pictures = tuple(one.mirrored() for one in pictures)
    last = shown[0].distance
    nose = np.max([ends_of(one, time)[:, 1, 0] for one in shown], axis=0)
    phases = ("",) * (time.size - 1) + (_landed(shown, called),)
    bow, reading = (
        _if_the_same(shown, "name"),
        _if_the_same(shown, "reading") if _if_the_same(shown, "by") is not None else None,
    )
    title = said("title_flight", name=bow or ", ".join(called), distance=f"{last:g} m")
    ending = f": {last:g} m"
    above = cut(title.removesuffix(ending), TITLE - text_width(ending, LARGE, True), LARGE, True) + ending
    samples, labels = _key(shown, called, 150.0 if left_handed else 560.0)
    told = text.reading(reading * MM, shown[0].by) if reading is not None else ""
    way = tuple(f"{x:.1f} m" for x in nose)
    head = page(
        Words((20.0, 35.0), (above,), LARGE, bold=True, part="head"),
        Words((20.0, 62.0), (told,), LETTERS, part="head"),
        Words((20.0, 93.0), phases, LARGE, part="head"),
        Words((900.0, 60.0), way, HUGE, align="right", bold=True, part="head"),
        Words((1265.0, 60.0), tuple(f"{t:.2f} s" for t in time), HUGE, align="right", bold=True, part="head"),
        Words((900.0, 82.0), (said("distance_of_point"),), SMALL, align="right", part="head"),
        Words((1265.0, 82.0), (said("time_word"),), SMALL, align="right", part="head"),
        *labels,
        lines=samples,
    )
    notes = range_cautions(last, not all(one.fletched for one in shown), shown[0].category)
    return Scene(
        title=title, time=time, unit="s", phases=phases, panels=(*pictures, head),
        slow=slow or one_figure(LASTS / float(time[-1])), reading=told, way=way,
        notes=(*notes, *([said("mirrored")] if left_handed else [])),
    )  # fmt: skip


def _if_the_same(shown: list[Flight], what: str) -> Any:
    """Name or reading of the bow where it is the same for all flights; else nothing."""
    values = {getattr(flight, what) for flight in shown}
    value = values.pop()
    return None if values or (isinstance(value, float) and not math.isfinite(value)) else value


def _several(flights: Any) -> list[Flight]:
    if hasattr(flights, "bare"):
        flights = (flights.fletched, flights.bare)
    shown = [flights] if hasattr(flights, "time_of_flight") else list(flights)
    if not 1 <= len(shown) <= MOST:
        raise UsageError("flights", f"{len(shown)} given", f"give 1 to {MOST}")
    far = sorted({one.distance for one in shown})
    if len(far) > 1:
        raise UsageError(
            "flights", f"to {target_distance(far[0])} and to {target_distance(far[-1])}", "give flights to one distance"
        )
    return shown


def _names(shown: list[Flight], names: Sequence[str] | None) -> list[str]:
    if names is not None:
        if len(names) != len(shown):
            raise UsageError("names", f"{len(names)} given for {len(shown)} flights", "give one for each")
        return numbered([str(one) for one in names])
    kinds = ["fletched" if one.fletched else "bare" for one in shown]
    return [kind if kinds.count(kind) == 1 else f"{kind} {kinds[: k + 1].count(kind)}" for k, kind in enumerate(kinds)]


def _landed(shown: list[Flight], called: list[str]) -> str:
    """How the flights ended."""
    if not all(one.reached for one in shown):
        return said("on_the_ground") if len(shown) == 1 else ""
    if len(shown) != 2:
        return said("in_the_target")
    above = 1e3 * (shown[1].impact_height - shown[0].impact_height)
    words = said("higher" if above > 0.0 else "lower", apart=f"{abs(above):.0f}")
    one, other = short(called, 0.5 * (TITLE - text_width(words, LARGE)), LARGE)
    return f"{other}{words}{one}"


def _vanes(flight: Flight) -> list[np.ndarray]:
    return [VANE, VANE * np.array([1.0, -1.0])] if flight.fletched else []


def _dashes(shown: list[Flight]) -> list[tuple[float, ...]]:
    kinds = [one.fletched for one in shown]
    return [DASHES[kind][kinds[:k].count(kind)] for k, kind in enumerate(kinds)]


def _key(shown: list[Flight], called: list[str], left: float) -> tuple[tuple[Line, ...], tuple[Words, ...]]:
    """Which trail is whose."""
    lines, words = [], []
    seen = short(called, KEYS - 71.0, LETTERS)
    for k, (name, told, dash, look) in enumerate(zip(called, seen, _dashes(shown), looks_of(shown), strict=True)):
        at = left + KEYS * k
        lines.append(Line(f"key, {name}", np.array([(at, 112.0), (at + 46.0, 112.0)]), look.color, 3.0, dash))
        words.append(Words((at + 56.0, 119.0), (told,), LETTERS, look.color))
    return tuple(lines), tuple(words)


def _way(shown: list[Flight], called: list[str], path: QuietPath, time: np.ndarray) -> Panel:
    """From the bow to the target; up and down enlarged, the shaft's attitude with it."""
    far = shown[0].distance
    left, right = -0.03 * far - 0.3, 1.03 * far + 0.1
    per_m = WAY[2] / (right - left)
    ends = [path.above(ends_of(one, time)) for one in shown]
    heights = np.concatenate([one[..., 1].ravel() for one in ends])
    low, high = min(float(heights.min()), -0.05), max(float(heights.max()), 0.05)
    times = enlargement(0.86 * WAY[3] / per_m / (high - low))
    half = 0.5 * WAY[3] / per_m / times
    middle = 0.5 * (low + high)
    window = (left, right, middle - half, middle + half)
    up = 1.0 / (per_m * times)  # one unit of the page, upwards [m]
    lines = [
        Line("drop taken out", np.array([[0.0, 0.0], [far, 0.0]]), FAINT, 1.5, DASHED, digit=FINE),
        Line("target", np.array([[far, window[2]], [far, window[3]]]), FAINT, 6.0, digit=FINE),
        Line("centre", np.array([[far, 0.0]]), "#ffffff", radius=7.0, digit=FINE),
    ]
    colors = [look.color for look in looks_of(shown)]
    for one, name, dash, end, color in zip(shown, called, _dashes(shown), ends, colors, strict=True):
        lines += _trail(one, name, path, time, color, dash)
        lines += _ghosts(one, end, time, color)
    for one, name, end, color in zip(shown, called, ends, colors, strict=True):
        lines.append(Line(f"shaft, {name}", end, color, 5.0, digit=FINE))
        lines += [
            Line(f"vane, {name}", path.above(placed(one, time, vane)), color, filled=True, digit=FINE)
            for vane in _vanes(one)
        ]
    size = 0.1 if 0.1 / up < 0.5 * WAY[3] else 0.05
    bar = np.array([[left + 0.012 * (right - left), y] for y in (window[2] + 12.0 * up, window[2] + 12.0 * up + size)])
    lines.append(Line("scale bar", bar, INK, 4.0, digit=FINE))
    words = [
        Words((left, window[3] + 10.0 * up), (said("way"),), LETTERS, part="title", times=times),
        Words(bar.mean(axis=0) + np.array([10.0 / per_m, -6.0 * up]), (f"{1e3 * size:.0f} mm",), SMALL, part="scale"),
        Words((far, window[3] + 10.0 * up), (said("target"),), LETTERS, align="right"),
    ]
    step = next(one for one in (1.0, 2.0, 5.0, 10.0, 20.0) if far / one <= 9.0)
    words += [
        Words((x, window[2] - 22.0 * up), (f"{x:.0f} m",), SMALL, align="center", part="tick")
        for x in np.arange(0.0, far, step)
    ]
    keys = [Key(name, color, dash) for name, color, dash in zip(called, colors, _dashes(shown), strict=True)]
    return Panel(
        WAY,
        window,
        tuple(lines),
        tuple(words),
        True,
        (*keys, Key(said("drop_line"), FAINT, DASHED), Key(said("target"), FAINT)),
    )


def _trail(
    flight: Flight, name: str, path: QuietPath, time: np.ndarray, color: str, dash: tuple[float, ...]
) -> list[Line]:
    """The way of the mass centre so far."""
    state = state_of(flight, time)
    upto = np.arange(1, time.size + 1)
    return [Line(f"path, {name}", path.above(state[:2].T), color, 2.0, dash, upto=upto, digit=FINE)]


def _ghosts(flight: Flight, end: np.ndarray, time: np.ndarray, color: str) -> list[Line]:
    """Shafts that stay to be seen where the arrow has passed."""
    step = max(GHOST_STEP * (flight.tail_behind + flight.nose_ahead), flight.distance / 14.0)
    nose = end[:, 1, 0]
    frames = [int(np.argmax(nose >= x)) for x in np.arange(nose[0], nose[-1] - 0.5 * step, step)]
    order = np.arange(time.size)
    return [Line("before", end[k], color, 3.0, show=np.where(order > k, 0.3, 0.0), digit=FINE) for k in frames]


def _way_of(angle: float) -> str:
    """Which way an arrow with this angle of attack leans."""
    return said("straight" if angle == 0.0 else "tail_low" if angle > 0.0 else "tail_high")


def _close(shown: list[Flight], called: list[str], time: np.ndarray) -> list[Panel]:
    """Each arrow as large as it fits, not enlarged up and down, beside the direction in which it moves."""
    width = (WAY[2] - 20.0 * (len(shown) - 1)) / len(shown)
    panels = []
    longest = said("angle", angle="+00.0", lean=said("tail_high"))
    angle = (said("attack", angle=longest) if len(shown) < MOST else longest) + ", x1"
    seen = short(called, width - text_width(angle, LETTERS) - 30.0, LETTERS, True)
    for k, (one, name, told, look) in enumerate(zip(shown, called, seen, looks_of(shown), strict=True)):
        box = (WAY[0] + k * (width + 20.0), CLOSE_TOP, width, CLOSE_HEIGHT)
        length = one.tail_behind + one.nose_ahead
        per_m = min(0.8 * width / length, 700.0)
        window = (
            -0.5 * width / per_m, 0.5 * width / per_m, -0.5 * CLOSE_HEIGHT / per_m, 0.5 * CLOSE_HEIGHT / per_m,
        )  # fmt: skip
        _, _, vx, vy, pitch, *_ = state_of(one, time)
        attack = pitch - np.arctan2(vy, vx)
        color = look.color

        def turned(body: np.ndarray, attack: np.ndarray = attack, flight: Flight = one) -> np.ndarray:
            along, across = body[:, 0] - flight.tail_behind, body[:, 1]
            c, s = np.cos(attack)[:, None], np.sin(attack)[:, None]
            return np.stack((along * c - across * s, along * s + across * c), axis=-1)

        lines = [
            Line("direction", np.array([[window[0], 0.0], [window[1], 0.0]]), FAINT, 1.5, DASHED, digit=FINE),
            Line(f"close, {name}", turned(np.array([(0.0, 0.0), (length, 0.0)])), color, 6.0, digit=FINE),
            *(Line(f"vane, {name}", turned(vane), color, filled=True, digit=FINE) for vane in _vanes(one)),
        ]
        above = window[3] + 10.0 / per_m
        angles = tuple(
            said("angle", angle=f"{angle + 0.0:+.1f}", lean=_way_of(angle)) for angle in np.round(np.degrees(attack), 1)
        )
        long = tuple(said("attack", angle=one) for one in angles)
        words = (
            Words(
                (window[0], above), (said("true_angle", name=told),), LETTERS, color, bold=True, part="title",
                whole=(said("true_angle", name=name),),
            ),
            Words(
                (window[1], above), long if len(shown) < MOST else angles, LETTERS, align="right", part="told",
                whole=long,
            ),
        )  # fmt: skip
        panels.append(Panel(box, window, tuple(lines), words, True))
    return panels
