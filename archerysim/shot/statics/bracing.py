"""A bow while it is being braced, and what it is once braced: tillers, readings, tension."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import ShotError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.arrays import Chain, Frame, Marks, Standing, X, Y
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.statics.brace import (
    LEAN_LOWER,
    LEAN_UPPER,
    LENGTH,
    BraceAim,
    Strung,
    brace_newton,
    cell_at_pivot,
    line_below,
    line_through,
    place_clamps,
    string_line,
)
from archerysim.mechanics.statics.newton import QUICK
from archerysim.shot.arrays.build import (
    LimbsAndArrow,
    assemble,
    make_frame,
    make_grid,
    make_limbs_and_arrow,
    make_support,
    make_throat,
)
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.wraps import end_pull, lying, way
from archerysim.shot.statics.first_guess import arc_shape
from archerysim.status import OK, SLACK_STRING

GRAVITY = 9.81
TOLERANCE = 2e-7  # [N]
ROUNDING = 1.5 * np.finfo(float).eps  # [m] by which a cell's length may be out, between places within a metre
MOST = 80
TURN = 2.0 * np.pi


def tolerance_of(chain: Chain) -> float:
    """Largest residual force of an equilibrium [N]: ``TOLERANCE``, or what rounding leaves in the stiffest cell."""
    return max(TOLERANCE, ROUNDING * float(chain.stretch.max()))


@dataclass(frozen=True)
class Square:
    """Where a square put to the braced bow (no arrow on it) meets the string.

    Attributes
    ----------
    foot : float
        Distance of its arm's lower edge from the lower tip along the string [m].
    span : float
        Loaded length between the tips [m].
    string_length : float
        Unloaded [m].
    above, below : float
        Unloaded lengths of the string's end cells, where it may lie on the limbs [m]; else 0. Foot and span then count
        from the end of the lower and to that of the upper.
    """

    foot: float
    span: float
    string_length: float
    above: float = 0.0
    below: float = 0.0

    @property
    def between(self) -> float:
        """Unloaded length of the part that stands straight [m]."""
        return self.string_length - self.above - self.below

    def throat(self, underside: float, nock_height: float) -> float:
        """Unloaded place of the throat's middle above the string's middle [m], for a reading [m]."""
        share = (self.foot + underside + 0.5 * nock_height) / self.span
        return (share - 0.5) * self.between + 0.5 * (self.below - self.above)

    def underside(self, throat: float, nock_height: float) -> float:
        """The reading by the underside [m], for a place of the throat's middle on the string [m]."""
        share = (throat - 0.5 * (self.below - self.above)) / self.between + 0.5
        return share * self.span - self.foot - 0.5 * nock_height


@result(
    "string_length", "brace_height", "upper_tiller", "lower_tiller", "tension", "reading",
    "residual",
)  # fmt: skip
@dataclass(frozen=True)
class Braced:
    """A braced bow with the arrow on the string, in the riser's axes.

    Attributes
    ----------
    string_length : float
        Unloaded [m].
    brace_height, upper_tiller, lower_tiller : float
        [m]
    leans : (float, float)
        Pocket angles with the bolts' turns, upper and lower [rad].
    tension : float
        Of the string at its upper end [N].
    throat : float
        Unloaded place of the throat's middle above the string's middle [m].
    reading : float
        Locator height by the underside [m].
    square : Square
    x, y : (n,) arrays
        Node positions [m].
    string_place : (k,) array
        Unloaded places of the string's nodes above its middle [m].
    chain, marks, frame : Chain, Marks, Frame
        The kernels' arrays.
    energy : float
        Elastic energy and the weight's [J].
    residual : float
        Largest residual force [N].
    iterations : int

    Examples
    --------
    >>> import archerysim
    >>> braced = archerysim.brace(archerysim.load("examples/club-outdoor.toml"))
    >>> round(1000 * braced.brace_height), round(1000 * braced.upper_tiller)  # [mm], as measured
    (220, 195)
    >>> braced.tension > 100.0  # [N]
    True
    """

    string_length: Annotated[float, Reported("m")]
    brace_height: Annotated[float, Reported("m")]
    upper_tiller: Annotated[float, Reported("m")]
    lower_tiller: Annotated[float, Reported("m")]
    leans: Annotated[tuple[float, float], Reported("rad")]
    tension: Annotated[float, Reported("N")]
    throat: Annotated[float, Reported("m")]
    reading: Annotated[float, Reported("m")]
    square: Square
    x: Annotated[np.ndarray, Reported("m")]
    y: Annotated[np.ndarray, Reported("m")]
    string_place: Annotated[np.ndarray, Reported("m")]
    chain: Chain
    marks: Marks
    frame: Frame
    energy: Annotated[float, Reported("J")]
    residual: Annotated[float, Reported("N")]
    iterations: int

    @property
    def lying(self) -> Annotated[tuple[float, float], Reported("m")]:
        """Over which length the string lies on the upper and on the lower limb [m].

        Examples
        --------
        >>> import archerysim
        >>> braced = archerysim.brace(archerysim.load("examples/club-outdoor.toml"))
        >>> min(braced.lying) > 0.0  # on the curved ends of a recurve
        True
        """
        upper, lower = (lying(wrap, self.x, self.y) for wrap in (self.chain.above, self.chain.below))
        return upper, lower

    @property
    def loaded_length(self) -> Annotated[float, Reported("m")]:
        """Length of the string under load, with what lies on the limbs [m].

        Examples
        --------
        >>> import archerysim
        >>> braced = archerysim.brace(archerysim.load("examples/club-outdoor.toml"))
        >>> braced.loaded_length > braced.string_length  # the string stretches
        True
        """
        ends = (way(wrap, self.x, self.y) for wrap in (self.chain.above, self.chain.below) if wrap.reach)
        return self.square.span + sum(ends)

    @property
    def string_stiffness(self) -> Annotated[float, Reported("N/m")]:
        """Force per length with which the string resists being pushed along itself at the throat [N/m].

        The limbs then tip opposite ways. At zero the bow would do so by itself: the value tells how far it is from
        that.

        Examples
        --------
        >>> import archerysim
        >>> braced = archerysim.brace(archerysim.load("examples/club-outdoor.toml"))
        >>> braced.string_stiffness > 0.0  # [N/m]
        True
        """
        from archerysim.shot.statics.stability import along_string

        return along_string(self.chain, self.marks, self.x, self.y)


