"""Every fact from outside with our number beside it: docs/validation.md.

``python -m tests.outside.facts`` writes the page; `test_facts.py` fails where a number is out of tolerance or the page
no longer holds what is computed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from textwrap import fill

import numpy as np
import pytest
from scipy.optimize import brentq

from archerysim.equipment.arrow import bending_stiffness
from archerysim.shot.arrays import wraps
from tests.mechanics import test_wrap_closed_forms as wrapped
from tests.outside import test_cantilever as beams
from tests.outside import test_double_pendulum as pendulum
from tests.outside import test_frequencies as waves
from tests.outside import test_measured_recurves as recurves
from tests.outside import test_recurve as half
from tests.outside import test_reference_case as case
from tests.outside import test_speed_law as law
from tests.outside import test_stability as tips
from tests.outside import test_whole_bows as bows
from tests.support.mechanics.beams_and_strings import richardson
from tests.support.shot.reference_case import THREE_UNDER, results, shot
from tests.support.study.known_directions import Range, practice
from tests.support.study.measured_drag import differing, held_out, set_constants

PAGE = Path(__file__).resolve().parents[2] / "docs" / "validation.md"

INTRODUCTION = """\
# Validation: facts from outside

Every fact that the library is compared with: what is expected and by whom, our number and the difference. Written by
`python -m tests.outside.facts`; the tests fail where a number leaves its tolerance, and where this page differs from
what is computed. "[memory]" marks a value recalled and not read again. The tests under `tests/outside` show how each is
set up and contain more than is listed here: orders of convergence and closed forms.

Published, computed, common practice and another program are kept apart, and so is what is published and not borne out.
At the end comes what is tested too but validates nothing: definitions, identities, and the measurements that set a
constant.
"""

KINDS = {
    "published": ("Published", "Printed in the source beside each."),
    "computed": (
        "Computed",
        "Textbook problems with an exact answer, or one of high precision, evaluated anew in the tests.",
    ),
    "practice": (
        "Common practice",
        "What the trade knows, without a source: a direction or a range, not a number. Shown on the outdoor club bow "
        "unless stated otherwise; the tests check it on more examples.",
    ),
    "held out": (
        "Measured drag that set no constant",
        "Figures of arrows in wind tunnels and halls that the form drag and the change of the boundary layer do not "
        "rest on, by the outdoor club arrow. No figure for the lift or the moment of an arrow at an angle is at hand, "
        "and none of Okawa et al., Procedia Engineering 60 (2013) 67-72 [memory], on drag in free flight and in a "
        "tunnel.",
    ),
    "program": (
        "An independent program",
        "The short test bow in another program, written apart from this library on the same description of the model: "
        "a check of how the model is solved, not of the model. All readings are in `test_reference_case.py`. "
        "Symmetric bows whose string lies on their limbs, in `test_recurve.py`: in a chain model of another program, "
        "and as the exact elastica of one limb. Another one, a multibody engine, shoots the outdoor club bow: "
        "[second-opinion.md](second-opinion.md).",
    ),
    "differs": (
        "Published, and not borne out",
        "Where our result differs: [flight.md](flight.md) says why. The test holds our number as given here. Two "
        "more are in [both-planes.md](both-planes.md) and in `test_sideways_directions.py`: a wooden arrow that "
        "bears on the bow for its first inches, and the second free mode of a target arrow.",
    ),
    "identity": (
        "Not validation: definitions and identities",
        "True of any bow or shaft by definition: an error in the code would show, a wrong model would not.",
    ),
    "constant": (
        "Not validation: used to set a constant",
        "The form drag of `shot/flight/aerodynamics.py`, where its boundary layer changes, and the usual butt of a "
        "limb (`equipment/limbs/limb_mass.py`) were set by these, so our agreement with them proves nothing.",
    ),
}


@dataclass(frozen=True)
class Fact:
    """One fact: what, expected value, tolerance (absolute), unit, source, our number, a key of `KINDS`."""

    what: str
    expected: float
    tolerance: float
    unit: str
    source: str
    ours: Callable[[], float]
    kind: str


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


def case_number(name: str) -> float:
    """A row of the reference case at 9 mm, extrapolated."""
    default, fine = (results(shot(0.009, cells)) for cells in (24, 48))
    return case.extrapolated(name, default, fine)


def under_number(reading: float) -> float:
    """Its angle of attack at clear with three fingers under, extrapolated."""
    default, fine = (results(shot(reading, cells, THREE_UNDER, 0.02)) for cells in (24, 48))
    return case.extrapolated("angle of attack at clear", default, fine)


@cache
def half_bow(tip: float, touches: bool) -> np.ndarray:
    """String, tension, stored energy, four pulls and share of a symmetric bow, extrapolated."""
    fine, finest = (half.drawn(tip, touches, cells)[0] for cells in half.MESHES[1:])
    return np.asarray(richardson(fine, finest))


def stiffness_along(tip: float) -> float:
    """With which a symmetric bow's string resists being pushed along itself, extrapolated [N/m]."""
    fine, finest = (half.along(tip, cells)[0] for cells in half.MESHES[1:])
    return float(richardson(fine, finest))


