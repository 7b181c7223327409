"""Every fact from outside with our number beside it: docs/validation.md.

``python -m tests.outside.facts`` writes the page; `test_facts.py` fails where a number is out of tolerance or the page
no longer holds what is computed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from archerysim.equipment.arrow import bending_stiffness
from tests.outside import test_cantilever as beams
from tests.outside import test_double_pendulum as pendulum
from tests.outside import test_frequencies as waves
from tests.outside import test_whole_bows as bows
from tests.outside.chains import richardson

PAGE = Path(__file__).resolve().parents[2] / "docs" / "validation.md"

INTRODUCTION = """\
# Validation: facts from outside

Every fact that the library is held against, its source, our number and the difference. Written by
`python -m tests.outside.facts`; the tests fail where a number leaves its tolerance, and where this page no longer holds
what is computed. "[memory]" marks a value recalled and not read again; "computed" one evaluated anew beside the
published one. The tests under `tests/outside` say how each is set up and hold more than stands here: orders of
convergence, closed forms, and the whole table of the reference case in `test_reference_case.py`.
"""


@dataclass(frozen=True)
class Fact:
    """One fact: what, published value, tolerance (absolute), unit, source, our number."""

    what: str
    published: float
    tolerance: float
    unit: str
    source: str
    ours: Callable[[], float]


@cache
def free(end_mass: float, count: int) -> np.ndarray:
    """Richardson's beta L of a free shaft."""
    return richardson(waves.free_numbers(48, end_mass, count), waves.free_numbers(96, end_mass, count))


@cache
def clamped(tip_mass: float, count: int) -> np.ndarray:
    """Richardson's beta L of a clamped limb."""
    return richardson(waves.clamped_numbers(48, tip_mass, count), waves.clamped_numbers(96, tip_mass, count))


@cache
def bent(load: float) -> np.ndarray:
    """Richardson's tip of the cantilever under a dead load."""
    return richardson(beams.tip(load, 48), beams.tip(load, 96))


@cache
def circle(moment: float) -> float:
    """How far the tip under a tip moment stands from the exact circle, extrapolated, over the length."""
    tips = [np.array([line[-1] for line in beams.polygon(moment, cells)]) for cells in (48, 96)]
    exact = np.array([np.sin(moment), 1.0 - np.cos(moment)]) / moment
    return float(np.abs(richardson(tips[0], tips[1]) - exact).max())


@cache
def greenhill() -> float:
    """Load at which the column loses its stiffness."""
    loads = [brentq(lambda q, n=n: beams.stiffness_left(q, n), 6.0, 9.0, xtol=1e-10) for n in (24, 48)]
    return float(richardson(loads[0], loads[1]))


@cache
def swung() -> np.ndarray:
    """State of the double pendulum after one second, the springs' give extrapolated away."""
    return 2.0 * pendulum.of_cells(1e6) - pendulum.of_cells(5e5)


@cache
def kooi() -> np.ndarray:
    """Quality, efficiency, nu and nu^2 m_a / (q eta) of the straight-end bow."""
    arrow, default, _ = bows.kooi(1.0 / 3.0)
    q, efficiency, nu, _ = bows.numbers(default)
    return np.array([q, efficiency, nu, nu**2 * 0.5 * arrow / (q * efficiency)])


@cache
def rigid() -> float:
    """Efficiency of rigid limbs on springs, of the energy that moves at separation."""
    account = bows.rigid_limbs(3e6, 0.15, 0.004)
    return account.arrow / (1.0 - account.left)


