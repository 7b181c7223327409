"""What the commands about one's own bow really print: first file, measures, bow case, journal, comparison."""

from __future__ import annotations

import io
import os
import shlex
from collections.abc import Callable
from contextlib import chdir, redirect_stdout
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from archerysim.cli.main import main

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
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


@cache
def said(*lines: str) -> dict[str, str]:
    """What each command line prints, run one after another beside a copy of the examples; and the files it leaves."""
    out = {}
    with TemporaryDirectory() as folder:
        os.symlink(EXAMPLES, Path(folder) / "examples")
        with chdir(folder):
            for line in lines:
                heard = io.StringIO()
                with redirect_stdout(heard):
                    status = main(shlex.split(line)[1:])
                assert status == 0, line
                out[line] = heard.getvalue().rstrip()
            out |= {path.name: path.read_text(encoding="utf-8") for path in Path().glob("*.toml")}
    return out


def _shown(line: str, wrapped: str = "") -> str:
    return f"```text\n$ {wrapped or line}\n{said(line)[line]}\n```"


def new() -> str:
    """A first file by options, and what is said of it."""
    return _shown(FIRST, FIRST.replace(" --brace-height", " \\\n    --brace-height").replace(" --usual", " --usual"))


def new_file() -> str:
    """The file itself."""
    return f"```toml\n{said(FIRST)['bow.toml'].rstrip()}\n```"


def sheet() -> str:
    """What a page for the bow case is said to hold."""
    return _shown(SHEET)


def compared() -> str:
    """Two setups compared."""
    return _shown(COMPARE)


def journal() -> str:
    """A journal of three evenings."""
    return _shown(JOURNAL)


def journal_change() -> str:
    """A change written down."""
    return _shown(CHANGE, CHANGE.replace(" --changed", " \\\n    --changed"))


TABLES: dict[str, Callable[[], str]] = {
    "new": new,
    "new-file": new_file,
    "sheet": sheet,
    "compare": compared,
    "journal": journal,
    "journal-change": journal_change,
}
