"""What the commands about one's own bow really print: first file, measures, bow case, journal, comparison."""

from __future__ import annotations

from collections.abc import Callable

from said import said, shown

FIRST = (
    'archerysim new bow.toml --usual --kind "club recurve" --draw-length "27 1/2 in" --draw-weight "31 lb" '
    '--brace-height "218 mm" --upper-tiller "192 mm" --lower-tiller "188 mm" --reading "1/2 in top"'
)

COMPARE = "archerysim compare examples/club-outdoor.toml examples/barebow.toml --plot before-after.png"
SHEET = "archerysim sheet examples/club-outdoor.toml --journal examples/season.toml --out sheet.pdf"
JOURNAL = "archerysim journal examples/club-outdoor.toml --file examples/season.toml"
CHANGE = (
    'archerysim journal examples/club-outdoor.toml --file journal.toml --changed "nock.locators.reading=6 mm" '
    '--why "bare shafts low" --date 2026-05-06'
)


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


def journal() -> str:
    """A journal of three evenings."""
    return shown(JOURNAL)


def journal_change() -> str:
    """A change written down."""
    return shown(CHANGE, wrapped=CHANGE.replace(" --changed", " \\\n    --changed"))


TABLES: dict[str, Callable[[], str]] = {
    "new": new,
    "new-file": new_file,
    "sheet": sheet,
    "compare": compared,
    "journal": journal,
    "journal-change": journal_change,
}
