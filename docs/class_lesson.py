"""Puts the lesson itself into the site's page for a class, where the Markdown has a picture of it."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
MADE = ROOT / "docs" / "made"  # lessons are kept here: each takes some hundred shots
BOW = ROOT / "examples" / "club-outdoor.toml"
PAGE, FILE = "class", "class-lesson.html"
PLACE = re.compile(r"<!-- lesson -->.*?<!-- end -->", re.DOTALL)
FRAME = (
    f'<iframe src="{FILE}" title="The lesson: three arrows at once, with sliders" '
    'style="width: 100%; height: 46rem; border: 1px solid"></iframe>'
)


def connect(app: Any) -> None:
    """Ask Sphinx to call what is below; ``-D lesson_shots=...`` makes a rougher lesson sooner."""
    from archerysim.study.lesson.lesson import SHOTS

    app.add_config_value("lesson_shots", SHOTS, "html", int)
    app.connect("source-read", _put_in)
    app.connect("build-finished", _write)


def lesson_html(shots: int) -> str:
    """The lesson, made anew where the code or the bow has changed since it was kept."""
    import archerysim
    from archerysim import show

    kept = MADE / f"lesson-{shots}-{_state()}.html"
    if not kept.exists():
        MADE.mkdir(exist_ok=True)
        for old in MADE.glob(f"lesson-{shots}-*.html"):
            old.unlink()
        kept.write_text(show.lesson_page(archerysim.lesson(archerysim.load(BOW), shots=shots)), encoding="utf-8")
    return kept.read_text(encoding="utf-8")


def _state() -> str:
    """A hash of all that the lesson follows from."""
    state = sha256()
    for path in sorted(
        path for path in (ROOT / "archerysim").rglob("*") if path.suffix in (".py", ".html", ".css", ".js")
    ):
        state.update(path.read_bytes())
    state.update(BOW.read_bytes())
    return state.hexdigest()[:16]


def _put_in(app: Any, name: str, source: list[str]) -> None:
    if name == PAGE and app.builder.format == "html":
        source[0] = PLACE.sub(FRAME, source[0])


def _write(app: Any, failed: Exception | None) -> None:
    if failed is None and app.builder.format == "html":
        (Path(app.outdir) / FILE).write_text(lesson_html(app.config.lesson_shots), encoding="utf-8")
