"""What can be moved at the bench to tiller a bow: wood off the belly by a table of stations, or turns of the bolts.

Both say how far they may be moved, what a move costs, and what bow comes of it.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from msgspec import structs

from archerysim.equipment import Setup
from archerysim.equipment.bench.pockets import Turn
from archerysim.equipment.bench.wood import LEAST, MOST, ScrapeAlong
from archerysim.equipment.filled_records import BuiltLimb
from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.errors import SetupError
from archerysim.fields.units import show
from archerysim.shot.statics.strain import LIMBS

STATIONS = 10  # about so many steps along a limb
CENTIMETRE, MM = 0.01, 1e-3  # [m]
SMOOTH = 0.1  # [m]: a depth that grows by itself over this length costs as much as the depth [judgement]
EDGE = 1e-6  # of what may be scraped: kept clear of rounding
TURNS = 2.0  # of a bolt either way, where the file knows no limit
LEAST_TURN = 0.005  # less is none


def stations_of(length: float) -> np.ndarray:
    """Even stations in whole centimetres from the root to the tip, the last step between a half and one and a half."""
    step = max(CENTIMETRE, CENTIMETRE * round(length / STATIONS / CENTIMETRE))
    inner = np.arange(0.0, length - 0.5 * step, step)
    return np.append(inner, length)


class Scraping:
    """Depths off the belly at the stations of the upper limb, then of the lower one [mm].

    Parameters
    ----------
    full : BuiltSetup
    least_thickness : float
        That is left anywhere [m].

    Attributes
    ----------
    stations : (array, array)
        From the root along each limb [m].
    least, most : (n,) arrays
        Nothing, since no wood can be put back; and `wood.MOST` of the thickness, or down to the least.
    square : (n, n) array
        The cost: mean square of the depth along both limbs, and of what it grows by within `SMOOTH`.
    """

    step = 0.02

    def __init__(self, full: BuiltSetup, least_thickness: float = 0.0) -> None:
        limbs = (full.upper_limb, full.lower_limb)
        self.stations = (stations_of(limbs[0].length), stations_of(limbs[1].length))
        most, squares = [], []
        for limb, at in zip(limbs, self.stations, strict=True):
            most.append(_may_go(limb, at, least_thickness))
            squares.append(_square(at))
        self.most = np.concatenate(most) / MM
        self.least = np.zeros(self.most.size)
        self.square = np.zeros((self.most.size,) * 2)
        n = self.stations[0].size
        self.square[:n, :n], self.square[n:, n:] = squares

    def depths(self, moves: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Of the upper and the lower limb [m]."""
        n = self.stations[0].size
        return MM * moves[:n], MM * moves[n:]

    def on(self, full: BuiltSetup, moves: np.ndarray) -> BuiltSetup:
        """The bow scraped so."""
        upper, lower = (
            _without(limb, at, depth)
            for limb, at, depth in zip(
                (full.upper_limb, full.lower_limb), self.stations, self.depths(moves), strict=True
            )
        )
        return structs.replace(full, upper_limb=upper, lower_limb=lower)

    def steps(self, moves: np.ndarray) -> tuple[ScrapeAlong, ...]:
        """What is done; a limb that nothing is taken off is not named."""
        return tuple(
            _step("upper" if name == "upper" else "lower", at, depth)
            for name, at, depth in zip(LIMBS, self.stations, self.depths(moves), strict=True)
            if float(depth.max()) >= LEAST
        )

    def size(self, moves: np.ndarray) -> float:
        """The deepest [mm]."""
        return float(moves.max())


