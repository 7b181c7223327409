"""The draw-force curve of a bow that is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.equipment import Setup
from archerysim.fields.given import whole_number
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot import warnings
from archerysim.shot.arrays.hysteresis import whole
from archerysim.shot.arrays.wraps import lying
from archerysim.shot.bow_before import Before
from archerysim.shot.edit import Edit
from archerysim.shot.release.release import loop_of
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.curve import curve
from archerysim.shot.statics.draw import TRADE, Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.let_down import kept_from_fingers
from archerysim.shot.statics.strain import Strained, strained

if TYPE_CHECKING:
    import xarray

MOST_POINTS = 2000  # of a draw-force curve


@result("setup.name", "draw_length", "force", "energy", "warnings")
@dataclass(frozen=True)
class DrawCurve:
    """The draw-force curve.

    Attributes
    ----------
    draw_length : (k,) array
        As the trade measures it: throat to pivot along the riser's x, and 1.75 in more [m].
    force : (k,) array
        Size of the finger force while the bow is drawn [N].
    let_down : (k,) array
        The same while it is let down: less, between brace and full draw, by what the limbs' hysteresis keeps [N].
    energy : (k,) array
        Stored since brace [J], work along the draw of the force halfway between the two.
    drawn : tuple of Drawn
        The equilibria, from brace (force zero) to full draw.
    braced : Braced
    setup : Setup
        As built.
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings are about.
    strain : (Strained, Strained)
        Largest strain of the upper and the lower limb beside the file's `strain_limit`, or why it was not compared.
    drawing : Drawing
        The bow while it is drawn, with the kernels' arrays.
    edits : tuple of Edit
        What was changed on the bow and what was held; empty for an unchanged bow.

    Examples
    --------
    >>> import archerysim
    >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"), points=9)
    >>> curve.force.shape, round(float(curve.energy[-1]))  # [J] stored at full draw
    ((9,), 40)
    >>> bool((curve.let_down[1:-1] < curve.force[1:-1]).all())
    True
    """

    draw_length: Annotated[np.ndarray, Reported("m", "draw length by the trade", ("draw_length",))]
    force: Annotated[np.ndarray, Reported("N", "force on the fingers", ("draw_length",))]
    let_down: Annotated[np.ndarray, Reported("N", "force on the fingers, letting down", ("draw_length",))]
    energy: Annotated[np.ndarray, Reported("J", "energy stored since brace", ("draw_length",))]
    drawn: tuple[Drawn, ...]
    braced: Braced
    setup: Setup
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    strain: tuple[Strained, Strained]
    drawing: Drawing
    edits: tuple[Edit, ...] = ()

    @property
    def stiffness(self) -> Annotated[np.ndarray, Reported("N/m")]:
        """Force gained per length drawn, at each draw length (k,) [N/m]: how the bow stacks.

        Second-order differences along the curve: central, and one-sided at its ends.

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"))
        >>> curve.stiffness.shape, bool(curve.stiffness.min() > 0.0)  # [N/m]
        ((25,), True)
        """
        return np.asarray(np.gradient(self.force, self.draw_length, edge_order=2 if self.force.size > 2 else 1))

    @property
    def lying(self) -> Annotated[np.ndarray, Reported("m")]:
        """Over which length the string lies on the upper and on the lower limb, at each draw length (k, 2) [m].

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"))
        >>> curve.lying.shape, bool((curve.lying[-1] < curve.lying[0]).all())  # it lifts off as the bow is drawn
        ((25, 2), True)
        """
        chain = self.braced.chain
        states = [(self.braced.x, self.braced.y), *((one.x, one.y) for one in self.drawn)]
        return np.array([[lying(wrap, x, y) for wrap in (chain.above, chain.below)] for x, y in states])

    @property
    def string_leaves_at(self) -> Annotated[tuple[float, float], Reported("m")]:
        """First of the draw lengths at which the string no longer lies on the upper and on the lower limb [m].

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"))
        >>> upper, lower = curve.string_leaves_at
        >>> bool(curve.draw_length[0] < upper < curve.draw_length[-1])
        True
        """
        free = self.lying <= 0.0
        upper, lower = (float(self.draw_length[side.argmax()]) if side.any() else np.nan for side in free.T)
        return upper, lower

    @property
    def stiffness_across(self) -> Annotated[float, Reported("N/m")]:
        """At full draw, force per length with which the fingers resist being pushed across their pull [N/m].

        The limbs then tip opposite ways. At zero the drawn bow would do so by itself: the value tells how far it is
        from that.

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"))
        >>> curve.stiffness_across > 0.0
        True
        """
        return self.drawing.stiffness_across(self.drawn[-1])

    @property
    def kept_by_limbs(self) -> Annotated[float, Reported("J")]:
        """Work of drawing that is not given back when the bow is let down, however slowly [J].

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"))
        >>> 0.0 < curve.kept_by_limbs < 2.0  # [J], of some 40 J stored
        True
        """
        return 2.0 * whole(loop_of(self.drawing, self.drawn[-1]))

    def to_xarray(self) -> xarray.Dataset:
        """The curve as a table with units, along the draw length.

        Examples
        --------
        >>> import archerysim
        >>> curve = archerysim.draw(archerysim.load("examples/club-outdoor.toml"), points=5)
        >>> table = curve.to_xarray()
        >>> dict(table.sizes), table["force"].attrs["units"]
        ({'draw_length': 5}, 'N')
        """
        about = {"setup_as_built": self.setup.to_toml(), "warnings": "\n".join(self.warnings)}
        return dataset(variables_of(self), f"draw-force curve of {self.setup.name}", **about)


def curve_of(
    built: Setup, drawing: Drawing, last: Drawn, points: int, before: Before | None, edits: tuple[Edit, ...]
) -> DrawCurve:
    """The draw-force curve of a bow as built, drawn as far as the archer draws it.

    Raises
    ------
    SetupError, ShotError
    """
    whole_number("points", points, "a number of points", 2, MOST_POINTS)
    full, braced = drawing.setup, drawing.braced
    steps = curve(drawing, last, points)
    length = np.array([TRADE - drawing.begin] + [TRADE - d.throat_x for d in steps])
    elastic = np.array([0.0] + [d.weight for d in steps])
    loop, away = loop_of(drawing, last), np.zeros(points)
    if loop.size.size:
        away[1:-1] = [kept_from_fingers(drawing, d, loop) for d in steps[:-1]]
    begin_energy = drawing.bow_energy(braced.x, braced.y, last.level)
    energy = np.array([0.0] + [d.energy - begin_energy for d in steps])
    strain = strained(full, braced, last)
    passed = warnings.of_limits(full, braced, last, strain)
    others = [
        *warnings.of_strain(strain), *warnings.of_changes(full, last.weight, before), *warnings.of_bow(full, braced),
    ]  # fmt: skip
    sentences = warnings.all_warnings(passed, others)
    return DrawCurve(
        length, elastic + away, elastic - away, energy, tuple(steps), braced, built, sentences, tuple(passed), strain,
        drawing, edits,
    )  # fmt: skip
