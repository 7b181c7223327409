"""Strain of back and belly along both limbs, at brace and at full draw, beside the limit that the file gives.

A limb bends by M/(E I) away from its natural curvature, and its string pushes it together by the thrust N: a surface
at a distance c from where bending strains nothing is strained by M c/(E I) + N/(E A), c half the thickness of a limb of
one material (a beam's plane sections). The moments are those of the statics at the limb's nodes, the clamp's at the
root; the modulus is the fitted one, so that E I is the limb's own. Of laminations, each is compared with its own limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, NamedTuple

import numpy as np

from archerysim.equipment.filled_records import FilledLimb
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.equipment.limbs.lamination import Lamination
from archerysim.equipment.limbs.limb import Limb
from archerysim.equipment.limbs.materials import MATERIALS
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.arrays import Chain, Marks
from archerysim.shot.arrays.build import limb_tables
from archerysim.shot.arrays.sections import Sections, layers_at, sections
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.drawn import Drawn

LIMBS = ("upper", "lower")
MOMENTS = ("brace", "full draw")
NO_TABLE = "no width, thickness and modulus given"
NO_LIMIT = "no strain_limit given"


@dataclass(frozen=True)
class LimbStrain:
    """Strain of one limb's surfaces at one moment; positive where they are pulled, negative where pushed together.

    Attributes
    ----------
    at : (k,) array
        Places along the limb from its root [m].
    back, belly : (k,) arrays
        Strain of the side towards the target, and of the archer's side [-].
    """

    at: Annotated[np.ndarray, Reported("m")]
    back: Annotated[np.ndarray, Reported()]
    belly: Annotated[np.ndarray, Reported()]


@result("limb", "largest", "at", "side", "moment", "limit", "unchecked")
@dataclass(frozen=True)
class Strained:
    """Where one limb is strained most, or why that is not known.

    Attributes
    ----------
    limb : {"upper", "lower"}
    largest : float
        Largest size of the strain [-]; nan where it is not known. Of laminations with limits of their own, the one
        nearest to its limit.
    at : float
        Its place along the limb from the root [m].
    side : str
        "back", "belly", or the lamination inside, counted from the back: "lamination 2"; "" where not looked for.
    moment : {"brace", "full draw", ""}
    limit : float or None
        `strain_limit` of the file, or what is usual for the material that it names [-].
    unchecked : str
        Why it was not compared with a limit; "" where it was.
    usual_for : str
        The material whose usual strain the limit is; "" where the file gives it.

    Examples
    --------
    >>> import archerysim
    >>> upper, lower = archerysim.strain(archerysim.load("examples/longbow.toml"))
    >>> round(100 * upper.largest, 2), round(100 * upper.limit, 2), upper.usual_for  # [%]
    (0.84, 1.13, 'yew')
    """

    limb: str
    largest: Annotated[float, Reported()]
    at: Annotated[float, Reported("m")]
    side: str
    moment: str
    limit: float | None
    unchecked: str
    usual_for: str = ""

    @property
    def passed(self) -> bool:
        """Whether the limit is passed."""
        return not self.unchecked and self.limit is not None and self.largest > self.limit

    @property
    def inside(self) -> bool:
        """Whether the limit is that of a lamination inside, to which the surfaces are not held."""
        return self.side.startswith("lamination")


def limb_strains(
    full: FilledSetup, braced: Braced, state: Braced | Drawn
) -> tuple[LimbStrain | None, LimbStrain | None]:
    """Strain along the upper and the lower limb at brace or at one draw.

    Parameters
    ----------
    full : FilledSetup
        As built: its modulus is the fitted one.
    braced : Braced
        With the kernels' arrays.
    state : Braced or Drawn
        The same bow at brace (``braced`` itself) or drawn.

    Returns
    -------
    upper, lower : LimbStrain or None
        None without a table of width, thickness and modulus.
    """
    out: list[LimbStrain | None] = []
    for limb, name in ((full.upper_limb, "upper"), (full.lower_limb, "lower")):
        if not limb.width:
            out.append(None)
            continue
        nodes, moment, thrust = moments(braced.chain, braced.marks, state.x, state.y, name, limb.length)
        places, here = _section(limb)
        bent = np.interp(places, nodes, moment) / here.stiffness
        along = np.interp(places, 0.5 * (nodes[1:] + nodes[:-1]), thrust) / here.along
        out.append(LimbStrain(places, along + bent * here.to_back, along - bent * here.to_belly))
    return out[0], out[1]


@lru_cache(8)
def _section(limb: FilledLimb) -> tuple[np.ndarray, Sections]:
    """Places along a limb [m], and its `sections` there; kept from shot to shot, and nobody writes to the arrays."""
    places = limb_tables(limb)[0]
    return places, sections(limb, places / limb.length)


def strained(full: FilledSetup, braced: Braced, drawn: Drawn, *, unlimited: bool = False) -> tuple[Strained, Strained]:
    """Where each limb is strained most, at brace or at full draw.

    Parameters
    ----------
    full : FilledSetup
        As built.
    unlimited : bool
        Look for it also where there is no limit to compare it with.

    Returns
    -------
    upper, lower : Strained
    """
    limits = [_limits(limb) for limb in (full.given.upper_limb, full.given.lower_limb)]
    tables = [bool(limb.width) for limb in (full.upper_limb, full.lower_limb)]
    wanted = [table and (unlimited or bool(each)) for table, each in zip(tables, limits, strict=True)]
    states = [limb_strains(full, braced, state) for state in (braced, drawn)] if any(wanted) else []
    limbs = []
    for k, name in enumerate(LIMBS):
        why = NO_TABLE if not tables[k] else "" if limits[k] else NO_LIMIT
        if not wanted[k]:
            first = limits[k][0] if limits[k] else NONE
            limbs.append(Strained(name, math.nan, math.nan, "", "", first.most, why, first.usual_for))
            continue
        limb = full.upper_limb if k == 0 else full.lower_limb
        found = [
            (values, side, moment, one.at, limit)
            for both, moment in zip(states, MOMENTS, strict=True)
            if (one := both[k]) is not None
            for limit in limits[k] or (NONE,)
            for values, side in _surfaces(limb, one, limit)
        ]
        most, side, moment, at, limit = max(found, key=lambda one: float(np.abs(one[0]).max()) / (one[4].most or 1.0))
        worst = int(np.abs(most).argmax())
        largest, place = float(abs(most[worst])), float(at[worst])
        limbs.append(Strained(name, largest, place, side, moment, limit.most, why, limit.usual_for))
    return limbs[0], limbs[1]


class _Limit(NamedTuple):
    """The largest strain that a limb or one of its laminations bears.

    ``usual_for`` names the material whose usual limit it is, ``lamination`` its number from the back on; -1: the limb.
    """

    most: float | None
    usual_for: str = ""
    lamination: int = -1


NONE = _Limit(None)


def _limits(limb: Limb) -> tuple[_Limit, ...]:
    """What a limb bears by its file, else what is usual for its material; else the same of each of its laminations."""
    most, usual_for = limit_of(limb)
    if most is not None:
        return (_Limit(most, usual_for),)
    own = (limit_of(strip) for strip in limb.laminations)
    return tuple(_Limit(most, usual_for, k) for k, (most, usual_for) in enumerate(own) if most is not None)


def _surfaces(limb: FilledLimb, found: LimbStrain, limit: _Limit) -> list[tuple[np.ndarray, str]]:
    """Strain of both surfaces of a limb, or of one of its laminations, with their names."""
    if limit.lamination < 0:
        return [(found.back, "back"), (found.belly, "belly")]
    layers = layers_at(limb, found.at / limb.length)
    depth = np.cumsum([np.zeros(found.at.size), *layers], axis=0)
    share = depth / depth[-1]
    strains = found.back + share * (found.belly - found.back)
    k, last = limit.lamination, len(layers) - 1
    faces = ("back" if k == 0 else f"lamination {k + 1}", "belly" if k == last else f"lamination {k + 1}")
    return [(strains[k], faces[0]), (strains[k + 1], faces[1])]


def limit_of(limb: Limb | Lamination) -> tuple[float | None, str]:
    """The largest strain that a limb, or a lamination, bears, by its file; else what is usual for its material, and
    which that is.
    """
    if limb.strain_limit is not None or limb.material is None:
        return limb.strain_limit, ""
    return MATERIALS[limb.material].strain_limit.value, limb.material


def limit_words(limb: Strained) -> str:
    """The limit in words: by the file, or usual for a material."""
    of = f"usual for {limb.usual_for}; single pieces may bear less" if limb.usual_for else "of its strain_limit"
    return f"{100 * (limb.limit or 0.0):.2f} % {of}"


def warned(strain: tuple[Strained, Strained]) -> dict[str, str]:
    """The limits that are passed: path of the limit to sentence."""
    return {
        f"{limb.limb}_limb.strain_limit": (
            f"The {limb.limb} limb's {limb.side} is strained by {100 * limb.largest:.2f} % at {limb.moment}, "
            f"{1e3 * limb.at:.0f} mm from its root, over the {limit_words(limb)}: do "
            f"not {'string' if limb.moment == 'brace' else 'draw'} this bow; ask its maker or a bowyer."
        )
        for limb in strain
        if limb.passed
    }


def moments(
    chain: Chain, marks: Marks, x: np.ndarray, y: np.ndarray, name: str, length: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Nodes from the root to the tip [m], bending moment there, and axial force of the cells between.

    The moment is positive where it bends the limb towards the archer [N m], the force where it pulls [N].
    """
    first, last = (marks.root_u - 1, marks.tip_u) if name == "upper" else (marks.tip_l, marks.root_l + 1)
    dx, dy = np.diff(x[first : last + 1]), np.diff(y[first : last + 1])
    size = np.hypot(dx, dy)
    cross = dx[:-1] * dy[1:] - dy[:-1] * dx[1:]
    bend = 2.0 * cross / (size[:-1] * size[1:] + dx[:-1] * dx[1:] + dy[:-1] * dy[1:])
    inside = slice(first + 1, last)
    moment = (1.0 + 0.25 * bend * bend) * chain.bend[inside] * (bend - chain.natural[inside])
    force = chain.stretch[first:last] * (size - chain.rest_length[first:last])
    if name == "upper":
        moment, force = np.append(moment, 0.0), force[1:]
    else:
        moment, force = np.append(0.0, moment)[::-1], force[:-1][::-1]
    return np.linspace(0.0, length, moment.size), moment, force
