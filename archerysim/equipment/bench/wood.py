"""Steps that work a limb itself: wood scraped off, curvature put in by heat, its tip cut off.

Only solid wood is scraped or heated, and of it never the back: cut back fibres break bows. Every stretch is given
smooth edges, as a scraper leaves them: over `EDGE` at either end, or a quarter of the stretch, the depth rises as half
a cosine.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi
from typing import Any, Literal

from archerysim.equipment.bench.pockets import LIMBS, Which, whose
from archerysim.equipment.filled_records import FilledLimb
from archerysim.equipment.filled_setup import filled
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.setup import Setup
from archerysim.errors import SetupError
from archerysim.fields.given import InSi
from archerysim.fields.units import show

Face = Literal["belly", "edges"]
Table = tuple[float, ...]

EDGE = 0.02  # [m] [judgement]
STEPS = 6  # of the table along an edge
MOST = 0.2  # of the thickness or width, in one pass [judgement]
LEAST = 5e-6  # [m] of wood that is told: less is none
CLOSE = 1e-9  # of the length: the same place
SHORTEST = 0.15  # [m] that is left of a limb
NOT_WOOD = ("unidirectional glass", "unidirectional carbon", "glass on wood core", "carbon on wood core")
BREAKS = "cut back fibres break bows"


@dataclass(frozen=True)
class Scrape:
    """Wood scraped off a stretch of a limb.

    Attributes
    ----------
    limb : {"upper", "lower", "both"}
    face : {"belly", "edges"}
    start, end : float
        From the root along the limb [m].
    depth : float
        Of what is taken off: of the thickness; of the width, at each edge [m].
    """

    limb: Which
    face: Face
    start: float
    end: float
    depth: float

    @property
    def words(self) -> str:
        """What is done."""
        of = "the belly" if self.face == "belly" else "each edge"
        off = show(self.depth, "mm")
        return f"scrape {off} off {of} of {whose(self.limb)}, {_stretch(self.start, self.end)} from the root"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
            Where the limb is none of solid wood, the stretch is not on it, or too much would go in one pass.
        """
        out: dict[str, Any] = {}
        for name in LIMBS[self.limb]:
            out |= self._of(name, getattr(setup, name), getattr(filled(setup), name))
        return InSi(out)

    def _of(self, name: str, given: Limb, limb: FilledLimb) -> dict[str, Any]:
        check_wood(name, given, "scraped")
        _check_stretch(name, self.start, self.end, limb.length)
        places = _with_stretch(limb.at, self.start, self.end, limb.length)
        off = tuple(self.depth * _share(place * limb.length, self.start, self.end) for place in places)
        return scraped(name, given, limb, self.face, places, off)


