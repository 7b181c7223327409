"""The shaft's free ringing after clear: its first two bending modes, carried along."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.shot.launch import Launch
from archerysim.shot.release.bending_modes import free_modes

DAMPING = 0.01  # share of critical damping of a carbon shaft's bending [judgement]


@dataclass(frozen=True)
class Bending:
    """Free ringing of the first two modes.

    Attributes
    ----------
    frequency : (2,) array
        [rad/s]
    amplitude, rate : (2,) arrays
        Largest deflection [m] and its rate [m/s] at clear, positive tail up.
    tail, nose : (2,) arrays
        Shape of each mode at the throat and at the front end of the shaft.
    sideways : Bending or None
        The ringing sideways, positive tail away from the window; None in a shot in one plane.
    """

    frequency: np.ndarray
    amplitude: np.ndarray
    rate: np.ndarray
    tail: np.ndarray
    nose: np.ndarray
    sideways: Bending | None = None

    def deflection(self, time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Deflection of the shaft from the rigid one at throat and front end [m].

        Notes
        -----
        q = exp(-z w t) (q0 cos(w t) + (q0' / w + z q0) sin(w t)) for each mode, z the damping ratio.
        """
        w, t = self.frequency[:, None], np.asarray(time)[None, :]
        q0, q1 = self.amplitude[:, None], self.rate[:, None]
        q = np.exp(-DAMPING * w * t) * (q0 * np.cos(w * t) + (q1 / w + DAMPING * q0) * np.sin(w * t))
        return self.tail @ q, self.nose @ q


def bending_of(launch: Launch) -> Bending:
    """The ringing that a launch leaves in the shaft."""
    braced, clear = launch.braced, launch.clear
    frequency, shape = free_modes(braced.chain, braced.marks.tail)

    def bending(deflection: tuple[float, float], rate: tuple[float, float], aside: Bending | None = None) -> Bending:
        return Bending(frequency, 1e-3 * np.array(deflection), np.array(rate), shape[:, 0], shape[:, -1], aside)

    aside = None
    if launch.planes == 2:
        aside = bending((clear.side_bend_1, clear.side_bend_2), (clear.side_bend_1_rate, clear.side_bend_2_rate))
    return bending((clear.bend_1, clear.bend_2), (clear.bend_1_rate, clear.bend_2_rate), aside)
