"""The target card: where bare and fletched land on a face to scale, and which way the locators go."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from archerysim.equipment import SetupError, field_info
from archerysim.fields.given import several
from archerysim.fields.quantity import Quantity, in_si
from archerysim.show import style
from archerysim.show.bare_shaft.plot import WHY, band_words, bows, convention, shown
from archerysim.show.style import FAINT, INK, LOOKS, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bare_shaft.result import Band, BareAgainstFletched

Colours = Literal["plain", "standard"]

FACE = Quantity(text="diameter of the target face", unit="cm", low="20 cm", high="150 cm")
RINGS = 10
# from the outermost ring to the innermost, two rings a colour
STANDARD = (
    "#ffffff",
    "#3a3a3a",
    "#6db3d9",
    "#e06666",
    "#f2d95c",
)  # World Archery, Book 3: white, black, blue, red, gold
PLAIN = ("#fbfbf9", "#f3f3ef", "#ebebe6", "#e3e3dc", "#dbdbd2")
VERDICTS = ("locators", "leave", "NOT SURE", "no ")  # how the line begins that is to be read first
STEP = 13.0  # from line to line [pt]
LITTLE = 0.25  # [mm] half of what a square can tell; smaller moves are none
FACED = 0.42  # how dense a band is
PAST = "past the readings shot"
PATH = "nock.locators.reading"
CLOSE = 1.0  # [mm] how well a move must be known to say "leave", and how far it may lead past the readings [judgement]
TOLD = 5.0  # [mm] from which height on it is said in words where the bare shaft is wanted
MOST = 2.2  # of a face's radius: how far up and down the picture goes at most
LEAVE = (
    "Leave the sight alone; move both locators, 3 mm at most at once. Shoot three bare shafts, twice, before moving. "
    "Left and right are not in this picture: the bands run across."
)


@dataclass(frozen=True)
class Verdict:
    """What a card says of one reading.

    Attributes
    ----------
    reading : float
        By the underside [mm].
    bare : Band
        Height above the fletched one [m].
    move : Band
        Of the locators [mm], positive up; it ends at square and at the ends of the allowed range.
    lines : tuple of str
        In words.
    """

    reading: float
    bare: Band
    move: Band
    lines: tuple[str, ...]


def target_card(
    result: BareAgainstFletched,
    distance: Any = None,
    *,
    face_diameter: Any = "40 cm",
    readings: Any = None,
    colours: Colours = "plain",
    axes: Any = None,
) -> Figure:
    """Draw a face to scale for each of three readings, with the bands of bare and fletched and the move in words.

    Parameters
    ----------
    result : BareAgainstFletched
        As `archerysim.bare_against_fletched` returns it.
    distance : str or another number with its unit, optional
        One of its distances. Default: the first.
    face_diameter : str or another number with its unit
        "40 cm", "60 cm", "80 cm", "122 cm".
    readings : sequence, optional
        By the setup's convention, with units, within those shot: ``([6, 8], "mm")``. Default: today's with the lowest
        and the highest shot.
    colours : {"plain", "standard"}
        Rings in pale grey, or in the colours of a standard face.
    axes : sequence of Axes, optional
        One a reading.

    Returns
    -------
    Figure
        Each face in mm, equal scales, its centre at zero.

    Raises
    ------
    SetupError
        If the distance was not flown, a reading not shot, or the face's diameter is out of range.
    """
    from archerysim.shot.flight.range_cautions import range_cautions

    far = float(result.distances[0]) if distance is None else in_si("distance", distance, "m")
    size = FACE.single("face_diameter", face_diameter, "refused") / MM
    if colours not in ("plain", "standard"):
        raise SetupError("colours", f"{colours!r} is not known", 'Use "plain" or "standard"')
    given = readings_shown(result)
    if readings is not None:
        asked = [in_si("readings", one, "mm") for one in several("readings", readings, "mm")]
        given = [1e3 * result.by.underside(one) for one in asked]
    seen = [verdict(result, one, far) for one in given]
    low, high = _limits(seen, 0.5 * size)
    words = "\n".join((LEAVE, WHY, band_words(result), *range_cautions(far, True, result.setup.category)))
    face = (high - low) / (1.04 * size) * (style.WIDTH - 0.9) / max(3, len(seen))
    gap = STEP / 72.0 / style.CENTIMETRE * max(len(one.lines) for one in seen)
    height = face + 2.5 + gap + style.foot_height(len(_keys()), words, 2)
    figure, panels = style.many_axes(axes, len(seen), len(seen), height)
    half = 0.5 * _shaft(result)
    for ax, one in zip(panels, seen, strict=True):
        _face(ax, size, STANDARD if colours == "standard" else PLAIN)
        _bands(ax, one, size, half, result.wanted((far, "m")) / MM)
        ax.set_xlim(-0.52 * size, 0.52 * size)
        ax.set_ylim(low, high)
        ax.set_aspect("equal")
        ax.axis("off")
        _words(ax, result, one)
    figure.suptitle(
        style.literal(f"{result.setup.name}: {size / 10.0:g} cm face at {far:g} m, to scale")
        + f"\n{convention(result.by)}",
        fontsize=style.TEXT, color=INK, x=0.01, ha="left",
    )  # fmt: skip
    style.foot(figure, _keys(), words, columns=2, gap=gap)
    return figure


def readings_shown(result: BareAgainstFletched) -> list[float]:
    """The lowest reading shot, today's (else the middle one) and the highest, by the underside [mm]."""
    low, high = float(result.readings[0]), float(result.readings[-1])
    inner = result.today if low < result.today < high else float(result.readings[len(result.readings) // 2])
    return sorted({low, inner, high})


def verdict(result: BareAgainstFletched, reading: float, distance: float) -> Verdict:
    """What the draws say of one reading: where the bare shaft lands, which way and how far the locators go."""
    here, far = (reading, "mm"), (distance, "m")
    bare, move = result.height_at(here, far), result.move(here, far)
    ends = _ends(result, reading)
    lines = tuple(_lines(result, reading, distance, bare, move, ends))
    cut = replace(move, median=_cut(move.median, ends), low=_cut(move.low, ends), high=_cut(move.high, ends))
    return Verdict(reading, bare, cut, lines)


@dataclass(frozen=True)
class _Ends:
    """How far locators can go [mm], and what is there."""

    low: float
    high: float
    below: str
    above: str


def _ends(result: BareAgainstFletched, reading: float) -> _Ends:
    """Down to square (to the allowed range's end, where they stand below square), up to the allowed range's end."""
    info = field_info(PATH)
    low, high = float(info.low or 0.0) / MM - reading, float(info.high or 0.0) / MM - reading
    square, end = 0.5 * (_shaft(result) - result.nock_height) - reading, "end of the range"
    if low < square < 0.5 * LITTLE:
        return _Ends(min(square, 0.0), high, "square", end)
    return _Ends(low, high, end, end)


def _cut(move: float, ends: _Ends) -> float:
    """A move [mm] that ends where the locators' way does; nan stays."""
    return min(max(move, ends.low), ends.high) if math.isfinite(move) else move


def _lines(
    result: BareAgainstFletched, reading: float, distance: float, bare: Band, move: Band, ends: _Ends
) -> list[str]:
    if not math.isfinite(bare.median):
        return ["no result"]
    wanted = result.wanted((distance, "m")) / MM
    head = [f"bare about {_height(bare, bare.median / MM)}"]
    if abs(wanted) >= TOLD:
        head.append(f"(it should be {wanted:.0f} mm {'high' if wanted > 0.0 else 'low'})")
    if not math.isfinite(move.median):
        return [*head, "no advice: the locators", "do not bring them together"]
    if abs(move.median) < LITTLE:
        close = max(-move.low, move.high) < CLOSE
        advice = ["leave the locators"] if close else ["NOT SURE: SHOOT MORE", "rather leave the locators"]
        return [*head, *advice, *_range(move, ends)]
    up = move.median > 0.0
    way = "UP" if up else "DOWN"
    there = result.crossings((distance, "m"))
    agree = f"{int((there > reading if up else there < reading).sum())} of {bows(result)} bows say {way}"
    unsure = move.low * move.high < 0.0
    to = reading + move.median
    past = to < result.readings[0] - CLOSE or to > result.readings[-1] + CLOSE
    step = _cut(move.median, ends)
    if abs(step) < LITTLE:
        return [*head, "no way to go:", f"they are at {ends.above if up else ends.below} already", agree]
    if past:
        advice = [f"rather {way}", PAST] if unsure else [PAST]
    else:
        size = _size(abs(step))
        advice = [f"rather {way} {size}" if unsure else size, *_range(move, ends)]
    return [*head, "NOT SURE: SHOOT MORE" if unsure else f"locators {way}", *advice, agree]


def _height(bare: Band, value: float) -> str:
    """A height on the target in words, no finer than its band allows."""
    step = 5 if bare.high - bare.low > 20.0 * MM else 1
    size = step * round(abs(value) / step)
    if not size:
        return "level"
    return f"{size} mm {'high' if value > 0.0 else 'low'}"


def _size(move: float) -> str:
    """A move [mm] in mm and sixteenths of an inch."""
    from archerysim.equipment.readings import SIXTEENTH, both_units

    if move * MM < 0.5 * SIXTEENTH:
        return f"{move:.1f} mm (< 1/16 in)"
    return both_units(move * MM)


def _range(move: Band, ends: _Ends) -> list[str]:
    """Between which moves the best one lies, in two lines."""
    steps = [_cut(one, ends) for one in (move.low, move.high)]
    low, high = (
        f"{abs(one):.1f} mm {'up' if one > 0.0 else 'down'}" if round(abs(one), 1) else "0.0 mm" for one in steps
    )
    below = f"({ends.below}) " if move.low < ends.low else ""
    above = f" ({ends.above})" if move.high > ends.high else ""
    return [f"90 %: move between {low}", f"{below}and {high}{above}"]


def _shaft(result: BareAgainstFletched) -> float:
    """Diameter of the shaft [mm]."""
    from archerysim.equipment import filled

    return filled(result.setup).number("arrow.diameter") / MM


def _limits(seen: list[Verdict], radius: float) -> tuple[float, float]:
    """Heights that the picture shows [mm]: the face, and the bands beyond it."""
    low = min([-radius, *(one.bare.low / MM for one in seen if math.isfinite(one.bare.low))])
    high = max([radius, *(one.bare.high / MM for one in seen if math.isfinite(one.bare.high))])
    return max(low, -MOST * radius) - 0.04 * radius, min(high, MOST * radius) + 0.04 * radius


def _face(ax: Axes, size: float, palette: Sequence[str]) -> None:
    """Ten rings of equal width, the outermost first."""
    from matplotlib.patches import Circle

    for k in range(RINGS):
        color = palette[k // 2]
        edge = "#9a9a9a" if color == "#3a3a3a" else FAINT
        radius = 0.5 * size * (RINGS - k) / RINGS
        ax.add_patch(Circle((0.0, 0.0), radius, facecolor=color, edgecolor=edge, linewidth=0.6, zorder=1.0, gid="ring"))


def _bands(ax: Axes, verdict: Verdict, size: float, half: float, wanted: float) -> None:
    """Bands of bare and fletched across the face, and where the bare one is wanted."""
    from matplotlib.patches import Rectangle

    wide = 0.5 * size
    bare, low, high = LOOKS["bare"].color, verdict.bare.low / MM, verdict.bare.high / MM
    across = np.array([-wide, wide])
    if math.isfinite(low):
        ax.add_patch(
            Rectangle(
                (-wide, low), size, high - low, facecolor=bare, edgecolor="none", alpha=FACED, zorder=3.0, gid="bare"
            )
        )
        for edge in (low, high):
            ax.plot(across, [edge, edge], color=bare, linewidth=1.0, zorder=3.5, gid="bare edge")
        middle = [verdict.bare.median / MM] * 2
        ax.plot(across, middle, color="white", linewidth=3.6, zorder=4.5, gid="bare halo")
        ax.plot(across, middle, color=bare, linewidth=2.2, zorder=4.6, gid="bare middle")
    ax.add_patch(
        Rectangle((-wide, -half), size, 2.0 * half, facecolor=LOOKS["fletched"].color, linewidth=1.4,
                  edgecolor=LOOKS["fletched"].color, zorder=4.0, gid="fletched")
    )  # fmt: skip
    ax.plot(across, [wanted, wanted], zorder=5.0, gid="wanted", **style.WANTED_LINE)


def _words(ax: Axes, result: BareAgainstFletched, one: Verdict) -> None:
    """The reading above the face, the verdict below it."""
    from archerysim.equipment.readings import both_units

    today = abs(one.reading - result.today) < 0.05
    reading = both_units(shown(result.by, one.reading) * MM)
    ax.set_title(
        f"reading {reading}\n{'▲ TODAY' if today else ''}", fontsize=style.TEXT, color=INK,
        fontweight="bold" if today else "normal",
    )  # fmt: skip
    verdict = next((k for k, line in enumerate(one.lines) if line.startswith(VERDICTS)), len(one.lines))
    for k, line in enumerate(one.lines):
        strong = k == verdict or (k == verdict + 1 and one.lines[verdict].startswith("locators") and line != PAST)
        text = ax.annotate(
            line, (0.5, 0.0), xycoords="axes fraction", xytext=(0, -5 - STEP * k), textcoords="offset points",
            ha="center", va="top", fontsize=style.TEXT if k <= verdict + 1 else style.SMALL, color=INK, gid="verdict",
            fontweight="bold" if strong else "normal",
        )  # fmt: skip
        text.set_in_layout(False)


def _keys() -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    return [
        Patch(color=LOOKS["bare"].color, alpha=FACED, linewidth=0.0, label="bare: 90 % band, its middle a line"),
        Line2D([], [], label=style.WANTED, **style.WANTED_LINE),
        Patch(color=LOOKS["fletched"].color, linewidth=0.0, label="fletched: the sight is set for it"),
    ]
