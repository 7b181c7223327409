"""A sweep as plain text; warnings stand last, where they are read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import MM, POUND
from archerysim.show.sweeps.axes import (
    Along,
    columns_of,
    convention,
    event_names,
    failed,
    place_words,
    shown_unit,
    values_of,
    varied,
    warnings_of,
)
from archerysim.show.sweeps.band import band_lines
from archerysim.show.sweeps.plot import PANELS
from archerysim.show.sweeps.sideways import against, is_difference, told
from archerysim.show.text import columns, number, titled, with_warnings, wrapped
from archerysim.study.run.row import NOT_SHOT

if TYPE_CHECKING:
    import xarray

# what a sweep's table tells besides where it changes: name, head, unit, its size, least change told, digits
BESIDES = (
    ("aim_angle", "aim angle", "deg", 1.0, 0.02, 2),
    ("speed", "speed", "m/s", 1.0, 0.2, 1),
    ("reading", "reading, underside", "mm", 1.0, 0.1, 1),
    ("reading_top", "reading, top", "mm", 1.0, 0.1, 1),
    ("brace_height", "brace height", "mm", 1.0, 0.1, 1),
    ("upper_tiller", "upper tiller", "mm", 1.0, 0.1, 1),
    ("lower_tiller", "lower tiller", "mm", 1.0, 0.1, 1),
    ("draw_force", "draw force", "lbf", POUND, 0.1, 1),
    ("arm_left_travel", "off the arm after", "mm", 1.0, 5.0, 0),
    ("side_angle_of_attack", "side attack", "deg", 1.0, 0.05, 2),
)
DIGITS = 3  # of columns that are asked for
READINGS = {"reading": "underside", "reading_top": "top"}  # a quantity of the sweep, and how it is told
MOST_ROWS = 60
SHORT = ("pitch", "pitch rate", "velocity up", "attack")


def sweep_table(dataset: xarray.Dataset, also: Sequence[str] = ()) -> str:
    """A sweep as rows: pitch, pitch rate, vertical velocity and angle of attack at both moments.

    Parameters
    ----------
    dataset : xarray.Dataset
        As `archerysim.sweep` returns it. Of more than 60 points only some are printed, evenly chosen.
    also : sequence of str
        Data variables to be told besides, at clear.
    """
    along = varied(dataset)
    dims = [one.dim for one in along]
    shot = dataset["status"].transpose(*dims).values != NOT_SHOT
    chosen = _chosen(along, shot)
    tables = [values_of(dataset, name, moment, dims) for name in PANELS for moment in ("separation", "clear")]
    events = event_names(dataset, dims)
    good = ~failed(dataset, dims)
    everywhere = [name for name, where in events.items() if good.any() and where[good].all()]
    letters = dict(zip([name for name in events if name not in everywhere], "abcdefgh", strict=False))
    reasons = dataset["reason"].transpose(*dims).values
    rows, lost = [], []
    for place in chosen:
        head = _place(dataset, along, place)
        cells = [number(table[place], "", 3, True).rjust(7) for table in tables]
        notes = "".join(letter for name, letter in letters.items() if events[name][place])
        rows.append((*head, *(" ".join(cells[k : k + 2]) for k in range(0, len(cells), 2)), notes))
        if reasons[place]:
            words = ", ".join(one.value_words(i) for one, i in zip(along, place, strict=True))
            lost.append(f"{words}: {reasons[place]}")
    heads = _heads(dataset, along)
    edits = [line for one in str(dataset.attrs.get("edits", "")).split("\n") for line in wrapped(one, "  ", "  ")]
    held = wrapped(str(dataset.attrs.get("held", "")), "  ", "  ")
    lines = [str(dataset.attrs.get("title", "sweep")), *edits, *held, ""]
    lines += [*columns(rows, *heads), ""]
    if not shot.all():
        lines += [f"  {shot.sum()} of {shot.size} points are shot; it was interrupted.", ""]
    if len(chosen) < shot.sum():
        lines += [f"  {len(chosen)} of {shot.sum()} points; the file holds all of them.", ""]
    lines += ["  At separation and at clear; up and nose up are positive; attack is the angle of attack."]
    if "aim_angle" in dataset:
        lines += ["  Pitch is to the aim line; with the aim angle added, to the bow's own axes."]
    if anew := str(dataset.attrs.get("fitted_anew", "")):
        lines += wrapped(f"The bow is {anew}.", "  ", "  ")
    lines += [f"  {letter}: {name}{_from_where(name)}" for name, letter in letters.items()]
    lines += wrapped(f"On the way, at every point: {'; '.join(everywhere)}") if everywhere else []
    lines += ["", *_zero_lines(dataset, along), *band_lines(dataset, along, chosen, also)]
    lines += _besides(dataset, along, chosen, also)
    if lost:
        lines += titled("No result", [line for one in lost for line in wrapped(one)])
    return with_warnings(lines, *warnings_of(dataset))


def _from_where(event: str) -> str:
    """From where on an event is warned of; "" for those that always are, or never."""
    from archerysim.shot.launch import STRUCK
    from archerysim.shot.warnings import DEEP

    return f" (warned of where it is more than {DEEP / MM:.0f} mm deep)" if event == STRUCK else ""


def _chosen(along: list[Along], shot: np.ndarray) -> list[tuple[int, ...]]:
    """Places of the points that are printed: at most some 60 of those shot."""
    stride = max(1, -(-shot.size // MOST_ROWS)) if len(shot) > 1 else 1
    places = [
        (place[0], tuple(int(one.order[i]) for one, i in zip(along, place, strict=True)))
        for place in np.ndindex(*shot.shape)
    ]
    if shot.all():
        return [place for first, place in places if first % stride == 0]
    some = [place for _, place in places if shot[place]]
    return some[:: max(1, -(-len(some) // MOST_ROWS))]


def _besides(
    dataset: xarray.Dataset, along: list[Along], chosen: list[tuple[int, ...]], also: Sequence[str]
) -> list[str]:
    """What else changes over the sweep, by as much as matters, and what is asked for; sideways as differences."""
    found = []
    by = convention(dataset)
    taken = [name for name, convention in READINGS.items() if along[0].in_mm or by not in ("", convention)]
    asked = [(one, one.replace("_", " "), shown_unit(dataset, one), 1.0, -1.0, DIGITS) for one in also]
    for name, head, unit, size, least, digits in (*(one for one in BESIDES if one[0] not in also), *asked):
        if name not in also and (name not in dataset or name in taken):
            continue
        values = told(dataset, name, "clear", along) / size
        if name in also or (np.isfinite(values).any() and np.nanmax(values) - np.nanmin(values) >= least):
            found.append((head, f"[{unit}]" if unit else "", values, digits, is_difference(name)))
    if not found:
        return []
    rows = [
        (
            *(one.value_words(i) for one, i in zip(along, place, strict=True)),
            *(number(t[place], "", digits, signed) for _, _, t, digits, signed in found),
        )
        for place in chosen
    ]
    heads = [
        (*(one.plain for one in along), *(h for h, *_ in found)),
        (*("" for _ in along), *(u for _, u, *_ in found)),
    ]
    lines = columns(rows, *heads)
    differ = [head for head, *_, signed in found if signed]
    if differ:
        lines += wrapped(
            f"{', '.join(differ)}: at clear, against {against(dataset, along)}, + away from the window; of one shot it "
            "is poorly known until groups have fixed the roll of the fingers.", "  ", "  ",
        )  # fmt: skip
    return titled("What else changes", lines)


def _place(dataset: xarray.Dataset, along: list[Along], place: tuple[int, ...]) -> list[str]:
    """The varied values of one point; a reading in both systems of units and by both conventions."""
    from archerysim.equipment.readings import sixteenths

    head = [one.value_words(i) for one, i in zip(along, place, strict=True)]
    if along[0].name == "case":
        head += [one.value_words(place[0]) for one in columns_of(dataset, "case")]
    if along[0].in_mm:
        head[0] += f" ({sixteenths(along[0].values[place[0]] * MM)})"
        others = [name for name, by in READINGS.items() if by != along[0].convention]
        dims = [one.dim for one in along]
        head[1:1] = [number(values_of(dataset, name, "clear", dims)[place], "mm", 1) for name in others]
    return head


def _heads(dataset: xarray.Dataset, along: list[Along]) -> list[tuple[str, ...]]:
    """Three rows: names, units, moments."""
    names = [one.plain for one in along]
    if along[0].name == "case":
        names += [one.plain for one in columns_of(dataset, "case")]
    if along[0].in_mm:
        by = along[0].convention
        names[:1] = [f"reading, {by}" if by else "reading", *(one for one in READINGS.values() if one != by)]
    blank = ["" for _ in names]
    units = [f"[{shown_unit(dataset, name)}]" for name in PANELS]
    moments = [f"{'separ.':>7} {'clear':>7}" for _ in PANELS]
    return [(*names, *SHORT, ""), (*blank, *units, ""), (*blank, *moments, "")]


def _zero_lines(dataset: xarray.Dataset, along: list[Along]) -> list[str]:
    """Where the angle of attack at clear passes zero, by straight lines between points."""
    if len(along) != 1 or along[0].apart:
        return []
    one = along[0]
    x = one.values[one.order]
    y = values_of(dataset, "angle_of_attack", "clear", [one.dim])[one.order]
    left = _leaves_the_arm(dataset, one)
    runs = np.split(np.arange(x.size), np.flatnonzero(np.diff(left)) + 1)
    found = [place for run in runs for place in zero_places(x[run], y[run])]
    jumps = [(run[-1], run[-1] + 1) for run in runs[:-1] if y[run[-1]] * y[run[-1] + 1] < 0.0]
    lines = []
    for a, b in jumps:
        lines += wrapped(
            f"Between {one.value_words(int(one.order[a]))} and {one.value_words(int(one.order[b]))} it jumps over "
            "zero, where the shaft stops or starts leaving the arm of the rest: not a setting to tune for.", "  ", "  ",
        )  # fmt: skip
    if not found:
        return titled("The angle of attack at clear does not pass zero here.", lines)
    words = ", ".join(place_words(one, place) for place in found)
    return titled(f"The angle of attack at clear is zero at {one.plain} {words}.", lines)


def _leaves_the_arm(dataset: xarray.Dataset, along: Along) -> np.ndarray:
    """Whether the shaft leaves the arm sideways at each point, rising; nowhere in one plane and off a shelf."""
    if "arm_left_travel" not in dataset:
        return np.zeros(along.values.size, dtype=bool)
    return np.asarray(np.isfinite(values_of(dataset, "arm_left_travel", "clear", [along.dim]))[along.order])


def zero_places(x: np.ndarray, y: np.ndarray) -> list[float]:
    """Where straight lines between neighbouring points pass zero.

    Parameters
    ----------
    x, y : (n,) arrays
        x rising; nan in y is a gap.
    """
    out = [float(a) for a, v in zip(x, y, strict=True) if v == 0.0]
    for a, b, u, v in zip(x[:-1], x[1:], y[:-1], y[1:], strict=True):
        if u * v < 0.0:
            out.append(float(a - u * (b - a) / (v - u)))
    return sorted(out)
