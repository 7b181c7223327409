"""What the commands about one's own bow really print: first file, pages of measures, bow case, comparison."""

from __future__ import annotations

from collections.abc import Callable

from said import said, shown

FIRST = (
    'archerysim new bow.toml --usual --kind "club recurve" --draw-length "27 1/2 in" --draw-weight "31 lb" '
    '--brace-height "218 mm" --upper-tiller "192 mm" --lower-tiller "188 mm" --reading "1/2 in top"'
)

COMPARE = "archerysim compare examples/club-outdoor.toml examples/barebow.toml --plot before-after.png"
SHEET = "archerysim sheet examples/club-outdoor.toml --notes examples/notes.toml --out sheet.pdf"


def new() -> str:
    """A first file by options, and what is said of it."""
    wrapped = FIRST.replace(" --brace-height", " \\\n    --brace-height").replace(" --usual", " --usual")
    return shown(FIRST, wrapped=wrapped)


def new_file() -> str:
    """The file itself."""
    return f"```toml\n{said(FIRST).files['bow.toml'].decode().rstrip()}\n```"


def sheet() -> str:
    """What a page for the bow case is said to hold."""
    return shown(SHEET)


def compared() -> str:
    """Two setups compared."""
    return shown(COMPARE)


TABLES: dict[str, Callable[[], str]] = {"new": new, "new-file": new_file, "sheet": sheet, "compare": compared}
