"""Tables of what inputs do that nobody measures, up and down, and of what is left out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import prices
from places import table, usual
from prices import built, setup, shot

import archerysim

CHANGES: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("no damping in the rest", "rest.damping", "0 N s/m", ()),
    ("fingers open faster", "archer.release_time", "3 ms", ()),
    ("fingers open slower", "archer.release_time", "8 ms", ()),
    ("fingers press over a width", "archer.pad_width", "15 mm", ()),
    ("hand pushes higher", "archer.pressure_point", "5 mm", ()),
    ("softer hand", "archer.hand_stiffness", "4000 N/m", ()),
    ("stiffer hand", "archer.hand_stiffness", "16000 N/m", ()),
    ("hand that does not resist turning", "archer.hand_rotational_stiffness", "0 N m/rad", ()),
    ("rod that does not bend", "riser.rods.0.rigid", "true", ()),
    ("rod that swings more slowly", "riser.rods.0.frequency", "15 Hz", ()),
    ("rod with a damper", "riser.rods.0.damping", "0.1", ()),
    ("limbs that damp ten times more", "limbs.loss_time", "20 us", ()),
    ("heavier limbs", "limbs.mass", "180 g", ()),
    ("limbs without hysteresis", "limbs.hysteresis", "0", ()),
    ("limbs of wood: more of it", "limbs.hysteresis", "0.03", ()),
    ("string without transverse loss", "string.transverse_loss", "0 N s", ()),
    ("string with three times the loss", "string.transverse_loss", "0.03 N s", ()),
    ("softer string, same brace height and reading", "string.construction_factor", "0.3", ("brace height", "reading")),
    (
        "stiffer string, same brace height and reading",
        "string.construction_factor",
        "0.55",
        ("brace height", "reading"),
    ),
    ("nock that grips less", "nock.grip", "1 N", ()),
    ("nock that grips more", "nock.grip", "10 N", ()),
    ("softer edges of the throat", "nock.edge_stiffness", "1500000 N/m", ()),
    ("stiffer edges of the throat", "nock.edge_stiffness", "6000000 N/m", ()),
    ("softer locators", "nock.locators.stiffness", "50000 N/m", ()),
    ("stiffer locators", "nock.locators.stiffness", "200000 N/m", ()),
    ("free play between the locators", "nock.locators.gap", "0.3 mm", ()),
    ("no friction in the throat", "nock.friction", "0", ()),
    ("fingers push the nock up", "archer.pinch", "2 N", ()),
    ("fingers push the nock down", "archer.pinch", "-2 N", ()),
)


def limits_events() -> str:
    """What happened on the way on the bow of the table of sizes."""
    found = shot("club-outdoor").events
    return f"On this bow, on the way: {'; '.join(found) if found else 'nothing touched again'}."


def limits_sizes() -> str:
    """What inputs that nobody measures do to the answer on one example."""
    base = shot("club-outdoor")
    full = archerysim.filled(built("club-outdoor"))
    rows = []
    for words, path, value, hold in CHANGES:
        given: Any = value == "true" or value
        bow = prices.as_built("club-outdoor").with_changes({path: given}, hold)
        clear = bow.launch().clear
        rows.append([
            words, f"`{path}`", usual(full, path), value, f"{clear.pitch - base.clear.pitch:+.3f}",
            f"{clear.angle_of_attack - base.clear.angle_of_attack:+.3f}",
            *prices.in_words(prices.moves("club-outdoor", {path: given}, hold)),
        ])  # fmt: skip
    return table(
        ("what if", "field", "usual", "here", "pitch at clear [deg]", "angle of attack at clear [deg]",
         prices.TOGETHER, prices.ZERO_ATTACK),
        rows,
    )  # fmt: skip


def limits_air() -> str:
    """Air's part in the stroke, by drag on cylinders of the size of string and shaft, at the speeds of the shot."""
    one = shot("club-outdoor")
    speed, energy = one.separation.speed, one.stored_energy
    stroke = one.braced.x[one.braced.marks.edge_u] - one.drawn.throat_x
    # v^2 grows about evenly over the stroke (half on average) and falls to zero at the tips (a third on average)
    string = 0.5 * 1.2 * 1.1 * 0.002 * one.braced.string_length * speed**2 / 3.0 * 0.5 * stroke
    shaft = 0.5 * 1.2 * 2.6 * 3.1416 * full_radius() ** 2 * speed**2 * 0.5 * stroke
    return (
        f"With a string 2 mm thick (drag coefficient 1.1) and the shaft's own section (2.6, turbulent), the string "
        f"loses about {string:.2f} J to the air and the shaft {shaft:.3f} J, {100 * string / energy:.1f} % and "
        f"{100 * shaft / energy:.2f} % of the {energy:.1f} J stored."
    )


def full_radius() -> float:
    """Half the outdoor shaft's diameter [m]."""
    return 0.5 * setup("club-outdoor").arrow.diameter


TABLES: dict[str, Callable[[], str]] = {"sizes": limits_sizes, "events": limits_events, "air": limits_air}
