"""Names cut to the room that there is for them on the page of a moving picture."""

from __future__ import annotations

from collections.abc import Sequence


def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is on the page, letters so large, in the page's units."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])


def cut(text: str, room: float, size: float, bold: bool = False) -> str:
    """A text as it stands, or as much of it as there is room for, with an ellipsis."""
    if width(text, size, bold) <= room:
        return text
    keep = next((k for k in range(len(text) - 1, 0, -1) if width(f"{text[:k]}…", size, bold) <= room), 1)
    return f"{text[:keep].rstrip()}…"


def short(names: Sequence[str], room: float, size: float, bold: bool = False) -> list[str]:
    """Names that each fit; those that would be the same once cut are numbered."""
    found = [cut(name, room, size, bold) for name in names]
    if len(set(found)) == len(found):
        return found
    left = room - width(f" {len(names)}", size, bold)
    return [f"{cut(name, left, size, bold)} {k}" for k, name in enumerate(names, 1)]
