"""Where the drawn bow's energy is, and where it went."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.arrays import TURN, Frame, Loop, X, Y
from archerysim.mechanics.forces.chain import chain_energy
from archerysim.mechanics.release.layout import MOMENT
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.hysteresis import kept
from archerysim.shot.release.release import Begun, loop_of, weight
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn


@result(
    "stored", "arrow_translation", "arrow_rotation", "arrow_bending", "limbs", "string", "riser_and_hand", "fingers",
    "residual",
)  # fmt: skip
@dataclass(frozen=True)
class Energy:
    """Energy account at one moment [J], counted from the drawn bow at rest.

    What the parts hold is measured against the same part at full draw, so stored energy that has not been passed on is
    a part of limbs and string. ``residual`` is what the account misses.

    Attributes
    ----------
    stored : float
        From brace to full draw.
    arrow_translation, arrow_rotation, arrow_bending : float
        Held by the arrow; bending is all that is not rigid motion.
    limbs, string : float
        Elastic and kinetic, above the braced state.
    riser_and_hand : float
        Riser, rods as if they were rigid, and the hand's spring.
    rods : float
        What the rods hold in addition, because they bend.
    weight : float
        Gained by moving up.
    lost_string, lost_limbs, lost_arrow, lost_nock, lost_locators, lost_rest, lost_hand, lost_rods : float
        To each damper; the nock's part holds the grip's. Nock, locators and rest hold what their springs have taken up
        at that moment as well. The rest's can be negative: its force stays along y, so that a shaft which slides over
        it on a slope takes work from it.
    lost_friction : float
        To friction in the throat, with what its spring has taken up.
    lost_hysteresis : float
        Kept by the limbs, however slowly they are let down; counted from full draw, where the archer has put in as much
        beyond what is stored.
    fingers : float
        Taken by the fingers while they open.
    support_end : float
        In the rest's spring when its support ends.
    lost_side_support, lost_groove, lost_tips : float
        In both planes: to the dampers of side support, groove and limb tips. Side support and groove hold what their
        springs have taken up as well; the tips' springs are a part of the limbs.
    lost_folding : float
        To an arm that was struck from the side.
    residual : float

    Examples
    --------
    >>> import archerysim
    >>> energy = archerysim.shoot(archerysim.load("examples/club-outdoor.toml")).separation.energy
    >>> round(energy.arrow_translation / energy.stored, 2)
    0.74
    >>> abs(energy.residual) < 0.01 * energy.stored
    True
    """

    stored: Annotated[float, Reported("J", "stored from brace to full draw")]
    arrow_translation: Annotated[float, Reported("J", "arrow: its flight")]
    arrow_rotation: Annotated[float, Reported("J", "arrow: its turning")]
    arrow_bending: Annotated[float, Reported("J", "arrow: its bending")]
    limbs: Annotated[float, Reported("J", "limbs")]
    string: Annotated[float, Reported("J", "string")]
    riser_and_hand: Annotated[float, Reported("J", "riser and bow hand")]
    rods: Annotated[float, Reported("J", "rods, by bending")]
    weight: Annotated[float, Reported("J", "lifting the masses")]
    lost_string: Annotated[float, Reported("J", "lost in the string")]
    lost_limbs: Annotated[float, Reported("J", "lost in the limbs")]
    lost_arrow: Annotated[float, Reported("J", "lost in the arrow")]
    lost_nock: Annotated[float, Reported("J", "lost in the nock, its grip included")]
    lost_locators: Annotated[float, Reported("J", "lost at the locators")]
    lost_friction: Annotated[float, Reported("J", "lost to friction in the throat")]
    lost_rest: Annotated[float, Reported("J", "lost in the rest")]
    lost_hand: Annotated[float, Reported("J", "lost in the bow hand")]
    lost_rods: Annotated[float, Reported("J", "lost in the rods")]
    lost_hysteresis: Annotated[float, Reported("J", "kept by the limbs (hysteresis)")]
    fingers: Annotated[float, Reported("J", "taken by the fingers")]
    support_end: Annotated[float, Reported("J", "left in the rest when its support ended")]
    lost_side_support: Annotated[float, Reported("J", "lost at the side support")]
    lost_groove: Annotated[float, Reported("J", "lost in the nock's groove, sideways")]
    lost_tips: Annotated[float, Reported("J", "lost in the limbs' tips, sideways")]
    lost_folding: Annotated[float, Reported("J", "lost to an arm that folds away")]
    residual: Annotated[float, Reported("J", "not accounted for")]

    def table(self) -> dict[str, float]:
        """Name to value [J].

        Examples
        --------
        >>> import archerysim
        >>> energy = archerysim.shoot(archerysim.load("examples/club-outdoor.toml")).clear.energy
        >>> account = energy.table()
        >>> account["arrow_translation"] > account["limbs"]
        True
        """
        return {f.name: getattr(self, f.name) for f in fields(self)}


def elastic_parts(
    drawing: Drawing, x: np.ndarray, y: np.ndarray, z: np.ndarray | None = None, begun: Begun | None = None
) -> np.ndarray:
    """Elastic energy of limbs, string and arrow (3,) [J]; with ``z`` and ``begun`` of a shot in both planes."""
    c, m = drawing.braced.chain, drawing.braced.marks
    aside = () if z is None else (z,)  # None handed over would be compiled as another kind of argument
    upper = sum(chain_energy(c, x, y, m.root_u - 1, m.tip_u))
    lower = sum(chain_energy(c, x, y, m.tip_l, m.root_l + 1))
    string = sum(chain_energy(c, x, y, m.tip_u, m.tip_l, *aside))
    arrow = sum(chain_energy(c, x, y, m.tail, x.size - 1, *aside))
    tips = 0.0
    if z is not None and begun is not None:
        tips = 0.5 * float(begun.model.tip_stiffness @ z[[m.tip_u, m.tip_l]] ** 2)
    return np.array([upper + lower + tips, string, arrow])


@dataclass(frozen=True)
class Ledger:
    """What every account of one shot is counted from.

    Attributes
    ----------
    drawing, drawn : Drawing, Drawn
    braced, begin : (3,) arrays
        Elastic energy of limbs, string and arrow at brace and at full draw [J].
    hand : (3,) array
        The hand's force and torque at full draw [N], [N m].
    gravity : (2,) array
        [m/s2]
    free : (m,) array
        Nodes that the riser does not carry.
    free_mass : (m,) array
        [kg]
    arrow_mass : float
        [kg]
    places : (2, n) array
        Of all nodes at full draw [m].
    centre : (2,) array
        The riser's mass centre [m].
    loop : Loop
        The limbs' hysteresis.
    begun : Begun or None
        Of a shot in both planes.
    """

    drawing: Drawing
    drawn: Drawn
    braced: np.ndarray
    begin: np.ndarray
    hand: np.ndarray
    gravity: np.ndarray
    free: np.ndarray
    free_mass: np.ndarray
    arrow_mass: float
    places: np.ndarray
    centre: np.ndarray
    loop: Loop
    begun: Begun | None = None

    @property
    def side_angle(self) -> float:
        """Angle of the arrow's line at full draw against the bow's plane, positive away from the window [rad]."""
        if self.begun is None:
            return 0.0
        a, (x, y, z) = self.drawing.braced.marks.tail, self.begun.start
        return float(np.arctan2(z[-1] - z[a], np.hypot(x[-1] - x[a], y[-1] - y[a])))


def ledger_of(drawing: Drawing, drawn: Drawn, hand: np.ndarray, begun: Begun | None = None) -> Ledger:
    """The ledger of a shot; ``hand`` as `hand_at_rest` gives it, ``begun`` of a shot in both planes."""
    b = drawing.braced
    mass, frame = b.chain.mass, b.frame
    free = np.flatnonzero(b.chain.inverse_mass > 0.0)
    x, y, z = (drawn.x, drawn.y, None) if begun is None else begun.start
    cant = 0.0 if begun is None else drawing.setup.archer.cant
    return Ledger(
        drawing, drawn, elastic_parts(drawing, b.x, b.y), elastic_parts(drawing, x, y, z, begun), hand,
        weight(drawn, cant), free, mass[free], float(mass[b.marks.tail :].sum()), np.array([x, y]),
        np.array([frame.cx, frame.cy]), loop_of(drawing, drawn), begun,
    )  # fmt: skip


def account(ledger: Ledger, state: np.ndarray, moment: np.record, aside: np.ndarray | None = None) -> Energy:
    """Energy account of one state of the shot.

    Parameters
    ----------
    ledger : Ledger
    state : (4, n) array
        x, y, vx, vy of all nodes.
    moment : record of `layout.MOMENT`
        As `release` writes it.
    aside : (2, n) array
        z, vz of all nodes, of a shot in both planes.
    """
    begin, hand, gravity = ledger.begin, ledger.hand, ledger.gravity
    noted = dict(zip(MOMENT.names or (), moment.item(), strict=True))
    b = ledger.drawing.braced
    c, m, frame = b.chain, b.marks, b.frame
    x, y, vx, vy = np.ascontiguousarray(state)
    braced_limbs, braced_string, _ = ledger.braced
    z, vz = (None, None) if aside is None else np.ascontiguousarray(aside)
    now = elastic_parts(ledger.drawing, x, y, z, ledger.begun)
    kinetic = 0.5 * c.mass * (vx**2 + vy**2)
    if vz is not None:
        kinetic += sideways_kinetic(ledger, vz)
    a = m.tail
    # the limbs' tips carry the string's end masses too: counted with the string
    in_string = kinetic[m.tip_u : m.tip_l + 1].sum()
    in_limbs = kinetic[:a].sum() - in_string
    mass = c.mass[a:]
    _, _, ux, uy, _, rate = rigid_motion(mass, x[a:], y[a:], vx[a:], vy[a:])
    total = ledger.arrow_mass
    centre = mass @ np.ascontiguousarray(state[:2, a:].T) / total
    inertia = float(mass @ ((x[a:] - centre[0]) ** 2 + (y[a:] - centre[1]) ** 2))
    translation = 0.5 * total * (ux**2 + uy**2)
    rotation = 0.5 * inertia * rate**2
    if z is not None and vz is not None:
        _, _, _, uz, _, rate = rigid_motion(mass, x[a:], z[a:], vx[a:], vz[a:])
        centre_z = mass @ z[a:] / total
        translation += 0.5 * total * uz**2
        rotation += 0.5 * float(mass @ ((x[a:] - centre[0]) ** 2 + (z[a:] - centre_z) ** 2)) * rate**2
    bending = kinetic[a:].sum() - translation - rotation + now[2] - begin[2]
    pose = np.array([noted[f"riser_{part}"] for part in ("x", "y", "turn")])
    rates = np.array([noted[f"rate_{part}"] for part in ("x", "y", "turn")])
    shift, turn = _pivot_shift(frame, pose)
    riser = 0.5 * frame.mass * (rates[X] ** 2 + rates[Y] ** 2) + 0.5 * frame.inertia * rates[TURN] ** 2
    spring = 0.5 * frame.hand_stiffness * (shift @ shift) + 0.5 * frame.hand_turn_stiffness * turn**2
    given = float(hand[:2] @ shift + hand[TURN] * turn)
    moved = (state[:2] - ledger.places).T.take(ledger.free, axis=0)
    lift = -float(gravity @ (ledger.free_mass @ moved)) - frame.mass * float(gravity @ (pose[:2] - ledger.centre))
    if z is not None and ledger.begun is not None:
        lift -= float(ledger.begun.model.weight @ (z - ledger.begun.start.z))
    stored = float(begin[0] + begin[1] - braced_limbs - braced_string)
    parts = {
        "arrow_translation": float(translation),
        "arrow_rotation": float(rotation),
        "arrow_bending": float(bending),
        "limbs": float(now[0] - braced_limbs + in_limbs),
        "string": float(now[1] - braced_string + in_string),
        "riser_and_hand": float(riser + spring - given),
        "rods": noted["swinging"],
        "weight": lift,
        "lost_string": noted["string"],
        "lost_limbs": noted["limbs"],
        "lost_arrow": noted["arrow"],
        "lost_nock": noted["nock"],
        "lost_locators": noted["locators"],
        "lost_friction": noted["friction"],
        "lost_rest": noted["rest"] - noted["support_end"],
        "lost_hand": noted["hand"],
        "lost_rods": noted["rods"],
        "lost_hysteresis": kept(ledger.loop, x, y),
        "fingers": -noted["fingers"],
        "support_end": noted["support_end"],
        "lost_side_support": noted["side_support"],
        "lost_groove": noted["groove"],
        "lost_tips": noted["tips"],
        "lost_folding": noted["folding"],
    }
    parts = {name: float(value) for name, value in parts.items()}
    return Energy(stored=stored, **parts, residual=stored - sum(parts.values()))


def sideways_kinetic(ledger: Ledger, vz: np.ndarray) -> np.ndarray:
    """Energy of all nodes' motion sideways (n,) [J]."""
    assert ledger.begun is not None
    inverse = ledger.begun.model.inverse_mass
    return np.asarray(0.5 * np.divide(vz**2, inverse, out=np.zeros(vz.size), where=inverse > 0.0))


def _pivot_shift(frame: Frame, pose: np.ndarray) -> tuple[np.ndarray, float]:
    """Move of the riser's pivot since full draw (2,) [m] and the riser's turn [rad]."""
    cosine, sine = np.cos(pose[TURN]), np.sin(pose[TURN])
    return np.array([
        pose[X] - cosine * frame.cx + sine * frame.cy,
        pose[Y] - sine * frame.cx - cosine * frame.cy,
    ]), float(pose[TURN])  # fmt: skip
