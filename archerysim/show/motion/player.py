"""A scene as one page for a browser: its numbers and a player, in one file that needs nothing else."""

from __future__ import annotations

import html
from collections.abc import Mapping
from typing import Any

import numpy as np

from archerysim.show.motion.scene import Key, Line, Panel, Scene, Words
from archerysim.show.motion.texts import ENGLISH, checked_texts
from archerysim.show.page.one_file import one_file

SCRIPTS = ("texts", "drawing", "clock", "scene", "player")
STYLES = ("style", "player")
TIME_DIGITS = {"ms": 3, "s": 5}
TOLD_DIGITS = {"ms": 1, "s": 2}  # of the time in words
UNITS = {"ms": 1e3, "s": 1.0}
IN_PICTURE = ("scale", "tick")  # words that stand in a panel's picture


def player(scene: Scene, texts: Mapping[str, str] = ENGLISH) -> str:
    """The page that plays a scene.

    Parameters
    ----------
    scene : Scene
    texts : mapping of str to str
        What the page says around the scene: the table ``archerysim.show.motion.texts.ENGLISH``, or one of another
        language with the same keys and the same words in braces.

    Returns
    -------
    str
        HTML. Its numbers stand as JSON in the element "numbers", see `plain_scene`.

    Raises
    ------
    SetupError
        If a sentence is missing or unknown, or is filled in otherwise.
    """
    words = checked_texts(texts)
    fill = {
        "TITLE": html.escape(scene.title),
        "READING": html.escape(scene.reading),
        "NOTES": "".join(f"<li>{html.escape(note)}</li>" for note in scene.notes),
        "HAPPENS": "".join(
            f"<li><strong>{time} {scene.unit}</strong> {html.escape(what)}</li>" for time, what in _happens(scene)
        ),
    }
    return one_file("archerysim.show.motion", plain_scene(scene), words, fill, SCRIPTS, STYLES)


def _happens(scene: Scene) -> list[tuple[str, str]]:
    """When each phase begins, in words; phases without a name are left out."""
    found: list[tuple[str, str]] = []
    before = ""
    for time, phase in zip(_times(scene), scene.phases, strict=True):
        if phase and phase != before:
            found.append((time, phase))
        before = phase
    return found


def _times(scene: Scene) -> list[str]:
    """The time of each instant in words, without its unit."""
    return [f"{UNITS[scene.unit] * float(t):.{TOLD_DIGITS[scene.unit]}f}" for t in scene.time]


def plain_scene(scene: Scene) -> dict[str, Any]:
    """A scene as plain numbers and words.

    Returns
    -------
    dict
        ``time`` in ``unit``, of which a second has ``second``, in words too (``told``), ``phases``, ``way``, ``slow``
        and ``panels``; the head is left out. A panel has the size of its box ``b``, window ``w``, frame ``f``, lines
        ``l``, whether it is a ``course`` over time (rows of forces); ``title``, ``told`` and ``note`` around it,
        ``keys`` below it, words ``t`` in it; ``times`` tells how much it is enlarged across, 0 where both scales are
        equal or of different things. A line has a name ``n``, color ``c``, width ``w`` and the points ``p``: a row x,
        y, x, y... for each instant, or one row for all, in whole numbers of the digit ``s``; where they are not plain,
        dashes ``d``, filling ``f``, dots' radius ``r``, strengths ``a``, counts of points ``u``. Words have one text
        for all instants, or one for each.
    """
    digits = TIME_DIGITS[scene.unit]
    return {
        "title": scene.title,
        "unit": scene.unit,
        "time": [round(UNITS[scene.unit] * float(t), digits) for t in scene.time],
        "told": _times(scene),
        "second": UNITS[scene.unit],
        "phases": list(scene.phases),
        "way": list(scene.way),
        "slow": scene.slow,
        "panels": [_panel(one) for one in scene.panels if not any(words.part == "head" for words in one.words)],
    }


def _panel(panel: Panel) -> dict[str, Any]:
    around = {part: [one for one in panel.words if one.part == part] for part in ("title", "told", "note")}
    return {
        "b": [_short(x) for x in panel.box[2:]],
        "w": [_short(x) for x in panel.window],
        "f": int(panel.framed),
        "course": int(panel.course),
        "l": [_line(one) for one in panel.lines],
        "t": [_words(one) for one in panel.words if one.part in IN_PICTURE],
        "keys": [_key(one) for one in panel.keys],
        "times": max((one.times for one in panel.words), default=0),
        **{part: list(words[0].whole or words[0].texts) if words else [] for part, words in around.items()},
    }


def _key(key: Key) -> dict[str, Any]:
    return {"t": key.text, "c": key.color, "d": [_short(x) for x in key.dash], "o": int(key.dot)}


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
    (text,) = words.texts
    return {
        "x": _short(words.at[0]), "y": _short(words.at[1]), "t": text, "a": words.align, "k": int(words.part == "tick"),
    }  # fmt: skip


def _short(value: float) -> float:
    """A number with six figures."""
    return float(f"{float(value):.6g}")
