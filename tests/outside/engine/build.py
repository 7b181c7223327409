"""The bow and arrow written as a model of the multibody engine.

- Riser: a body on two slides and a hinge at the pivot; the hand is the stiffness and damping of those joints;
  rods, end masses and what the limbs' roots weigh are bodies fixed to it.
- Limbs: rigid links, hinges with springs and dampers, a point mass at each hinge.
- String: points on two slides each, spatial tendons that only pull (and damp along themselves); the loss that
  acts on both components of the relative velocity is a pair of fixed tendons between the slides of two points.
- Arrow: a nock on two slides and a hinge, then rigid links like the limbs'.

x forward, y up, z towards the viewer; the world's axes are the riser's at full draw, the pivot at the origin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import mujoco
import numpy as np

from tests.outside.engine.parts import Beam, Cord, arrow_beam, cord, limb_beam

TINY = 1e-14  # inertia of a point [kg m2]
NOCK_INERTIA = 2e-9  # of the nock about the throat, beyond what its mass at the tail has [kg m2]
HEAD = """<mujoco>
<compiler angle="radian"/>
<option timestep="{step!r}" integrator="Euler" gravity="0 0 0">
<flag constraint="disable" contact="disable" eulerdamp="enable"/>
</option>
<worldbody>
"""


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


def numbers(*values: float) -> str:
    """Numbers as the engine reads them, none of their digits lost."""
    return " ".join(repr(float(v)) for v in values)


def weight(mass: float, x: float = 0.0, y: float = 0.0, inertia: float = TINY) -> str:
    """An inertia element."""
    return (
        f'<inertial mass="{numbers(mass)}" pos="{numbers(x, y, 0.0)}" '
        f'diaginertia="{numbers(inertia, inertia, inertia)}"/>'
    )


def slides(name: str) -> str:
    """Joints along x and y."""
    return "".join(f'<joint name="{name}_{a}" type="slide" axis="{v}"/>' for a, v in (("x", "1 0 0"), ("y", "0 1 0")))


def links(name: str, beam: Beam, x: float, y: float, angle: float, sign: float) -> str:
    """A row of links from (x, y); ``sign`` turns the natural curvature into the engine's sense."""
    text = ""
    for i in range(beam.spring.size):
        place = (x, y, 0.0) if i == 0 else (beam.link, 0.0, 0.0)
        turn = f' euler="{numbers(0.0, 0.0, angle)}"' if i == 0 else ""
        text += (
            f'<body name="{name}{i}" pos="{numbers(*place)}"{turn}><joint name="{name}{i}" type="hinge" axis="0 0 1" '
            f'stiffness="{numbers(beam.spring[i])}" springref="{numbers(sign * beam.natural[i])}" '
            f'damping="{numbers(beam.loss[i])}"/>{weight(beam.mass[i + 1], beam.link)}'
        )
    text += f'<site name="{name}_tip" pos="{numbers(beam.link, 0.0, 0.0)}"/>'
    return text + "</body>" * beam.spring.size


def riser_text(setup: Any, upper: Beam, lower: Beam) -> str:
    """Riser, hand, rods and both limbs."""
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
        text += links(name, beam, x, y, up * (0.5 * np.pi - lean), -up)
    return text + "</body>"


def tendons(string: Cord) -> str:
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
        if 0 < i < last - 1:
            for axis in "xy":
                text += (
                    f'<fixed damping="{numbers(string.loss[i])}"><joint joint="string{i}_{axis}" coef="-1"/>'
                    f'<joint joint="string{i + 1}_{axis}" coef="1"/></fixed>'
                )
    return text


def build(setup: Any, throat: float | None, cells: int, step: float) -> Model:
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
    """
    upper, lower = limb_beam(setup.upper_limb, cells), limb_beam(setup.lower_limb, cells)
    string = cord(setup, throat, cells)
    upper.mass[-1] += string.mass[-1]
    lower.mass[-1] += string.mass[0]
    shaft = arrow_beam(setup.arrow, cells) if throat is not None else None
    text = HEAD.format(step=step) + riser_text(setup, upper, lower)
    for i in range(1, string.place.size - 1):
        name = f"string{i}"
        text += f'<body>{slides(name)}{weight(string.mass[i])}<site name="{name}"/></body>'
    if shaft is not None:
        hinge = '<joint name="nock" type="hinge" axis="0 0 1"/>'
        text += f'<body name="nock">{slides("nock")}{hinge}{weight(shaft.mass[0], inertia=NOCK_INERTIA)}'
        text += links("arrow", shaft, 0.0, 0.0, 0.0, 1.0) + "</body>"
    text += f"</worldbody><tendon>{tendons(string)}</tendon></mujoco>"
    engine = mujoco.MjModel.from_xml_string(text)

    def dofs(*names: str) -> np.ndarray:
        return np.array([engine.joint(name).dofadr[0] for name in names], dtype=int)

    def row(name: str) -> tuple[str, ...]:
        return tuple(f"{name}{i}" for i in range(cells))

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
    )
