"""What commands share of what they write: the picture, warnings in a line."""

from __future__ import annotations

import logging
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any


def plot(options: Any, draw: Callable[[], Any]) -> None:
    """Write the picture that ``--plot`` asks for, if it is given."""
    if not options.plot:
        return
    from archerysim.show.style import save_figure

    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # where it keeps its fonts is no matter of the archer's
    with warnings_in_a_line():
        save_figure(draw(), options.plot)


@contextmanager
def warnings_in_a_line() -> Iterator[None]:
    """Print warnings without their place in the code."""

    def show(message: Warning | str, *_: Any, **__: Any) -> None:
        print(f"archerysim: {message}", file=sys.stderr)

    with warnings.catch_warnings():
        warnings.showwarning = show
        yield


def tell_guesses(options: Any) -> None:
    """Print, below a range, that it counts the guesses that the file marks; nothing where it counts others."""
    from archerysim.cli.options import marked_in
    from archerysim.equipment.first_setup.questions import QUESTIONS
    from archerysim.show.text import wrapped

    names = [one.name.replace("-", " ") for one in QUESTIONS if one.spread and one.path in marked_in(options)]
    if names and not options.known_to:
        first = "archerysim check says what to measure first"
        print("\n".join(["", *wrapped(f"The range counts what the file only assumes ({', '.join(names)}); {first}.")]))


def tell_edits(bow: Any) -> None:
    """Print what was changed on a bow and what was held, below tables that do not say it themselves."""
    from archerysim.show.lines import edit_lines

    if bow.edits:
        print("\n".join(["", "The bow", *edit_lines(bow.edits)]))
