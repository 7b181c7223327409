"""The target card: where bare and fletched land on a face to scale, both ways, and which way the locators go."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from archerysim.equipment import SetupError
from archerysim.fields.given import several
from archerysim.fields.quantity import Quantity, in_si
from archerysim.show import style
from archerysim.show.bare_shaft.plot import bows, convention, shown
from archerysim.show.bare_shaft.verdict import LITTLE, PAST, Verdict, is_today, readings_shown, verdict
from archerysim.show.style import FAINT, INK, LOOKS, MM
from archerysim.show.text_widths import fold
from archerysim.show.tuning.answer import CONTACT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.study.bare_shaft.result import BareAgainstFletched

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
FACED = 0.42  # how dense a region is
MOST = 2.2  # of a face's radius: how far up and down the picture goes at most
WIDEST = 1.35  # of a face's radius: how far left and right
VIEW = 7.4  # width of the face with what is beside it [cm]
LETTERS, LARGE = 12.0, 14.0  # so large that they are read in a picture 390 dots wide [pt]
STEP = 1.42  # from line to line, in sizes of letters
NINETY = 1.645  # standard deviations from the middle, either way, that hold 90 %
LEAVE = "Leave the sight alone; move both locators together. Shoot three bare shafts, twice, before moving."
ASIDE = (
    "Left and right: bare shafts may land anywhere in the region; on which side is not known before groups are "
    "shot. Set the height first."
)
FLAT = "Left and right are left out of this picture: the bands run across."
FLETCHED = "fletched: 90 % of a club archer's arrows"


def target_card(
    result: BareAgainstFletched,
    distance: Any = None,
    *,
    face_diameter: Any = "40 cm",
    readings: Any = None,
    colours: Colours = "plain",
    axes: Any = None,
) -> Figure:
    """Draw a face to scale for each of three readings, with the regions of bare and fletched and the move in words.

    The region of the bare shaft is where the middle of a group lands: up and down 90 % of the drawn bows, left and
    right as far as nine of ten send it to either side, evenly about the fletched ones, because the side is not known
    before groups are shot. The fletched ones' region is a club archer's scatter. An arrow shows what the move of the
    locators to be made now does. The letters are large enough to be read in a picture 390 dots wide.

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
        One per reading: the face on the left, the words on the right.

    Returns
    -------
    Figure
        Each face in mm, equal scales, its centre at zero.

    Raises
    ------
    SetupError
        If the distance was not flown, a reading not shot, or the face's diameter is out of range.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> setup = archerysim.load("examples/club-outdoor.toml")
    >>> found = archerysim.bare_against_fletched(setup, "4, 8 mm", ["18 m"], draws=8, mesh="coarse")
    >>> figure = show.target_card(found, face_diameter="60 cm")
    >>> len(figure.axes) > 1
    True
    """
    from archerysim.study.notes.group_means import SCATTER

    far = float(result.distances[0]) if distance is None else in_si("distance", distance, "m")
    size = FACE.single("face_diameter", face_diameter, "refused") / MM
    if colours not in ("plain", "standard"):
        raise SetupError("colours", f"{colours!r} is not known", 'Use "plain" or "standard"')
    given = readings_shown(result)
    if readings is not None:
        asked = [in_si("readings", one, "mm") for one in several("readings", readings, "mm")]
        given = [1e3 * result.by.underside(one) for one in asked]
    seen = [verdict(result, one, far) for one in given]
    aside = [result.unsure_aside((one, "mm"), (far, "m")) / MM for one in given]
    low, high = _limits(seen, 0.5 * size)
    half = 0.5 * size * min(max([1.08, *(2.1 * one / size for one in aside if math.isfinite(one))]), WIDEST)
    words = _foot_words(result, far, any(map(math.isfinite, aside)))
    row = max((high - low) / (2.0 * half) * VIEW, _height(seen)) + 0.3
    head = (f"{result.setup.name}: {size / 10.0:g} cm face at {far:g} m, to scale", convention(result.by))
    height = row * len(seen) + style.foot_height(len(_keys()), words, 1, LETTERS) + 1.2 + 0.6 * _head_lines(head)
    figure, panels = style.many_axes(axes, len(seen), 1, height / len(seen))
    scatter = NINETY * SCATTER * far / MM  # 3 cm at 18 m
    for ax, one, wide in zip(panels, seen, aside, strict=True):
        _face(ax, size, STANDARD if colours == "standard" else PLAIN)
        _regions(ax, one, half, wide, scatter, result.wanted((far, "m")) / MM)
        ax.set_xlim(-half, half * (2.0 * (style.WIDTH - 0.4) / VIEW - 1.0))
        ax.set_ylim(low, high)
        ax.set_aspect("equal")
        ax.axis("off")
        _words(ax, result, one, half)
    _head(figure, head)
    style.foot(figure, _keys(), words, columns=1, size=LETTERS)
    return figure


def _foot_words(result: BareAgainstFletched, far: float, both: bool) -> str:
    """What is to be done and minded, shortly."""
    from archerysim.shot.flight.range_cautions import range_cautions

    failed = len(result.sample) - bows(result)
    lost = f"; {failed} more gave no shot" if failed else ""
    sure = (
        f"The bare region is not the size of your group: it is how uncertain the program is about this bow (90 % of "
        f"{bows(result)} bows that all fit what was measured{lost}). Where it does not fit on the butt, do not shoot "
        "bare shafts."
    )
    move = result.moves[result.place_of((far, "m"))]
    contact = [CONTACT] if move is not None and (move.touches_today or move.touches_there) else []
    return "\n".join(
        (*contact, LEAVE, ASIDE if both else FLAT, sure, *range_cautions(far, True, result.setup.category))
    )


def _limits(seen: list[Verdict], radius: float) -> tuple[float, float]:
    """Heights that the picture shows [mm]: the face, and the regions beyond it."""
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


def _regions(ax: Axes, verdict: Verdict, half: float, aside: float, scatter: float, wanted: float) -> None:
    """Where bare and fletched land, where the bare one is wanted, and what the move does."""
    from matplotlib.patches import Ellipse, Rectangle

    bare, low, high = LOOKS["bare"].color, verdict.bare.low / MM, verdict.bare.high / MM
    window = Rectangle((-half, -1e4), 2.0 * half, 2e4, transform=ax.transData)
    fletched = Ellipse(
        (0.0, 0.0), 2.0 * scatter, 2.0 * scatter, facecolor=LOOKS["fletched"].color, edgecolor=LOOKS["fletched"].color,
        alpha=FACED, linewidth=1.4, zorder=2.6, gid="fletched",
    )  # fmt: skip
    ax.add_patch(fletched)
    if math.isfinite(low):
        middle = verdict.bare.median / MM
        look: Any = {
            "facecolor": bare,
            "edgecolor": bare,
            "linewidth": 1.2,
            "alpha": FACED,
            "zorder": 3.0,
            "gid": "bare",
        }
        region = (
            Ellipse((0.0, 0.5 * (low + high)), 2.0 * aside, high - low, **look)
            if math.isfinite(aside)
            else Rectangle((-half, low), 2.0 * half, high - low, **look)
        )
        ax.add_patch(region).set_clip_path(window)
        reach = min(half, aside if math.isfinite(aside) else half)
        across = np.array([-reach, reach])
        ax.plot(across, [middle] * 2, color="white", linewidth=3.6, zorder=4.5, gid="bare halo")
        ax.plot(across, [middle] * 2, color=bare, linewidth=2.2, zorder=4.6, gid="bare middle")
        _move(ax, middle, verdict)
    ax.plot([-half, half], [wanted, wanted], zorder=5.0, gid="wanted", **style.WANTED_LINE)


def _move(ax: Axes, middle: float, verdict: Verdict) -> None:
    """An arrow from where the bare shaft lands to where it lands after the move that is to be made now."""
    if not math.isfinite(verdict.after) or abs(verdict.now) < LITTLE:
        return
    ax.annotate(
        "", (0.0, verdict.after / MM), (0.0, middle), gid="move", zorder=6.0,
        arrowprops={
            "arrowstyle": "-|>", "color": INK, "linewidth": 2.4, "mutation_scale": 18.0, "shrinkA": 0, "shrinkB": 0,
        },
    )  # fmt: skip


def _lines(one: Verdict) -> list[tuple[str, float, bool]]:
    """The verdict's lines with their sizes [pt], and whether they are strong."""
    first = next((k for k, line in enumerate(one.lines) if line.startswith(VERDICTS)), len(one.lines))
    found = []
    for k, line in enumerate(one.lines):
        sized = one.lines[min(first, len(one.lines) - 1)].startswith("locators") and PAST not in one.lines
        strong = k == first or (first < k <= first + 2 and sized)
        size = LARGE if k == first else LETTERS
        arrow = {"locators UP": "▲ ", "locators DOWN": "▼ "}.get(line, "")
        for part in fold(arrow + line, style.WIDTH - VIEW - 0.8 - 0.6 * strong, size).split("\n"):
            found.append((part, size, strong))
    return found


