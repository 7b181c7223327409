"""The pages of measures: to print, drawn; and as Markdown, to fill in and hand back to ``archerysim new``."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Collection
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from archerysim.equipment.first_setup.questions import BY_NAME
from archerysim.show.measures.measures import MEASURES, NOT_DRAWN, Measure, today, well
from archerysim.show.style import CENTIMETRE, FAINT, INK, SMALL, literal

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.equipment import Setup

A4 = (21.0, 29.7)  # [cm]
COLUMNS, ROWS = 2, 3
MARGIN, HEAD, GAP = 1.4, 2.2, 0.8  # [cm]
STRIP, LINE, EACH = 3.5, 0.33, 0.82  # what is asked beyond the drawings, a line of text, one to write on [cm]
LETTERS = 56  # of a line below a drawing
ORDER = "In the order in which archerysim new asks. Write the unit to each number; an empty line is asked again."
CAUTION = (
    "Never loose without an arrow. Draw on the scale only as far as you shoot, and let down slowly; take a bow apart "
    "only unstrung."
)


def measures_pages(setup: Setup | None = None, assumed: Collection[str] = ()) -> list[Figure]:
    """Pages to print: each measurement with its drawing, the tool, how well, and a line for the number.

    Parameters
    ----------
    setup : Setup, optional
        Its values stand beside each line.
    assumed : collection of str
        Paths of its values that are only assumed; they are marked.

    Returns
    -------
    list of Figure
        A4, upright.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> pages = show.measures_pages(archerysim.load("examples/club-outdoor.toml"))
    >>> [round(25.4 * side) for side in pages[0].get_size_inches()]  # [mm]
    [210, 297]
    """
    from matplotlib.figure import Figure

    pages = []
    each = COLUMNS * ROWS
    groups = [MEASURES[k : k + each] for k in range(0, len(MEASURES), each)]
    wide = (A4[0] - 2 * MARGIN - GAP) / COLUMNS
    for page, group in enumerate(groups):
        head = HEAD + (0 if page else STRIP)
        below = [max(map(_words_high, group[k : k + COLUMNS])) for k in range(0, len(group), COLUMNS)]
        drawn = (A4[1] - MARGIN - head - 0.8 - sum(below)) / ROWS
        figure = Figure(figsize=(A4[0] * CENTIMETRE, A4[1] * CENTIMETRE))
        name = "What to measure" + (f": {setup.name}" if setup is not None else "")
        _text(figure, MARGIN, A4[1] - 1.1, f"{name}  ({page + 1} of {len(groups)})", size=12.0, weight="bold")
        _text(figure, MARGIN, A4[1] - 1.7, ORDER)
        if not page:
            _strip(figure, wide, (setup, assumed))
        for k, measure in enumerate(group):
            left = MARGIN + (k % COLUMNS) * (wide + GAP)
            top = A4[1] - head - (k // COLUMNS) * drawn - sum(below[: k // COLUMNS])
            ax = figure.add_axes(
                (left / A4[0], (top - drawn) / A4[1], wide / A4[0], (drawn - 1.0) / A4[1])
            )  # fmt: skip
            measure.draw(ax)
            _beside(figure, measure, page * each + k + 1, left, top, drawn, (setup, assumed))
        _text(figure, MARGIN, 0.7, CAUTION, color=FAINT)
        pages.append(figure)
    return pages


def _beside(
    figure: Figure, measure: Measure, number: int, left: float, top: float, drawn: float,
    known: tuple[Setup | None, Collection[str]],
) -> None:  # fmt: skip
    """The title above a drawing; below it the tool, how, and the lines to write on."""
    _text(figure, left, top - 0.1, f"{number}  {measure.title}", size=10.0, weight="bold")
    _text(figure, left, top - 0.55, f"with: {measure.tool}", color=FAINT)
    y = top - drawn - 0.15
    for line in textwrap.wrap(measure.how, LETTERS):
        _text(figure, left, y, line, size=7.5)
        y -= LINE
    y -= 0.25
    for name, label in measure.rows:
        how_well = f"  (to {well(name)})" if well(name) else ""
        _text(figure, left, y, _to_write(f"{label}{how_well}"))
        said = _said(name, *known)
        if said:
            _text(figure, left + 0.3, y - 0.36, said, size=7.0, color=FAINT)
        y -= EACH


def _words_high(measure: Measure) -> float:
    """How high all that stands below a drawing is [cm]."""
    return 0.15 + LINE * len(textwrap.wrap(measure.how, LETTERS)) + 0.25 + EACH * len(measure.rows) + 0.1


def _to_write(label: str) -> str:
    """A label with a line to write on, as long as there is room."""
    return f"{label}: {'_' * min(20, LETTERS - 6 - len(label))}"


def _strip(figure: Figure, wide: float, known: tuple[Setup | None, Collection[str]]) -> None:
    """What is asked with nothing to draw: to write, or to ring."""
    for k, (name, label) in enumerate(NOT_DRAWN.items()):
        left, top = MARGIN + (k % COLUMNS) * (wide + GAP), A4[1] - HEAD - 0.1 - (k // COLUMNS) * EACH
        choices = BY_NAME[name].choices
        _text(figure, left, top, f"{label} (ring it): {' / '.join(choices)}" if choices else _to_write(label))
        said = _said(name, *known)
        if said:
            _text(figure, left + 0.3, top - 0.36, said, size=7.0, color=FAINT)


def _text(
    figure: Figure, x: float, y: float, text: str, size: float = SMALL, weight: str = "normal", color: str = INK
) -> None:  # fmt: skip
    figure.text(x / A4[0], y / A4[1], literal(text), fontsize=size, fontweight=weight, color=color, va="top")


def _said(name: str, setup: Setup | None, assumed: Collection[str]) -> str:
    """What the file says of it, and whether that is only assumed."""
    said = today(name, setup)
    paths = BY_NAME[name].fields if name in BY_NAME else (name,)
    return f"{said} (assumed)" if said and any(path in assumed for path in paths) else said


def measures_markdown(
    setup: Setup | None = None, assumed: Collection[str] = (), pictures: tuple[str, ...] = ()
) -> str:  # fmt: skip
    """The same as Markdown, with an empty last column to fill in.

    Parameters
    ----------
    setup, assumed
        As for `measures_pages`.
    pictures : tuple of str
        Names of picture files beside the page, put at its end.
    """
    name = "What to measure" + (f": {_cell(setup.name)}" if setup is not None else "")
    lines = [
        f"# {name}", "", ORDER, "Write the numbers into the last column; then `archerysim new NEW.toml --from "
        "THIS.md`, with the old setup file too where there is one (`--from OLD.toml`).", "", CAUTION, "",
        "| name | what | with | how well | in the file | measured |", "| --- | --- | --- | --- | --- | --- |",
    ]  # fmt: skip
    for one in NOT_DRAWN:
        choices = ", ".join(BY_NAME[one].choices)
        lines.append(_row(one, f"{BY_NAME[one].ask}{f' ({choices})' if choices else ''}", "", "", setup, assumed))
    for k, measure in enumerate(MEASURES):
        for one, label in measure.rows:
            lines.append(_row(one, f"{k + 1} {label}", measure.tool, well(one), setup, assumed))
    lines += ["", *(f"{k + 1}. **{measure.title}.** {measure.how}" for k, measure in enumerate(MEASURES))]
    lines += ["", *(f"![The measurements, drawn]({one})\n" for one in pictures)] if pictures else []
    return "\n".join(lines).rstrip() + "\n"


def _row(
    name: str, what: str, tool: str, how_well: str, setup: Setup | None, assumed: Collection[str]
) -> str:  # fmt: skip
    return f"| `{name}` | {_cell(what)} | {_cell(tool)} | {how_well} | {_cell(_said(name, setup, assumed))} |  |"


def _cell(text: str) -> str:
    return text.replace("|", "/")


def save_measures(
    path: str | os.PathLike[str], setup: Setup | None = None, assumed: Collection[str] = ()
) -> list[str]:  # fmt: skip
    """Write the pages: one .pdf; or an .md with the drawings as .png files beside it.

    Returns
    -------
    list of str
        All files that were written.

    Raises
    ------
    SetupError
        If the ending is not known or a file cannot be written.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     written = show.save_measures(f"{folder}/measures.pdf")
    ...     [Path(path).name for path in written]
    ['measures.pdf']
    """
    from archerysim.fields.file_writing import check_target, write_bytes, write_text
    from archerysim.show.style import save_figure

    check_target(path, "out", (".pdf", ".md"))
    pages, target = measures_pages(setup, assumed), Path(path)
    if target.suffix.lower() == ".pdf":
        write_bytes(path, pdf_of(pages), "out")
        return [os.fspath(path)]
    pictures = [target.with_name(f"{target.stem}-{k + 1}.png") for k in range(len(pages))]
    for picture, page in zip(pictures, pages, strict=True):
        save_figure(page, picture)
    write_text(path, measures_markdown(setup, assumed, tuple(one.name for one in pictures)), "out")
    return [os.fspath(path), *map(os.fspath, pictures)]


def pdf_of(pages: list[Figure]) -> bytes:
    """Pages as one PDF."""
    from matplotlib.backends.backend_pdf import PdfPages

    book = BytesIO()
    with PdfPages(book) as pdf:
        for page in pages:
            pdf.savefig(page)
    return book.getvalue()