@dataclass(frozen=True)
class ScrapeAlong:
    """Wood scraped off the belly of one limb by a table: so much at each station, straight lines between.

    Attributes
    ----------
    limb : {"upper", "lower"}
    stations : tuple of float
        From the root along the limb, rising [m].
    depths : tuple of float
        Taken off the thickness there [m]; none is negative.
    """

    limb: Literal["upper", "lower"]
    stations: Table
    depths: Table

    @property
    def words(self) -> str:
        """What is done."""
        each = (
            f"{show(round(depth, 5), 'mm')} at {show(round(at, 3), 'cm')}"
            for at, depth in zip(self.stations, self.depths, strict=True)
            if depth >= LEAST
        )
        return f"scrape off the belly of the {self.limb} limb, from the root: {', '.join(each) or 'nothing'}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
            Where the limb is none of solid wood, a depth is negative, or too much would go in one pass.
        """
        name = f"{self.limb}_limb"
        given: Limb = getattr(setup, name)
        limb: FilledLimb = getattr(filled(setup), name)
        check_wood(name, given, "scraped")
        if min(self.depths) < 0.0:
            raise SetupError(f"{name}.thickness", "no wood can be put back", "Give how much is taken off")
        own = tuple(_snapped(at / limb.length, limb.at) for at in self.stations)
        if not 0.0 <= own[0] < own[-1] <= 1.0:
            raise SetupError(f"{name}.length", "a station lies beyond the limb", "Give places along it")
        places = tuple(sorted({*own, *limb.at}))
        off = tuple(
            depth if own[0] <= place <= own[-1] else 0.0
            for place, depth in zip(places, _at(places, own, self.depths), strict=True)
        )
        return InSi(scraped(name, given, limb, "belly", places, off))


def scraped(name: str, given: Limb, limb: FilledLimb, face: Face, places: Table, off: Table) -> dict[str, Any]:
    """What scraping changes on a limb as built.

    Parameters
    ----------
    name : str
        The limb's path.
    given, limb : Limb, FilledLimb
        As built; the same filled.
    face : {"belly", "edges"}
    places : tuple of float
        Along the limb, 0 to 1, those of its own tables among them.
    off : tuple of float
        Taken off there: of the thickness; of the width, at each edge [m].

    Raises
    ------
    SetupError
        Where too much would go in one pass.
    """
    width, thickness = _at(places, limb.at, limb.width), _at(places, limb.at, limb.thickness)
    of_width, table = (2.0, width) if face == "edges" else (1.0, thickness)
    for one, depth in zip(table, off, strict=True):
        if of_width * depth > MOST * one * (1.0 + CLOSE):
            raise SetupError(
                f"{name}.{'width' if face == 'edges' else 'thickness'}",
                f"{show(of_width * depth, 'mm')} off {show(one, 'mm')} is more than {100 * MOST:.0f} % in one pass",
                "Take less, then measure and draw the bow again before the next pass",
            )
    new_width = tuple(w - 2.0 * d for w, d in zip(width, off, strict=True)) if face == "edges" else width
    new_thickness = thickness if face == "edges" else tuple(t - d for t, d in zip(thickness, off, strict=True))
    out: dict[str, Any] = {f"{name}.at": places, f"{name}.width": new_width, f"{name}.thickness": new_thickness}
    out |= _curve_kept(name, given, limb)
    if not limb.density:
        sections = zip(width, thickness, new_width, new_thickness, strict=True)
        left = [(w * t) / (old_w * old_t) for old_w, old_t, w, t in sections]
        mass = _at(places, limb.at, limb.mass_per_length)
        out[f"{name}.mass_per_length"] = tuple(m * share for m, share in zip(mass, left, strict=True))
    if face == "belly" and given.root_thickness is not None:
        out[f"{name}.root_thickness"] = given.root_thickness - off[0]
    return out


@dataclass(frozen=True)
class Heat:
    """Curvature put into a stretch of a limb by heat.

    Attributes
    ----------
    limb : {"upper", "lower", "both"}
    start, end : float
        From the root along the limb [m].
    curvature : float
        Added to the unstrung limb's [1/m]: positive = towards the target.
    """

    limb: Which
    start: float
    end: float
    curvature: float

    @property
    def words(self) -> str:
        """What is done."""
        way = "towards the target" if self.curvature > 0 else "towards the archer"
        bend = f"{abs(self.curvature):.3g} 1/m {way}"
        return f"heat {bend} into {whose(self.limb)}, {_stretch(self.start, self.end)} from the root"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
            Where the limb is none of solid wood, or the stretch is not on it.
        """
        out: dict[str, Any] = {}
        for name in LIMBS[self.limb]:
            limb: FilledLimb = getattr(filled(setup), name)
            check_wood(name, getattr(setup, name), "bent by heat")
            _check_stretch(name, self.start, self.end, limb.length)
            old = limb.curvature_at or limb.at
            places = _with_stretch(old, self.start, self.end, limb.length)
            before = _at(places, old, limb.natural_curvature)
            more = (self.curvature * _share(place * limb.length, self.start, self.end) for place in places)
            out[f"{name}.natural_curvature"] = tuple(a + b for a, b in zip(before, more, strict=True))
            out[f"{name}.curvature_at"] = places
        return InSi(out)


