"""Names and values in two columns: as text, and as a table for notebooks."""

from __future__ import annotations

from html import escape

LONGEST = 80  # letters of one value

Rows = list[tuple[str, str]]


def text_table(head: str, rows: Rows) -> str:
    """Names and values in two columns, below a head."""
    width = max(len(name) for name, _ in rows)
    return "\n".join([head, *(f"  {name:<{width}}  {words}" for name, words in rows)])


def html_table(head: str, rows: Rows) -> str:
    """The same for a notebook; whatever names and values hold is shown as it is written."""
    cells = (f"<tr><th>{escape(name)}</th><td>{escape(words)}</td></tr>" for name, words in rows)
    return f"<table><caption>{escape(head)}</caption>{''.join(cells)}</table>"


def one_line(text: str) -> str:
    """A text on one line, its end left out where it is long."""
    line = " ".join(text.split())
    return line if len(line) <= LONGEST else f"{line[: LONGEST - 3]}..."
