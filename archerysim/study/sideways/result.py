"""What moves bare shafts sideways: one change, and all of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from archerysim.equipment import Setup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, stacked, words
from archerysim.study.sideways.trials import Kind
from archerysim.study.uncertainty.inputs import Input

if TYPE_CHECKING:
    import xarray

HARDLY = 0.010  # of a move either way at 18 m: not to be seen on a target [m] [judgement]
HARDLY_AT = 18.0  # [m]


@result("name", "side", "side_low", "side_high", "height", "reading", "contact")
@dataclass(frozen=True)
class SideMove:
    """What one change does to where a bare shaft lands beside a fletched one.

    Attributes
    ----------
    name : str
        Of the change, in words.
    kind : str
        "side support", "shaft", "point", "length", or "parts" for those at hand.
    changes : dict of path to value
        What is changed on the bow as built, in SI.
    side : float
        How much further away from the window the bare shaft lands beside the fletched one [m]; nan where a shot with
        the change touches, or there is none.
    side_low, side_high : float
        Ends of its 90 % range over what is unsure sideways [m]; nan with it.
    agreeing : float
        Share of the draws in which it goes the same way.
    group : float
        How much further away from the window the fletched arrow itself is sent [m].
    height : float
        How much higher the bare shaft lands beside the fletched one [m].
    reading : float
        How much further up the locators have to go to take that back, with the arrow changed [mm]; nan where a higher
        reading does not bring the bare shaft down.
    mass : float
        Of the arrow [g].
    grains_per_pound : float
        Of the arrow's mass over the draw weight.
    stiffer : bool
        Whether the change acts as a stiffer shaft.
    contact : tuple of str
        What touches on the way out, with the change.
    touching : int
        Draws in which something touches with the change and nothing did without.
    cautions : tuple of str
        Limits that a shot with the change passes and one without does not.
    reason : str
        Why there is no shot; else empty.
    """

    name: str
    kind: Kind
    changes: dict[str, float]
    side: Annotated[float, Reported("m", "further away from the window, of the bare shaft beside the fletched one")]
    side_low: Annotated[float, Reported("m", "5 % point of it")]
    side_high: Annotated[float, Reported("m", "95 % point of it")]
    agreeing: Annotated[float, Reported("", "share of the draws in which it goes the same way")]
    group: Annotated[float, Reported("m", "further away from the window, of the fletched arrow")]
    height: Annotated[float, Reported("m", "further up, of the bare shaft beside the fletched one")]
    reading: Annotated[float, Reported("mm", "of the locators, further up, that takes the height back")]
    mass: Annotated[float, Reported("g", "of the arrow")]
    grains_per_pound: Annotated[float, Reported("", "of the arrow's mass over the draw weight")]
    stiffer: bool
    contact: tuple[str, ...]
    touching: int
    cautions: tuple[str, ...]
    reason: str

    @property
    def sure(self) -> bool:
        """Whether all of the range is on one side."""
        return self.side_low * self.side_high > 0.0 and self.side * self.side_low > 0.0

    def hardly(self, distance: float) -> bool:
        """Whether all of the range is too small to be seen at a distance [m]."""
        return max(abs(self.side_low), abs(self.side_high)) < HARDLY * distance / HARDLY_AT


@result("setup.name", "distance", "taped", "moves", "contact", "gap", "best")
@dataclass(frozen=True)
class SidewaysTune:
    """What settings and parts do to where bare shafts land left or right of fletched ones: moves only.

    Attributes
    ----------
    setup : Setup
        As built.
    distance : float
        Of the target [m].
    taped : bool
        Whether the bare shaft carries tape of the fletching's mass.
    moves : tuple of SideMove
        Empty where something touches today.
    left_out : tuple of str
        What was not tried, and why.
    contact : tuple of str
        What touches on the way out today, and how to clear it: no left or right is given until then.
    inputs : tuple of Input
        What is unsure sideways.
    draws, touching, failed : int
        Bows drawn that this one may be; of them those in which something touches today, and those without a shot.
    side_roll : float
        Roll of the fingers that the draws spread about [deg].
    side_force : float
        Greatest force of the shaft on the side support today [N].
    slope : float
        Change of the bare shaft's height beside the fletched one with the reading [mm/mm].
    gap : float
        How far away from the window groups have shown the bare shafts beside the fletched ones [m]; nan where none was
        given.
    noise : float
        Up to this, such a gap of three bare and six fletched shafts may be a club archer's own scatter [m], at 90 %.
    best : int or None
        Which of the moves comes nearest to taking the gap back; None where none does, or there is nothing to take back.
    also : tuple of int
        Other moves that reach it, the nearest first.
    furthest : int or None
        Which setting goes furthest the right way where none reaches it.
    warnings, limits_passed : tuple of str
        Of today's shot, with the cautions for bare shafts; which limits the first of them are about.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.sideways_tune(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
    >>> len(found.moves) > 0, found.best is None  # no gap was given: there is nothing to take back
    (True, True)
    >>> sorted({name for move in found.moves for name in move.changes})
    ['arrow.length', 'arrow.point_mass', 'arrow.spine', 'side.offset', 'side.preload', 'side.stiffness']
    """

    setup: Setup
    distance: Annotated[float, Reported("m")]
    taped: bool
    moves: tuple[SideMove, ...]
    left_out: tuple[str, ...]
    contact: tuple[str, ...]
    inputs: tuple[Input, ...]
    draws: int
    touching: int
    failed: int
    side_roll: Annotated[float, Reported("deg", "roll of the fingers that the draws spread about")]
    side_force: Annotated[float, Reported("N", "greatest force of the shaft on the side support")]
    slope: Annotated[float, Reported("mm/mm", "change of the bare shaft's height with the reading")]
    gap: Annotated[float, Reported("m", "of bare beside fletched by groups, positive away from the window")]
    noise: Annotated[float, Reported("m", "within which such a gap is a club archer's own scatter")]
    best: int | None
    also: tuple[int, ...]
    furthest: int | None
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]

    @property
    def free(self) -> int:
        """Draws that the ranges are taken from: those with a shot in which nothing touches today."""
        return self.draws - self.touching - self.failed

    def to_xarray(self) -> xarray.Dataset:
        """The moves as a table with units, along "move".

        Examples
        --------
        >>> import archerysim
        >>> found = archerysim.sideways_tune(archerysim.load("examples/club-outdoor.toml"), draws=4, mesh="coarse")
        >>> table = found.to_xarray()
        >>> table.sizes["move"] == len(found.moves), table["side"].attrs["units"]
        (True, 'm')
        """
        names = {"move": words([one.name for one in self.moves], "move", "what is changed")}
        return dataset({**names, **stacked(self.moves, "move")}, f"sideways moves of {self.setup.name}")