@cache
def stiffness_at_tips(tip: float) -> float:
    """The same with the string meeting the limbs at their tips only [N/m]."""
    with pytest.MonkeyPatch.context() as patch:  # equal limbs have an equilibrium that is as equal, stable or not
        patch.setattr(wraps, "may_touch", lambda limb: False)
        fine, finest = (tips.stiffness_along(tips.braced(tip, cells)) for cells in half.MESHES[1:])
    return float(richardson(fine, finest))


@cache
def on_circle(leaves: float, away: float) -> np.ndarray:
    """Of a string that lies on a rigid circle: length of it there and of its whole way, extrapolated [m]."""
    ways = (wrapped.on_circle(cells, wrapped.BEGIN + leaves, away).path()[3:] for cells in wrapped.MESHES[-2:])
    return np.asarray(richardson(*map(np.array, ways)))


def facts() -> list[Fact]:
    """All of them, in the page's order within each kind."""
    return [*_whole_bows(), *_beams(), *_wrapped(), *_reference_case(), *_recurves(), *_definitions()]


def _whole_bows() -> list[Fact]:
    paper = "B. W. Kooi, J. Engineering Mathematics 15 (1981) 119-145 [memory]"
    return [
        Fact("straight-end bow: static quality q", 0.407, 0.003, "", paper, lambda: kooi()[0], "published"),
        Fact("straight-end bow: efficiency", 0.765, 0.01, "", paper, lambda: kooi()[1], "published"),
        Fact("straight-end bow: nu", 2.01, 0.015, "", paper, lambda: kooi()[2], "published"),
        Fact("rigid limbs on springs: efficiency m_a / (m_a + m_s / 3)", 0.02 / (0.02 + 0.004 / 3.0), 0.012, "",
             "textbook mechanics", rigid, "computed"),
    ]  # fmt: skip


def _recurves() -> list[Fact]:
    paper = "C. Tuijn and B. W. Kooi, European J. Physics 13 (1992) 127-134; limbs' shape ours"
    out = []
    for name, (length, weight, stroke, energy) in recurves.MEASURED.items():
        out.append(Fact(f"measured recurve, {name}: stored energy / (weight stroke)", energy / (weight * stroke),
                        recurves.WITHIN, "", paper,
                        lambda bow=(length, weight, stroke): recurves.share(*bow), "published"))  # fmt: skip
    rows = ((0, "half its string", "m"), (1, "tension at brace", "N"), (2, "stored energy", "J"),
            (7, "stored energy / (pull stroke)", ""))  # fmt: skip
    within = half.DIGITS + half.UNCERTAIN
    for (tip, touches), known in half.KNOWN.items():
        values = (known.string, known.tension, known.stored, *known.pulls, known.share)
        bow = f"half bow, {tip:g} 1/m" + ("" if touches else ", string at its tips only")
        exact = " and exact elastica" if tip and touches else ""
        for k, name, unit in rows:
            out.append(Fact(f"{bow}: {name}", values[k], float(within[k]), unit, f"independent program{exact}",
                            lambda key=(tip, touches), k=k: half_bow(*key)[k], "program"))  # fmt: skip
    for tip, value in half.ALONG.items():
        out.append(Fact(f"recurve of {tip:g} 1/m: stiffness along its string", value, 1.5, "N/m",
                        "independent program: exact elastica", lambda tip=tip: stiffness_along(tip),
                        "program"))  # fmt: skip
    for tip, value in tips.ELASTICA.items():
        out.append(Fact(f"recurve of {tip:g} 1/m, string at its tips only: stiffness along its string", value, 1.5,
                        "N/m", "independent program: exact elastica", lambda tip=tip: stiffness_at_tips(tip),
                        "program"))  # fmt: skip
    return out


