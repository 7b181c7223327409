"""What is found of a bow at one draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archerysim.fields.result import result


@result("throat_x [m]", "weight [N]", "rest_force [N]", "energy [J]", "residual [N]")
@dataclass(frozen=True)
class Drawn:
    """Equilibrium at one draw, in the riser's axes.

    Attributes
    ----------
    throat_x : float
        x of the throat's middle, negative behind the pivot [m].
    force : (2,) array
        Finger force [N].
    level : float
        The world's horizontal seen from the riser, positive counter-clockwise [rad].
    x, y : (n,) arrays
        Node positions [m].
    rest_force : float
        Of the rest on the shaft [N].
    energy : float
        Elastic energy of limbs and string and the bow's weight energy [J].
    residual : float
        Largest residual force [N].
    iterations : int
    """

    throat_x: float
    force: np.ndarray
    level: float
    x: np.ndarray
    y: np.ndarray
    rest_force: float
    energy: float
    residual: float
    iterations: int

    @property
    def weight(self) -> float:
        """Draw weight: the size of the finger force [N]."""
        return float(np.hypot(self.force[0], self.force[1]))
