"""Pictures looked at as a reader does: lines by name, and whether every word is large enough and in the picture."""

from __future__ import annotations

import itertools
from typing import Any

from matplotlib.axis import Tick
from matplotlib.text import Text

TOUCHING = 2.0  # by how much words may reach into each other: boxes are wider than letters [dots]
LEAST_SIZE = 7.0  # of a letter in a picture printed 16 cm wide [pt]


def line(ax: Any, gid: str) -> Any:
    """The only line of that name in an axes."""
    (found,) = [one for one in ax.lines if one.get_gid() == gid]
    return found


def lines(ax: Any, gid: str) -> list[Any]:
    """All lines of that name."""
    return [one for one in ax.lines if one.get_gid() == gid]


def assert_legible(figure: Any) -> None:
    """Every text is large enough and lies inside the picture; the picture is 16 cm wide."""
    assert abs(figure.get_figwidth() * 2.54 - 16.0) < 1e-9
    page = figure.bbox
    for text, box in words_drawn(figure):
        assert text.get_fontsize() >= LEAST_SIZE, text
        if box is None:
            continue
        assert box.x0 > page.x0 - 1.0, text
        assert box.x1 < page.x1 + 1.0, text
        assert box.y0 > page.y0 - 1.0, text
        assert box.y1 < page.y1 + 1.0, text


def assert_apart(figure: Any) -> None:
    """No two words lie over each other, those of the axes' numbers left aside."""
    boxes = [(text, box) for text, box in words_drawn(figure) if box is not None]
    for (one, box), (other, its) in itertools.combinations(boxes, 2):
        wide = min(box.x1, its.x1) - max(box.x0, its.x0)
        high = min(box.y1, its.y1) - max(box.y0, its.y0)
        assert min(wide, high) <= TOUCHING, (one.get_text(), other.get_text())


def words_drawn(figure: Any) -> list[tuple[Text, Any]]:
    """Every text of a picture and its box [dots]; no box for the axes' numbers: those outside the limits are not drawn.

    A picture is drawn again only if something in it has changed since.
    """
    if figure.stale or not hasattr(figure, "words_drawn"):
        figure.draw_without_rendering()  # every word is placed; what the picture's dots are is not asked here
        of_ticks = {id(text) for tick in figure.findobj(Tick) for text in tick.findobj(Text)}
        words = [one for one in figure.findobj(Text) if one.get_visible() and one.get_text().strip()]
        figure.words_drawn = [(one, None if id(one) in of_ticks else one.get_window_extent()) for one in words]
        figure.stale = False  # asked for its box, an arrow with words says that it has changed
    return list(figure.words_drawn)