@dataclass(frozen=True)
class Cut:
    """The tip cut off, and a new nock filed: the tip's own mass stays.

    Attributes
    ----------
    limb : {"upper", "lower", "both"}
    off : float
        Length that is cut off [m].
    """

    limb: Which
    off: float

    @property
    def words(self) -> str:
        """What is done."""
        return f"cut {show(self.off, 'mm')} off the tip of {whose(self.limb)}"

    def changes(self, setup: Setup) -> InSi:
        """What it changes on a bow as built.

        Raises
        ------
        SetupError
            Where nothing would be left, or the limb is none of wood.
        """
        out: dict[str, Any] = {}
        for name in LIMBS[self.limb]:
            given: Limb = getattr(setup, name)
            limb: FilledLimb = getattr(filled(setup), name)
            check_wood(name, given, "cut")
            length = limb.length - self.off
            if not self.off > 0.0 or length < SHORTEST:
                raise SetupError(
                    f"{name}.length",
                    f"{show(self.off, 'mm')} off a limb of {show(limb.length, 'mm')}",
                    f"Cut off more than nothing, and leave {show(SHORTEST, 'mm')}",
                )
            places = _shortened(limb.at, length / limb.length)
            out |= {f"{name}.at": places[0], f"{name}.length": length}
            for table in ("width", "thickness") if limb.width else ("bending_stiffness",):
                out[f"{name}.{table}"] = _at(places[1], limb.at, getattr(limb, table))
            if not limb.density:
                out[f"{name}.mass_per_length"] = _at(places[1], limb.at, limb.mass_per_length)
            bent = _shortened(limb.curvature_at or limb.at, length / limb.length)
            out[f"{name}.natural_curvature"] = _at(bent[1], limb.curvature_at or limb.at, limb.natural_curvature)
            out[f"{name}.curvature_at"] = bent[0]
        return InSi(out)


def check_wood(path: str, limb: Limb, done: str) -> None:
    """Refuse what must not be cut.

    Raises
    ------
    SetupError
        Where the limb is laminated, of glass or carbon, or nothing says that it is of solid wood.
    """
    if limb.laminations or limb.material in NOT_WOOD:
        raise SetupError(
            f"{path}.{'laminations' if limb.laminations else 'material'}",
            f"a laminated limb, or one of glass or carbon, is not {done}: {BREAKS}",
            "Only solid wood may be; see a bowyer, or its maker",
        )
    if limb.material is None:
        raise SetupError(
            f"{path}.material", f"not given: only solid wood may be {done}", 'Give it, for example material = "ash"'
        )


def _check_stretch(path: str, start: float, end: float, length: float) -> None:
    if not 0.0 <= start < end <= length:
        raise SetupError(
            f"{path}.length",
            f"{_stretch(start, end)} from the root is no stretch of a limb of {show(length, 'mm')}",
            "Give two places along it, the one nearer the root first",
        )


def _stretch(start: float, end: float) -> str:
    return f"{show(start, 'cm')} to {show(end, 'cm')}"


def _edge(start: float, end: float) -> float:
    """Length of a stretch's smooth edge [m]."""
    return min(EDGE, 0.25 * (end - start))


def _share(at: float, start: float, end: float) -> float:
    """Share of the whole depth at a place along the limb [m]: 1 inside the stretch, 0 outside it, smooth between."""
    edge, inside = _edge(start, end), min(at - start, end - at)
    if inside <= 0.0:
        return 0.0
    return 1.0 if inside >= edge else 0.5 * (1.0 - cos(pi * inside / edge))


def _with_stretch(places: Table, start: float, end: float, length: float) -> Table:
    """Places of a table (0 to 1) with those that a stretch of the limb [m] needs."""
    steps = [_edge(start, end) * k / STEPS for k in range(STEPS + 1)]
    more = [(start + step) / length for step in steps] + [(end - step) / length for step in steps]
    new = [one for one in more if all(abs(one - place) > CLOSE for place in places)]
    return tuple(sorted((*places, *new)))


def _snapped(place: float, places: Table) -> float:
    """A place, or the one of a table that is the same but for rounding."""
    return next((one for one in places if abs(one - place) <= CLOSE), place)


def _at(places: Table, known: Table, table: Table) -> Table:
    """A table at other places, straight lines between its own."""
    out = []
    k = 0
    for place in places:
        while k < len(known) - 2 and known[k + 1] < place:
            k += 1
        share = (place - known[k]) / (known[k + 1] - known[k])
        out.append(table[k] + share * (table[k + 1] - table[k]))
    return tuple(out)


def _curve_kept(path: str, given: Limb, limb: FilledLimb) -> dict[str, Any]:
    """The unstrung limb's curvature where it stands, when the other tables go to other places."""
    if limb.curvature_at or given.natural_curvature is None:
        return {}
    return {f"{path}.natural_curvature": limb.natural_curvature, f"{path}.curvature_at": limb.at}


def _shortened(places: Table, share: float) -> tuple[Table, Table]:
    """Places of a limb that is only a share as long: along the new limb, and along the old one."""
    old = (*(place for place in places if place < share - 1e-9), share)
    return (*(place / share for place in old[:-1]), 1.0), old
