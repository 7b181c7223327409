"""The arrays and numbers that every kernel reads, grouped by part.

Each group is a NamedTuple of contiguous float64 (or int64) arrays and scalars in SI units, so that a
kernel called by name finds its compiled form on disk. Nothing here computes.

The chain
---------
One row of nodes holds everything that bends or stretches::

    clamp_u  root_u ... tip_u  string ... tip_l ... root_l  clamp_l | tail ... point
    '------- upper limb ----'  '-------'  '---- lower limb -------'   '-- arrow ---'

Cell ``j`` joins nodes ``j`` and ``j + 1``; the cell before ``tail`` is empty (no stiffness). The four
nodes ``clamp_*`` and ``root_*`` are carried by the riser: the clamp node stands one cell behind the
root along the limb's pocket, so that the limb's clamp is an ordinary bend at the root.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

X, Y, TURN = 0, 1, 2  # places in an array of two components, or of a body's three: its turn is the last
UPPER, LOWER = 0, 1  # of two limbs


class Wrap(NamedTuple):
    """The string's end cell at one limb, which may lie on the limb."""

    tip: int  #: node of the limb's tip
    inward: int  #: -1 or 1: the limb's next node from the tip
    string: int  #: the cell's other node
    side: float  #: 1 for the upper limb, -1 for the lower
    reach: int  #: nodes from the tip inwards on whose pieces the string may lie; 0: a limb that it never touches
    offset: np.ndarray  #: (reach + 2,) of the string's line from the axis at each node from the tip on [m]
    cell: int  #: the chain's cell, which has no stiffness of its own; its unloaded length stands in the chain
    stretch: np.ndarray  #: (1,) axial stiffness of the cell, EA / length [N/m]


class Loop(NamedTuple):
    """What hysteresis takes from the limbs' moments while they unbend: ``size (square - (bend - centre)^2)``, if more
    than nothing. Arrays (n,) of all nodes, or (0,) where there is none."""

    size: np.ndarray  #: largest moment over square, with the sign of what the draw adds to the bend [N m]
    centre: np.ndarray  #: bend halfway between brace and full draw [-]
    square: np.ndarray  #: of half the way between [-]


NO_LOOP = Loop(*np.zeros((3, 0)))


class Chain(NamedTuple):
    """Masses, stretch and bend of one row of nodes (``n`` nodes, ``n - 1`` cells)."""

    mass: np.ndarray  #: (n,) nodal mass [kg]; the carried nodes' mass belongs to the riser
    inverse_mass: np.ndarray  #: (n,) [1/kg], zero for carried nodes
    stretch: np.ndarray  #: (n-1,) axial stiffness of a cell, EA / length [N/m]
    rest_length: np.ndarray  #: (n-1,) unloaded length [m]
    least_force: np.ndarray  #: (n-1,) 0 where a cell only pulls, a huge negative number elsewhere [N]
    loss: np.ndarray  #: (n-1,) force per difference of velocity, both components [N s/m]
    axial_loss: np.ndarray  #: (n-1,) the same along the cell only [N s/m]
    bend: np.ndarray  #: (n,) bending stiffness at a node, EI / length [N m]
    natural: np.ndarray  #: (n,) bend at rest, 2 tan(angle / 2) [-]
    bend_loss: np.ndarray  #: (n,) moment per rate of bend [N m s]
    above: Wrap  #: the string at the upper limb
    below: Wrap  #: and at the lower
    loop: Loop = NO_LOOP  #: of the release; nothing at rest


class Marks(NamedTuple):
    """Where in the row the parts begin."""

    root_u: int  #: upper root; its clamp node is the one before
    tip_u: int
    edge_u: int  #: string point of the throat's upper edge
    edge_l: int  #: and of its lower edge, the next node
    tip_l: int
    root_l: int  #: lower root; its clamp node is the one after
    tail: int  #: first arrow node, at the throat's middle; equals n where there is no arrow
    reach_u: int = 0  #: nodes from the upper tip inwards on which the string may lie; 0: on none
    reach_l: int = 0  #: and from the lower tip


class Throat(NamedTuple):
    """The nock's floor and what holds the string in it."""

    cos_slope: float
    sin_slope: float
    stiffness: float  #: of each edge [N/m]
    loss: float  #: of each edge [N s/m]
    grip: float  #: what each edge can hold back, half the nock's grip [N]
    snap: float  #: travel at which the grip is gone [m]
    depth: float  #: the string is out when both points are further behind [m]
    locator_stiffness: float  #: [N/m]
    locator_loss: float  #: [N s/m]
    half_gap: float  #: free play either way [m]
    lower: float  #: 1 with a locator below the nock, else 0
    upper: float  #: 1 with a locator above the nock, else 0
    friction: float = 0.0  #: coefficient between string and floor
    friction_stiffness: float = 0.0  #: along the floor, until the string slips; not zero where there is friction [N/m]


class Support(NamedTuple):
    """The arrow rest."""

    x: float  #: in the riser's axes [m]
    y: float  #: its top [m]
    stiffness: float  #: [N/m]
    damping: float  #: [N s/m]
    half_diameter: float  #: of the shaft [m]
    travel: float  #: of the arrow, after which the rest supports no longer [m]
    side: float = 1.0  #: 1 pushes up from below; -1 down from above (a mirrored bow)