def facts() -> list[Fact]:
    """All of them, in the page's order."""
    thomson, computed = "handbook (Thomson, Theory of Vibration)", "computed from the beam's end conditions"
    astm = "ASTM F2031 (load and span second-hand): EI = P l^3 / (48 d)"
    table = "Bisshopp and Drucker 1945; Mattiasson 1981"
    paper = "Kooi, J. Engineering Mathematics 15 (1981) 119-145 [memory]"
    out = [
        Fact("straight-end bow: static quality q", 0.407, 0.003, "", paper, lambda: kooi()[0]),
        Fact("straight-end bow: efficiency", 0.765, 0.01, "", paper, lambda: kooi()[1]),
        Fact("straight-end bow: nu", 2.01, 0.015, "", paper, lambda: kooi()[2]),
        Fact("nu^2 m_a / (q eta)", 1.0, 1e-3, "", "identity (Kooi)", lambda: kooi()[3]),
        Fact("rigid limbs on springs: efficiency m_a / (m_a + m_s / 3)", 0.02 / (0.02 + 0.004 / 3.0), 0.012, "",
             "textbook mechanics, computed", rigid),
    ]  # fmt: skip
    for spine, stiffness in ((0.400, 6.365), (0.500, 5.092), (0.600, 4.244)):
        out.append(Fact(f"static spine {spine:.3f} in: EI", stiffness, 0.001, "N m2", astm,
                        lambda spine=spine: bending_stiffness(spine * 0.0254)))  # fmt: skip
    for k, value in enumerate((4.730041, 7.853205, 10.995608)):
        out.append(Fact(f"free-free beam, mode {k + 1}: beta L", value, 2e-4, "", thomson, lambda k=k: free(0.0, 3)[k]))
    for mass, value in ((0.25, 4.248967), (0.5, 4.128137), (1.0, 4.041832)):
        out.append(Fact(f"free-free beam with end mass {mass:g}: beta L", value, 5e-5, "", computed,
                        lambda mass=mass: free(mass, 1)[0]))  # fmt: skip
    for k, value in enumerate((0.2242, 0.7758)):
        out.append(Fact(f"free-free beam, first mode: node {k + 1} / L", value, 1e-4, "", thomson,
                        lambda k=k: waves.first_mode_nodes()[k]))  # fmt: skip
    for k, value in enumerate((1.875104, 4.694091, 7.854757)):
        out.append(
            Fact(f"clamped-free beam, mode {k + 1}: beta L", value, 1e-4, "", thomson, lambda k=k: clamped(0.0, 3)[k])
        )
    for mass, value in ((0.5, 1.419964), (1.0, 1.247917)):
        out.append(Fact(f"clamped-free beam with tip mass {mass:g}: beta L", value, 2e-5, "", computed,
                        lambda mass=mass: clamped(mass, 1)[0]))  # fmt: skip
    for load, (across, along) in beams.MATTIASSON.items():
        for name, k, value in (("w / L", 0, across), ("u / L", 1, along)):
            out.append(Fact(f"cantilever, P L^2 / EI = {load:g}: {name}", value, 1.1e-5, "", table,
                            lambda load=load, k=k: bent(load)[k]))  # fmt: skip
    out.append(Fact("cantilever, tip moment to a full circle: miss / L", 0.0, 3e-5, "", "an exact circle (textbook)",
                    lambda: circle(2.0 * np.pi)))  # fmt: skip
    out.append(Fact("column under its own inertia: q L^3 / EI", 7.8373, 1e-4, "", "Greenhill 1881", greenhill))
    exact = waves.TENSION, waves.DENSITY, waves.LENGTH
    out.append(Fact("taut string, f_1", float(np.sqrt(exact[0] / exact[1]) / (2.0 * exact[2])), 1e-3, "Hz",
                    "textbook: n / (2 L) sqrt(T / mu)",
                    lambda: richardson(waves.taut_string(32), waves.taut_string(64))[0]))  # fmt: skip
    for k, value in enumerate((1.202413, 2.760039, 4.326864)):
        out.append(Fact(f"hanging chain, mode {k + 1}: omega sqrt(L / g)", value, 2.5e-4, "",
                        "Bernoulli; zeros of the Bessel function J0",
                        lambda k=k: richardson(waves.hanging_chain(48), waves.hanging_chain(96))[k]))  # fmt: skip
    names = ("angle 1", "angle 2", "rate 1", "rate 2")
    for k, (name, value) in enumerate(zip(names, pendulum.PUBLISHED, strict=True)):
        out.append(Fact(f"double pendulum after 1 s: {name}", value, 3e-6 * max(1.0, abs(value)),
                        "rad" if k < 2 else "rad/s", "computed, two integrators", lambda k=k: swung()[k]))  # fmt: skip
    return out


def page() -> str:
    """The whole page."""
    names = ("fact", "published", "ours", "difference", "tolerance", "unit", "source")
    head = f"| {' | '.join(names)} |\n| {' | '.join(['---'] * len(names))} |"
    rows = []
    for fact in facts():
        ours = float(fact.ours())
        digits = max(2, int(np.ceil(-np.log10(fact.tolerance))) + 1)
        rows.append(
            f"| {fact.what} | {fact.published:.{digits}f} | {ours:.{digits}f} | {ours - fact.published:+.1e} | "
            f"{fact.tolerance:.1e} | {fact.unit} | {fact.source} |"
        )
    return f"{INTRODUCTION}\n{head}\n" + "\n".join(rows) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
