"""Tables as the pages have them."""

from __future__ import annotations


def markdown(head: str, rows: list[str]) -> str:
    """A table."""
    return "\n".join((head, "|" + " --- |" * (head.count("|") - 1), *rows))


def text(value: float, digits: int) -> str:
    """A number with so many digits after the point, zero without a sign."""
    return f"{round(float(value), digits) + 0.0:.{digits}f}"


def row(*cells: str) -> str:
    """A line of a table."""
    return "| " + " | ".join(cells) + " |"
