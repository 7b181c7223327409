"""The bow unstrung, at brace and at full draw, to scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style
from archerysim.show.style import INK, LOOKS, MM
from archerysim.show.text import number

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.equipment import Setup
    from archerysim.shot.draw_curve import DrawCurve
    from archerysim.shot.launch import Launch
    from archerysim.shot.statics.brace import Braced

RISER = "#b9b9b5"
# how strongly each state is drawn
STATES = {"unstrung": 0.35, "brace": 0.6, "full draw": 1.0}


@dataclass(frozen=True)
class Pictured:
    """What a picture needs of a result: the braced bow, full draw's nodes (n, 2) [m] and the setup, or None."""

    braced: Braced
    full_draw: np.ndarray | None
    setup: Setup | None


def pictured_in(result: Launch | DrawCurve | Braced) -> Pictured:
    """The braced bow, full draw and setup inside a result."""
    from archerysim.shot.statics.bracing import Braced

    if isinstance(result, Braced):
        return Pictured(result, None, None)
    drawn = result.drawn[-1] if isinstance(result.drawn, tuple) else result.drawn
    return Pictured(result.braced, np.column_stack((drawn.x, drawn.y)), result.setup)


def bow(result: Launch | DrawCurve | Braced, setup: Setup | None = None, ax: Axes | None = None) -> Axes:
    """Draw the bow unstrung, at brace and at full draw, to scale, in the riser's axes.

    Parameters
    ----------
    result : Launch, DrawCurve or Braced
        An `archerysim.Braced` bow has no full draw: only the first two states are drawn.
    setup : Setup, optional
        For the rest's place, where the result (an `archerysim.Braced`) does not carry its setup.
    ax : Axes, optional

    Returns
    -------
    Axes
        Forward of the pivot [mm] to the right, above the pivot [mm] upwards, equal scales.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> ax = show.bow(archerysim.draw(archerysim.load("examples/club-outdoor.toml"), points=5))
    >>> ax.get_aspect()  # equal scales
    1.0
    """
    from archerysim.shot.statics.unstrung import unstrung

    pictured = pictured_in(result)
    braced, setup = pictured.braced, pictured.setup or setup
    own = ax is None
    ax = style.one_axes(ax, 18.5)
    _riser(ax, braced)
    for side, limb in zip(("upper", "lower"), unstrung(braced), strict=True):
        _line(ax, limb, f"{side} limb, unstrung", side, "unstrung")
    at_brace = np.column_stack((braced.x, braced.y))
    _state(ax, braced, at_brace, "brace")
    if pictured.full_draw is not None:
        _state(ax, braced, pictured.full_draw, "full draw")
    if setup is not None:
        _rest_and_fingers(ax, pictured, setup)
    title = f"{setup.name}: " if setup is not None else ""
    states = (
        "unstrung (pale), at brace, at full draw (dark)" if pictured.full_draw is not None else "unstrung, at brace"
    )
    style.dress(ax, "forward of the grip's pivot [mm]", "above the grip's pivot [mm]", title + states)
    ax.set_aspect("equal", adjustable="datalim")
    _words(ax, pictured)
    style.legend(ax, loc="upper left")
    if own and hasattr(result, "limits_passed"):
        style.limits_passed(ax.figure, result)  # type: ignore[arg-type]
    return ax


def _riser(ax: Axes, braced: Braced) -> None:
    roots = braced.frame.carried[1:3]
    line = np.vstack((roots[0], (0.0, 0.0), roots[1])) / MM
    ax.plot(line[:, 0], line[:, 1], color=RISER, linewidth=6.0, solid_capstyle="round", zorder=1.0, gid="riser")
    ax.plot([0.0], [0.0], marker="+", color=INK, markersize=8.0, linestyle="none", label="pivot of the grip")


def _line(ax: Axes, nodes: np.ndarray, gid: str, name: str, state: str, label: str = "") -> None:
    ax.plot(
        nodes[:, 0] / MM, nodes[:, 1] / MM, alpha=STATES[state], gid=gid, label=label or None,
        **LOOKS[name].line_style,
    )  # fmt: skip


def _state(ax: Axes, braced: Braced, nodes: np.ndarray, state: str) -> None:
    """Limbs, string and arrow of one state."""
    from archerysim.shot.arrays.wraps import string_line

    m = braced.marks
    last = state == "full draw"
    _line(ax, nodes[m.root_u : m.tip_u + 1], f"upper limb, {state}", "upper", state, "upper limb" if last else "")
    _line(ax, nodes[m.tip_l : m.root_l + 1], f"lower limb, {state}", "lower", state, "lower limb" if last else "")
    _line(ax, string_line(braced.chain, m, nodes), f"string, {state}", "string", state, "string" if last else "")
    if m.tail < nodes.shape[0]:
        _line(ax, nodes[m.tail :], f"arrow, {state}", "arrow", state, "arrow" if last else "")


def finger_points(braced: Braced, nodes: np.ndarray, setup: Setup) -> np.ndarray:
    """Where index, middle and ring finger touch the string: (3, 2) [m]."""
    from archerysim.equipment import filled

    archer = filled(setup).archer
    at = braced.throat + np.asarray(archer.finger_places) - archer.crawl
    m = braced.marks
    place = braced.string_place[::-1]
    string = nodes[m.tip_u : m.tip_l + 1][::-1]
    return np.column_stack([np.interp(at, place, string[:, k]) for k in (0, 1)])


def _rest_and_fingers(ax: Axes, pictured: Pictured, setup: Setup) -> None:
    """The rest, and the fingers at full draw."""
    from archerysim.equipment import filled

    rest = filled(setup).rest
    look = LOOKS["rest"]
    ax.plot(
        [rest.forward / MM], [rest.height / MM], marker="s", markersize=5.0, color=look.color, linestyle="none",
        label="rest", gid="rest", zorder=4.0,
    )  # fmt: skip
    if pictured.full_draw is not None:
        points = finger_points(pictured.braced, pictured.full_draw, setup) / MM
        ax.plot(
            points[:, 0], points[:, 1], marker="o", markersize=6.5, color=LOOKS["fingers"].color,
            markeredgecolor=INK, markeredgewidth=0.6, linestyle="none", label="fingers", gid="fingers", zorder=4.0,
        )  # fmt: skip


def _words(ax: Axes, pictured: Pictured) -> None:
    """The braced bow's numbers, beside the drawing."""
    braced = pictured.braced
    split = (braced.upper_tiller - braced.lower_tiller) / MM
    words = (
        f"brace height {braced.brace_height / MM:.0f} mm ({braced.brace_height / style.INCH:.2f} in)",
        f"upper tiller {braced.upper_tiller / MM:.0f} mm, lower {braced.lower_tiller / MM:.0f} mm",
        f"tiller split {number(split, 'mm', 1, True)}",
        f"string, unloaded {braced.string_length / MM:.0f} mm ({braced.string_length / style.INCH:.1f} in)",
        f"string tension {braced.tension:.0f} N",
    )
    ax.text(
        0.985, 0.015, "\n".join(words), transform=ax.transAxes, fontsize=style.SMALL, color=INK, ha="right",
        va="bottom",
    )  # fmt: skip
