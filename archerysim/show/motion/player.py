"""A scene as one page for a browser: its numbers and a small player, in one file that needs nothing else."""

from __future__ import annotations

import html
import json
from typing import Any

import numpy as np

from archerysim.show.motion.player_page import PAGE_TEXT, SCRIPT, STYLE
from archerysim.show.motion.scene import PAGE, Line, Panel, Scene, Words
from archerysim.show.style import FAINT, INK, LOOKS, PALE

TIME_DIGITS = {"ms": 3, "s": 5}
UNITS = {"ms": 1e3, "s": 1.0}


def player(scene: Scene) -> str:
    """The page that plays a scene.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    str
        HTML. Its numbers stand as JSON in the element "scene", see `plain_scene`.
    """
    numbers = json.dumps(plain_scene(scene), separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    fill = {
        "TITLE": html.escape(scene.title),
        "STYLE": _colored(STYLE),
        "NOTES": "".join(f"<li>{html.escape(note)}</li>" for note in scene.notes),
        "NUMBERS": numbers.replace("<", "\\u003c"),
        "SCRIPT": _colored(SCRIPT),
    }
    head, *rest = PAGE_TEXT.split("@@")
    return head + "".join(fill[one] if k % 2 == 0 else one for k, one in enumerate(rest))


def _colored(text: str) -> str:
    for name, color in (("ink", INK), ("faint", FAINT), ("pale", PALE), ("accent", LOOKS["arrow"].color)):
        text = text.replace(f"${name}", color)
    return text


def plain_scene(scene: Scene) -> dict[str, Any]:
    """A scene as plain numbers and words.

    Returns
    -------
    dict
        ``time`` in ``unit``, ``phases``, ``slow``, ``page`` and ``panels``. A panel has its box ``b``, window ``w``,
        frame ``f``, lines ``l`` and words ``t``. A line has a name ``n``, color ``c``, width ``w`` and the points
        ``p``: a row x, y, x, y... for each instant, or one row for all, in whole numbers of the digit ``s``; where
        they are not plain, dashes ``d``, filling ``f``, dots' radius ``r``, strengths ``a``, counts of points ``u``.
    """
    digits = TIME_DIGITS[scene.unit]
    return {
        "title": scene.title,
        "unit": scene.unit,
        "time": [round(UNITS[scene.unit] * float(t), digits) for t in scene.time],
        "second": UNITS[scene.unit],
        "phases": list(scene.phases),
        "slow": scene.slow,
        "page": PAGE,
        "panels": [_panel(one) for one in scene.panels],
    }


def _panel(panel: Panel) -> dict[str, Any]:
    return {
        "b": [_short(x) for x in panel.box],
        "w": [_short(x) for x in panel.window],
        "f": int(panel.framed),
        "l": [_line(one) for one in panel.lines],
        "t": [_words(one) for one in panel.words],
    }


def _line(line: Line) -> dict[str, Any]:
    points = line.points if line.points.ndim == 3 else line.points[None]
    whole = np.round(points / line.digit).astype(int).reshape(points.shape[0], -1)
    out: dict[str, Any] = {"n": line.name, "c": line.color, "w": _short(line.width), "s": line.digit}
    out["p"] = whole.tolist()
    if line.dash:
        out["d"] = [_short(x) for x in line.dash]
    if line.filled:
        out["f"] = 1
    if line.radius > 0.0:
        out["r"] = line.radius
    strengths = np.atleast_1d(np.asarray(line.show, dtype=float))
    if strengths.min() < 1.0:
        out["a"] = [round(float(x), 2) for x in strengths]
    if line.upto is not None:
        out["u"] = [int(x) for x in line.upto]
    return out


def _words(words: Words) -> dict[str, Any]:
    return {
        "x": _short(words.at[0]), "y": _short(words.at[1]), "t": list(words.texts), "s": words.size,
        "c": words.color, "a": words.align, "b": int(words.bold),
    }  # fmt: skip


def _short(value: float) -> float:
    """A number with six figures."""
    return float(f"{float(value):.6g}")
