"""The computed tables of docs/evidence.md: what the numbers depend on, and what they do not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
from places import table
from prices import DEFAULT, EXAMPLES, NONE, as_built, best_of, built, in_words, setup, shot

import archerysim
from archerysim.equipment import filled
from archerysim.equipment.arrow import bending_stiffness, total_mass
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.release.bending_modes import free_modes
from archerysim.shot.shoot import shoot
from archerysim.shot.statics import bracing
from archerysim.study.uncertainty.sensitivity import SIDEWAYS
from archerysim.study.uncertainty.uncertainty import Uncertainty, uncertainty

READING = "nock.locators.reading"


def key_numbers(bow: archerysim.Setup | FittedBow, mesh: Mesh = DEFAULT, step: float = 1.0) -> np.ndarray:
    """Both best readings [mm], pitch at separation and at clear at 9 mm [deg], speed [m/s]."""
    fitted = FittedBow.of(bow, mesh)
    if step != 1.0:
        fitted = replace(fitted, step_factor=step)
    at_nine = fitted.at_reading("9 mm")
    return np.array([
        *best_of(fitted), at_nine.separation.pitch, at_nine.clear.pitch, at_nine.clear.speed,
    ])  # fmt: skip


def with_tolerance(bow: archerysim.Setup, factor: float) -> np.ndarray:
    """`key_numbers` with Newton's tolerance multiplied."""
    before = bracing.TOLERANCE
    try:
        bracing.TOLERANCE = before * factor
        return key_numbers(bow)
    finally:
        bracing.TOLERANCE = before


def independence_changes(name: str) -> dict[str, Callable[[], np.ndarray]]:
    """What is changed on an example that is not physics: name to `key_numbers` with it."""
    bow = built(name)
    edge = filled(bow).number("nock.edge_stiffness")
    return {
        "edge stiffness x 0.5": lambda: key_numbers(bow.with_si(**{"nock.edge_stiffness": 0.5 * edge})),
        "edge stiffness x 2": lambda: key_numbers(bow.with_si(**{"nock.edge_stiffness": 2.0 * edge})),
        "time step x 0.5": lambda: key_numbers(bow, step=0.5),
        "time step x 0.25": lambda: key_numbers(bow, step=0.25),
        "string nodes moved by half a cell": lambda: key_numbers(bow, Mesh(shift=0.5)),
        "string cells near the nock 6 mm": lambda: key_numbers(bow, Mesh(near=0.006)),
        "Newton's tolerance x 0.1": lambda: with_tolerance(bow, 0.1),
        "mesh twice as fine": lambda: key_numbers(as_built(name, "fine")),
    }


@cache
def independence_numbers(name: str) -> dict[str, np.ndarray]:
    """Change to the differences of `key_numbers`; speed as a share."""
    base = key_numbers(as_built(name))
    out = {}
    for change, run in independence_changes(name).items():
        difference = run() - base
        difference[4] /= base[4]
        out[change] = difference
    return out


BARS = np.array([0.1, 0.1, 0.01, 0.01, 0.0005])  # both readings [mm], both pitches [deg], speed as a share
MESH_BARS = np.array([0.3, 0.3, 0.03, 0.03, 0.002])
THREE_UNDER = 0.5  # [mm] for the readings of the bow shot three under, mesh twice as fine


def independence() -> str:
    """Largest change over the examples; raises ValueError where a bar is passed."""
    rows = []
    for change in independence_numbers(EXAMPLES[0]):
        worst = np.abs([independence_numbers(name)[change] for name in EXAMPLES]).max(axis=0)
        bars = MESH_BARS if change.startswith("mesh") else BARS
        for name in EXAMPLES:
            bar = bars.copy()
            bar[:2] = THREE_UNDER if name == "barebow" and change.startswith("mesh") else bar[:2]
            if np.any(np.abs(independence_numbers(name)[change]) > bar):
                raise ValueError(f"{name}, {change}: {independence_numbers(name)[change]} passes {bar}")
        pitch = max(worst[2], worst[3])
        rows.append([change, *(f"{one:.2f}" for one in worst[:2]), f"{pitch:.3f}", f"{100 * worst[4]:.2f}"])
    return table(
        ("changed", "reading, bare and fletched together at 18 m [mm]", "reading, no angle of attack [mm]",
         "pitch [deg]", "speed [%]"),
        rows,
    )  # fmt: skip


def energy_shares() -> str:
    """Where the stored energy is at separation, in percent of it."""
    rows = []
    for name in EXAMPLES:
        e = shot(name).separation.energy
        lost = sum(value for key, value in e.table().items() if key.startswith("lost_"))
        arrow = e.arrow_translation + e.arrow_rotation + e.arrow_bending
        parts = (arrow, e.limbs, e.string, e.riser_and_hand, e.fingers, lost)
        left = 100 * abs(e.residual) / e.stored
        shares = [f"{100 * part / e.stored:.1f}" for part in parts]
        rows.append([name, f"{e.stored:.1f}", *shares, "under 0.01" if left < 0.01 else f"{left:.2f}"])
    return table(
        ("bow", "stored [J]", "arrow", "limbs", "string", "riser, hand", "fingers", "dampers", "residual [%]"), rows
    )


