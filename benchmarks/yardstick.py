"""Compiles leapfrog.c on the fly and runs it on a shot's arrays."""

from __future__ import annotations

import ctypes
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from archerysim.shot.release.release import floor_inertia, hand_at_rest, weight


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
        *[(name, ctypes.c_int) for name in ("first", "wide", "root_u", "edge_u", "root_l", "tail")],
    ]  # fmt: skip


VECTORS = "-fno-math-errno"  # lets the compiler use vector square roots


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

    def __init__(self, drawing, drawn, *flags):
        self.library = library(*flags)
        b, th, su, fi, fr = drawing.braced, drawing.throat, drawing.support, drawing.fingers, drawing.braced.frame
        m, c = b.marks, b.chain
        gx, gy = weight(drawn)
        hand = hand_at_rest(drawing, drawn)
        self.shot = Shot(
            th.cos_slope, th.sin_slope, th.stiffness, th.loss, th.grip, th.snap, th.depth, th.locator_stiffness,
            th.locator_loss, su.x, su.y, su.stiffness, su.damping, su.half_diameter, su.travel, fr.mass, fr.inertia,
            fr.cx, fr.cy, (ctypes.c_double * 8)(*fr.carried.ravel()), fr.hand_stiffness, fr.hand_damping,
            fr.hand_turn_stiffness, fr.hand_turn_damping, *drawn.force, gx, gy, *hand, floor_inertia(c, m),
            (ctypes.c_double * 3)(*fi.time), (ctypes.c_double * 3)(*fi.delay), fi.first, fi.weight.shape[1],
            m.root_u, m.edge_u, m.root_l, m.tail,
        )  # fmt: skip
        n = drawn.x.size
        self.constants = [
            np.ascontiguousarray(v) for v in (
                fi.weight, c.stretch, c.rest_length, c.least_force, c.loss, c.axial_loss, c.bend, c.natural,
                c.bend_loss, c.inverse_mass,
            )
        ]  # fmt: skip
        self.drawn, self.n = drawn, n

    def run(self, steps: int, dt: float) -> np.ndarray:
        """Run; returns x, y, vx, vy of all nodes (4, n)."""
        arrays = [np.zeros(self.n) for _ in range(17)]
        arrays[0][:], arrays[1][:] = self.drawn.x, self.drawn.y
        pointers = [ctypes.c_void_p(v.ctypes.data) for v in (*self.constants, *arrays)]
        self.library.run(
            ctypes.c_int(self.n), ctypes.c_int(steps), ctypes.c_double(dt), ctypes.byref(self.shot), *pointers
        )
        return np.array(arrays[:4])
