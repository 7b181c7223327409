"""Where the stored energy is, over time: stacked from the drawn bow to the clear arrow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show import style
from archerysim.show.style import FAINT, INK, LOOKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.shot.launch import Launch

# what is stacked, from the bottom: label, fields of `Energy`, colour, hatch
LAYERS = (
    ("arrow", ("arrow_translation", "arrow_rotation", "arrow_bending"), LOOKS["arrow"].color, ""),
    ("string", ("string",), "#8d8d88", ""),
    ("limbs", ("limbs",), LOOKS["upper"].color, ""),
    ("riser and hand", ("riser_and_hand", "rods", "weight"), LOOKS["rest"].color, ""),
    ("fingers", ("fingers",), LOOKS["fingers"].color, ""),
    ("lost to dampers", (
        "lost_string", "lost_limbs", "lost_arrow", "lost_nock", "lost_locators", "lost_friction", "lost_rest",
        "lost_hand", "lost_rods", "lost_hysteresis", "lost_side_support", "lost_groove", "lost_tips", "lost_folding",
    ), "#dddddd", "///"),
)  # fmt: skip


def energy(launch: Launch, ax: Axes | None = None) -> Axes:
    """Stack the energy of a traced shot over time.

    Parameters
    ----------
    launch : Launch
        With its trace.
    ax : Axes, optional

    Returns
    -------
    Axes
        Time [ms], energy [J]; the sum stays at the stored energy.

    Examples
    --------
    >>> import archerysim
    >>> from archerysim import show
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> ax = show.energy(launch)
    >>> bool(ax.get_ylim()[1] > launch.stored_energy)  # [J]
    True
    """
    from archerysim.shot.launch import energy_history

    own = ax is None
    ax = style.one_axes(ax, 9.5)
    time, accounts = energy_history(launch)
    inside = time <= launch.clear.time
    time = 1e3 * time[inside]
    accounts = [one for one, keep in zip(accounts, inside, strict=True) if keep]
    base = np.zeros(time.size)
    for label, names, color, hatch in LAYERS:
        part = np.array([sum(getattr(one, name) for name in names) for one in accounts])
        top = base + part
        ax.fill_between(
            time, base, top, color=color, hatch=hatch, edgecolor="white", linewidth=0.4, label=label, gid=label,
            alpha=0.9,
        )  # fmt: skip
        base = top
    ax.axhline(launch.stored_energy, color=INK, linewidth=0.8, linestyle=(0, (4, 2)), gid="stored")
    for name, moment in (("separation", launch.separation), ("clear", launch.clear)):
        ax.axvline(1e3 * moment.time, **LOOKS[name].line_style, gid=name)
        style.note(ax, 1e3 * moment.time, 1.03 * launch.stored_energy, f"{name} ", ha="right", va="bottom", color=FAINT)
    style.dress(ax, "time after the release begins [ms]", "energy [J]", f"{launch.setup.name}: where the energy is")
    ax.set_xlim(0.0, 1.02 * time[-1])
    ax.set_ylim(0.0, 1.14 * launch.stored_energy)
    style.legend(ax, loc="upper left", bbox_to_anchor=(0.02, 0.62))
    if own:
        style.changed(ax.figure, launch.edits)  # type: ignore[arg-type]
    return ax
