"""A strip from the side and from above: places of shafts and paths, and how one is drawn."""

from __future__ import annotations

import math
from abc import abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Protocol

import numpy as np

from archerysim.show import style
from archerysim.show.flights.strip_rows import Strip, Told
from archerysim.show.style import FAINT, INK, MM
from archerysim.show.text import other

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from archerysim.shot.flight.fly import Flight
    from archerysim.shot.flight.swing_free import QuietPath

APART = 1.5  # places of the shaft stand this many shaft lengths apart, or further
MOST = 16  # places
MARGIN = 0.055  # of the distance, behind the target
THIN = 1.0  # line of a balance point's path [pt]
VANE = 0.3  # share of the shaft drawn thick for the fletching, for the picture only


class View(Protocol):
    """From where a strip is seen: what stands up on the page."""

    across: ClassVar[str]  #: the direction that is enlarged
    label: ClassVar[str]  #: of the axis

    @abstractmethod
    def places(self, flight: Flight, path: QuietPath, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Tail, mass centre and nose off the path without swing [m], the mass centre at places x."""

    @abstractmethod
    def tick(self, value: float) -> str:
        """A place [m] in words."""


class FromTheSide:
    """Up is up."""

    across: ClassVar[str] = "up-down"
    label: ClassVar[str] = "height [mm]"

    def places(self, flight: Flight, path: QuietPath, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        tail_x, nose_x = along(flight, x)
        tail, here, nose = (np.interp(x, flight.x, one) for one in (flight.tail_y, flight.y, flight.nose_y))
        return tail - path.height(tail_x), here - path.height(x), nose - path.height(nose_x)

    def tick(self, value: float) -> str:
        return f"{round(value / MM) + 0.0:+.0f}" if abs(value) > 0.5 * MM else "0"


@dataclass(frozen=True)
class FromAbove:
    """What the archer has on the left stands up on the page, mirrored what he has on the right.

    Attributes
    ----------
    away : str
        The side away from the window, "left" or "right".
    mirrored : bool
        Whether the arrow flies to the left on the page.
    """

    away: str
    mirrored: bool
    across: ClassVar[str] = "left-right"
    label: ClassVar[str] = "aside [mm]"

    @property
    def up(self) -> str:
        """Which side of the archer is up on the page."""
        return "right" if self.mirrored else "left"

    def places(self, flight: Flight, path: QuietPath, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        tail_x, nose_x = along(flight, x)
        sign = 1.0 if self.away == self.up else -1.0
        tail, here, nose = (np.interp(x, flight.x, one) for one in (flight.tail_z, flight.z, flight.nose_z))
        return sign * (tail - path.side(tail_x)), sign * (here - path.side(x)), sign * (nose - path.side(nose_x))

    def tick(self, value: float) -> str:
        size = abs(round(value / MM))
        return f"{size} {self.up if value > 0.0 else other(self.up)}" if size else "0"


def along(flight: Flight, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where tail and nose are along the way [m], the mass centre at places x."""
    return np.interp(x, flight.x, flight.tail_x), np.interp(x, flight.x, flight.nose_x)


def ends(view: View, flight: Flight, path: QuietPath, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Tail and nose (2, k) each: distance and place off the path [m], the mass centre at places x."""
    tail, _, nose = view.places(flight, path, x)
    tail_x, nose_x = along(flight, x)
    return np.array([tail_x, tail]), np.array([nose_x, nose])


def places(flight: Flight) -> np.ndarray:
    """Where the shaft is drawn: mass centre from clear to the target [m]."""
    way = float(flight.x[-1] - flight.x[0])
    long = flight.nose_ahead + flight.tail_behind
    count = int(min(MOST, max(2, 1 + way // (APART * long))))
    return np.linspace(flight.x[0], flight.x[-1], count)


def limits(view: View, rows: list[Strip], paths: dict[int, QuietPath]) -> tuple[float, float]:
    """Lowest and highest place that the strips of a view show [m]."""
    seen = [
        part for row in rows for one in row.flights for part in view.places(one, paths[id(row)], one.x)
    ]  # fmt: skip
    low, high = min(float(one.min()) for one in seen), max(float(one.max()) for one in seen)
    edge = 0.12 * (high - low) + 2.0 * MM
    return low - edge, high + edge


def draw(ax: Axes, view: View, row: Strip, path: QuietPath, told: dict[int, Told], scale: float) -> None:
    """Shafts of one strip, the level line and the target; ``scale`` in points of the page for a metre along."""
    far = row.flights[0].distance
    ax.plot([-1.0, far], [0.0, 0.0], color=FAINT, linewidth=0.8, zorder=1.0, gid="path without swing")
    ax.axvline(far, color=INK, linewidth=1.2, zorder=1.5, gid="target")
    for flight in row.flights:
        name, color = told[id(flight)].name, told[id(flight)].look.color
        middle = view.places(flight, path, flight.x)[1]
        ax.plot(
            flight.x, middle, color=color, linewidth=THIN, linestyle=told[id(flight)].look.line, alpha=0.7, zorder=2.0,
            gid=f"{name} path",
        )  # fmt: skip
        tail, nose = ends(view, flight, path, places(flight))
        for (x0, y0), (x1, y1) in zip(tail.T, nose.T, strict=True):
            ax.plot(
                [x0, x1], [y0, y1], color=color, linewidth=2.4 if flight.fletched else 1.8, zorder=4.0,
                solid_capstyle="butt", gid=name,
            )  # fmt: skip
            if flight.fletched:
                wide = float(np.clip(0.3 * scale * (x1 - x0), 3.2, 5.0))
                ax.plot(
                    [x0, x0 + VANE * (x1 - x0)], [y0, y0 + VANE * (y1 - y0)], color=color, linewidth=wide, zorder=3.0,
                    solid_capstyle="butt", gid="fletching",
                )  # fmt: skip
        ax.plot(
            nose[0], nose[1], linestyle="none", marker="o", markersize=2.4, color=INK, zorder=5.0, gid=f"{name} point"
        )
    wanted = 0.0 if isinstance(view, FromAbove) else row.wanted  # drag and mass alone send nothing aside
    if math.isfinite(row.wanted):
        behind = [far * (1.0 + 0.1 * MARGIN), far * (1.0 + 0.95 * MARGIN)]
        ax.plot(behind, [wanted] * 2, zorder=6.0, gid="wanted", **style.WANTED_LINE)


def scales(
    ax: Axes, view: View, times: float, span: tuple[float, float], limits: tuple[float, float], mirrored: bool
) -> None:
    """The same scale in every strip of a view, the enlargement in its corner."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    ax.set_xlim(span[::-1] if mirrored else span)
    ax.set_ylim(*limits)
    corner: Any = ax.text(
        0.99 if mirrored else 0.01, 0.03, f"{view.across} ×{times:g}", transform=ax.transAxes, fontsize=style.SMALL,
        color=INK, ha="right" if mirrored else "left", va="bottom", gid="enlargement",
    )  # fmt: skip
    corner.set_bbox({"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0})
    ax.set_aspect(times)
    ax.xaxis.set_major_locator(MaxNLocator(9, steps=[1, 2, 5, 10]))
    ax.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    ax.yaxis.set_major_formatter(FuncFormatter(lambda value, _: view.tick(value)))
