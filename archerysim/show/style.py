"""How pictures look: one colour and one line for each thing, the same in every picture; sizes for print.

The colours were chosen so that any two of them stay apart for readers who see no red or no green (a test
computes it); the lines differ too, so that a grey print can be read. Sizes are for a picture printed 16 cm
wide.
"""

from __future__ import annotations

import os
import re
import textwrap
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.errors import UsageError
from archerysim.fields.units import target_distance

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from archerysim.equipment.readings import ReadBy
    from archerysim.shot.edit import Edit

WIDTH = 16.0  # of a printed picture [cm]
TEXT, SMALL = 9.0, 8.0  # [pt]
LINE, LETTERS = 0.36, 6.8  # of small text: height of a line [cm], letters [1/cm]
SURE_LETTERS = 6.4  # of small text that fit however wide they are [1/cm]
DOTS = 200  # of a picture in dots [1/in]
ENDINGS = (".png", ".pdf", ".svg")
LACKING = "the picture's font has no {}; an empty box stands for it"
INK, FAINT, PALE = "#222222", "#767676", "#e9e9e6"
CENTIMETRE = 1.0 / 2.54  # [in]
MM, INCH, POUND, FOOT, FOOT_POUND = 1e-3, 0.0254, 4.4482216152605, 0.3048, 1.3558179483314


@dataclass(frozen=True)
class Look:
    """How one thing is drawn.

    Attributes
    ----------
    color : str
    line : str or tuple
        Line style by matplotlib's words.
    width : float
        Of the line [pt].
    marker : str
        For single points.
    """

    color: str
    line: Any
    width: float
    marker: str

    @property
    def line_style(self) -> dict[str, Any]:
        """Arguments for a line."""
        return {"color": self.color, "linestyle": self.line, "linewidth": self.width}


LOOKS = {
    "upper": Look("#17408b", "-", 1.6, "^"),
    "lower": Look("#d9791e", (0, (4.0, 1.5)), 1.6, "v"),
    "string": Look("#111111", "-", 1.0, "."),
    "arrow": Look("#0b7a5c", "-", 2.2, "D"),
    "rest": Look("#bb4fa6", (0, (6.0, 1.5, 1.2, 1.5)), 1.6, "s"),
    "side": Look("#aa460a", (0, (3.0, 1.0, 1.0, 1.0, 1.0, 1.0)), 1.6, "<"),
    "fingers": Look("#cfae8a", (0, (1.2, 1.2)), 1.6, "o"),
    "locators": Look("#f0e04c", "-", 5.0, "s"),
    "separation": Look("#5aa9e6", (0, (3.0, 1.5)), 1.6, "s"),
    "clear": Look("#a3122b", "-", 1.8, "o"),
    "fletched": Look("#4f3fc4", "-", 2.2, "o"),
    "bare": Look("#ff7a5c", "-", 1.6, "D"),
}
WANTED = "where the bare shaft should land"
WANTED_LINE: dict[str, Any] = {"color": INK, "linestyle": (0, (2.0, 1.2)), "linewidth": 1.4}
TODAY: dict[str, Any] = {"color": INK, "linestyle": "none", "marker": "^", "markersize": 9.0}


def heading(name: str, reading: float = float("nan"), distance: float = float("nan"), by: ReadBy | None = None) -> str:
    """The bow, its reading and the target's distance [m], as far as they are known.

    The reading is handed over by the underside [mm] and told ``by`` the setup's convention.
    """
    from archerysim.show import text

    about = [text.reading(reading * MM, by)] if np.isfinite(reading) else []
    about += [target_distance(distance)] if np.isfinite(distance) else []
    return ": ".join(part for part in (name, ", ".join(about)) if part)


def literal(text: str) -> str:
    """Text to be drawn as it stands, whatever a user named his bow: matplotlib sets what stands between two $ as a
    formula. `dress`, `foot`, `head` and `note` do so by themselves.
    """
    return text.replace("$", r"\$")


def new_figure(height: float) -> Figure:
    """An empty figure for print, 16 cm wide; known to no window and no pyplot.

    Parameters
    ----------
    height : float
        [cm]
    """
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH * CENTIMETRE, height * CENTIMETRE), layout="constrained")


def one_axes(ax: Axes | None, height: float) -> Axes:
    """The given axes, or the only axes of a new figure ``height`` [cm] high."""
    return new_figure(height).add_subplot() if ax is None else ax


