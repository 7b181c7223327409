"""The known reference case: a short test bow whose every result is known from an independent program.

The setup is built as plain namespaces with the fields that `archerysim.shot` reads, so that these tests
stand apart from the setup records.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import SimpleNamespace
from typing import Any

import msgspec
import numpy as np

from archerysim.equipment.filled_records import ReadLocators
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.release.release import Loosed, loose
from archerysim.shot.statics.brace import Braced, brace_to_height
from archerysim.shot.statics.draw import Drawing, draw_to
from archerysim.shot.statics.drawn import Drawn

BRACE_HEIGHT = 0.222
THROAT_X = -0.673
SPLIT = (0.014, -0.014, -0.032)
THREE_UNDER = (-0.014, -0.032, -0.050)


def reference(
    reading: float = 0.009,
    places: tuple[float, float, float] = SPLIT,
    end_mass: float = 0.9,
    lower_lean: float = 10.0,
) -> SimpleNamespace:
    """The setup, filled.

    Parameters
    ----------
    reading : float
        Locator height by the underside [m].
    places : (3,) tuple
        Fingers along the string from the throat's middle [m].
    end_mass : float
        Of the stabiliser [kg].
    lower_lean : float
        Pocket angle of the lower limb [deg].
    """

    def limb(lean: float) -> SimpleNamespace:
        return SimpleNamespace(
            length=0.52, at=(0.0, 1.0), bending_stiffness=(23.0, 5.4), mass_per_length=(0.22, 0.085),
            width=(), thickness=(), modulus=0.0, density=0.0, natural_curvature=(0.0,), curvature_at=(),
            axial_stiffness=3e6, tip_mass=3e-3, loss_time=0.0, hysteresis=0.0, root_thickness=0.0,
            pocket_angle=np.radians(lean), bolt_turns=0.0, lean_per_turn=0.0, butt=0.0, butt_mass=0.0,
            side_stiffness=1000.0, side_damping=0.5, side_mass=0.020,
        )  # fmt: skip

    rod = SimpleNamespace(
        start_x=0.45, start_y=-0.05, length=1e-9, direction=0.0, rod_mass=0.0, end_mass=end_mass, bends=False
    )
    return SimpleNamespace(
        upper_limb=limb(10.0),
        lower_limb=limb(lower_lean),
        riser=SimpleNamespace(
            upper_root_x=-0.02, upper_root_y=0.33, lower_root_x=-0.02, lower_root_y=-0.27,
            mass=1.3, mass_centre_x=0.0, mass_centre_y=0.03, inertia=0.09, rods=(rod,),
        ),
        string=SimpleNamespace(
            axial_stiffness=1e5, mass_per_length=4.2e-3, serving_length=0.2, serving_centre=0.0,
            serving_mass_per_length=4.5e-3, end_serving_length=0.0, end_serving_mass_per_length=0.0,
            masses=(), transverse_loss=1e-2, axial_loss=2e-2,
        ),
        nock=SimpleNamespace(
            height=5.8e-3, floor=4e-3, depth=5e-3, slope=0.0, grip=5.0, snap_travel=0.5e-3,
            edge_stiffness=3e6, edge_loss=1.0, friction=0.0, groove_stiffness=1e5, groove_loss=5.0,
            locators=ReadLocators(
                reading=reading, convention="underside", kind="tied", mass_at=2e-3,
                upper_mass=0.15e-3, lower_mass=0.15e-3, upper_present=True, lower_present=True,
                gap=0.0, stiffness=1e5, loss=10.0,
            ),
        ),
        rest=SimpleNamespace(
            kind="arm", forward=0.0, height=0.045, stiffness=800.0, damping=0.5, reach=5.5e-3, fold_force=0.0,
            support_travel=0.673 - 0.45, unlimited_support=False,
        ),
        side=SimpleNamespace(
            kind="sprung", offset=1e-3, stiffness=2000.0, preload=2.0, travel=4e-3, damping=1.0, forward=0.0
        ),
        arrow=SimpleNamespace(
            length=0.72, diameter=5.5e-3, spine=0.6 * 0.0254, mass_per_length=15e-3,
            nock_mass=0.9e-3, nock_at=0.0, fletching_mass=0.7e-3, fletching_at=0.06,
            insert_mass=0.0, insert_at=0.0, point_mass=7.8e-3, point_at=0.0, axial_stiffness=8e5,
            fletching_number=3, fletching_length=0.045, fletching_height=0.008, fletching_angle=0.0,
        ),
        archer=SimpleNamespace(
            finger_places=places, finger_shares=(0.35, 0.45, 0.20), crawl=0.0, pad_width=0.0,
            release_time=(4e-3,) * 3, release_delays=(0.0,) * 3, pinch=0.0, grip_torque=0.0, pressure_point=0.0,
            side_roll=np.radians(8.0), side_hold=0.0, handed="right", cant=0.0,
            hand_stiffness=8000.0, hand_damping=60.0, hand_rotational_stiffness=5.0,
            hand_rotational_damping=0.3, elevation=0.0, draw_length=0.673 + 0.04445,
        ),
    )  # fmt: skip


def set_locators(nock: Any, **changes: Any) -> None:
    """Give a nock of the reference case other locators."""
    nock.locators = msgspec.structs.replace(nock.locators, **changes)


def mesh_with(cells: int) -> Mesh:
    """As many cells of the string on either side, and of the shaft, as of a limb: for clean orders of convergence."""
    return Mesh(cells, cells, cells, 0.018 * 24 / cells)


@dataclass(frozen=True)
class Shot:
    """A whole shot."""

    setup: Any
    braced: Braced
    drawing: Drawing
    drawn: Drawn
    loosed: Loosed


@cache
def shot(
    reading: float = 0.009,
    cells: int | str = 24,
    places: tuple[float, float, float] = SPLIT,
    end_mass: float = 0.9,
    step_factor: float = 1.0,
) -> Shot:
    """Brace, draw and release, on `mesh_with` that many cells or a preset; kept, so that tests share it."""
    setup = reference(reading, places, end_mass)
    mesh = mesh_of(cells) if isinstance(cells, str) else mesh_with(cells)
    braced = brace_to_height(setup, BRACE_HEIGHT, mesh)
    drawing, drawn = draw_to(setup, braced, THROAT_X)
    return Shot(setup, braced, drawing, drawn, loose(drawing, drawn, step_factor=step_factor, rows=500))


def line_angle(done: Shot) -> float:
    """The arrow's line at full draw against riser x [rad]."""
    a = done.braced.marks.tail
    return float(np.arctan2(done.drawn.y[-1] - done.drawn.y[a], done.drawn.x[-1] - done.drawn.x[a]))


