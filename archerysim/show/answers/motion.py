"""What the terminal tells of a moving picture that was written: what it shows, in a dozen lines."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from archerysim.show.answers.bow import locator_words
from archerysim.show.answers.shot import attack_words, clearance_words, sideways_words
from archerysim.show.bare_shaft.table import flights_table
from archerysim.show.lines import edit_lines
from archerysim.show.motion.texts import said
from archerysim.show.style import MM
from archerysim.show.text import away, speed, tail, told, turning, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.equipment import Setup
    from archerysim.shot.launch import Launch
    from archerysim.shot.side_change import SideChange
    from archerysim.study.bare_shaft.flights import Flights


def release_told(launch: Launch, path: str | os.PathLike[str], change: SideChange | None = None) -> str:
    """What was written, what happens when in the release, and how the arrow leaves.

    Parameters
    ----------
    launch : Launch
    path : path
        Of the file.
    change : SideChange, optional
        What the changes on its bow do sideways, in both planes.
    """
    at, clear = launch.timeline, launch.clear
    lines = [written(path), f"{launch.setup.name}: the release, in slow motion", *edit_lines(launch.edits)]
    lines += told(
        [
            ("fingers", f"off the string after {1e3 * at.fingers.off:.1f} ms"),
            ("separation", f"the arrow is off the string after {1e3 * at.separation:.1f} ms"),
            ("clear", f"after {1e3 * clear.time:.1f} ms, at {speed(clear.speed)}"),
            ("leaves", f"{tail(clear.pitch)}, {turning(clear.pitch_rate)}"),
            ("attack", attack_words(clear.angle_of_attack)),
            ("clearance", clearance_words(launch)),
            ("locators", locator_words(launch.drawing.setup, launch.reading * MM)),
            ("sideways", sideways_words(launch, change) if launch.planes == 2 else ""),
            ("mirrored", mirrored(launch.setup)),
        ]
    )  # fmt: skip
    return with_warnings([*lines, ""], launch.warnings, len(launch.limits_passed))


def flights_told(flown: Flights, path: str | os.PathLike[str], setup: Setup) -> str:
    """What was written, and where the bare shafts land beside the fletched ones.

    Parameters
    ----------
    flown : Flights
    path : path
        Of the file.
    setup : Setup
        Whose archer it is.
    """
    return "\n".join([written(path), *wrapped(mirrored(setup), "", ""), flights_table(flown)])


def written(path: str | os.PathLike[str]) -> str:
    """That a file was written, and how it is looked at."""
    page = Path(path).suffix.lower() == ".html"
    return f"Written: {os.fspath(path)}.{' It opens in any browser, without a network.' if page else ''}"


def mirrored(setup: Setup) -> str:
    """What is mirrored for a left-handed archer; nothing for a right-handed one."""
    return said("mirrored") if away(setup) == "right" else ""
