"""Compiles leapfrog.c on the fly and runs it on a shot's arrays, in one plane or in both."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from archerysim.mechanics.release.layout import AT_X, AT_Y, CLEAR
from archerysim.mechanics.release.side_layout import AT_Z
from archerysim.shot.release.release import Loosed, begin_sideways, floor_inertia, hand_at_rest, weight


class Shot(ctypes.Structure):
    """The struct of leapfrog.c."""

    _fields_ = [
        *[(name, ctypes.c_double) for name in (
            "cos_slope", "sin_slope", "k", "c", "grip", "snap", "depth", "loc_k", "loc_c",
            "rest_x", "rest_y", "rest_k", "rest_c", "half_diameter", "travel", "mass", "inertia", "cx", "cy",
        )],
        ("carried", ctypes.c_double * 8),
        *[(name, ctypes.c_double) for name in (
            "hand_k", "hand_c", "hand_rk", "hand_rc", "force_x", "force_y", "gx", "gy", "hand_fx", "hand_fy", "hand_t",
            "floor_inertia",
        )],
        ("time", ctypes.c_double * 3), ("delay", ctypes.c_double * 3),
        *[(name, ctypes.c_double) for name in ("roll", "hold", "groove_k", "groove_c", "outer", "fold")],
        ("tip_k", ctypes.c_double * 2), ("tip_c", ctypes.c_double * 2),
        *[(name, ctypes.c_double) for name in (
            "side_x", "side_y", "offset", "side_k", "preload", "side_travel", "seat", "side_c",
        )],
        *[(name, ctypes.c_int) for name in (
            "first", "wide", "root_u", "edge_u", "root_l", "tail", "tip_u", "tip_l",
        )],
    ]  # fmt: skip


VECTORS = "-fno-math-errno"  # lets the compiler use vector square roots
FLAT, ASIDE = 17, 9  # arrays that C works in, in the bow's plane and sideways
ROUNDING = 1e-11  # [m] between its nodes and ours when the arrow is clear: sums in another order


def library(*flags: str) -> ctypes.CDLL:
    """leapfrog.c compiled for this machine."""
    source = Path(__file__).with_name("leapfrog.c")
    target = Path(tempfile.mkdtemp()) / "leapfrog.so"
    subprocess.run(
        ["gcc", "-O3", "-march=native", *flags, "-shared", "-fPIC", "-o", str(target), str(source), "-lm"], check=True
    )
    return ctypes.CDLL(str(target))


class Yardstick:
    """One shot ready to be run by the C leapfrog."""

    def __init__(self, drawing, drawn, *flags, planes=1):
        self.library, self.planes = library(f"-DPLANES={planes}", *flags), planes
        b, th, su, fi, fr = drawing.braced, drawing.throat, drawing.support, drawing.fingers, drawing.braced.frame
        m, c = b.marks, b.chain
        gx, gy = gravity = weight(drawn, drawing.setup.archer.cant if planes == 2 else 0.0)
        hand = hand_at_rest(drawing, drawn, gravity)
        self.shot = Shot(
            th.cos_slope, th.sin_slope, th.stiffness, th.loss, th.grip, th.snap, th.depth, th.locator_stiffness,
            th.locator_loss, su.x, su.y, su.stiffness, su.damping, su.half_diameter,
            su.travel if planes == 1 else np.inf, fr.mass, fr.inertia,
            fr.cx, fr.cy, (ctypes.c_double * 8)(*fr.carried.ravel()), fr.hand_stiffness, fr.hand_damping,
            fr.hand_turn_stiffness, fr.hand_turn_damping, *drawn.force, gx, gy, *hand, floor_inertia(c, m),
            (ctypes.c_double * 3)(*fi.time), (ctypes.c_double * 3)(*fi.delay),
        )  # fmt: skip
        for name, value in (
            ("first", fi.first), ("wide", fi.weight.shape[1]), ("root_u", m.root_u), ("edge_u", m.edge_u),
            ("root_l", m.root_l), ("tail", m.tail), ("tip_u", m.tip_u), ("tip_l", m.tip_l),
        ):  # fmt: skip
            setattr(self.shot, name, value)
        self.n = drawn.x.size
        still = np.zeros(self.n)
        self.start, self.sideways = (drawn.x, drawn.y, still), [still] * 3
        if planes == 2:
            side, self.start = begin_sideways(drawing, drawn)
            self.sideways = [side.span, side.inverse_mass, side.weight]
            self.shot.roll, self.shot.hold = side.roll, side.hold
            self.shot.groove_k, self.shot.groove_c = side.groove_stiffness, side.groove_loss
            self.shot.outer, self.shot.fold = side.arm
            self.shot.tip_k, self.shot.tip_c = tuple(side.tip_stiffness), tuple(side.tip_loss)
            names = ("side_x", "side_y", "offset", "side_k", "preload", "side_travel", "seat", "side_c")
            for name, value in zip(names, side.support, strict=True):
                setattr(self.shot, name, value)
        self.moving = c.inverse_mass > 0.0
        self.constants = [
            np.ascontiguousarray(v) for v in (
                fi.weight, c.stretch, c.rest_length, c.least_force, c.loss, c.axial_loss, c.bend, c.natural,
                c.bend_loss, c.inverse_mass,
            )
        ]  # fmt: skip

    def run(self, steps: int, dt: float) -> tuple[np.ndarray, np.ndarray]:
        """Run; returns places and velocities of all nodes: (planes + 1, n) each."""
        flat, side = np.zeros((FLAT, self.n)), np.zeros((ASIDE, self.n))
        flat[:2] = self.start[:2]
        side[0] = self.start[2]
        pointers = [ctypes.c_void_p(v.ctypes.data) for v in (*self.constants, *flat, *self.sideways, *side)]
        self.library.run(
            ctypes.c_int(self.n), ctypes.c_int(steps), ctypes.c_double(dt), ctypes.byref(self.shot), *pointers
        )
        aside = self.planes - 1
        return np.concatenate((flat[:2], side[:aside])), np.concatenate((flat[2:4], side[1 : 1 + aside]))

    def miss(self, ours: Loosed) -> float:
        """The worst coordinate between this and our release of any node that the riser does not carry, at clear [m].

        Raises
        ------
        ValueError
            Where it is more than rounding: then it is another shot that is timed.
        """
        steps = int(ours.notes.steps)
        places, velocities = self.run(steps, ours.dt)
        told = [ours.states[CLEAR][AT_X], ours.states[CLEAR][AT_Y]]
        if ours.sideways is not None:
            told.append(ours.sideways.states[CLEAR][AT_Z])
        back = steps * ours.dt - float(ours.moments[CLEAR].time)  # within its last step a straight line, as ours has it
        worst = float(np.abs(places - back * velocities - told)[:, self.moving].max())
        if not worst < ROUNDING:
            raise ValueError(f"leapfrog.c is {worst:.0e} m away from the release; bring it up to date")
        return worst
