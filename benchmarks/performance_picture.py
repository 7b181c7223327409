"""The three cost curves in one picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from curves import Size, slope

from archerysim.show.style import FAINT, LOOKS, dress, legend, many_axes, save_figure

HEIGHT = 6.5  # [cm]


def curve(ax: Any, x: Sequence[float], y: Sequence[float], look: str, says: str) -> None:
    """One curve in multiples of its first value, its fitted power in the legend."""
    label = f"{says}: power {slope(x, y):.2f}"
    ax.loglog(x, np.array(y) / y[0], marker=LOOKS[look].marker, markersize=4, label=label, **LOOKS[look].line_style)


def plain(axis: Any, at: Sequence[float]) -> None:
    """Ticks at these values and no others."""
    axis.set_ticks(list(at), labels=[f"{v:g}" for v in at])
    axis.set_ticks([], minor=True)


def draw(
    sizes: Sequence[Size], points: Sequence[tuple[int, float]], workers: Sequence[tuple[int, float]], path: Path
) -> None:
    """Write the picture."""
    figure, (mesh, many, spread) = many_axes(None, 3, 3, HEIGHT)
    nodes = [one.nodes for one in sizes]
    curve(mesh, nodes, [one.seconds for one in sizes], "upper", "release")
    curve(mesh, nodes, [one.per_step for one in sizes], "clear", "a step")
    dress(mesh, "nodes", "time against the coarsest", "Mesh")
    plain(mesh.xaxis, nodes[::3])
    plain(mesh.yaxis, (1, 2, 5, 10, 20))
    counts, times = zip(*points, strict=True)
    curve(many, counts, times, "arrow", "sweep")
    dress(many, "points, one process", "time against the fewest", "Points")
    plain(many.xaxis, (10, 25, 100, 400))
    plain(many.yaxis, (1, 4, 10, 40))
    hands, took = zip(*workers, strict=True)
    spread.loglog(hands, hands, color=FAINT, linestyle=":", linewidth=1.0, label="ideal")
    spread.loglog(hands, took[0] / np.array(took), marker="o", markersize=4, label="sweep", **LOOKS["upper"].line_style)
    dress(spread, "workers", "speed against one", "Workers")
    plain(spread.xaxis, hands)
    plain(spread.yaxis, hands)
    for ax in (mesh, many, spread):
        low, high = ax.get_ylim()
        ax.set_ylim(low, high * (high / low) ** 0.3)  # room for the legend
        legend(ax, loc="upper left")
    save_figure(figure, path)
