"""How both limbs of a bow bend, and how their surfaces are strained, from root to tip at brace and at full draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.equipment import NO_CHANGES, Setup, filled
from archerysim.equipment.filled_records import FilledLimb
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of, words
from archerysim.shot.arrays.build import limb_tables
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.arrays.sections import sections
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.edit import Edit
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold
from archerysim.shot.launch import Launch
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import LIMBS, MOMENTS, Strained, moments, strained

if TYPE_CHECKING:
    import xarray

STEPS = 60  # even steps along a limb; its own places besides
TABLES = ("limb", "place")
STATES = ("limb", "moment", "place")


@result("setup.name", "strain", "place", "curvature", "back", "belly", "warnings")
@dataclass(frozen=True)
class StrainAlong:
    """How both limbs bend and are strained, at brace and at full draw.

    Limbs in the order upper, lower; moments in the order brace, full draw. Without a table of width and thickness there
    is no strain (nan), and ``strain`` says so; how much a limb bends is known.

    Attributes
    ----------
    setup : Setup
        As built.
    place : (k,) array
        Places along the limb, 0 = root, 1 = tip.
    from_root : (2, k) array
        Their distance from the root along each limb [m].
    width, thickness : (2, k) arrays
        [m]
    curvature : (2, 2, k) array
        Change of curvature from the unstrung limb, positive towards the archer [1/m].
    back, belly : (2, 2, k) arrays
        Strain of the side towards the target, and of the archer's side, positive when stretched [-].
    strain : (Strained, Strained)
        Where the upper and the lower limb are strained most, beside the limit.
    warnings : tuple of str
    limits_passed : tuple of str
        Which limits the first of the warnings are about.
    edits : tuple of Edit
        What was changed on the bow and what was held.

    Examples
    --------
    >>> import archerysim
    >>> along = archerysim.strain_along(archerysim.load("examples/longbow.toml"))
    >>> along.curvature.shape, [round(100 * one.largest, 2) for one in along.strain]  # [%]
    ((2, 2, 65), [0.84, 0.8])
    """

    setup: Setup
    place: Annotated[np.ndarray, Reported("", "place along the limb, 0 = root, 1 = tip", ("place",))]
    from_root: Annotated[np.ndarray, Reported("m", "distance from the root along the limb", TABLES)]
    width: Annotated[np.ndarray, Reported("m", "width", TABLES)]
    thickness: Annotated[np.ndarray, Reported("m", "thickness", TABLES)]
    curvature: Annotated[np.ndarray, Reported("1/m", "change of curvature, towards the archer +", STATES)]
    back: Annotated[np.ndarray, Reported("", "strain of the back, pulled +", STATES)]
    belly: Annotated[np.ndarray, Reported("", "strain of the belly, pulled +", STATES)]
    strain: tuple[Strained, Strained]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    edits: tuple[Edit, ...] = ()

    def to_xarray(self) -> xarray.Dataset:
        """All of it as a table with units, along limb, moment and place.

        Examples
        --------
        >>> import archerysim
        >>> table = archerysim.strain_along(archerysim.load("examples/longbow.toml")).to_xarray()
        >>> sorted(table.dims), table["curvature"].attrs["units"]
        (['limb', 'moment', 'place'], 'm-1')
        """
        variables = variables_of(self) | {
            "limb": words(LIMBS, "limb", "limb"), "moment": words(MOMENTS, "moment", "moment"),
        }  # fmt: skip
        about = {"setup_as_built": self.setup.to_toml(), "warnings": "\n".join(self.warnings)}
        return dataset(variables, f"strain along the limbs of {self.setup.name}", **about)


def strain_along(
    of: Setup | FittedBow | Launch | DrawCurve,
    mesh: str | Mesh = "default",
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
) -> StrainAlong:
    """How both limbs bend and are strained from root to tip, at brace and at full draw.

    A section that bends by M/(E I) away from its natural curvature, pushed together by the thrust N, is strained at its
    surfaces by M c/(E I) + N/(E A), c their distance from where bending strains nothing (a beam's plane sections).

    Parameters
    ----------
    of : Setup, FittedBow, Launch or DrawCurve
        With a launch or a draw curve: the bow that was shot or drawn.
    mesh, changes, hold
        As for `shoot`; not used for what has been shot or drawn already.

    Returns
    -------
    StrainAlong

    Raises
    ------
    SetupError
        Where the setup contradicts itself.
    ShotError
        Where the bow cannot be braced or drawn.

    Examples
    --------
    >>> import archerysim
    >>> along = archerysim.strain_along(archerysim.load("examples/longbow.toml"))
    >>> along.back.shape  # upper and lower limb; brace and full draw; places
    (2, 2, 65)
    >>> bool(along.belly[0, 1].min() < 0.0 < along.back[0, 1].max())  # belly pressed, back pulled
    True
    """
    found = of if isinstance(of, (Launch, DrawCurve)) else FittedBow.of(of, mesh, changes, hold).draw_curve(2)
    drawn = found.drawn if isinstance(found, Launch) else found.drawn[-1]
    full = filled(found.setup)
    limbs = (full.upper_limb, full.lower_limb)
    place = _places(limbs)
    from_root = np.array([place * limb.length for limb in limbs])
    width, thickness = (
        np.array([np.interp(place, limb.at, getattr(limb, name) or np.full(len(limb.at), np.nan)) for limb in limbs])
        for name in ("width", "thickness")
    )
    curvature, back, belly = np.array(
        [[of_limb(limb, name, found.braced, state, place) for state in (found.braced, drawn)]
         for limb, name in zip(limbs, LIMBS, strict=True)]
    ).transpose(2, 0, 1, 3)  # fmt: skip
    return StrainAlong(
        found.setup, place, from_root, width, thickness, curvature, back, belly,
        strained(full, found.braced, drawn, unlimited=True), found.warnings, found.limits_passed, found.edits,
    )  # fmt: skip


def _places(limbs: tuple[FilledLimb, ...]) -> np.ndarray:
    """Even steps and the places of both limbs' tables."""
    return np.unique(np.round(np.concatenate([np.arange(STEPS + 1) / STEPS, *(limb.at for limb in limbs)]), 12))


def of_limb(limb: FilledLimb, name: str, braced: Braced, state: Braced | Drawn, place: np.ndarray) -> np.ndarray:
    """Change of curvature, strain of back and of belly along one limb (3, k)."""
    nodes, moment, thrust = moments(braced.chain, braced.marks, state.x, state.y, name, limb.length)
    at, stiffness, _, _ = limb_tables(limb)
    here = place * limb.length
    bending = np.interp(here, nodes, moment)
    if not limb.width:
        return np.array([bending / np.interp(here, at, stiffness), *np.full((2, place.size), np.nan)])
    section = sections(limb, place)
    bent = bending / section.stiffness
    along = np.interp(here, 0.5 * (nodes[1:] + nodes[:-1]), thrust) / section.along
    return np.array([bent, along + bent * section.to_back, along - bent * section.to_belly])
