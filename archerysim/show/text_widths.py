"""How wide a text is as it is drawn, how many of its letters there is room for, and words in lines of a width."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable

from archerysim.show.style import CENTIMETRE, TEXT


def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is, letters so large, in the unit of their size."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])


def most_letters(text: str, fits: Callable[[str], bool]) -> int:
    """With how many of its letters the beginning of a text still fits: one at least, and one less than it has at most.

    What begins longer is wider: few beginnings have to be measured.
    """
    return 1 + bisect_left(range(2, len(text)), True, key=lambda count: not fits(text[:count]))


def fold(words: str, wide: float, size: float = TEXT) -> str:
    """Words in lines that are no wider than they may be, as they are drawn; a word that is wider is cut.

    Parameters
    ----------
    words : str
    wide : float
        [cm]
    size : float
        Of the letters [pt].
    """
    most = 72.0 * CENTIMETRE * wide

    def fits(text: str) -> bool:
        return text_width(text, size) <= most

    lines = [""]
    for word in words.split():
        rest = word
        if fits(longer := f"{lines[-1]} {rest}".lstrip()):
            lines[-1] = longer
            continue
        while not fits(rest):
            cut = most_letters(rest, fits)
            lines.append(rest[:cut])
            rest = rest[cut:]
        lines.append(rest)
    return "\n".join(line for line in lines if line)
