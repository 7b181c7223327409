"""Names cut to the room that there is for them on the page of a moving picture."""

from __future__ import annotations

from collections.abc import Sequence

from archerysim.show.text_widths import most_letters, text_width


def cut(text: str, room: float, size: float, bold: bool = False) -> str:
    """A text as it stands, or as much of it as there is room for, with an ellipsis."""
    if text_width(text, size, bold) <= room:
        return text
    keep = most_letters(text, lambda begin: text_width(f"{begin}…", size, bold) <= room)
    return f"{text[:keep].rstrip()}…"


def short(names: Sequence[str], room: float, size: float, bold: bool = False) -> list[str]:
    """Names that each fit; those that would be the same once cut are numbered."""
    found = [cut(name, room, size, bold) for name in names]
    if len(set(found)) == len(found):
        return found
    left = room - text_width(f" {len(names)}", size, bold)
    return [f"{cut(name, left, size, bold)} {k}" for k, name in enumerate(names, 1)]