def _beams() -> list[Fact]:
    thomson, computed = "handbook (Thomson, Theory of Vibration)", "the beam's end conditions"
    table = "Bisshopp and Drucker 1945; Mattiasson 1981"
    out = []
    for k, value in enumerate((4.730041, 7.853205, 10.995608)):
        out.append(Fact(f"free-free beam, mode {k + 1}: beta L", value, 2e-4, "", thomson, lambda k=k: free(0.0, 3)[k],
                        "published"))  # fmt: skip
    for mass, value in ((0.25, 4.248967), (0.5, 4.128137), (1.0, 4.041832)):
        out.append(Fact(f"free-free beam with end mass {mass:g}: beta L", value, 5e-5, "", computed,
                        lambda mass=mass: free(mass, 1)[0], "computed"))  # fmt: skip
    for k, value in enumerate((0.2242, 0.7758)):
        out.append(Fact(f"free-free beam, first mode: node {k + 1} / L", value, 1e-4, "", thomson,
                        lambda k=k: waves.first_mode_nodes()[k], "published"))  # fmt: skip
    for k, value in enumerate((1.875104, 4.694091, 7.854757)):
        out.append(Fact(f"clamped-free beam, mode {k + 1}: beta L", value, 1e-4, "", thomson,
                        lambda k=k: clamped(0.0, 3)[k], "published"))  # fmt: skip
    for mass, value in ((0.5, 1.419964), (1.0, 1.247917)):
        out.append(Fact(f"clamped-free beam with tip mass {mass:g}: beta L", value, 2e-5, "", computed,
                        lambda mass=mass: clamped(mass, 1)[0], "computed"))  # fmt: skip
    for load, (across, along) in beams.MATTIASSON.items():
        for name, k, value in (("w / L", 0, across), ("u / L", 1, along)):
            out.append(Fact(f"cantilever, P L^2 / EI = {load:g}: {name}", value, 1.1e-5, "", table,
                            lambda load=load, k=k: bent(load)[k], "published"))  # fmt: skip
    out.append(Fact("cantilever, tip moment to a full circle: miss / L", 0.0, 3e-5, "", "an exact circle",
                    lambda: circle(2.0 * np.pi), "computed"))  # fmt: skip
    out.append(Fact("column under its own inertia: q L^3 / EI", 7.8373, 1e-4, "", "Greenhill 1881", greenhill,
                    "published"))  # fmt: skip
    exact = waves.TENSION, waves.DENSITY, waves.LENGTH
    out.append(Fact("taut string, f_1", float(np.sqrt(exact[0] / exact[1]) / (2.0 * exact[2])), 1e-3, "Hz",
                    "n / (2 L) sqrt(T / mu)",
                    lambda: richardson(waves.taut_string(32), waves.taut_string(64))[0], "computed"))  # fmt: skip
    for k, value in enumerate((1.202413, 2.760039, 4.326864)):
        out.append(Fact(f"hanging chain, mode {k + 1}: omega sqrt(L / g)", value, 2.5e-4, "",
                        "Bernoulli; zeros of the Bessel function J0",
                        lambda k=k: richardson(waves.hanging_chain(48), waves.hanging_chain(96))[k],
                        "computed"))  # fmt: skip
    names = ("angle 1", "angle 2", "rate 1", "rate 2")
    for k, (name, value) in enumerate(zip(names, pendulum.EXPECTED, strict=True)):
        out.append(Fact(f"double pendulum after 1 s: {name}", value, 3e-6 * max(1.0, abs(value)),
                        "rad" if k < 2 else "rad/s", "Lagrange's equations, two integrators", lambda k=k: swung()[k],
                        "computed"))  # fmt: skip
    return out


