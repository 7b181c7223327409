"""Two bows in the same axes, the old one grey, the new one dark."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import INK, MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.shot.launch import Launch

OLD, NEW = "#a9a9a4", INK
WIDER = 2.2  # the old one, so that it is seen beside the new one


def draw_bow(ax: Axes, launch: Launch, color: str, name: str) -> None:
    """Draw limbs, string and arrow at brace (thin) and at full draw; what is `OLD` wider, to be seen below the new."""
    from archerysim.shot.arrays.wraps import string_line

    braced, drawn, m = launch.braced, launch.drawn, launch.braced.marks
    states = (
        (np.column_stack((braced.x, braced.y)), 0.9),
        (np.column_stack((drawn.x, drawn.y)), 1.8),
    )
    for nodes, width in states:
        pieces = (
            nodes[m.root_u : m.tip_u + 1], nodes[m.tip_l : m.root_l + 1],
            string_line(braced.chain, m, nodes), nodes[m.tail :],
        )  # fmt: skip
        for k, piece in enumerate(pieces):
            thin = width if k < 2 else 0.6 * width
            ax.plot(
                piece[:, 0] / MM, piece[:, 1] / MM, color=color, linewidth=thin * WIDER if color == OLD else thin,
                label=name if width > 1.0 and not k else None, gid=f"{name} {k}",
            )  # fmt: skip
    ax.plot([0.0], [0.0], marker="+", color=INK, markersize=7.0, linestyle="none")
