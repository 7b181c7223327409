"""What is seen of the shot sideways on its way."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.outside.engine.touch import Touch
from tests.outside.engine.touch_across import TouchAcross

EVERY = 20  # steps between two looks at the nock


@dataclass(frozen=True)
class Along:
    """How string and shaft went sideways.

    Attributes
    ----------
    off_arm : float
        When the shaft first went beyond the arm's reach [s].
    arm_strikes : int
        How often it then struck the arm from the side.
    side_touches : (k, 3) array
        When each touch of the side support began and ended [s], and where on the shaft it began, from the throat [m].
    side_force, side_place : float
        Greatest force of the side support [N], and the place of the shaft's axis beside it, furthest out [m].
    time, nock : arrays
        The nock's way sideways [s], [m].
    """

    off_arm: float
    arm_strikes: int
    side_touches: np.ndarray
    side_force: float
    side_place: float
    time: np.ndarray
    nock: np.ndarray

    def nock_at(self, time: float | np.ndarray) -> np.ndarray:
        """Place of the nock sideways at other times [m]."""
        return np.interp(time, self.time, self.nock)


@dataclass
class Watch:
    """Looks once a step and remembers."""

    touch: Touch
    across: TouchAcross
    off_arm: float = np.nan
    strikes: int = 0
    touches: list[list[float]] = field(default_factory=list)
    force: float = 0.0
    place: float = -np.inf
    way: list[tuple[float, float]] = field(default_factory=list)
    looks: int = 0
    folded: bool = False
    beside: bool = False

    def look(self) -> None:
        """One step."""
        across, time = self.across, float(self.touch.data.time)
        if np.isnan(self.off_arm) and not across.reached:
            self.off_arm = time
        self.strikes += across.folded and not self.folded
        self.folded = across.folded
        if across.push > 0.0:
            if not self.beside:
                self.touches.append([time, time, across.place])
            self.touches[-1][1] = time
        self.beside = across.push > 0.0
        self.force = max(self.force, across.push)
        self.place = max(self.place, across.beside)
        if self.looks % EVERY == 0:
            self.way.append((time, float(self.touch.data.qpos[across.dofs.nock])))
        self.looks += 1

    def told(self) -> Along:
        """All of it."""
        time, nock = np.array(self.way).T
        return Along(
            self.off_arm, self.strikes, np.array(self.touches).reshape(-1, 3), self.force, self.place, time, nock
        )