def _wrapped() -> list[Fact]:
    """A string's end cell on a rigid limb of the shape of a circle."""
    out = []
    for leaves in (0.35, 0.6, 0.83):
        circle, way = f"string on a rigid circle, {leaves:g} rad of it", wrapped.RADIUS * leaves + wrapped.FREE
        out.append(Fact(f"{circle}: angle of contact", leaves, 1e-5, "rad", "arc and tangent",
                        lambda leaves=leaves: on_circle(leaves, 0.0)[0] / wrapped.RADIUS, "computed"))  # fmt: skip
        out.append(Fact(f"{circle}: length from tip to end", way, 1e-6, "m", "arc and tangent",
                        lambda leaves=leaves: on_circle(leaves, 0.0)[1], "computed"))  # fmt: skip
    for away in (0.0, 0.004):
        out.append(Fact(f"string {1e3 * away:g} mm off a rigid circle's line: length of 0.5 rad",
                        0.5 * (wrapped.RADIUS + away), 1e-5, "m", "arc",
                        lambda away=away: on_circle(0.9, away)[1] - on_circle(0.4, away)[1], "computed"))  # fmt: skip
        out.append(Fact(f"string {1e3 * away:g} mm off a rigid circle's line: what presses per angle / tension", 1.0,
                        2e-4, "", "tension over radius",
                        lambda away=away: wrapped.pressed(wrapped.MESHES[-1], away)[0], "computed"))  # fmt: skip
    return out


def _reference_case() -> list[Fact]:
    program = "independent program, extrapolated over three meshes"
    units = {"time": "ms", "speed": "m/s", "vertical": "m/s", "pitch": "deg", "angle": "deg", "string": "m"}
    out = []
    for name, (values, uncertainty, digits) in case.TABLE.items():
        unit = "rad/s" if "rate" in name else units.get(name.split()[0], "deg" if "line" in name else "N")
        out.append(Fact(f"reference case, 9 mm: {name}", values[1], uncertainty + 0.5 * 10.0**-digits, unit, program,
                        lambda name=name: case_number(name), "program"))  # fmt: skip
    for reading, value in case.UNDER.items():
        out.append(Fact(f"three fingers under, {1e3 * reading:.0f} mm: angle of attack at clear", value,
                        case.UNDER_UNCERTAINTY, "deg", program, lambda reading=reading: under_number(reading),
                        "program"))  # fmt: skip
    return out


def _definitions() -> list[Fact]:
    astm = "ASTM F2031 (load and span second-hand): EI = P l^3 / (48 d)"
    out = [
        Fact("straight-end bow: nu^2 m_a / (q eta)", 1.0, 1e-3, "", "identity (B. W. Kooi)", lambda: kooi()[3],
             "identity")
    ]  # fmt: skip
    for spine, stiffness in ((0.400, 6.365), (0.500, 5.092), (0.600, 4.244)):
        out.append(Fact(f"static spine {spine:.3f} in: EI", stiffness, 0.001, "N m2", astm,
                        lambda spine=spine: bending_stiffness(spine * 0.0254), "identity"))  # fmt: skip
    return out


def ranges() -> list[Range]:
    """What is expected to lie in a range or to one side, in the page's order."""
    return [*practice(), *held_out(), *differing(), *set_constants(), *_speed_law()]


def _speed_law() -> list[Range]:
    """Speeds of one recurve, by which the usual butt of a limb was chosen."""
    source = "measured elsewhere on one recurve; the source cannot be cited"
    return [
        Range(f"speed of an arrow of {grams} g from a recurve of 66 in and 35 lb", f"about {speed:.1f}",
              speed * (1.0 - law.FAST[grams]), speed * (1.0 + law.FAST[grams]), "m/s", source,
              lambda grams=grams: law.shot(grams).clear.speed, "constant")
        for grams, speed in law.LAW.items()
    ]  # fmt: skip


def _fact_row(fact: Fact) -> Sequence[str]:
    ours = float(fact.ours())
    digits = max(2, int(np.ceil(-np.log10(fact.tolerance))) + 1)
    return (
        fact.what, f"{fact.expected:.{digits}f}", f"{ours:.{digits}f}", f"{ours - fact.expected:+.1e}",
        f"{fact.tolerance:.1e}", fact.unit, fact.source,
    )  # fmt: skip


def _range_row(one: Range) -> Sequence[str]:
    return one.what, one.expected, f"{one.ours():.2f}", one.unit, one.source


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def page() -> str:
    """The whole page."""
    out = [INTRODUCTION]
    for kind, (title, words) in KINDS.items():
        here = [fact for fact in facts() if fact.kind == kind]
        told = [one for one in ranges() if one.kind == kind]
        if here:
            head = ("fact", "expected", "ours", "difference", "tolerance", "unit", "source")
            rows = [_fact_row(fact) for fact in here]
        else:
            head = ("fact", "expected", "ours", "unit", "source")
            rows = [_range_row(one) for one in told]
        out.append(f"## {title}\n\n{fill(words, 120)}\n\n{_table(head, rows)}\n")
    return "\n".join(out)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
