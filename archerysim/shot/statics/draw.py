"""The drawn bow: equilibrium at full draw."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from msgspec import structs

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import SHORT_ARROW, ShotError
from archerysim.mechanics.arrays import Chain, Fingers, Grid, Load, Marks, Standing, Support, Throat, X, Y
from archerysim.mechanics.statics.draw import DrawAim, Pulled, draw_newton
from archerysim.mechanics.statics.draw_curve import bow_energy, press_of_rest
from archerysim.mechanics.statics.newton import CAREFUL, MOST_CAREFUL, QUICK
from archerysim.shot.arrays.build import make_fingers, make_grid, make_support, make_throat, without_arrow
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.arrays.wraps import end_pull
from archerysim.shot.statics.brace import GRAVITY, Braced
from archerysim.shot.statics.bracing import tolerance_of
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.first_guess import drawn_shape
from archerysim.shot.statics.lay_arrow import seated, trials
from archerysim.shot.statics.stability import across_pull, stays_drawn
from archerysim.status import NO_CONVERGENCE, OFF_REST, OK

TRADE = 1.75 * 0.0254  # what the trade adds to the distance of the throat from the pivot [m]
MOST = 60
STEPS = 6  # continuation steps from brace to full draw
SMALLEST = 0.001  # [m] of a step, before the draw is given up
CREEP = 2e-3  # [m] of draw in one step, from one nearby
NEARBY = tuple(CREEP * k for k in (1, -1, 3, -3, 6, -6, 12, -12))  # [m] from a draw where the arrow is hard to place
REACHED = 0.95  # of the shaft, where it lies on the rest while the bow is weighed


@dataclass(frozen=True)
class Drawing:
    """What every equilibrium of one draw shares.

    The bow is drawn without the arrow first; the arrow, some hundred times lighter than the draw, is then
    laid on string and rest, and the whole is solved from there.

    While the bow is weighed on a scale, further back than the archer draws it, nobody holds an arrow: the shaft counts
    as reaching the rest (``support`` is moved to it), its mass unchanged.
    """

    setup: BuiltSetup
    braced: Braced
    grid: Grid
    fingers: Fingers
    throat: Throat
    support: Support
    bow_chain: Chain
    bow_marks: Marks
    bow_grid: Grid
    load: Load
    weighing: bool = False

    @classmethod
    def of(cls, setup: BuiltSetup, braced: Braced, weighed_at: float | None = None) -> Drawing:
        """Everything that follows from a braced bow.

        ``weighed_at`` is the x of the throat's middle where it is weighed [m]; None: it is drawn to be shot.
        """
        chain, marks = braced.chain, braced.marks
        n = marks.tail
        fingers = make_fingers(setup.archer, braced.string_place, braced.throat, marks.tip_u)
        support = make_support(setup)
        if weighed_at is not None:
            support = support._replace(x=min(support.x, weighed_at + REACHED * float(setup.arrow.length)))
        return cls(
            setup, braced, make_grid(marks, chain.mass.size), fingers, make_throat(setup.nock), support,
            without_arrow(chain, n), marks, make_grid(marks, n), Load(fingers.weight.sum(axis=0), fingers.first),
            weighed_at is not None,
        )  # fmt: skip

    @property
    def begin(self) -> float:
        """x of the throat's middle at brace [m]."""
        b = self.braced
        return 0.5 * float(b.x[b.marks.edge_u] + b.x[b.marks.edge_l])

    def solve(
        self, chain: Chain, grid: Grid, throat: Throat, target: float, guess: Pulled, level: float, follow: bool,
        most: int = MOST,
    ) -> tuple[int, Pulled, float, float, int]:  # fmt: skip
        """Newton from a guess (not changed): status, solution, level, residual, iterations; these ``most`` at most."""
        archer = self.setup.archer
        share = self.share(target)
        aim = DrawAim(
            target, archer.pressure_point, share * archer.grip_torque, level, follow, GRAVITY, share * archer.pinch
        )
        standing, memory = Standing(chain, self.bow_marks, throat, self.support, grid), memory_for(grid)
        for careful in (QUICK,) if chain is self.bow_chain else (CAREFUL, MOST_CAREFUL, QUICK):
            found = Pulled(*(part.copy() for part in guess))
            code, count, residual, horizontal = draw_newton(
                standing, self.load, *found, aim, careful, tolerance_of(chain), most, memory
            )
            if code == OK:
                break
        return int(code), found, float(horizontal), float(residual), int(count)

    def share(self, target: float) -> float:
        """Share of the archer's draw, from brace."""
        return (target - self.begin) / (full_draw_x(self.setup) - self.begin)

    def pinch_on(self, target: float, force: np.ndarray) -> np.ndarray:
        """The fingers' pinch on the nock, across their pull ``force`` (2,) [N]; it grows with the draw."""
        across = np.array([force[Y], -force[X]]) / np.hypot(*force)
        return np.asarray(self.share(target) * self.setup.archer.pinch * across)

    def bow_at(self, target: float, guess: Pulled) -> tuple[int, Pulled, int]:
        """The bow without an arrow: status, solution, iterations."""
        u = self.bow_marks.edge_u
        x, y = guess.x[u : u + 2].mean(), guess.y[u : u + 2].mean()
        level = self.arrow_line(x, y) - self.setup.archer.elevation
        code, found, _, _, count = self.solve(self.bow_chain, self.bow_grid, self.throat, target, guess, level, False)
        return code, found, count

    def arrow_line(self, x: float, y: float) -> float:
        """Angle of a straight shaft from the string over the rest [rad]."""
        return float(np.arctan2(self.support.y + self.support.half_diameter - y, self.support.x - x))

    def drawn_at(self, target: float, bow: Pulled, level: float | None = None) -> Drawn:
        """The bow with the arrow, from the bow without.

        ``level`` is the world's horizontal seen from the riser [rad]; None has the arrow's own line stand at
        the elevation.

        Raises
        ------
        ShotError
        """
        code, found, horizontal, residual, count = self.laid_on(target, bow, level)
        if code != OK:
            code, found, horizontal, residual, count = self.crept_to(target, level)
        if code != OK:
            raise ShotError("draw", code, draw_length_words(target))
        x, y, force = found
        energy = self.bow_energy(x, y, horizontal)
        return Drawn(target, force, horizontal, x, y, self.press(x, y), energy, residual, count)

    def laid_on(self, target: float, bow: Pulled, level: float | None) -> tuple[int, Pulled, float, float, int]:
        """The arrow laid on a drawn bow, both solved from there; what comes back is that of `solve`."""
        b = self.braced
        u = self.bow_marks.edge_u
        elevation = self.setup.archer.elevation
        first = level if level is not None else self.arrow_line(bow.x[u], bow.y[u]) - elevation
        gravity = (GRAVITY * np.sin(first), -GRAVITY * np.cos(first))
        place = elevation if level is None else level
        push = self.pinch_on(target, bow.force)
        for throat, then in trials(self.throat):
            x, y = seated(self.setup, b.chain, b.marks, throat, self.support, bow.x, bow.y, gravity, push)
            code, found, horizontal, residual, count = self.solve(
                b.chain, self.grid, throat, target, Pulled(x, y, bow.force), place, level is None
            )
            if code == OK and then is not None:
                code, found, horizontal, residual, count = self.solve(
                    b.chain, self.grid, then, target, found, place, level is None
                )
            if code == OK:
                break
        return code, found, horizontal, residual, count

    def crept_to(self, target: float, level: float | None) -> tuple[int, Pulled, float, float, int]:
        """The bow with its arrow, in small steps from another draw at which the arrow is found to lie.

        A nock with play slides from one locator to the other at some draw, and near that its place is hard to find.
        """
        final = [throat for throat, then in trials(self.throat) if then is None]
        out: tuple[int, Pulled, float, float, int] = (NO_CONVERGENCE, Pulled(*(np.empty(0),) * 3), 0.0, 0.0, 0)
        for away in NEARBY:
            try:
                bow, _ = self.bow_found(target + away)
            except ShotError:
                continue
            begin = self.laid_on(target + away, bow, level)
            for throat in final if begin[0] == OK else ():
                out = self.crept(throat, target, away, begin[1], level)
                if out[0] == OK:
                    return out
        return out

    def crept(
        self, throat: Throat, target: float, away: float, begin: Pulled, level: float | None
    ) -> tuple[int, Pulled, float, float, int]:
        """In steps of `CREEP` from a draw ``away`` [m] from the target to there."""
        place = self.setup.archer.elevation if level is None else level
        steps, found = round(abs(away) / CREEP), begin
        for k in range(1, steps + 1):
            aim = target if k == steps else target + away * (1.0 - k / steps)
            out = self.solve(self.braced.chain, self.grid, throat, aim, found, place, level is None)
            if out[0] != OK:
                break
            found = out[1]
        return out

    def bow_energy(self, x: np.ndarray, y: np.ndarray, level: float) -> float:
        """Elastic energy of limbs and string and their weight's, the horizontal at ``level`` [J]."""
        return float(bow_energy(self.braced.chain, x, y, self.bow_marks.tail, level, GRAVITY))

    def press(self, x: np.ndarray, y: np.ndarray) -> float:
        """Force of the rest on the shaft [N]."""
        return float(press_of_rest(self.support, x, y, self.bow_marks.tail))

    def bow_straight_at(self, target: float) -> tuple[Pulled | None, int]:
        """The bow without the arrow from arcs; None where that leads nowhere. And iterations."""
        guess = drawn_shape(self.setup, self.braced, target)
        if guess is None:
            return None, 0
        code, found, count = self.bow_at(target, guess)
        good = code == OK and self.taut(found.x, found.y) and found.force[X] < 0.0
        return (found if good else None), count

    def taut(self, x: np.ndarray, y: np.ndarray) -> bool:
        """Whether every cell of the string pulls."""
        cells = slice(self.bow_marks.tip_u, self.bow_marks.tip_l)
        nodes = slice(self.bow_marks.tip_u, self.bow_marks.tip_l + 1)
        longer = np.hypot(np.diff(x[nodes]), np.diff(y[nodes])) - self.bow_chain.rest_length[cells]
        for wrap in (self.bow_chain.above, self.bow_chain.below):
            if wrap.reach:
                longer[wrap.cell - self.bow_marks.tip_u] = end_pull(wrap, self.bow_chain.rest_length, x, y)
        return bool(longer.min() > 0.0)

    def bow_found(self, target: float, steps: int = STEPS) -> tuple[Pulled, int]:
        """The bow without the arrow at one draw, and iterations: from arcs, else drawn there from brace in steps.

        Raises
        ------
        ShotError
        """
        bow, count = self.bow_straight_at(target)
        if bow is not None:
            return bow, count
        bows, more = self.draw(np.linspace(self.begin, target, steps + 1)[1:])
        return bows[-1], count + more

    def draw(self, targets: np.ndarray) -> tuple[list[Pulled], int]:
        """The bow without the arrow at each target, drawn further from one to the next.

        Each starts from the last two carried on in a straight line; a step that does not converge is halved.

        Raises
        ------
        ShotError
        """
        n = self.bow_marks.tail
        last = (self.begin, Pulled(self.braced.x[:n], self.braced.y[:n], np.zeros(2)))
        before = last
        found, count = [], 0
        for target in targets:
            step = target - last[0]
            while last[0] != target:
                aim = target if abs(target - last[0]) <= abs(step) * (1.0 + 1e-9) else last[0] + step
                ahead = (aim - last[0]) / (last[0] - before[0]) if last[0] != before[0] else 0.0
                guess = Pulled(*(new + ahead * (new - old) for new, old in zip(last[1], before[1], strict=True)))
                code, solution, iterations = self.bow_at(aim, guess)
                count += iterations
                if code == OK:
                    before, last = last, (aim, solution)
                    continue
                step *= 0.5
                if abs(step) < SMALLEST:
                    raise ShotError("draw", code, draw_length_words(aim))
            found.append(last[1])
        return found, count

    def stays_at(self, drawn: Drawn) -> None:
        """Refuse an equilibrium that would not last; raises ShotError."""
        n = self.bow_marks.tail
        stays_drawn(
            self.bow_chain, self.bow_grid, self.load, Pulled(drawn.x[:n], drawn.y[:n], drawn.force),
            self.setup.archer.pressure_point, draw_length_words(drawn.throat_x),
        )  # fmt: skip

    def stiffness_across(self, drawn: Drawn) -> float:
        """Force per length with which the fingers resist being pushed across their pull [N/m].

        The limbs then tip opposite ways: how far the drawn bow is from doing so by itself, where this is zero.
        """
        n = self.bow_marks.tail
        held = Pulled(drawn.x[:n], drawn.y[:n], drawn.force)
        return across_pull(self.bow_chain, self.bow_grid, self.load, held, self.setup.archer.pressure_point)


