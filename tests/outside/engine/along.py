"""What is seen of the shot sideways on its way, in the words of a launch's timeline."""

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
    off_arm_time, off_arm_travel : float
        When and after what travel the shaft left the arm for the first time [s], [m].
    strikes : int
        How often something touched the arm again.
    off_side_time : float
        Last touch of the side support [s].
    side_touches : list of (float, float)
        When each touch of the side support began and ended [s].
    greatest_push : float
        Of the side support [N].
    greatest_beside : float
        Place of the shaft's axis at the side support, furthest out before it was off the arm... [m].
    time, nock : arrays
        The nock's way sideways [s], [m].
    travel : array
        Of the nock along x [m].
    """

    off_arm_time: float
    off_arm_travel: float
    strikes: int
    off_side_time: float
    side_touches: list[tuple[float, float]]
    greatest_push: float
    greatest_beside: float
    time: np.ndarray
    nock: np.ndarray
    travel: np.ndarray


@dataclass
class Watch:
    """Looks once a step and remembers."""

    touch: Touch
    across: TouchAcross
    on_arm: bool = True
    off_arm: list[tuple[float, float]] = field(default_factory=list)
    side: list[list[float]] = field(default_factory=list)
    beside_side: bool = False
    push: float = 0.0
    beside: float = -np.inf
    steps: int = 0
    way: list[tuple[float, float, float]] = field(default_factory=list)

    def look(self) -> None:
        """One step."""
        touch, across, data = self.touch, self.across, self.touch.data
        travel = touch.tail_x() - touch.begin
        if self.on_arm and touch.rest <= 0.0:
            self.off_arm.append((data.time, travel))
        self.on_arm = touch.rest > 0.0
        if across.push > 0.0:
            if not self.beside_side:
                self.side.append([data.time, data.time])
            self.side[-1][1] = data.time
        self.beside_side = across.push > 0.0
        self.push = max(self.push, across.push)
        self.beside = max(self.beside, across.beside)
        if self.steps % EVERY == 0:
            self.way.append((data.time, float(data.qpos[across.dofs.nock]), travel))
        self.steps += 1

    def told(self) -> Along:
        """All of it."""
        time, nock, travel = np.array(self.way).T
        return Along(
            *self.off_arm[0], len(self.off_arm) - 1, self.side[-1][1] if self.side else 0.0, [(a, b) for a, b in self.side],
            self.push, self.beside, time, nock, travel,
        )  # fmt: skip