def virtual_mass() -> str:
    """m_v = 2 W / v^2 - m for arrows of several masses."""
    rows = []
    for name in EXAMPLES:
        point = filled(built(name)).number("arrow.point_mass")
        cells = []
        for factor in (0.5, 1.0, 2.0):
            launch = shoot(built(name).with_si(**{"arrow.point_mass": factor * point}), DEFAULT, trace=False)
            mass = total_mass(filled(launch.setup).arrow)
            cells.append(f"{1e3 * (2.0 * launch.stored_energy / launch.separation.speed**2 - mass):.1f}")
        rows.append([name, *cells])
    return table(("bow", "m_v, point x 0.5 [g]", "as it is [g]", "point x 2 [g]"), rows)


def string_third() -> str:
    """Speed with 3 g more string against a third of that on the arrow's nock."""
    rows = []
    for name in EXAMPLES:
        bow = built(name)
        full = filled(bow)
        more = 0.001 / full.number("string.length")
        launches = [
            shoot(bow.with_si(**change), DEFAULT, trace=False)
            for change in (
                {},
                {"string.axial_stiffness": full.string.axial_stiffness,
                 "string.mass_per_length": full.string.mass_per_length + more},
                {"arrow.nock_mass": full.number("arrow.nock_mass") + 0.001 / 3.0},
            )
        ]  # fmt: skip
        base, heavier, third = (one.separation.speed for one in launches)
        rows.append([name, f"{heavier - base:.3f}", f"{third - base:.3f}", f"{(heavier - base) / (third - base):.2f}"])
    return table(("bow", "1 g more string [m/s]", "a third of it on the arrow [m/s]", "ratio"), rows)


def stored_ratio() -> str:
    """Stored energy over draw force times stroke."""
    rows = []
    for name in EXAMPLES:
        curve = archerysim.draw(as_built(name))
        stroke = curve.draw_length[-1] - curve.draw_length[0]
        rows.append([name, f"{curve.energy[-1] / (curve.force[-1] * stroke):.2f}"])
    for words, curve in (
        ("limbs curved forward by 0.35 rad, evenly more towards the tip", reflexed("club-outdoor")),
        ("limbs straight when unstrung, pockets at 12 deg", straight("club-outdoor")),
    ):
        stroke = curve.draw_length[-1] - curve.draw_length[0]
        rows.append([f"club-outdoor, {words}", f"{curve.energy[-1] / (curve.force[-1] * stroke):.2f}"])
    return table(("bow", "W / (F x stroke)"), rows)


def reflexed(name: str) -> archerysim.DrawCurve:
    """Draw curve of an example with limbs curved forward by 0.35 rad when unstrung, fitted to the same numbers."""
    length = filled(setup(name)).number("upper_limb.length")
    return archerysim.draw(setup(name).with_si(**{"limbs.natural_curvature": (0.0, 0.7 / length)}))


def straight(name: str) -> archerysim.DrawCurve:
    """Draw curve of an example with straight limbs, fitted to the same numbers."""
    return archerysim.draw(setup(name).replace(**{"limbs.shape": "straight"}))


def shaft_load() -> str:
    """Largest q L^3 / EI of the push at the nock, and the free shaft's first two frequencies."""
    rows = []
    for name in EXAMPLES:
        launch = archerysim.shoot(as_built(name))
        arrow, trace = filled(built(name)).arrow, launch.trace
        push = (trace.edge_upper + trace.edge_lower).max()  # type: ignore[union-attr]
        mass = total_mass(arrow)
        load = push / mass * arrow.mass_per_length * arrow.length**3 / bending_stiffness(arrow.spine)
        whole = push * arrow.length**2 / bending_stiffness(arrow.spine)
        omega, _ = free_modes(launch.braced.chain, launch.braced.marks.tail)
        rows.append([name, f"{push:.0f}", f"{load:.2f}", f"{whole:.2f}", *(f"{w / (2 * np.pi):.0f}" for w in omega)])
    return table(
        ("bow", "largest push [N]", "q L^3/EI, shaft alone", "push L^2/EI", "first mode [Hz]", "second mode [Hz]"), rows
    )


@cache
def sure() -> Uncertainty:
    """All that an archer cannot know well of the outdoor bow, moved together and one by one."""
    return uncertainty(setup("club-outdoor"), draws=64, progress=False)


SHOWN = 14
UNSEEN = ("upper_limb.mass", "lower_limb.mass", "bow.stiffness_ratio", "archer.release_time")


