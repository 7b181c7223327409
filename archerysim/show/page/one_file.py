"""A page put together in one file that needs nothing else: texts, numbers, style and script."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

from archerysim.show.style import FAINT, INK, LOOKS, PALE

SHARED = "archerysim.show.page"
COLORS = {
    "ink": INK, "faint": "#5c5c5c", "line": FAINT, "pale": PALE, "low": LOOKS["upper"].color,
    "still": LOOKS["arrow"].color, "high": LOOKS["lower"].color,
    "fletched": LOOKS["fletched"].color, "bare": LOOKS["bare"].color,
}  # fmt: skip


def one_file(
    home: str,
    numbers: Mapping[str, Any],
    texts: Mapping[str, str],
    fill: Mapping[str, str],
    scripts: Sequence[str],
    styles: Sequence[str],
) -> str:
    """A page as one file.

    Parameters
    ----------
    home : str
        The package whose folder ``page`` holds the page's own parts: ``page.html``, scripts and styles. A part that is
        not there is one that pages share.
    numbers : mapping
        What the script needs; they stand as JSON in the element "numbers", with the colours.
    texts : mapping
        They stand as JSON in the element "texts", and fill in ``@@key@@`` of the page.
    fill : mapping
        Pieces of HTML for ``@@NAME@@``, as they stand.
    scripts, styles : sequence of str
        Names of the parts, in order.

    Returns
    -------
    str
        HTML.
    """

    def read(name: str) -> str:
        own = files(home) / "page" / name
        return (own if own.is_file() else files(SHARED) / name).read_text(encoding="utf-8")

    filled = {
        **fill,
        "STYLE": _colored("\n".join(read(f"{name}.css") for name in styles)),
        "NUMBERS": _json({**numbers, "colors": COLORS}),
        "TEXTS": _json(dict(texts)),
        "SCRIPT": '(function () {\n"use strict";\n' + "\n".join(read(f"{name}.js") for name in scripts) + "\n}());",
    }

    def filled_in(found: re.Match[str]) -> str:
        name = found[1]
        return filled[name] if name in filled else html.escape(texts[name], quote=True)

    page = read("page.html").replace("@@HEAD@@", read("head.html")).replace("@@PLAYER@@", read("player.html"))
    return re.sub(r"@@([A-Za-z_0-9]+)@@", filled_in, _colored(page))


def _colored(text: str) -> str:
    return re.sub(r"\$([a-z]+)", lambda found: COLORS[found[1]], text)


def _json(what: Any) -> str:
    text = json.dumps(what, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.replace("<", "\\u003c")
