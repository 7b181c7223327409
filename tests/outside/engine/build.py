"""The bow and arrow written as a model of the multibody engine.

- Riser: a body on two slides and a hinge at the pivot; the hand is the stiffness and damping of those joints;
  rods, end masses and what the limbs' roots weigh are bodies fixed to it.
- Limbs: rigid links, hinges with springs and dampers, a point mass at each hinge.
- String: points on two slides each, spatial tendons that only pull (and damp along themselves); the loss that
  acts on both components of the relative velocity is a pair of fixed tendons between the slides of two points.
- Arrow: a nock on two slides and a hinge, then rigid links like the limbs'.

In both planes string points and nock have a third slide, the shaft's links a second hinge (together universal joints;
the first link's second hinge is free, since the nock turns about the string without resistance), and each limb's tip a
point on a slide of its own, across the plane, with spring and damper: its inertia is the joint's armature, which adds
nothing in the plane. The limbs' links stay flat.

x forward, y up, z towards the viewer (in both planes: away from the riser's window); the world's axes are the riser's
at full draw, the pivot at the origin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import mujoco
import numpy as np

from tests.outside.engine.parts import Beam, Cord, arrow_beam, cord, limb_beam

TINY = 1e-14  # inertia of a point [kg m2]
NOCK_INERTIA = 2e-9  # of the nock about the throat, beyond what its mass at the tail has [kg m2]
AXES = {"x": "1 0 0", "y": "0 1 0", "z": "0 0 1"}
YAW = "0 -1 0"  # nose towards +z
HEAD = """<mujoco>
<compiler angle="radian"/>
<option timestep="{step!r}" integrator="Euler" gravity="0 0 0">
<flag constraint="disable" contact="disable" eulerdamp="enable"/>
</option>
<worldbody>
"""


@dataclass(frozen=True)
class Across:
    """Degrees of freedom across the plane.

    Attributes
    ----------
    string : (k,) int array
        Slides of the string's inner points, from the lower tip up.
    tips : (2,) int array
        Slides of the lower and the upper limb tip.
    nock : int
        Its slide.
    yaw : (k,) int array
        Second hinges of the shaft's links from the nock on.
    """

    string: np.ndarray
    tips: np.ndarray
    nock: int
    yaw: np.ndarray


@dataclass(frozen=True)
class Model:
    """The engine's model and where its parts stand.

    Attributes
    ----------
    engine : mujoco.MjModel
    string_dofs : (k, 2) int array
        Of the string's inner points, from the lower tip up.
    upper_dofs, lower_dofs, arrow_dofs : int arrays
        Hinges from the root (the nock's own first); `arrow_dofs` does not hold the nock's slides.
    nock : int
        Body.
    nock_dofs : (2,) int array
        Its slides.
    arrow : (k,) int array
        Bodies of the shaft's links.
    riser : int
        Body; its degrees of freedom are the first three.
    upper, lower, shaft, string : Beam, Beam, Beam or None, Cord
    across : Across or None
        None in one plane.
    """

    engine: mujoco.MjModel
    string_dofs: np.ndarray
    upper_dofs: np.ndarray
    lower_dofs: np.ndarray
    arrow_dofs: np.ndarray
    nock: int
    nock_dofs: np.ndarray
    arrow: np.ndarray
    riser: int
    upper: Beam
    lower: Beam
    shaft: Beam | None
    string: Cord
    across: Across | None

    def in_plane(self) -> np.ndarray:
        """Degrees of freedom in the plane, the riser's left out."""
        inside = np.ones(self.engine.nv, dtype=bool)
        inside[:3] = False
        if self.across is not None:
            for dofs in (self.across.string, self.across.tips, self.across.nock, self.across.yaw):
                inside[dofs] = False
        return np.flatnonzero(inside)


def numbers(*values: float) -> str:
    """Numbers as the engine reads them, none of their digits lost."""
    return " ".join(repr(float(v)) for v in values)


def weight(mass: float, x: float = 0.0, y: float = 0.0, inertia: float = TINY) -> str:
    """An inertia element."""
    return (
        f'<inertial mass="{numbers(mass)}" pos="{numbers(x, y, 0.0)}" '
        f'diaginertia="{numbers(inertia, inertia, inertia)}"/>'
    )


def slides(name: str, axes: str) -> str:
    """Joints along x and y, and z in both planes."""
    return "".join(f'<joint name="{name}_{a}" type="slide" axis="{AXES[a]}"/>' for a in axes)


def sideways_hinge(name: str, beam: Beam, i: int) -> str:
    """The second hinge of a shaft's link, turned by the first; free behind the nock."""
    spring = beam.spring[i] if i > 0 else 0.0
    return f'<joint name="{name}{i}_yaw" type="hinge" axis="{YAW}" stiffness="{numbers(spring)}"/>'


def tip(name: str, limb: Any, beam: Beam, end: float, planes: int) -> str:
    """The limb's tip, where the string's end of mass ``end`` is tied; in both planes on its slide across the plane."""
    place = numbers(beam.link, 0.0, 0.0)
    if planes == 1:
        return f'<site name="{name}_tip" pos="{place}"/>'
    return (
        f'<body pos="{place}"><joint name="{name}_tip_z" type="slide" axis="{AXES["z"]}" '
        f'stiffness="{numbers(limb.side_stiffness)}" damping="{numbers(limb.side_damping)}" '
        f'armature="{numbers(limb.side_mass + end)}"/>{weight(TINY)}<site name="{name}_tip"/></body>'
    )


def links(name: str, beam: Beam, x: float, y: float, angle: float, sign: float, end: str, yaw: bool = False) -> str:
    """A row of links from (x, y) with ``end`` on the last; ``sign`` turns natural curvature into the engine's sense."""
    text = ""
    for i in range(beam.spring.size):
        place = (x, y, 0.0) if i == 0 else (beam.link, 0.0, 0.0)
        turn = f' euler="{numbers(0.0, 0.0, angle)}"' if i == 0 else ""
        text += (
            f'<body name="{name}{i}" pos="{numbers(*place)}"{turn}><joint name="{name}{i}" type="hinge" axis="0 0 1" '
            f'stiffness="{numbers(beam.spring[i])}" springref="{numbers(sign * beam.natural[i])}" '
            f'damping="{numbers(beam.loss[i])}"/>{sideways_hinge(name, beam, i) if yaw else ""}'
            f"{weight(beam.mass[i + 1], beam.link)}"
        )
    return text + end + "</body>" * beam.spring.size


def riser_text(setup: Any, upper: Beam, lower: Beam, ends: dict[str, str]) -> str:
    """Riser, hand, rods and both limbs with their ``ends``."""
    riser, archer = setup.riser, setup.archer
    text = '<body name="riser">'
    for name, kind, axis, stiffness, damping in (
        ("riser_x", "slide", "1 0 0", archer.hand_stiffness, archer.hand_damping),
        ("riser_y", "slide", "0 1 0", archer.hand_stiffness, archer.hand_damping),
        ("riser_turn", "hinge", "0 0 1", archer.hand_rotational_stiffness, archer.hand_rotational_damping),
    ):
        text += (
            f'<joint name="{name}" type="{kind}" axis="{axis}" stiffness="{numbers(stiffness)}" '
            f'damping="{numbers(damping)}"/>'
        )
    text += weight(riser.mass, riser.mass_centre_x, riser.mass_centre_y, riser.inertia)
    for rod in riser.rods:
        along = np.array([np.cos(rod.direction), np.sin(rod.direction)])
        start = np.array([rod.start_x, rod.start_y])
        if rod.rod_mass > 0.0:
            own = rod.rod_mass * rod.length**2 / 12.0
            text += f"<body>{weight(rod.rod_mass, *(start + 0.5 * rod.length * along), max(own, TINY))}</body>"
        if rod.end_mass > 0.0:
            text += f"<body>{weight(rod.end_mass, *(start + rod.length * along))}</body>"
    for name, limb, beam, up in (("upper", setup.upper_limb, upper, 1.0), ("lower", setup.lower_limb, lower, -1.0)):
        lean = limb.pocket_angle + limb.bolt_turns * limb.lean_per_turn
        x, y = getattr(riser, f"{name}_root_x"), getattr(riser, f"{name}_root_y")
        text += f"<body>{weight(beam.mass[0], x, y)}</body>"
        if limb.butt_mass > 0.0:
            back, own = 0.5 * limb.butt, limb.butt_mass * limb.butt**2 / 12.0
            place = (x - back * np.sin(lean), y - up * back * np.cos(lean))
            text += f"<body>{weight(limb.butt_mass, *place, max(own, TINY))}</body>"
        text += links(name, beam, x, y, up * (0.5 * np.pi - lean), -up, ends[name])
    return text + "</body>"


def tendons(string: Cord, axes: str) -> str:
    """Cells of the string from the lower tip up."""
    last = string.place.size - 1
    sites = ["lower_tip", *(f"string{i}" for i in range(1, last)), "upper_tip"]
    text = ""
    for i, length in enumerate(np.diff(string.place)):
        text += (
            f'<spatial springlength="{numbers(0.0, length)}" stiffness="{numbers(string.stiffness[i])}" '
            f'damping="{numbers(string.axial_loss[i])}"><site site="{sites[i]}"/><site site="{sites[i + 1]}"/>'
            "</spatial>"
        )
        for axis in axes if 0 < i < last - 1 else axes[2:]:
            text += (
                f'<fixed damping="{numbers(string.loss[i])}"><joint joint="{sites[i]}_{axis}" coef="-1"/>'
                f'<joint joint="{sites[i + 1]}_{axis}" coef="1"/></fixed>'
            )
    return text


def build(setup: Any, throat: float | None, cells: int, step: float, planes: int = 1) -> Model:
    """The engine's model of a filled setup of form "built".

    Parameters
    ----------
    setup : Setup
    throat : float or None
        Unloaded place of the throat's middle above the string's middle [m]; None for a bow without an arrow.
    cells : int
        Links of each limb and of the shaft, string cells on either side.
    step : float
        Time step [s].
    planes : int
        1 or 2.
    """
    axes = "xy" if planes == 1 else "xyz"
    upper, lower = limb_beam(setup.upper_limb, cells), limb_beam(setup.lower_limb, cells)
    string = cord(setup, throat, cells)
    upper.mass[-1] += string.mass[-1]
    lower.mass[-1] += string.mass[0]
    shaft = arrow_beam(setup.arrow, cells) if throat is not None else None
    ends = {
        "upper": tip("upper", setup.upper_limb, upper, string.mass[-1], planes),
        "lower": tip("lower", setup.lower_limb, lower, string.mass[0], planes),
    }
    text = HEAD.format(step=step) + riser_text(setup, upper, lower, ends)
    for i in range(1, string.place.size - 1):
        name = f"string{i}"
        text += f'<body>{slides(name, axes)}{weight(string.mass[i])}<site name="{name}"/></body>'
    if shaft is not None:
        hinge = '<joint name="nock" type="hinge" axis="0 0 1"/>'
        text += f'<body name="nock">{slides("nock", axes)}{hinge}{weight(shaft.mass[0], inertia=NOCK_INERTIA)}'
        point = f'<site name="arrow_tip" pos="{numbers(shaft.link, 0.0, 0.0)}"/>'
        text += links("arrow", shaft, 0.0, 0.0, 0.0, 1.0, point, planes == 2) + "</body>"
    text += f"</worldbody><tendon>{tendons(string, axes)}</tendon></mujoco>"
    engine = mujoco.MjModel.from_xml_string(text)

    def dofs(*names: str) -> np.ndarray:
        return np.array([engine.joint(name).dofadr[0] for name in names], dtype=int)

    def row(name: str) -> tuple[str, ...]:
        return tuple(f"{name}{i}" for i in range(cells))

    def across() -> Across:
        return Across(
            dofs(*(f"string{i}_z" for i in range(1, string.place.size - 1))),
            dofs("lower_tip_z", "upper_tip_z"),
            int(dofs("nock_z")[0]),
            dofs(*(f"{name}_yaw" for name in row("arrow"))),
        )

    arrow = shaft is not None
    return Model(
        engine,
        np.array([dofs(f"string{i}_x", f"string{i}_y") for i in range(1, string.place.size - 1)]),
        dofs(*row("upper")),
        dofs(*row("lower")),
        dofs("nock", *row("arrow")) if arrow else dofs(),
        engine.body("nock").id if arrow else -1,
        dofs("nock_x", "nock_y") if arrow else dofs(),
        np.array([engine.body(f"arrow{i}").id for i in range(cells)]) if arrow else dofs(),
        engine.body("riser").id,
        upper,
        lower,
        shaft,
        string,
        across() if planes == 2 else None,
    )
