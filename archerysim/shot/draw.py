"""The drawn bow: equilibrium at full draw, and the draw-force curve on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.mechanics.chain import chain_energy
from archerysim.mechanics.equilibrium import draw_newton
from archerysim.mechanics.parts import Fingers, Grid
from archerysim.mechanics.rest import cell_over, rest_force, rest_gap
from archerysim.mechanics.status import NO_CONVERGENCE, OFF_REST, OK
from archerysim.shot.arrays import make_fingers, make_grid, make_support, make_throat
from archerysim.shot.brace import GRAVITY, TOLERANCE, Braced
from archerysim.shot.errors import ShotError

TRADE = 1.75 * 0.0254  # what the trade adds to the distance of the throat from the pivot [m]
MOST = 60
STEPS = 6  # continuation steps from brace to full draw
SMALLEST = 1.0 / 128.0  # of a step, before the draw is given up


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


@dataclass(frozen=True)
class Drawing:
    """What every equilibrium of one draw shares."""

    setup: Any
    braced: Braced
    grid: Grid
    fingers: Fingers

    @classmethod
    def of(cls, setup: Any, braced: Braced) -> Drawing:
        """Grid and fingers of a braced bow."""
        grid = make_grid(braced.marks, braced.chain.mass.size)
        fingers = make_fingers(setup.archer, braced.string_place, braced.throat, braced.marks.tip_u)
        return cls(setup, braced, grid, fingers)

    def at(
        self, target: float, x: np.ndarray, y: np.ndarray, force: np.ndarray, level: float, follow: bool, torque: float
    ) -> tuple[int, Drawn]:
        """Solve from a guess (not changed). ``level`` and ``follow`` as in `gravity`."""
        b = self.braced
        x, y, force = x.copy(), y.copy(), force.copy()
        support = make_support(self.setup)
        arm = self.setup.archer.pressure_point or 0.0
        code, count, residual, horizontal = draw_newton(
            b.chain, b.marks, make_throat(self.setup.nock), support, self.fingers.weight.sum(axis=0),
            self.fingers.first, self.grid, x, y, force, target, arm, torque, level, follow, GRAVITY, TOLERANCE, MOST,
        )  # fmt: skip
        bow = b.marks.tail
        stretch, bend = chain_energy(b.chain, x, y, 0, bow - 1)
        weight = GRAVITY * float(b.chain.mass[:bow] @ (y[:bow] * np.cos(horizontal) - x[:bow] * np.sin(horizontal)))
        press = 0.0
        j = cell_over(x, bow, x.size, support.x, bow)
        if j >= 0:
            still = np.zeros(x.size)
            gap, _, _, _ = rest_gap(x, y, still, still, j, support.x, support.y, 0.0, 0.0, support.half_diameter)
            press = float(rest_force(support, gap, 0.0))
        return int(code), Drawn(
            target, force, float(horizontal), x, y, press, stretch + bend + weight, float(residual), int(count)
        )


    def curve(self, last: Drawn, points: int) -> list[Drawn]:
        """Equilibria from near brace to full draw ``last``, evenly spaced, ``points - 1`` of them.

        Gravity keeps the direction it has at full draw; the curve is walked from there down.

        Raises
        ------
        ShotError
        """
        b = self.braced
        u = b.marks.edge_u
        begin = 0.5 * float(b.x[u] + b.x[u + 1])
        targets = np.linspace(begin, last.throat_x, points)[1:-1][::-1]
        torque = self.setup.archer.grip_torque or 0.0
        found = [last]
        for target in targets:
            now = found[-1]
            share = (target - begin) / (last.throat_x - begin)
            keep = (target - begin) / (now.throat_x - begin)
            guess = (b.x + keep * (now.x - b.x), b.y + keep * (now.y - b.y), keep * now.force)
            if len(found) > 1:
                old = found[-2]
                ahead = (target - now.throat_x) / (now.throat_x - old.throat_x)
                guess = tuple(n + ahead * (n - o) for n, o in ((now.x, old.x), (now.y, old.y), (now.force, old.force)))
            code, drawn = self.at(float(target), *guess, last.level, False, torque * share)
            if code != OK:
                raise ShotError("draw", code, f"at {1e3 * (TRADE - target):.0f} mm of draw length")
            found.append(drawn)
        return found[::-1]


def full_draw_x(setup: Any) -> float:
    """x of the throat's middle at the archer's draw length [m]."""
    return -(float(setup.archer.draw_length) - TRADE)


def draw_to(setup: Any, braced: Braced, target: float, steps: int = STEPS) -> tuple[Drawing, Drawn]:
    """Draw from brace until the throat's middle stands at x = ``target`` [m].

    Each step starts from the last two equilibria carried on in a straight line; a step that does not
    converge is halved.

    Raises
    ------
    ShotError
        Where no equilibrium is found, or the arrow does not lie on the rest.
    """
    drawing = Drawing.of(setup, braced)
    archer = setup.archer
    torque = archer.grip_torque or 0.0
    u = braced.marks.edge_u
    begin = 0.5 * float(braced.x[u] + braced.x[u + 1])
    if target > begin - 0.02:
        raise ShotError("draw", NO_CONVERGENCE, "the draw length is shorter than the brace height")
    before: tuple[float, np.ndarray, np.ndarray, np.ndarray] = (0.0, braced.x, braced.y, np.zeros(2))
    last = before
    share, step, count = 0.0, 1.0 / steps, 0
    while share < 1.0:
        aim = min(1.0, share + step)
        if aim > 1.0 - 1e-9:
            aim = 1.0
        ahead = (aim - last[0]) / (last[0] - before[0]) if last[0] > before[0] else 0.0
        guess = [new + ahead * (new - old) for new, old in zip(last[1:], before[1:], strict=True)]
        code, drawn = drawing.at(begin + aim * (target - begin), *guess, archer.elevation, True, torque * aim)
        count += drawn.iterations
        if code != OK:
            step *= 0.5
            if step < SMALLEST:
                raise ShotError("draw", code, f"at {1e3 * (TRADE - drawn.throat_x):.0f} mm of draw length")
            continue
        before, last = last, (aim, drawn.x, drawn.y, drawn.force)
        share = aim
    if not drawn.rest_force > 0.0:
        raise ShotError("draw", OFF_REST)
    return drawing, Drawn(*(getattr(drawn, name) for name in tuple(Drawn.__dataclass_fields__)[:-1]), count)