def _height(seen: list[Verdict]) -> float:
    """Room that the words of a reading take at most [cm]."""
    return max(sum(STEP * size for _, size, _ in _lines(one)) + 3.0 * LARGE for one in seen) / 72.0 / style.CENTIMETRE


def _words(ax: Axes, result: BareAgainstFletched, one: Verdict, half: float) -> None:
    """The reading and the verdict, to the right of the face."""
    from archerysim.equipment.readings import both_units

    today = is_today(result, one.reading)
    reading = f"reading {both_units(shown(result.by, one.reading) * MM)}"
    lines = [(reading, LETTERS, today), ("▲ TODAY", LETTERS, True) if today else ("", LETTERS, False)]
    down = 0.0
    for k, (line, size, strong) in enumerate([*lines, *_lines(one)]):
        down += STEP * size
        text = ax.annotate(
            line, (half, 1.0), xycoords=ax.get_xaxis_transform(), xytext=(10.0, -down), textcoords="offset points",
            ha="left", va="baseline", fontsize=size, color=INK, gid="verdict" if k > 1 else "reading",
            fontweight="bold" if strong else "normal",
        )  # fmt: skip
        text.set_in_layout(False)


def _head_lines(head: Sequence[str]) -> int:
    return sum(fold(line, style.WIDTH - 0.4, LETTERS).count("\n") + 1 for line in head)


def _head(figure: Figure, head: Sequence[str]) -> None:
    text = "\n".join(fold(line, style.WIDTH - 0.4, LETTERS) for line in head)
    figure.suptitle(style.literal(text), fontsize=LETTERS, color=INK, x=0.01, ha="left", linespacing=1.3)


def _keys() -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    return [
        Patch(color=LOOKS["bare"].color, alpha=FACED, linewidth=0.0, label="bare: middle of a group, 90 % of the bows"),
        Patch(color=LOOKS["fletched"].color, alpha=FACED, linewidth=0.0, label=FLETCHED),
        Line2D([], [], label=style.WANTED, **style.WANTED_LINE),
        Line2D([], [], color=INK, linestyle="none", marker=r"$\updownarrow$", markersize=12.0,
               label="arrow: the effect of the move now"),
    ]  # fmt: skip