class SideSupport(NamedTuple):
    """What the shaft leans on sideways."""

    x: float  #: in the riser's axes [m]
    y: float
    offset: float  #: place z of the shaft's axis where its side just touches [m]
    stiffness: float  #: [N/m]
    preload: float  #: force that starts it [N]
    travel: float  #: after which it stands hard [m]
    seat: float  #: stiffness of what it rests against, at the beginning and at the end of its travel [N/m]
    damping: float  #: [N s/m]


class Arm(NamedTuple):
    """How far sideways the rest supports."""

    outer: float  #: place z of the shaft's axis beyond which it does not; infinite for a shelf [m]
    fold_force: float  #: on the shaft, along z, while a struck arm folds away [N]


class Sideways(NamedTuple):
    """All that the shot sideways needs besides, and that does not change while the bow shoots."""

    tail: int  #: first arrow node
    tip_u: int  #: node of the upper tip
    tip_l: int
    span: np.ndarray  #: (n-1,) 1 for a cell whose nodes move sideways, 0 for those of the limbs
    inverse_mass: np.ndarray  #: (n,) [1/kg], zero for what does not move sideways
    weight: np.ndarray  #: (n,) force of gravity along z [N]
    tip_stiffness: np.ndarray  #: (2,) of the limbs' tips [N/m]
    tip_loss: np.ndarray  #: (2,) [N s/m]
    groove_stiffness: float  #: of the string in the nock's groove [N/m]
    groove_loss: float  #: [N s/m]
    support: SideSupport
    arm: Arm
    roll: float  #: force along z of all fingers, were none of them let go and all rolled off [N]
    hold: float  #: and of the fingers at full draw [N]


class Rods(NamedTuple):
    """The rods that bend, each in one shape f from 0 at its beginning to 1 at its end: arrays (k,), or (0,) for none.

    A place p of the rod, from the riser's mass centre, moves by q f n in the riser's axes, n being across the rod, a
    quarter turn to the left from where it points; q is the swing of its end from its place at full draw.
    """

    across_x: np.ndarray  #: n
    across_y: np.ndarray
    share: np.ndarray  #: sum of f dm [kg]
    turning: np.ndarray  #: sum of f (p x n) dm: what swings with the riser's turn [kg m]
    leaning: np.ndarray  #: sum of f (p . n) dm [kg m]
    mass: np.ndarray  #: sum of f^2 dm [kg]
    stiffness: np.ndarray  #: [N/m]
    loss: np.ndarray  #: [N s/m]


NO_RODS = Rods(*np.zeros((8, 0)))


class Frame(NamedTuple):
    """Riser, rods and the hand; roots in the riser's axes, origin at the pivot."""

    mass: float  #: riser, rods and the limbs' carried mass [kg]
    inertia: float  #: about the mass centre [kg m2]
    cx: float  #: mass centre [m]
    cy: float
    carried: np.ndarray  #: (4, 2) clamp_u, root_u, root_l, clamp_l [m]
    hand_stiffness: float  #: [N/m]
    hand_damping: float  #: [N s/m]
    hand_turn_stiffness: float  #: [N m/rad]
    hand_turn_damping: float  #: [N m s/rad]
    rods: Rods = NO_RODS  #: those that bend; mass and inertia hold them as they are at full draw


class Fingers(NamedTuple):
    """Where the fingers press and how they let go."""

    first: int  #: first string node touched
    weight: np.ndarray  #: (3, w) share of the whole force per finger and node
    time: np.ndarray  #: (3,) release time [s]
    delay: np.ndarray  #: (3,) [s]


class Grid(NamedTuple):
    """Where each node's equations stand in the envelope matrix."""

    place: np.ndarray  #: (n,) equation of the node's x, its y is the next; -1 for carried nodes
    start: np.ndarray  #: (m+1,) offset of each row in the envelope
    first: np.ndarray  #: (m,) first column of each row


class Model(NamedTuple):
    """All of a drawn bow with its arrow that does not change while it shoots."""

    chain: Chain
    marks: Marks
    throat: Throat
    support: Support
    frame: Frame
    fingers: Fingers
    floor_inertia: float  #: against the stretching of the cell on the nock's floor, see `share_floor` [kg]


class Standing(NamedTuple):
    """A bow at rest, with its arrow or without."""

    chain: Chain
    marks: Marks
    throat: Throat
    support: Support
    grid: Grid


class Load(NamedTuple):
    """Where all fingers together pull on the string."""

    weight: np.ndarray  #: (w,) share of the force per string node
    first: int  #: first of them


class Held(NamedTuple):
    """What holds the bow at full draw, and its weight."""

    finger_x: float  #: force of all fingers [N]
    finger_y: float
    hand_x: float  #: force of the hand [N]
    hand_y: float
    hand_turn: float  #: and its torque about the pivot [N m]
    gravity_x: float  #: acceleration of gravity in the axes of the shot [m/s2]
    gravity_y: float
    pinch_x: float  #: force of the fingers on the nock [N]
    pinch_y: float


class Cells(NamedTuple):
    """Where `chain_forces` works: scratch (n,), of which the directions and turnings are read afterwards."""

    along_x: np.ndarray  #: direction of a cell
    along_y: np.ndarray
    per: np.ndarray  #: one over its length [1/m]
    turning: np.ndarray  #: rate at which it turns [rad/s]
    moment: np.ndarray  #: of a node's bend [N m]
    pull_x: np.ndarray  #: force of a cell on its first node [N]
    pull_y: np.ndarray
