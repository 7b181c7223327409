"""Bows of textbooks: symmetric, held fast, shot without losses.

Their masses are scaled down until weight is nothing beside the draw (ratios of energy and the scaled speed
do not depend on it); the riser is as good as fixed; a rest too soft to matter keeps the shaft in place.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np

from archerysim.equipment.filled_records import TiedLocators
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.release.release import loose
from archerysim.shot.statics.brace import brace_to_height
from archerysim.shot.statics.draw import TRADE, draw_to
from tests.support.shot.reference_case import reference


def textbook_bow(
    limb: dict[str, Any],
    half_grip: float,
    string_stiffness: float,
    string_mass: float,
    string_length: float,
    arrow_mass: float,
    draw: float,
    mass_at_nock: float = 0.0,
    mass_at_tip: float = 0.0,
    floor: float = 4e-3,
) -> SimpleNamespace:
    """A symmetric bow.

    Parameters
    ----------
    limb : dict
        length [m], at, bending_stiffness [N m2], mass_per_length [kg/m], axial_stiffness [N],
        pocket_angle [rad].
    half_grip : float
        Height of the roots above and below the pivot [m].
    string_stiffness, string_mass, string_length, arrow_mass : float
        [N], [kg], about [m], [kg]
    draw : float
        From the pivot to the throat at full draw [m].
    mass_at_nock, mass_at_tip : float
        More of the string's mass, as points at the throat and at each tip [kg].
    """
    setup = reference()
    setup.upper_limb = setup.lower_limb = SimpleNamespace(
        **limb, width=(), thickness=(), modulus=0.0, density=0.0, natural_curvature=(0.0,), curvature_at=(),
        tip_mass=mass_at_tip, loss_time=0.0, hysteresis=0.0, root_thickness=0.0, bolt_turns=0.0, lean_per_turn=0.0,
        butt=0.0, butt_mass=0.0,
    )  # fmt: skip
    setup.riser = SimpleNamespace(
        upper_root_x=0.0, upper_root_y=half_grip, lower_root_x=0.0, lower_root_y=-half_grip,
        mass=1e6, mass_centre_x=0.0, mass_centre_y=0.0, inertia=1e6, rods=(),
    )  # fmt: skip
    string = setup.string
    string.axial_stiffness, string.mass_per_length = string_stiffness, string_mass / string_length
    string.serving_length = string.serving_mass_per_length = string.transverse_loss = string.axial_loss = 0.0
    mass = max(0.5 * mass_at_nock, 1e-12)
    setup.nock.floor = floor
    setup.nock.locators = TiedLocators(
        place=0.0, convention="underside", kind="tied", mass_at=0.5 * floor, upper_mass=mass, lower_mass=mass,
        upper_present=True, lower_present=True, gap=0.0, stiffness=1e5, loss=10.0,
    )  # fmt: skip
    setup.rest = SimpleNamespace(
        forward=0.0, height=0.001, stiffness=1e-3, damping=0.0, support_travel=0.01, unlimited_support=False
    )
    setup.arrow = SimpleNamespace(
        length=0.75, diameter=5.5e-3, spine=1e-4, mass_per_length=arrow_mass / 0.75, nock_mass=0.0, nock_at=0.0,
        fletching_mass=0.0, fletching_at=0.0, insert_mass=0.0, insert_at=0.0, point_mass=0.0, point_at=0.0,
        axial_stiffness=1e6,
    )  # fmt: skip
    archer = setup.archer
    archer.finger_places, archer.release_time = (0.0, 0.0, 0.0), (1e-9, 1e-9, 1e-9)
    archer.hand_stiffness = archer.hand_damping = 0.0
    archer.hand_rotational_stiffness = archer.hand_rotational_damping = 0.0
    archer.draw_length = draw + TRADE
    return setup


@dataclass(frozen=True)
class Account:
    """What a shot came to: draw weight [N], stored energy [J], shares of it at separation, speed [m/s]."""

    weight: float
    stored: float
    arrow: float
    string: float
    limbs: float
    left: float  # neither moving nor lost: still in limbs and string
    speed: float


def shoot(setup: SimpleNamespace, brace_height: float, mesh: Mesh) -> Account:
    """Brace, draw to the setup's draw length and let go."""
    braced = brace_to_height(setup, brace_height, mesh)
    drawing, drawn = draw_to(setup, braced, -(setup.archer.draw_length - TRADE))
    done = loose(drawing, drawn)
    stored = drawn.energy - braced.energy
    m, mass = braced.marks, braced.chain.mass
    vx, vy = done.states[0, 2:]

    def moving(part: slice) -> float:
        return float(0.5 * mass[part] @ (vx[part] ** 2 + vy[part] ** 2) / stored)

    arrow, string = moving(slice(m.tail, None)), moving(slice(m.tip_u + 1, m.tip_l))
    limbs = moving(slice(0, m.tip_u + 1)) + moving(slice(m.tip_l, m.tail))
    speed = float(mass[m.tail :] @ vx[m.tail :] / mass[m.tail :].sum())
    return Account(drawn.weight, stored, arrow, string, limbs, 1.0 - arrow - string - limbs, speed)


def reference_account(step: Any) -> Account:
    """The same of a shot made by `tests.support.shot.reference_case.shot`."""
    mass, tail = step.braced.chain.mass, step.braced.marks.tail
    vx, vy = step.loosed.states[0, 2:, tail:]
    stored = step.drawn.energy - step.braced.energy
    arrow = float(0.5 * mass[tail:] @ (vx**2 + vy**2) / stored)
    speed = float(np.hypot(mass[tail:] @ vx, mass[tail:] @ vy) / mass[tail:].sum())
    return Account(step.drawn.weight, stored, arrow, np.nan, np.nan, np.nan, speed)
