"""What the limbs keep when a bow is drawn and let down, and what limbs of other materials would."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from archerysim.equipment import NO_CHANGES, InSi, Setup, filled, sources
from archerysim.equipment.limbs.kept_work import KEPT_WORK
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.draw_curve import DrawCurve
from archerysim.shot.fitted_bow import Changes, FittedBow
from archerysim.shot.hold import Hold

BESIDE: tuple[tuple[Any, str], ...] = (
    ("yew", "wood"), ("glass on wood core", "glass on wood core"), ("carbon on wood core", "carbon on wood core"),
)  # fmt: skip
POINTS = 49


class MaterialLoss(NamedTuple):
    """What limbs of one stuff keep, all else on the bow the same."""

    name: str
    share: float  #: of the work of bending the limbs, from brace to full draw
    kept: float  #: of the work of drawing the bow, when it is let down slowly [J]
    speed: float  #: of the arrow at clear [m/s]
    basis: str  #: where the share comes from


@result("bow.setup.name", "kept", "share", "losses")
@dataclass(frozen=True)
class LetDown:
    """A bow drawn and let down slowly, and what its limbs keep.

    Attributes
    ----------
    bow : FittedBow
    curve : DrawCurve
        Of drawing and of letting down.
    kept : float
        Work of drawing that is not given back [J].
    share : float
        Of the stored energy.
    losses : tuple of MaterialLoss
        Of this bow's limbs first, then of wood, glass and carbon: only the share is changed, not stiffness or mass.

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.let_down(archerysim.load("examples/longbow.toml"), mesh="coarse", planes=1)
    >>> found.losses[0].share, found.kept > 0.5  # of wood; [J]
    (0.03, True)
    """

    bow: FittedBow
    curve: DrawCurve
    kept: Annotated[float, Reported("J", "work of drawing that is not given back")]
    share: Annotated[float, Reported("", "of the stored energy")]
    losses: tuple[MaterialLoss, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of the bow."""
        return self.curve.warnings

    @property
    def limits_passed(self) -> tuple[str, ...]:
        """Which limits the first of the warnings speak of."""
        return self.curve.limits_passed


def let_down(
    bow: Setup | FittedBow,
    *,
    changes: Changes = NO_CHANGES,
    hold: Hold = None,
    mesh: str | Mesh = "default",
    planes: int | None = None,
) -> LetDown:
    """Draw a bow and let it down slowly, with its own limbs' hysteresis and with that of other materials.

    Parameters
    ----------
    bow : Setup or FittedBow
    changes, hold, mesh, planes
        As for `archerysim.shoot`.

    Returns
    -------
    LetDown

    Raises
    ------
    SetupError, ShotError

    Examples
    --------
    >>> import archerysim
    >>> found = archerysim.let_down(archerysim.load("examples/club-outdoor.toml"), mesh="coarse", planes=1)
    >>> wood, glass, carbon = (one.kept for one in found.losses[1:])
    >>> wood > glass > carbon  # [J]
    True
    """
    first = FittedBow.of(bow, mesh, changes, hold, planes)
    curve = first.draw_curve(POINTS)
    full, source = filled(first.setup), sources(first.setup)["upper_limb.hysteresis"]
    share = 0.5 * (full.upper_limb.hysteresis + full.lower_limb.hysteresis)
    kinds = [("these limbs", share, source.how or source.kind, first)]
    for material, name in BESIDE:
        usual = KEPT_WORK[material]
        changed = first.with_changes(InSi({"limbs.hysteresis": usual.share}))
        kinds.append((name, usual.share, usual.basis, changed))
    losses = tuple(
        MaterialLoss(name, share, one.draw_curve(2).kept_by_limbs, one.launch().clear.speed, basis)
        for name, share, basis, one in kinds
    )
    kept = curve.kept_by_limbs
    return LetDown(first, curve, kept, kept / float(curve.energy[-1]), losses)
