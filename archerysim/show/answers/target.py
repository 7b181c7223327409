"""What the target looks like: where fletched and bare shafts land on it, and how sure that is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from archerysim.fields.units import target_distance
from archerysim.show.answers.bow import locator_words
from archerysim.show.answers.flight import CM, bare_sideways_words, on_target
from archerysim.show.answers.motion import mirrored
from archerysim.show.bare_shaft.target_card import NINETY
from archerysim.show.flights.table import LEVEL
from archerysim.show.lines import edit_lines
from archerysim.show.style import INCH, MM
from archerysim.show.text import told, with_warnings

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from archerysim.shot.flight.side_gap import SideGapChange
    from archerysim.shot.launch import Launch
    from archerysim.study.bare_shaft.result import BareAgainstFletched

MIDDLE = "the fletched group's middle"


def target_answer(
    found: BareAgainstFletched,
    launch: Launch,
    face: float,
    given: str | None = None,
    change: SideGapChange | None = None,
) -> str:
    """Where the fletched group's middle and the bare shaft land with today's reading, in true size.

    Parameters
    ----------
    found : BareAgainstFletched
        Around today's reading; its first distance is told.
    launch : Launch
        With today's reading.
    face : float
        Diameter of the face [m].
    given : str, optional
        The distance as it was given.
    change : SideGapChange, optional
        What the changes on the bow do to left and right of the bare shaft.

    Returns
    -------
    str
        Limits that are passed on top; at the end the other warnings and the range's cautions.
    """
    from archerysim.study.notes.group_means import SCATTER

    distance = float(found.distances[0])
    here, far = (found.today, "mm"), (distance, "m")
    band, aside = found.height_at(here, far), found.unsure_aside(here, far)
    tape = "taped" if found.taped else "not taped"
    own = float(np.interp(found.today, found.readings, found.value[:, 0]))
    scatter = both(NINETY * SCATTER * distance)
    name = target_distance(distance, given)
    lines = [f"{found.setup.name}: the target at {name}, face {both(face)} across", *edit_lines(launch.edits)]
    lines += told(
        [
            (
                "fletched",
                "the sight puts the middle of their group on the centre; nine of ten of a club archer's arrows hit "
                f"within {scatter} of it up and down, and as far left and right",
            ),
            ("bare shaft", f"about {_height(band.median)} {MIDDLE}, same sight, {tape}{_off(band.median, face)}"),
            ("how sure", f"nine of ten bows that fit the file: {_height(band.low)} it to {_height(band.high)} it"),
            ("by the file", f"{_height(own)} {MIDDLE}, as archerysim fly has it"),
            ("wanted", f"{_height(found.wanted(far))} {MIDDLE}: drag and mass alone do that"),
            ("sideways", bare_sideways_words(launch, change) if launch.planes == 2 else ""),
            ("beside", _aside(aside)),
            ("locators", locator_words(launch.drawing.setup, found.today * MM)),
            ("mirrored", mirrored(launch.setup)),
        ]
    )
    return with_warnings([*lines, ""], found.warnings, len(found.limits_passed))


def scale_told(figure: Figure, face: float) -> str:
    """How large a face [m] is in a target card as it is printed."""
    figure.draw_without_rendering()
    ax = figure.axes[0]
    left, right = ax.get_xlim()
    wide = ax.get_window_extent().width / figure.dpi * INCH  # of the printed picture [m]
    times = (right - left) * MM / wide
    across = figure.get_size_inches()[0] * INCH
    return f"Printed {both(across)} wide, the picture is 1 : {times:.1f}, and the face {both(face / times)} across."


def both(length: float) -> str:
    """A length on the target [m] in cm and inches."""
    return f"{length / CM:.1f} cm ({length / INCH:.1f} in)"


def _height(height: float) -> str:
    """A height [m] against something that is named after it."""
    if not math.isfinite(height):
        return "not known against"
    return "level with" if abs(height) < LEVEL else f"{on_target(height, 'above', 'below')}"


def _off(height: float, face: float) -> str:
    """Where it ends that a bare shaft misses the face."""
    return f"; off the face, whose edge is {both(0.5 * face)} from its centre" if abs(height) > 0.5 * face else ""


def _aside(aside: float) -> str:
    """How far left or right the bare shaft may land; "" in a shot in one plane."""
    if not math.isfinite(aside):
        return ""
    return (
        f"nine of ten bows send it up to {both(aside)} left or right; to which side is not known before groups are shot"
    )
