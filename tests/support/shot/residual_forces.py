"""Residual forces of a braced or drawn bow, apart from the solver that found it."""

from __future__ import annotations

from typing import Any

import numpy as np

from archerysim.mechanics.arrays import Standing
from archerysim.mechanics.statics.newton import forces_at_rest
from archerysim.shot.arrays.build import make_fingers, make_grid, make_support, make_throat
from archerysim.shot.arrays.memory import memory_for
from archerysim.shot.arrays.wraps import end_pull
from archerysim.shot.statics.brace import GRAVITY, Braced
from archerysim.shot.statics.drawn import Drawn

CONVERGED = 1e-6  # [N]


def forces(full: Any, braced: Braced, x: np.ndarray, y: np.ndarray, level: float) -> np.ndarray:
    """Forces on all nodes (n, 2) [N], the world's horizontal at ``level`` [rad] in the riser's axes."""
    n = x.size
    fx, fy = np.empty(n), np.empty(n)
    grid = make_grid(braced.marks, n)
    standing = Standing(braced.chain, braced.marks, make_throat(full.nock), make_support(full), grid)
    gx, gy = GRAVITY * np.sin(level), -GRAVITY * np.cos(level)
    forces_at_rest(standing, x, y, gx, gy, fx, fy, memory_for(grid))
    return np.column_stack((fx, fy))


def braced_residual(full: Any, braced: Braced) -> float:
    """Largest force left on a free node at brace [N]."""
    free = braced.chain.inverse_mass > 0.0
    return float(np.abs(forces(full, braced, braced.x, braced.y, 0.0)[free]).max())


def drawn_residual(full: Any, braced: Braced, drawn: Drawn) -> float:
    """Largest force left on a free node when drawn, the fingers' forces shared anew [N]."""
    left = forces(full, braced, drawn.x, drawn.y, drawn.level)
    fingers = make_fingers(full.archer, braced.string_place, braced.throat, braced.marks.tip_u)
    touched = slice(fingers.first, fingers.first + fingers.weight.shape[1])
    left[touched] += np.outer(fingers.weight.sum(axis=0), drawn.force)
    return float(np.abs(left[braced.chain.inverse_mass > 0.0]).max())


def least_tension(braced: Braced, x: np.ndarray, y: np.ndarray) -> float:
    """Of the string's cells, from lengths, those at the limbs along them [N]."""
    cells = slice(braced.marks.tip_u, braced.marks.tip_l)
    ends = slice(braced.marks.tip_u, braced.marks.tip_l + 1)
    length = np.hypot(np.diff(x[ends]), np.diff(y[ends]))
    pull = braced.chain.stretch[cells] * (length - braced.chain.rest_length[cells])
    for wrap in (braced.chain.above, braced.chain.below):
        if wrap.reach:
            pull[wrap.cell - cells.start] = end_pull(wrap, braced.chain.rest_length, x, y)
    return float(pull.min())


def turning_moment(full: Any, braced: Braced, drawn: Drawn) -> float:
    """Moment of the fingers' forces about the pivot, sum of x Fy - y Fx [N m]."""
    fingers = make_fingers(full.archer, braced.string_place, braced.throat, braced.marks.tip_u)
    touched = slice(fingers.first, fingers.first + fingers.weight.shape[1])
    share = fingers.weight.sum(axis=0)
    return float(share @ drawn.x[touched] * drawn.force[1] - share @ drawn.y[touched] * drawn.force[0])
