"""Whether a bow that was shot is the one it should be: seen the second way, and measured and fitted again."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.equipment import Setup, SetupError, filled
from archerysim.errors import ShotError
from archerysim.shot.arrays.mesh import Mesh, mesh_of
from archerysim.shot.launch import Launch
from archerysim.shot.shoot import shoot
from tests.random_bows.second_way import TwoLimbs

HEIGHT = 1.5e-3  # [m] by which weight, the limbs' shortening and both meshes move the brace height at most
ANGLE, SPEED = 0.01, 1e-4  # [deg], relative: the same launch


def otherwise(launch: Launch) -> str:
    """What the second way says against an accepted bow, from its own shape; empty where it agrees.

    Its least energy near there must be one, with about the same brace height.
    """
    full: Any = filled(launch.setup)
    braced = launch.braced
    limbs = TwoLimbs.of(full, None, 1.0, braced.leans, weight=True)
    length = braced.string_length
    angles = limbs.settled(_angles(braced, limbs.count), length)
    stiffness, height = limbs.least_stiffness(angles, length), limbs.measures(angles)[0]
    if not stiffness > 0.0:
        return f"it tips over ({stiffness:.3f} N m)"
    if not abs(height - braced.brace_height) < HEIGHT:
        return f"its brace height is {1e3 * height:.2f} mm, not {1e3 * braced.brace_height:.2f} mm"
    return ""


def _angles(braced: Any, count: int) -> np.ndarray:
    """Of both limbs' cells, forward (2 count,) [rad]."""
    m, found = braced.marks, []
    for nodes, side in ((range(m.root_u, m.tip_u + 1), 1.0), (range(m.root_l, m.tip_l - 1, -1), -1.0)):
        x, y = braced.x[list(nodes)], braced.y[list(nodes)]
        own = np.arctan2(np.diff(x), side * np.diff(y))
        found.append(np.interp((np.arange(count) + 0.5) / count, (np.arange(own.size) + 0.5) / own.size, own))
    return np.concatenate(found)


def measured_again(launch: Launch) -> Setup:
    """A bow as built told by what is measured on it: brace height, tillers, reading, draw weight."""
    built, braced = launch.setup, launch.braced
    return built.with_si(**{
        "form": "measured",
        "bow.brace_height": braced.brace_height,
        "bow.upper_tiller": braced.upper_tiller,
        "bow.lower_tiller": braced.lower_tiller,
        "bow.draw_weight": launch.drawn.weight,
        "bow.draw_weight_at": built.archer.draw_length,
        "bow.pocket_angle": float(np.mean(braced.leans)),
        "bow.stiffness_ratio": 1.0,
        "bow.split_from": None,
        "string.length": None,
        "riser.upper_root_x": None,
        "riser.lower_root_x": None,
        "upper_limb.pocket_angle": None,
        "lower_limb.pocket_angle": None,
        "limbs.bolt_turns": 0.0,
        "nock.locators.place": None,
        "nock.locators.reading": braced.reading,
    })  # fmt: skip


def comes_back(launch: Launch, mesh: str | Mesh) -> str:
    """Why a bow measured again is not the same, or by how much its launch is not; empty where it is."""
    try:
        again = shoot(measured_again(launch), mesh_of(mesh), trace=False)
    except (SetupError, ShotError) as error:
        return str(error)
    off = {
        "attack": again.clear.angle_of_attack - launch.clear.angle_of_attack,
        "pitch": again.separation.pitch - launch.separation.pitch,
    }
    speed = again.separation.speed / launch.separation.speed - 1.0
    if max(map(abs, off.values())) < ANGLE and abs(speed) < SPEED:
        return ""
    return ", ".join(f"{name} off by {value:.4f} deg" for name, value in off.items()) + f", speed by {speed:.1e}"
