"""The site of docs/: made by one command without a warning, with an entry for every public name."""

from __future__ import annotations

import subprocess
import sys
import zlib
from importlib.util import find_spec
from pathlib import Path

import pytest

import archerysim
from archerysim import show

ROOT = Path(__file__).resolve().parents[2]
ROUGH = 40  # shots behind the lesson of the page for a class: enough for a page, not for a class
LACKING = [name for name in ("sphinx", "myst_parser", "numpydoc", "furo") if find_spec(name) is None]


def site_in(folder: Path) -> dict[str, set[str]]:
    """Make the site, a warning fails it; its inventory: names by kind, as "py:function" or "std:doc"."""
    command = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-D", f"lesson_shots={ROUGH}", "-b", "html"]
    done = subprocess.run([*command, "docs", str(folder)], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    *_, packed = (folder / "objects.inv").read_bytes().split(b"\n", 4)
    found: dict[str, set[str]] = {}
    for line in zlib.decompress(packed).decode().splitlines():
        name, kind, _ = line.split(maxsplit=2)
        found.setdefault(kind, set()).add(name)
    return found


@pytest.mark.skipif(bool(LACKING), reason=f"the extra docs is not installed: {', '.join(LACKING)}")
def test_the_site_holds_every_page_and_every_public_name(tmp_path: Path) -> None:
    """One test, because the site is made once."""
    entries = site_in(tmp_path)

    public = {f"archerysim.{name}" for name in archerysim.__all__} | {
        f"archerysim.show.{name}" for name in show.__all__
    }
    told = set().union(*(names for kind, names in entries.items() if kind.startswith("py:")))
    assert public <= told, public - told

    pages = {path.relative_to(ROOT / "docs").with_suffix("").as_posix() for path in (ROOT / "docs").rglob("*.md")}
    assert "glossary" in pages
    assert pages <= entries["std:doc"], pages - entries["std:doc"]

    records = (tmp_path / "reference" / "setup.html").read_text(encoding="utf-8")
    gap = archerysim.field_info("nock.locators.gap")
    assert f"{gap.text}; from 0 mm to 5 mm; 0 mm if not given." in records

    embedded = (tmp_path / "class.html").read_text(encoding="utf-8")
    assert '<iframe src="class-lesson.html"' in embedded
    assert "images/lesson.png" not in embedded  # in its place
    assert "An invented bow" in (tmp_path / "class-lesson.html").read_text(encoding="utf-8")
