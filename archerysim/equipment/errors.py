"""The one error that a bad setup raises."""

from __future__ import annotations

LONGEST = 400  # letters of one part of a message


class SetupError(ValueError):
    """A value or a combination of values in a setup that cannot be used.

    Parameters
    ----------
    path : str
        Dotted path of the field, for example ``"nock.locators.reading"``.
    problem : str
        What is wrong: the value with its unit and, where there is one, the allowed range.
    remedy : str
        What to do about it.

    Notes
    -----
    The message is one line: ``path: problem. remedy.``
    """

    def __init__(self, path: str, problem: str, remedy: str = "") -> None:
        super().__init__(path, problem, remedy)
        self.path = path
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        parts = [_short(part.strip().rstrip(".")) for part in (self.problem, self.remedy) if part]
        sentence = " ".join(part if part.endswith("?") else f"{part}." for part in parts)
        line = f"{_short(self.path)}: {sentence}" if self.path else sentence
        return printable(" ".join(line.split()))


def printable(text: str) -> str:
    """The text with letters that do not show, or that steer a terminal, written as their numbers."""
    return text if text.isprintable() else "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)


def _short(text: str) -> str:
    """The text, without its middle where it is too long to read."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST // 2]} ... {text[-LONGEST // 2 :]}"
