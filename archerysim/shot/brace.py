"""The braced bow: string length for a brace height, brace height for a string, tillers, readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim.equipment.readings import read_by
from archerysim.mechanics.arc import HIGHEST
from archerysim.mechanics.bracing import brace_newton, cell_at_pivot, line_through, place_clamps, string_line
from archerysim.mechanics.chain import chain_energy
from archerysim.mechanics.parts import Chain, Frame, Marks
from archerysim.mechanics.statics import CAREFUL, MOST_CAREFUL, QUICK
from archerysim.mechanics.status import NO_CONVERGENCE, OK, SLACK_STRING
from archerysim.shot.arrays import Parts, assemble, lean, make_frame, make_grid, make_parts, make_support, make_throat
from archerysim.shot.errors import ShotError
from archerysim.shot.guess import arc_shape, likely_height, string_divided
from archerysim.shot.mesh import Mesh
from archerysim.shot.seat import seated, trials

GRAVITY = 9.81
TOLERANCE = 2e-7  # [N]
MOST = 80
MOST_SQUARES = 6
SAME_STRING = 1e-9  # [m]


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
    """

    foot: float
    span: float
    string_length: float

    def throat(self, underside: float, nock_height: float) -> float:
        """Unloaded place of the throat's middle above the string's middle [m], for a reading [m]."""
        return ((self.foot + underside + 0.5 * nock_height) / self.span - 0.5) * self.string_length

    def underside(self, throat: float, nock_height: float) -> float:
        """The reading by the underside [m], for a place of the throat's middle on the string [m]."""
        return (throat / self.string_length + 0.5) * self.span - self.foot - 0.5 * nock_height


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
    """

    string_length: float
    brace_height: float
    upper_tiller: float
    lower_tiller: float
    leans: tuple[float, float]
    tension: float
    throat: float
    reading: float
    square: Square
    x: np.ndarray
    y: np.ndarray
    string_place: np.ndarray
    chain: Chain
    marks: Marks
    frame: Frame
    energy: float
    residual: float
    iterations: int


class Bracing:
    """A bow while it is being braced: its arrays and what the solver changes in them."""

    def __init__(
        self,
        setup: Any,
        length: float,
        leans: tuple[float, float],
        mesh: Mesh,
        throat: float | None = None,
        parts: Parts | None = None,
        made: tuple[Chain, Marks, np.ndarray] | None = None,
    ) -> None:
        self.setup = setup
        self.mesh = mesh
        self.parts = make_parts(setup, mesh) if parts is None else parts
        self.chain, self.marks, self.place = made or assemble(setup, length, throat, mesh, self.parts)
        self.grid = make_grid(self.marks, self.chain.mass.size)
        self.length = np.array([length])
        self.leans = np.array(leans)
        self.roots = self.chain.rest_length[[self.marks.root_u - 1, self.marks.root_l]]
        self.throat, self.support = make_throat(setup.nock), make_support(setup)
        self.x = np.empty(0)
        self.y = np.empty(0)
        self.residual = np.inf
        self.iterations = 0

    def start(self, xy: np.ndarray) -> None:
        """Begin from positions (n, 2); the clamps follow the pocket angles."""
        self.start_at(xy[:, 0].copy(), xy[:, 1].copy())

    def start_at(self, x: np.ndarray, y: np.ndarray) -> None:
        """`start` with the arrays x and y [m] themselves, which will be changed."""
        self.x, self.y = x, y
        place_clamps(self.x, self.y, self.marks, self.roots, self.leans[0], self.leans[1])

    def scale(self, length: float) -> None:
        """Give the string another unloaded length [m]."""
        ratio = length / self.length[0]
        cells = slice(self.marks.tip_u, self.marks.tip_l)
        self.chain.rest_length[cells] *= ratio
        self.chain.stretch[cells] /= ratio
        self.length[0] = length

    def with_string(self, length: float, leans: tuple[float, float]) -> Bracing:
        """The same bow in the same shape with another string (its mass too) and other pocket angles."""
        other = Bracing(self.setup, length, leans, self.mesh, None, self.parts)
        other.start_at(self.x.copy(), self.y.copy())
        other.iterations = self.iterations
        return other

    def lean_to(self, leans: tuple[float, float], length: float) -> None:
        """Set the pocket angles [rad] and the string's unloaded length [m]."""
        self.leans[:] = leans
        self.scale(length)

    def newton(
        self, unknowns: int, height: float = 0.0, split: float = 0.0, two_way: bool = True, careful: int = QUICK
    ) -> None:
        """Solve; raises ShotError with the kernel's status. See `brace_newton` for ``unknowns``."""
        code, count, self.residual = brace_newton(
            self.chain, self.marks, self.throat, self.support, self.grid, self.x, self.y, self.leans, self.roots,
            self.length, unknowns, height, split, 0.0, -GRAVITY, two_way, careful, TOLERANCE, MOST,
        )  # fmt: skip
        self.iterations += count
        if code != OK:
            raise ShotError("brace", code)
        if not two_way and not self.tension() > 0.0:
            raise ShotError("brace", SLACK_STRING)

    def tension(self) -> float:
        """Of the string's first cell below the upper tip [N]."""
        j = self.marks.tip_u
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
        chain, bow, leans = self.chain, self.marks.tail, (float(self.leans[0]), float(self.leans[1]))
        stretch, bend = chain_energy(chain, self.x, self.y, 0, bow - 1)
        weight = GRAVITY * float(chain.mass[:bow] @ self.y[:bow])
        return Braced(
            float(self.length[0]), height, upper, lower, leans, self.tension(), throat,
            square.underside(throat, self.setup.nock.height), square, self.x, self.y, self.place,
            chain, self.marks, make_frame(self.setup, self.parts, leans), stretch + bend + weight,
            float(self.residual), iterations,
        )  # fmt: skip

    def square(self) -> Square:
        """A square on the string, its arm's lower edge on the rest."""
        dx, dy, _, _, span = string_line(self.x, self.y, self.marks)
        low = self.marks.tip_l
        rest = self.setup.rest
        foot = (rest.forward - self.x[low]) * dx + (rest.height - self.y[low]) * dy
        return Square(float(foot), float(span), float(self.length[0]))