def full_draw_x(setup: BuiltSetup) -> float:
    """x of the throat's middle at the archer's draw length [m]."""
    return -(float(setup.archer.draw_length) - TRADE)


def draw_length_words(throat_x: float) -> str:
    """Where the bow is drawn to, in words; for the throat's middle at x [m]."""
    return f"at {1e3 * (TRADE - throat_x):.0f} mm of draw length"


def draw_to(
    setup: BuiltSetup, braced: Braced, target: float, steps: int = STEPS, *, trial: bool = False
) -> tuple[Drawing, Drawn]:
    """Draw from brace until the throat's middle stands at x = ``target`` [m].

    With ``trial`` nobody shoots from there: whether it would last is not asked.

    Raises
    ------
    ShotError
        Where no equilibrium is found, it would not last, or the arrow does not lie on the rest.
    """
    reach = target + float(setup.arrow.length)
    if reach < float(setup.rest.forward):
        short = float(setup.rest.forward) - reach
        raise ShotError("draw", SHORT_ARROW, f"{1e3 * short:.0f} mm too short")
    drawing = Drawing.of(setup, braced)
    drawn = _drawn(drawing, target, steps)
    if not drawn.rest_force > 0.0:
        raise ShotError("draw", OFF_REST)
    if not trial:
        drawing.stays_at(drawn)
    return drawing, drawn


def weigh_at(setup: BuiltSetup, braced: Braced, target: float, *, trial: bool = False) -> tuple[Drawing, Drawn]:
    """`draw_to` for a scale in place of fingers: the shaft counts as reaching the rest, and need not lie on it.

    Nobody pinches the nock.

    Where the archer draws as far as the bow was weighed, it is `draw_to` itself.

    Raises
    ------
    ShotError
        Where no equilibrium is found, or it would not last.
    """
    if setup.archer.pinch:
        setup = structs.replace(setup, archer=structs.replace(setup.archer, pinch=0.0))
    if target == full_draw_x(setup):
        return draw_to(setup, braced, target, trial=trial)
    drawing = Drawing.of(setup, braced, target)
    drawn = _drawn(drawing, target, STEPS)
    if not trial:
        drawing.stays_at(drawn)
    return drawing, drawn


def _drawn(drawing: Drawing, target: float, steps: int) -> Drawn:
    if target > drawing.begin - 0.02:
        raise ShotError("draw", NO_CONVERGENCE, "the draw length is shorter than the brace height")
    bow, count = drawing.bow_found(target, steps)
    drawn = drawing.drawn_at(target, bow)
    return replace(drawn, iterations=drawn.iterations + count)
