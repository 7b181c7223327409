"""The three cost curves in one picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from curves import Size, slope

from archerysim.show.style import FAINT, LOOKS, dress, many_axes, note, save_figure

HEIGHT = 6.5  # [cm]


def curve(ax: Any, x: Sequence[float], y: Sequence[float], look: str, says: str, down: bool) -> None:
    """One curve in multiples of its first value, its fitted power written at its end."""
    times = np.array(y) / y[0]
    ax.loglog(x, times, marker=LOOKS[look].marker, markersize=4, **LOOKS[look].line_style)
    ax.annotate(
        f"{says}: power {slope(x, y):.2f}", (x[-1], times[-1]), xytext=(-6, -12 if down else 4),
        textcoords="offset points", ha="right", va="center", fontsize=8, color=LOOKS[look].color,
    )  # fmt: skip


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
    curve(mesh, nodes, [one.seconds for one in sizes], "upper", "release", False)
    curve(mesh, nodes, [one.per_step for one in sizes], "clear", "a step", True)
    dress(mesh, "nodes", "time, the coarsest one", "Mesh")
    plain(mesh.xaxis, nodes[::2])
    plain(mesh.yaxis, (1, 2, 4, 8))
    counts, times = zip(*points, strict=True)
    curve(many, counts, times, "arrow", "sweep", False)
    dress(many, "points, one process", "time, the fewest one", "Points")
    hands, took = zip(*workers, strict=True)
    speed = took[0] / np.array(took)
    spread.loglog(hands, hands, color=FAINT, linestyle=":", linewidth=1.0)
    spread.loglog(hands, speed, marker="o", markersize=4, **LOOKS["upper"].line_style)
    note(spread, hands[-1], hands[-1], "ideal  ", ha="right", va="center")
    dress(spread, "workers", "speed, one worker one", "Workers")
    plain(spread.xaxis, hands)
    plain(spread.yaxis, hands)
    save_figure(figure, path)