def throat_place(setup: Any, square: Square) -> float:
    """Unloaded place of the throat's middle on the string: as tied, or by its reading [m]."""
    locators = setup.nock.locators
    if locators.place is not None:
        return float(locators.place)
    return square.throat(read_by(setup).underside(locators.reading), setup.nock.height)


def with_arrow(bare: Bracing, mesh: Mesh, unknowns: int = 0, height: float = 0.0, split: float = 0.0) -> Braced:
    """Put the arrow on the string of a braced bow and settle it."""
    setup = bare.setup
    square = bare.square()
    throat = throat_place(setup, square)
    leans = (float(bare.leans[0]), float(bare.leans[1]))
    full = Bracing(setup, float(bare.length[0]), leans, mesh, throat, bare.parts)
    x, y = string_divided(bare.x, bare.y, bare.marks, full.marks, full.place, float(bare.length[0]))
    ways = [(*way, careful) for way in trials(full.throat) for careful in (CAREFUL, MOST_CAREFUL)]
    for trial, then, careful in ways:
        full.throat = trial
        full.lean_to(leans, float(bare.length[0]))
        full.start_at(*seated(setup, full.chain, full.marks, trial, full.support, x, y, (0.0, -GRAVITY)))
        try:
            full.newton(unknowns, height, split, two_way=False, careful=careful)
            if then is not None:
                full.throat = then
                full.newton(unknowns, height, split, two_way=False, careful=careful)
            break
        except ShotError:
            if (trial, then, careful) == ways[-1]:
                raise
    return full.braced(square, throat, bare.iterations + full.iterations)


def brace_to_height(
    setup: Any,
    height: float,
    mesh: Mesh,
    split: float | None = None,
    parts: Parts | None = None,
    squares: int = MOST_SQUARES,
) -> Braced:
    """Brace to a height by finding the string's length (and, with ``split``, the pockets' difference).

    Parameters
    ----------
    setup : Setup
        Filled; both pocket angles given.
    height : float
        Brace height [m].
    split : float, optional
        Upper minus lower distance of the roots from the string [m]; then the difference of the pocket
        angles is found too, their mean kept.
    parts : Parts, optional
        Of the setup, where they are known already.
    squares : int
        How often at most the square is put to the bow again. With none, the string's mass is that of a likely length,
        and length and throat are out by what the arrow's weight does to them.

    Raises
    ------
    ShotError
    """
    leans = (lean(setup.upper_limb), lean(setup.lower_limb))
    bare = Bracing(setup, 1.6, leans, mesh, None, parts)
    between = setup.riser.upper_root_y - setup.riser.lower_root_y
    tilt = 0.0 if split is None else -float(np.arcsin(split / between))
    bare.start(arc_shape(setup, leans, bare.chain, bare.marks, height, tilt))
    span = string_line(bare.x, bare.y, bare.marks)[4]
    bare.scale(span / (1.0 + 150.0 / setup.string.axial_stiffness))
    bare.newton(1, height)
    unknowns = 1
    if split is not None:
        unknowns = 2
        bare.newton(2, height, split)
    if squares:
        bare = bare.with_string(float(bare.length[0]), (float(bare.leans[0]), float(bare.leans[1])))
        bare.newton(0)
    # the arrow's few hundredths of a newton change string and pockets a little, and with them the square
    braced = with_arrow(bare, mesh, unknowns, height, split or 0.0)
    for _ in range(squares):
        bare = bare.with_string(braced.string_length, braced.leans)
        bare.newton(0)
        last, braced = braced, with_arrow(bare, mesh, unknowns, height, split or 0.0)
        if abs(braced.string_length - last.string_length) < SAME_STRING:
            break
    return braced


def brace_with_string(setup: Any, length: float, mesh: Mesh) -> Braced:
    """Brace with a string of the given unloaded length [m] and see what brace height comes out.

    Starts from the bow braced to a likely height and lets the string out or in to its length.

    Raises
    ------
    ShotError
    """
    leans = (lean(setup.upper_limb), lean(setup.lower_limb))
    bare = Bracing(setup, length, leans, mesh)
    found, height = likely_height(setup, leans, bare.chain, bare.marks, length)
    if found == 0.0:
        raise ShotError("brace", SLACK_STRING, f"string.length = {1e3 * length:.0f} mm is too long")
    if height > HIGHEST - 0.001:
        raise ShotError("brace", NO_CONVERGENCE, f"string.length = {1e3 * length:.0f} mm is too short")
    bare.start(arc_shape(setup, leans, bare.chain, bare.marks, found, 0.0))
    span = string_line(bare.x, bare.y, bare.marks)[4]
    bare.scale(span / (1.0 + 150.0 / setup.string.axial_stiffness))
    begin = float(bare.length[0])
    try:
        bare.newton(1, height)
        begin = float(bare.length[0])
        steps = max(1, int(np.ceil(abs(begin - length) / 0.004)))
        for k in range(1, steps + 1):
            bare.scale(begin + (length - begin) * k / steps)
            bare.newton(0)
        bare.newton(0, two_way=False)
    except ShotError as error:
        if length <= begin:
            raise
        raise ShotError("brace", SLACK_STRING, f"string.length = {1e3 * length:.0f} mm") from error
    return with_arrow(bare, mesh)