def in_aim_frame(done: Shot, moment: int) -> dict[str, float]:
    """What the arrow does at separation (0) or clear (1), in the aim frame.

    Returns
    -------
    dict
        time [ms], speed and vertical velocity [m/s], pitch and angle of attack [deg], pitch rate [rad/s].
    """
    a = done.braced.marks.tail
    angle = line_angle(done)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    state = done.loosed.states[moment][:, a:]
    place, velocity = turn @ state[:2], turn @ state[2:]
    _, _, ux, uy, pitch, rate = rigid_motion(done.braced.chain.mass[a:].copy(), *place, *velocity)
    return {
        "time": 1e3 * done.loosed.moments[moment].time,
        "speed": ux,
        "vertical velocity": uy,
        "pitch": np.degrees(pitch),
        "pitch rate": rate,
        "angle of attack": np.degrees(pitch - np.arctan2(uy, ux)),
    }


def results(done: Shot) -> dict[str, float]:
    """Every row of the reference table."""
    first, clear = in_aim_frame(done, 0), in_aim_frame(done, 1)
    return {
        "string length": done.braced.string_length,
        "tension": done.braced.tension,
        "force x": float(done.drawn.force[0]),
        "force y": float(done.drawn.force[1]),
        "arrow's line": np.degrees(line_angle(done)),
        **{f"{name} at separation": value for name, value in first.items()},
        **{f"{name} at clear": value for name, value in clear.items()},
    }
