"""A scene drawn with matplotlib, one instant after the other."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from archerysim.show.motion.scene import PAGE, SMALL, Line, Panel, Scene
from archerysim.show.motion.texts import said
from archerysim.show.style import FAINT, INK, PALE, literal

if TYPE_CHECKING:
    from matplotlib.figure import Figure

UNIT = 0.01  # of the page [in]
POINT = 72.0 * UNIT  # the same [pt]
NOTE_WIDTH = 118  # letters of a note's line
NOTE_LINE = 24.0


class Painter:
    """A figure that shows a scene; `draw` brings it to an instant.

    Parameters
    ----------
    scene : Scene
    """

    def __init__(self, scene: Scene) -> None:
        from matplotlib.figure import Figure

        self.scene = scene
        notes = [row for note in scene.notes for row in textwrap.wrap(note, NOTE_WIDTH)]
        rows = len(notes) + 1
        self.height = PAGE[1] + 4.0 * np.ceil(0.25 * (rows * NOTE_LINE + 10.0))
        self.figure: Figure = Figure(figsize=(PAGE[0] * UNIT, self.height * UNIT), facecolor="white")
        self._moving: list[Any] = []
        for panel in scene.panels:
            self._add(panel)
        slow = said("slow", times=f"{scene.slow:.3g}")
        for k, text in enumerate([slow, *notes]):
            self.figure.text(
                20.0 / PAGE[0], 1.0 - (PAGE[1] + 18.0 + k * NOTE_LINE) / self.height, literal(text),
                fontsize=SMALL * POINT, color=FAINT if k == 0 else INK,
            )  # fmt: skip
        self.draw(0)

    def _add(self, panel: Panel) -> None:
        left, top, width, height = panel.box
        low = 1.0 - (top + height) / self.height
        ax = self.figure.add_axes((left / PAGE[0], low, width / PAGE[0], height / self.height), label=str(panel.box))
        ax.set_xlim(panel.window[0], panel.window[1])
        ax.set_ylim(panel.window[2], panel.window[3])
        ax.set_xticks([])
        ax.set_yticks([])
        ax.patch.set_visible(False)
        for side in ax.spines.values():
            side.set(visible=panel.framed, color=PALE, linewidth=2.0 * POINT)
        for k, line in enumerate(panel.lines):
            self._moving.append((line, self._line(ax, line, 2.0 + 0.01 * k)))
        for words in panel.words:
            text = ax.text(
                words.at[0], words.at[1], literal(words.text(0)), fontsize=words.size * POINT, color=words.color,
                ha=words.align, va="baseline", weight="bold" if words.bold else "normal", zorder=4.0,
            )  # fmt: skip
            self._moving.append((words, text))

    @staticmethod
    def _line(ax: Any, line: Line, order: float) -> Any:
        if line.filled:
            from matplotlib.patches import Polygon

            return ax.add_patch(Polygon(line.at(0), facecolor=line.color, edgecolor="none", zorder=order))
        (drawn,) = ax.plot([], [], color=line.color, zorder=order, gid=line.name)
        if line.radius > 0.0:
            drawn.set(
                linestyle="none", marker="o", markersize=2.0 * line.radius * POINT, markeredgecolor=INK,
                markeredgewidth=POINT,
            )  # fmt: skip
        else:
            drawn.set(linewidth=line.width * POINT, solid_capstyle="butt", solid_joinstyle="round")
            if line.dash:
                drawn.set_linestyle((0.0, [one / line.width for one in line.dash]))
        return drawn

    def draw(self, frame: int) -> Figure:
        """Bring the figure to one of the scene's instants."""
        for what, drawn in self._moving:
            if isinstance(what, Line):
                points, strength = what.at(frame), what.strength(frame)
                drawn.set_visible(strength > 0.0 and len(points) > 0)
                drawn.set_alpha(strength)
                if what.filled:
                    drawn.set_xy(points)
                else:
                    drawn.set_data(points[:, 0], points[:, 1])
            else:
                drawn.set_text(literal(what.text(frame)))
        return self.figure