def many_axes(axes: Any, count: int, columns: int, height: float, **shared: Any) -> tuple[Figure, list[Axes]]:
    """The given axes in one row, or those of a new figure; and their figure.

    Parameters
    ----------
    axes : sequence or array of Axes, or None
    count, columns : int
        Panels wanted; panels beside each other in a new figure.
    height : float
        Of one row of a new figure [cm].
    **shared
        As for `Figure.subplots`.

    Raises
    ------
    UsageError
        If another number of axes is given.
    """
    if axes is None:
        rows = -(-count // columns)
        made = list(new_figure(height * rows).subplots(rows, columns, squeeze=False, **shared).ravel())
        for spare in made[count:]:
            spare.remove()
        axes = made[:count]
    flat = list(np.asarray(axes, dtype=object).ravel())
    if len(flat) != count:
        raise UsageError("axes", f"{len(flat)} given, {count} wanted", "give that many, or none for a new figure")
    return flat[0].figure, flat


def dress(ax: Axes, x: str = "", y: str = "", title: str = "", grid: bool = True) -> None:
    """Labels, letter sizes and a light frame."""
    ax.set_xlabel(literal(x), fontsize=TEXT, color=INK)
    ax.set_ylabel(literal(y), fontsize=TEXT, color=INK)
    ax.set_title(literal(title), fontsize=TEXT, color=INK, loc="left")
    ax.tick_params(labelsize=SMALL, colors=INK, width=0.6)
    for side in ax.spines.values():
        side.set_color(FAINT)
        side.set_linewidth(0.6)
    if grid:
        ax.grid(True, color=PALE, linewidth=0.7)
        ax.set_axisbelow(True)


def legend(ax: Axes, **where: Any) -> None:
    """A small legend with a plain ground."""
    ax.legend(fontsize=SMALL, frameon=True, framealpha=0.9, edgecolor=PALE, borderpad=0.4, handlelength=2.4, **where)


def foot(
    figure: Figure, handles: list[Any], words: str = "", columns: int = 4, gap: float = 0.0, size: float = SMALL
) -> None:
    """Below all panels: one legend, and small text under it, wrapped to the picture's width.

    Parameters
    ----------
    handles : list of artists
        Each with its label.
    words : str
        A caution, for example.
    columns : int
        Of the legend.
    gap : float
        Left free between the panels and the foot [cm].
    size : float
        Of the letters [pt].
    """
    high = float(figure.get_figheight()) / CENTIMETRE
    lines = _folded(words, float(figure.get_figwidth()) / CENTIMETRE, size)
    text = LINE * size / SMALL * len(lines) + (0.15 if lines else 0.0)
    engine: Any = figure.get_layout_engine()
    if engine is not None:
        bottom = (gap + foot_height(len(handles), words, columns, size)) / high
        engine.set(rect=(0.0, bottom, 1.0, 1.0 - bottom))
    if lines:
        small = literal("\n".join(lines))
        figure.text(0.01, 0.08 / high, small, fontsize=size, color=INK, va="bottom", linespacing=1.15)
    if handles:
        figure.legend(
            handles=handles, loc="lower center", bbox_to_anchor=(0.5, text / high), ncols=columns, fontsize=size,
            frameon=False, handlelength=2.4, borderpad=0.1, borderaxespad=0.0,
        )  # fmt: skip


def foot_height(handles: int, words: str = "", columns: int = 4, size: float = SMALL) -> float:
    """Height of a `foot` in a new figure [cm]."""
    lines = _folded(words, WIDTH, size)
    return LINE * size / SMALL * len(lines) + (0.15 if lines else 0.0) + 0.5 * size / SMALL * -(-handles // columns)


def limits_passed(figure: Figure, result: Any, handles: Sequence[Any] = (), columns: int = 4) -> None:
    """A `foot` that says which limits a launch or a draw passes, and `changed` above; the picture grows by both.

    None: no such result.
    """
    changed(figure, getattr(result, "edits", ()))
    passed = result.warnings[: len(result.limits_passed)] if result is not None else ()
    words = "\n".join(f"! {one}" for one in passed)
    if words or handles:
        figure.set_figheight(figure.get_figheight() + foot_height(0, words) * CENTIMETRE)
        foot(figure, list(handles), words, columns)


def changed(figure: Figure, edits: Sequence[Edit]) -> None:
    """What was changed on the bow that is drawn, and what was held, under the title of a whole picture.

    The picture grows by it. Nothing happens to the picture of a bow as its file has it, or where the words stand
    there already.
    """
    there: Any = getattr(figure, "_suptitle", None)
    title = "" if there is None else str(there.get_text())
    told = [words for words in changed_lines(edits) if not _stands_in(words, title)]
    if not told:
        return
    if there is None:
        title = _taken_title(figure)
    lines = _head_folded(told, float(figure.get_figwidth()) / CENTIMETRE)
    figure.set_figheight(figure.get_figheight() + LINE * TEXT / SMALL * len(lines) * CENTIMETRE)
    text = "\n".join(filter(None, (title, literal("\n".join(lines)))))
    figure.suptitle(text, fontsize=TEXT, color=INK, x=0.01, ha="left", linespacing=1.3)


def _taken_title(figure: Figure) -> str:
    """The title of the highest panel, which it gives up; none where panels beside each other have one each."""
    titled = [ax for ax in figure.axes if ax.get_title(loc="left")]
    highest = [ax for ax in titled if ax.get_position().y1 > max(one.get_position().y1 for one in titled) - 1e-3]
    if len(highest) != 1:
        return ""
    title = str(highest[0].get_title(loc="left"))
    highest[0].set_title("", loc="left")
    return title


def changed_lines(edits: Sequence[Edit]) -> list[str]:
    """A sentence for each change of a bow, for a `head`; none for a bow as its file has it."""
    return [edit.words() for edit in edits]


def _stands_in(words: str, text: str) -> bool:
    """Whether words stand in a text, however its lines are broken."""
    return " ".join(literal(words).split()) in " ".join(text.split())


def _folded(words: str, wide: float, size: float = SMALL) -> list[str]:
    """Lines of text for a picture so wide [cm], its letters so large [pt]."""
    letters = int(SURE_LETTERS * SMALL / size * wide)
    return [line for part in words.splitlines() for line in textwrap.wrap(part, letters)]


def head(figure: Figure, *lines: str) -> None:
    """Title lines of a whole picture, at the left, each wrapped to the picture's width."""
    text = "\n".join(_head_folded(lines, float(figure.get_figwidth()) / CENTIMETRE))
    figure.suptitle(literal(text), fontsize=TEXT, color=INK, x=0.01, ha="left", linespacing=1.3)


def head_lines(lines: Sequence[str]) -> int:
    """How many lines a `head` takes in a new figure."""
    return len(_head_folded(lines, WIDTH))


def _head_folded(lines: Sequence[str], wide: float) -> list[str]:
    letters = int(LETTERS * SMALL / TEXT * wide)
    return [part for line in lines for part in textwrap.wrap(line, letters)]


def today(ax: Axes, value: float, **more: Any) -> None:
    """Today's value: a black triangle on the axis below."""
    ax.plot(
        [value], [0.0], transform=ax.get_xaxis_transform(), clip_on=False, zorder=6.0, gid="today", **{**TODAY, **more}
    )


def note(ax: Axes, x: float, y: float, text: str, **more: Any) -> Any:
    """Small text at a place in the data's units."""
    return ax.text(x, y, literal(text), **{"fontsize": SMALL, "color": INK, **more})


def second_axis(ax: Axes, side: str, factor: float, label: str) -> Any:
    """A second scale along ``side`` ("top" or "right"), its numbers ``factor`` times those of the first."""
    both: Any = (lambda v: v * factor, lambda v: v / factor)
    axis: Any
    if side == "top":
        axis = ax.secondary_xaxis("top", functions=both)
        axis.set_xlabel(label, fontsize=TEXT, color=INK)
    else:
        axis = ax.secondary_yaxis("right", functions=both)
        axis.set_ylabel(label, fontsize=TEXT, color=INK)
    axis.tick_params(labelsize=SMALL, colors=INK, width=0.6)
    return axis


def scale_bar(ax: Axes, x: float, y: float, length: float, text: str) -> None:
    """A bar of ``length`` in the data's units, from (x, y) to the right, its text below."""
    ax.plot([x, x + length], [y, y], color=INK, linewidth=2.0, solid_capstyle="butt", gid="scale bar")
    ax.annotate(
        text, (x + 0.5 * length, y), xytext=(0, -3), textcoords="offset points", ha="center", va="top",
        fontsize=SMALL, color=INK,
    )  # fmt: skip


def check_picture(path: str | os.PathLike[str]) -> None:
    """Refuse a file name that `save_figure` could not write, before any work is done.

    Raises
    ------
    SetupError
    """
    from archerysim.fields.file_writing import check_target

    check_target(path, "plot", ENDINGS)


def place_panels(figure: Figure) -> None:
    """Give the panels of a figure the places that they have once it is drawn; nothing is drawn."""
    engine = figure.get_layout_engine()
    if engine is not None:
        engine.execute(figure)


def save_figure(drawn: Axes | Figure, path: str | os.PathLike[str]) -> None:
    """Write a picture, whole or not at all: .png, .pdf or .svg by the file's ending.

    Parameters
    ----------
    drawn : Axes or Figure
        What a function that draws has returned.
    path : path

    Raises
    ------
    SetupError
        If the ending is not known or the file cannot be written.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> from tempfile import TemporaryDirectory
    >>> figure = show.limbs(archerysim.load("examples/club-outdoor.toml"))
    >>> with TemporaryDirectory() as folder:
    ...     show.save_figure(figure, f"{folder}/limbs.png")
    ...     show.save_figure(figure, f"{folder}/limbs.bmp")
    Traceback (most recent call last):
        ...
    archerysim.errors.SetupError: plot: 'limbs.bmp': unknown ending '.bmp'. Use .png or
    .pdf or .svg.
    """
    from io import BytesIO

    from archerysim.fields.file_writing import write_bytes

    check_picture(path)
    figure: Any = getattr(drawn, "figure", None) or drawn
    picture = BytesIO()
    with warnings.catch_warnings(record=True) as heard:
        warnings.filterwarnings("always", "Glyph ")
        figure.savefig(picture, dpi=DOTS, format=os.path.splitext(path)[1][1:].lower())
    lacking = {chr(int(match[1])) for warning in heard if (match := re.match(r"Glyph (\d+)", str(warning.message)))}
    for warning in heard:
        if not str(warning.message).startswith("Glyph "):
            warnings.warn_explicit(warning.message, warning.category, warning.filename, warning.lineno)
    if lacking:
        warnings.warn(LACKING.format("".join(sorted(lacking))), stacklevel=2)
    write_bytes(path, picture.getbuffer(), "plot")
