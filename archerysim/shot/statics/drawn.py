"""What is found of a bow at one draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result


@result("throat_x", "weight", "rest_force", "energy", "residual")
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

    Examples
    --------
    >>> import archerysim
    >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"), 5)
    >>> full = curve.drawn[-1]
    >>> round(full.weight / 4.44822, 1), full.force.shape  # [lb] on the fingers
    (34.0, (2,))
    """

    throat_x: Annotated[float, Reported("m")]
    force: Annotated[np.ndarray, Reported("N")]
    level: Annotated[float, Reported("rad")]
    x: Annotated[np.ndarray, Reported("m")]
    y: Annotated[np.ndarray, Reported("m")]
    rest_force: Annotated[float, Reported("N")]
    energy: Annotated[float, Reported("J")]
    residual: Annotated[float, Reported("N")]
    iterations: int

    @property
    def weight(self) -> Annotated[float, Reported("N")]:
        """Draw weight: the size of the finger force [N]."""
        return float(np.hypot(self.force[0], self.force[1]))