def sensitivities() -> str:
    """The inputs that move the reading most at which bare and fletched come together."""
    found, full = sure(), filled(setup("club-outdoor"))
    rows = []
    for k in np.argsort(-np.abs(found.slopes[:, 0]), kind="stable")[:SHOWN]:
        one, slopes = found.inputs[k], found.slopes[k]
        size, unit = one.shown(full)
        rows.append([
            f"`{one.path}`", f"{size:.3g} {unit}".strip(), one.how, *in_words(slopes[:2], 2), f"{slopes[2]:+.3f}",
            f"{slopes[3]:+.2f}",
        ])  # fmt: skip
    return table(
        ("input", "how well it is known", "by", "reading, bare and fletched together at 18 m [mm]",
         "reading, no angle of attack [mm]", "pitch [deg]", "pitch rate [rad/s]"),
        rows,
    )  # fmt: skip


def propagation() -> str:
    """Linear propagation beside quasi-Monte Carlo, all unsure inputs together; of what is sideways the spread alone."""
    found = sure()
    rows = []
    for k, (name, unit) in enumerate(zip(found.names, found.units, strict=True)):
        numbers = [found.value[k], found.linear[k], found.spread[k], found.low[k], found.high[k]]
        if name == SIDEWAYS[0]:
            numbers[0] = numbers[3] = numbers[4] = np.nan
        rows.append([name.replace("_", " "), unit, *(f"{one:.2f}" if np.isfinite(one) else NONE for one in numbers)])
    return table(
        ("answer", "unit", "value", "standard deviation, linear", "by quasi-Monte Carlo", "5 % point", "95 % point"),
        rows,
    )


def how_sure() -> str:
    """The same in a sentence, and what is left once limbs and release are known."""
    found = sure()
    seen = [k for k, one in enumerate(found.inputs) if one.path not in UNSEEN]
    left = np.sqrt((found.slopes[seen] ** 2).sum(axis=0))
    missing = f"{found.failed} of the {len(found.sample)} draws below had no answer."
    return (
        f"All {len(found.inputs)} uncertain inputs together: the reading that brings bare and fletched together is "
        f"known "
        f"to {found.linear[0]:.1f} mm, the one without angle of attack to {found.linear[1]:.1f} mm (one standard "
        f"deviation). With the release time, both limbs' masses and their ratio of stiffness known for certain it "
        f"would be {left[0]:.1f} and {left[1]:.1f} mm. {missing}"
    )


# A 66 in, 35 lb recurve drawn 0.48 m from brace: W, and m_v = FIXED + SHARE m. Measured elsewhere on one bow.
MEASURED_ENERGY, MEASURED_STROKE, MEASURED_FORCE = 43.0, 0.48, 35.0 * 4.4482216
MEASURED_FIXED, MEASURED_SHARE = 5.77e-3, 0.0583


def measured_speed() -> str:
    """Our speed beside that of a recurve whose speeds were measured."""
    launch = shot("club-outdoor")
    mass = total_mass(filled(launch.setup).arrow)
    ours = launch.separation.speed
    virtual = MEASURED_FIXED + MEASURED_SHARE * mass
    lighter = np.sqrt(2.0 * launch.stored_energy / (mass + virtual))
    curve = archerysim.draw(as_built("club-outdoor"))
    stroke = curve.draw_length[-1] - curve.draw_length[0]
    ratio = MEASURED_ENERGY / (MEASURED_FORCE * MEASURED_STROKE)
    both = lighter * np.sqrt(ratio * curve.force[-1] * stroke / curve.energy[-1])
    return (
        f"On one recurve of 66 in and 35 lb, speeds were measured: m_v = 5.8 g + 0.058 m, {1e3 * virtual:.1f} g for "
        f"this arrow of {1e3 * mass:.1f} g, and W / (F x stroke) = {ratio:.2f}. With that virtual mass club-outdoor "
        f"would throw it at {lighter:.1f} m/s, and with that stored energy too at {both:.1f}; the model says "
        f"{ours:.1f} m/s, {_beside(ours, lighter)} and {_beside(ours, both)}."
    )


def _beside(ours: float, other: float) -> str:
    """How much faster ours is, in words."""
    return f"{abs(100.0 * (ours / other - 1.0)):.1f} % {'more' if ours > other else 'less'}"


def bare_apart() -> str:
    """Bare above fletched by drag and mass alone, at two distances, taped and not."""
    rows = []
    for name in EXAMPLES:
        launch = shot(name)
        cells = [
            f"{1e3 * bare_difference(launch, distance, taped=taped).drag_and_mass:.0f}"
            for distance in ("18 m", "30 m")
            for taped in (True, False)
        ]
        rows.append([name, *cells])
    return table(("bow", "18 m, taped [mm]", "18 m, untaped [mm]", "30 m, taped [mm]", "30 m, untaped [mm]"), rows)


TABLES: dict[str, Callable[[], str]] = {
    "independence": independence,
    "energy-shares": energy_shares,
    "virtual-mass": virtual_mass,
    "string-third": string_third,
    "stored-ratio": stored_ratio,
    "shaft-load": shaft_load,
    "sensitivities": sensitivities,
    "propagation": propagation,
    "how-sure": how_sure,
    "measured-speed": measured_speed,
    "bare-apart": bare_apart,
}