class Bolts:
    """Turns of the upper and of the lower bolt, positive = in.

    Parameters
    ----------
    setup : Setup
        As built.
    full : BuiltSetup

    Attributes
    ----------
    least, most : (2,) arrays
        What is left of the maker's turns, or of `TURNS` where the file knows none.
    square : (2, 2) array
        The cost: the sum of the squares of the turns.

    Raises
    ------
    SetupError
        Where the bow has no bolts, or they stand beyond the limit already.
    """

    step = 0.05

    def __init__(self, setup: Setup, full: BuiltSetup) -> None:
        if full.bow.kind == "one piece":
            raise SetupError("bow.kind", "a bow of one piece has no bolts", "Tiller it by scraping")
        given = setup.limits.most_bolt_turns
        travel = TURNS if given is None else given
        self.known = given is not None
        stand = np.array([full.upper_limb.bolt_turns, full.lower_limb.bolt_turns])
        if float(np.abs(stand).max()) > travel:
            raise SetupError(
                "limbs.bolt_turns",
                f"a bolt stands {float(np.abs(stand).max()):.2f} turns from its place, more than {travel:g}",
                "Turn it back, unstrung or as the maker says",
            )
        self.least, self.most = -travel - stand, travel - stand
        self.square = np.eye(2)

    def on(self, full: BuiltSetup, moves: np.ndarray) -> BuiltSetup:
        """The bow with its bolts turned so."""
        upper, lower = (
            structs.replace(limb, bolt_turns=float(limb.bolt_turns + turns))
            for limb, turns in zip((full.upper_limb, full.lower_limb), moves, strict=True)
        )
        return structs.replace(full, upper_limb=upper, lower_limb=lower)

    def steps(self, moves: np.ndarray) -> tuple[Turn, ...]:
        """What is done; a bolt that is not turned is not named."""
        turned = (
            Turn("upper" if name == "upper" else "lower", float(turns))
            for name, turns in zip(LIMBS, moves, strict=True)
        )
        return tuple(one for one in turned if abs(one.turns) >= LEAST_TURN)

    def size(self, moves: np.ndarray) -> float:
        """The most turns of one bolt."""
        return float(np.abs(moves).max())


def check_thickness(limb: BuiltLimb, path: str, least: float) -> None:
    """Refuse a limb that is thinner already than what is to be left.

    Raises
    ------
    SetupError
    """
    if limb.thickness and min(limb.thickness) < least:
        raise SetupError(
            "least_thickness",
            f"{show(least, 'mm')} is more than {path} has at its thinnest, {show(min(limb.thickness), 'mm')}",
            "Give less",
        )


def _may_go(limb: BuiltLimb, at: np.ndarray, least: float) -> np.ndarray:
    """How deep each station may be scraped [m], so that no place between them is scraped deeper."""
    places = np.array(limb.at) * limb.length
    thickness = np.interp(at, places, limb.thickness)
    may = (1.0 - EDGE) * np.minimum(MOST * thickness, np.maximum(thickness - least, 0.0))
    own = np.minimum(MOST * np.array(limb.thickness), np.maximum(np.array(limb.thickness) - least, 0.0))
    for place, most in zip(places, own, strict=True):
        over = float(np.interp(place, at, may))
        if over > most:
            k = min(int(np.searchsorted(at, place, side="right")) - 1, at.size - 2)
            may[k : k + 2] *= (1.0 - EDGE) * most / over
    return np.asarray(may)


def _square(at: np.ndarray) -> np.ndarray:
    """The cost of depths at stations, straight lines between: mean of d^2 + (SMOOTH d')^2 along the limb."""
    out = np.zeros((at.size, at.size))
    for k, step in enumerate(np.diff(at)):
        out[k : k + 2, k : k + 2] += step / 6.0 * np.array([[2.0, 1.0], [1.0, 2.0]])
        out[k : k + 2, k : k + 2] += SMOOTH**2 / step * np.array([[1.0, -1.0], [-1.0, 1.0]])
    return np.asarray(out / (at[-1] - at[0]))


def _without(limb: BuiltLimb, at: np.ndarray, depth: np.ndarray) -> BuiltLimb:
    """A limb with so much off its belly at some stations [m], as `ScrapeAlong` leaves it."""
    own = np.array(limb.at)
    places = np.union1d(own, np.clip(at / limb.length, 0.0, 1.0))
    keep = np.append(np.diff(places) > 1e-9, True)
    keep[np.isin(places, own)] = True
    places = places[keep]
    off = np.interp(places * limb.length, at, depth)
    width, thickness = (np.interp(places, own, table) for table in (limb.width, limb.thickness))
    left = (thickness - off) / thickness
    mass = np.interp(places, own, limb.mass_per_length) * left
    return structs.replace(
        limb, at=tuple(places), width=tuple(width), thickness=tuple(thickness - off), mass_per_length=tuple(mass),
        bending_stiffness=tuple(np.interp(places, own, limb.bending_stiffness) * left**3),
        curvature_at=limb.curvature_at or limb.at, root_thickness=limb.root_thickness - float(off[0]),
    )  # fmt: skip


def _step(limb: Literal["upper", "lower"], at: np.ndarray, depth: np.ndarray) -> ScrapeAlong:
    return ScrapeAlong(limb, tuple(at.tolist()), tuple(np.maximum(depth, 0.0).tolist()))
