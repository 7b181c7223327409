"""The page for the bow case: one sheet of A4, the square on it in its true size."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from archerysim.show.case_sheet import rows
from archerysim.show.shots.square import END, START, square
from archerysim.show.style import CENTIMETRE, FAINT, INK, PALE, literal
from archerysim.show.text_widths import fold

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.study.case_sheet.case_sheet import CaseSheet

A4 = (21.0, 29.7)  # [cm]
LEFT, RIGHT, TOP = 1.3, 19.7, 28.8  # [cm]
BOTTOM = 1.0  # where the text has to end [cm]
COLUMNS = (LEFT, 5.2, 6.95, 8.6)  # of the measurements: name, metric, trade, mark [cm]
SQUARE = 9.9  # where its picture begins [cm]
SIZES = (8.5, 8.0, 7.5)  # of the text, the first that fits [pt]
HEAD, TITLE = 1.5, 5.5  # larger than the text [pt]
STEP = 0.052  # of a line, by the size of its letters [cm/pt]
TABLE = 8.0  # of the measurements at most, which stand beside the square [pt]
SURE = 0.96  # of the width that text may fill: letters on a screen stand on whole dots
INDENT = 0.3  # of a sentence behind its mark [cm]
FULL_SIZE = "printed at 100 %, in its true size"


class _Pen:
    """Writes on the page from the top down."""

    def __init__(self, figure: Figure, size: float) -> None:
        self.figure, self.size = figure, size
        self.y, self.step = TOP, STEP * size

    def text(self, x: float, text: str, larger: float = 0.0, weight: str = "normal", color: str = INK) -> None:
        """Text at a place across, at the height reached; so much larger than the rest [pt]."""
        self.figure.text(
            x / A4[0], self.y / A4[1], literal(text), fontsize=self.size + larger, fontweight=weight, color=color,
            va="top",
        )  # fmt: skip

    def head(self, text: str) -> None:
        """A heading with a rule above it."""
        from matplotlib.lines import Line2D

        self.y -= 0.15
        at = (self.y + 0.08) / A4[1]
        self.figure.add_artist(Line2D((LEFT / A4[0], RIGHT / A4[0]), (at, at), color=PALE, linewidth=1.0))
        self.text(LEFT, text, HEAD, "bold")
        self.y -= 1.28 * self.step

    def pair(self, name: str, text: str, at: float) -> None:
        """A name, and text beside it in as many lines as it takes."""
        self.text(LEFT, name, weight="bold" if at < 6.0 else "normal")
        for line in fold(text, SURE * (RIGHT - at), self.size).splitlines():
            self.text(at, line)
            self.y -= self.step

    def line(self, text: str, first: str = "", color: str = INK) -> None:
        """A sentence over the whole width."""
        indent = INDENT if first else 0.0
        if first:
            self.text(LEFT, first, color=color)
        for line in fold(text, SURE * (RIGHT - LEFT - indent), self.size).splitlines():
            self.text(LEFT + indent, line, color=color)
            self.y -= self.step


def sheet_page(sheet: CaseSheet) -> Figure:
    """The page.

    Parameters
    ----------
    sheet : CaseSheet

    Returns
    -------
    Figure
        A4, upright.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> sheet = archerysim.case_sheet(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> width, height = show.sheet_page(sheet).get_size_inches()
    >>> round(25.4 * width), round(25.4 * height)  # [mm]
    (210, 297)
    """
    pens = (_written(sheet, size) for size in SIZES)
    return next(pen for pen in pens if pen.y >= BOTTOM or pen.size == SIZES[-1]).figure


def _written(sheet: CaseSheet, size: float) -> _Pen:
    """The page with letters of a size, and where its text ends."""
    from matplotlib.figure import Figure

    pen = _Pen(Figure(figsize=(A4[0] * CENTIMETRE, A4[1] * CENTIMETRE)), size)
    pen.text(LEFT, sheet.setup.name, TITLE, "bold")
    pen.y -= 0.75
    handed = sheet.launch.drawing.setup.archer
    pen.text(
        LEFT, f"{sheet.setup.category}, {handed.handed}-handed, {handed.hold}; measured on ______________ by "
        "______________", color=FAINT,
    )  # fmt: skip
    pen.y -= 0.6
    _measured(pen, sheet)
    pen.head(f"Predicted{f' (target at {rows.distance_words(sheet)})'}")
    for name, text in rows.predicted(sheet):
        pen.pair(name, text, 3.4)
    if rows.assumed_words(sheet):
        pen.line(rows.assumed_words(sheet), color=FAINT)
    pen.head("Which way")
    for seen, do in rows.directions(sheet.launch.setup):
        pen.pair(seen, do, 8.6)
    pen.line(rows.ORDER, color=FAINT)
    pen.head("Last journal lines")
    for line in rows.last_lines(sheet) or ["none yet: ____________________________________________"]:
        pen.line(line, "-")
    pen.head("Cautions")
    for caution in rows.cautions(sheet):
        pen.line(caution, "!")
    return pen


def _measured(pen: _Pen, sheet: CaseSheet) -> None:
    """The measurements at the left, the square beside them."""
    top = pen.y
    pen.head("Measured")
    for row in rows.measurements(sheet):
        for x, text in zip(COLUMNS, row, strict=True):
            pen.text(x, text, min(TABLE - pen.size, 0.0), color=FAINT if text == rows.MARK else INK)
        pen.y -= pen.step
    bottom = pen.y
    ax = pen.figure.add_axes((0.0, 0.0, 1.0, 1.0))
    square(sheet.launch, ax, words=False)
    ax.set_title("", loc="left")
    ax.axis("off")
    low, high = ax.get_ylim()
    wide, tall = 0.1 * (END - START), 0.1 * (high - low)
    ax.set_position((SQUARE / A4[0], (top - 1.0 - tall) / A4[1], wide / A4[0], tall / A4[1]))
    pen.y = top - 0.25
    pen.text(SQUARE + 0.9, f"the square on the string; {FULL_SIZE}", min(TABLE - pen.size, 0.0), color=FAINT)
    pen.y = min(bottom, top - 1.1 - tall)


def save_sheet(sheet: CaseSheet, path: str | os.PathLike[str]) -> None:
    """Write the page: .pdf, .png or .svg, or .md.

    Raises
    ------
    SetupError
        If the ending is not known or the file cannot be written.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> sheet = archerysim.case_sheet(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> with TemporaryDirectory() as folder:
    ...     show.save_sheet(sheet, f"{folder}/sheet.md")
    ...     Path(f"{folder}/sheet.md").read_text(encoding="utf-8")[:2]
    '# '
    """
    from archerysim.fields.file_writing import check_target, write_text
    from archerysim.show.case_sheet.markdown import sheet_markdown
    from archerysim.show.style import ENDINGS, save_figure

    check_target(path, "out", (*ENDINGS, ".md"))
    if os.fspath(path).lower().endswith(".md"):
        write_text(path, sheet_markdown(sheet), "out")
    else:
        save_figure(sheet_page(sheet), path)