class Bracing:
    """A bow while it is being braced: its arrays and what the solver changes in them."""

    def __init__(
        self,
        setup: BuiltSetup,
        length: float,
        leans: tuple[float, float],
        mesh: Mesh,
        throat: float | None = None,
        limbs_and_arrow: LimbsAndArrow | None = None,
        made: tuple[Chain, Marks, np.ndarray] | None = None,
    ) -> None:
        self.setup = setup
        self.mesh = mesh
        self.limbs_and_arrow = make_limbs_and_arrow(setup, mesh) if limbs_and_arrow is None else limbs_and_arrow
        self.chain, self.marks, self.place = made or assemble(setup, length, throat, mesh, self.limbs_and_arrow)
        self.grid = make_grid(self.marks, self.chain.mass.size)
        self.found = np.array([length, *leans])
        self.throat, self.support = make_throat(setup.nock), make_support(setup)
        self.memory = memory_for(self.grid)
        self.tolerance = tolerance_of(self.chain)
        self.x = np.empty(0)
        self.y = np.empty(0)
        self.residual = np.inf
        self.iterations = 0

    @property
    def length(self) -> float:
        """Unloaded length of the string [m]."""
        return float(self.found[LENGTH])

    @property
    def leans(self) -> tuple[float, float]:
        """Pocket angles, upper and lower, forward [rad]."""
        return float(self.found[LEAN_UPPER]), float(self.found[LEAN_LOWER])

    @leans.setter
    def leans(self, leans: tuple[float, float]) -> None:
        self.found[LEAN_UPPER], self.found[LEAN_LOWER] = leans

    @property
    def strung(self) -> Strung:
        """What the kernels change."""
        return Strung(self.x, self.y, self.found)

    @property
    def standing(self) -> Standing:
        """What they are handed of the bow."""
        return Standing(self.chain, self.marks, self.throat, self.support, self.grid)

    def start(self, xy: np.ndarray) -> None:
        """Begin from positions (n, 2); the clamps follow the pocket angles."""
        self.start_at(xy[:, X].copy(), xy[:, Y].copy())

    def start_at(self, x: np.ndarray, y: np.ndarray) -> None:
        """`start` with the arrays x and y [m] themselves, which will be changed."""
        self.x, self.y = x, y
        place_clamps(self.chain, self.marks, self.x, self.y, self.found)

    def bend_to(self, height: float, tilt: float) -> None:
        """Bend the limbs along arcs to a brace height [m], the string as long as it must be; see `arc_shape`."""
        self.start(arc_shape(self.setup, self.leans, self.chain, self.marks, height, tilt, self.place))
        *_, span = line_through(self.x, self.y, self.marks.tip_u, self.marks.tip_l)
        self.scale(span / (1.0 + 150.0 / self.setup.string.axial_stiffness))

    def stand(self, height: float, tilt: float) -> None:
        """Brace to a height [m] by the string's length, from arcs."""
        self.bend_to(height, tilt)
        self.newton(1, height)

    def scale(self, length: float) -> None:
        """Give the string another unloaded length [m]."""
        ratio = length / self.length
        cells = slice(self.marks.tip_u, self.marks.tip_l)
        self.chain.rest_length[cells] *= ratio
        self.chain.stretch[cells] /= ratio
        for wrap in (self.chain.above, self.chain.below):
            wrap.stretch[0] /= ratio
        self.found[LENGTH] = length

    def with_string(self, length: float, leans: tuple[float, float]) -> Bracing:
        """The same bow in the same shape with another string (its mass too) and other pocket angles."""
        other = Bracing(self.setup, length, leans, self.mesh, None, self.limbs_and_arrow)
        other.start_at(self.x.copy(), self.y.copy())
        other.iterations = self.iterations
        return other

    def lean_to(self, leans: tuple[float, float], length: float) -> None:
        """Set the pocket angles [rad] and the string's unloaded length [m]."""
        self.leans = leans
        self.scale(length)

    def newton(
        self, unknowns: int, height: float = 0.0, split: float = 0.0, two_way: bool = True, careful: int = QUICK
    ) -> None:
        """Solve; raises ShotError with the kernel's status. See `brace_newton` for ``unknowns``."""
        code, count, self.residual = brace_newton(
            self.standing, self.x, self.y, self.found, BraceAim(unknowns, height, split, 0.0, -GRAVITY, two_way),
            careful, self.tolerance, MOST, self.memory,
        )  # fmt: skip
        self.iterations += count
        if code != OK:
            raise ShotError("brace", code)
        leans = self.found[LEAN_UPPER:]
        leans -= TURN * np.round(leans / TURN)  # a turn more or less is the same lean
        if not two_way and not self.tension() > 0.0:
            raise ShotError("brace", SLACK_STRING)

    def tension(self) -> float:
        """Of the string's first cell below the upper tip [N]."""
        j = self.marks.tip_u
        if self.marks.reach_u:
            return float(end_pull(self.chain.above, self.chain.rest_length, self.x, self.y))
        length = np.hypot(self.x[j + 1] - self.x[j], self.y[j + 1] - self.y[j])
        return float(self.chain.stretch[j] * (length - self.chain.rest_length[j]))

    def measures(self) -> tuple[float, float, float]:
        """Brace height and both tillers [m].

        The arrow's few hundredths of a newton bend the string by some 0.02 mm; the tillers are taken to a
        straight string in the tips' direction, at the brace height from the pivot.
        """
        m = self.marks
        j = cell_at_pivot(self.x, self.y, m)
        _, _, nx, ny, _ = line_through(self.x, self.y, j, j + 1)
        height = -(self.x[j] * nx + self.y[j] * ny)
        _, _, nx, ny, _ = string_line(self.x, self.y, m)
        tillers = [
            height + self.x[r] * nx + self.y[r] * ny - 0.5 * limb.root_thickness
            for r, limb in ((m.root_u, self.setup.upper_limb), (m.root_l, self.setup.lower_limb))
        ]
        return float(height), float(tillers[0]), float(tillers[1])

    def braced(self, square: Square, throat: float, iterations: int) -> Braced:
        """What has been found of the bow with its arrow; ``square`` belongs to the bow without."""
        height, upper, lower = self.measures()
        chain, bow, leans = self.chain, self.marks.tail, self.leans
        stretch, bend = chain_energy(chain, self.x, self.y, 0, bow - 1)
        weight = GRAVITY * float(chain.mass[:bow] @ self.y[:bow])
        return Braced(
            self.length, height, upper, lower, leans, self.tension(), throat,
            square.underside(throat, self.setup.nock.height), square, self.x, self.y, self.place,
            chain, self.marks, make_frame(self.setup, self.limbs_and_arrow, leans), stretch + bend + weight,
            float(self.residual), iterations,
        )  # fmt: skip

    def square(self) -> Square:
        """A square on the string, its arm's lower edge on the rest."""
        dx, dy, _, _, span = string_line(self.x, self.y, self.marks)
        low = line_below(self.marks)
        rest = self.setup.rest
        foot = (rest.forward - self.x[low]) * dx + (rest.height - self.y[low]) * dy
        ends = [
            float(self.chain.rest_length[wrap.cell]) if wrap.reach else 0.0
            for wrap in (self.chain.above, self.chain.below)
        ]
        return Square(float(foot), float(span), self.length, *ends)
