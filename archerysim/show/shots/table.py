"""A shot, the braced bow and its draw as plain text; warnings stand last, where they are read."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.lines import braced_lines, edit_lines, fit_lines, reading_lines, readings_of, strain_rows
from archerysim.show.shots.check_table import check_table
from archerysim.show.shots.passage_table import change_lines, passage_lines, sideways_rows
from archerysim.show.style import FOOT_POUND, INCH, MM, POUND
from archerysim.show.text import (
    columns,
    energy,
    force,
    length,
    number,
    pairs,
    speed,
    titled,
    with_warnings,
    wrapped,
)

if TYPE_CHECKING:
    from archerysim.shot.draw_curve import DrawCurve
    from archerysim.shot.fitted_bow import FittedBow
    from archerysim.shot.launch import Launch
    from archerysim.shot.side_change import SideChange

__all__ = ["brace_table", "check_table", "draw_table", "energy_table", "launch_table"]

SIDEWAYS = ("lost_side_support", "lost_groove", "lost_tips", "lost_folding")  # of `Energy`, told where there is any
LEAST_ENERGY = 5e-4  # less is printed as none [J]


def launch_table(launch: Launch, change: SideChange | None = None, *, everything: bool = False) -> str:
    """How the arrow leaves: separation and clear side by side, the bow, the energy, the warnings.

    Parameters
    ----------
    launch : Launch
    change : SideChange, optional
        What the changes on its bow do sideways, in both planes.
    everything : bool
        In both planes, the numbers sideways of the shot itself too; they depend on a roll of the fingers that is known
        badly.

    Returns
    -------
    str
        Speeds in m/s and fps, energies in J and ft lb, lengths in mm and inches, readings to the nearest
        sixteenth of an inch.
    """
    from archerysim.fields.reported import column
    from archerysim.shot.moment import Moment

    s, c = launch.separation, launch.clear

    def row(
        name: str, field: str, digits: int, unit: str = "", signed: bool = True, size: float = 1.0
    ) -> tuple[str, ...]:
        shown = unit or column(Moment, field).unit
        return (name, *(number(size * getattr(m, field), shown, digits, signed) for m in (s, c)))

    lines = [f"{launch.setup.name}: the arrow as it leaves the bow", *edit_lines(launch.edits), ""]
    lines += columns(
        [
            row("time after the release begins", "time", 2, "ms", False, 1e3),
            ("speed along the aim line", speed(s.speed), speed(c.speed)),
            row("vertical velocity, up +", "vertical_velocity", 3),
            row("pitch, nose up +", "pitch", 3),
            row("   in the bow's axes", "pitch_to_bow", 3),
            row("pitch rate, nose up +", "pitch_rate", 3),
            row("angle of attack, nose up +", "angle_of_attack", 3),
            row("first bending mode, tail up +", "bend_1", 2),
            row("   its rate", "bend_1_rate", 2),
            row("second bending mode, tail up +", "bend_2", 2),
            row("   its rate", "bend_2_rate", 2),
            row("nock, forward of the pivot's place", "nock_x", 1, "mm", True, 1e3),
            row("nock, above it", "nock_y", 1, "mm", True, 1e3),
            row("riser's turn, nose up +", "riser_pitch", 3),
            row("riser's rate of turn", "riser_pitch_rate", 3),
            *([row(*one) for one in sideways_rows(launch)] if everything and launch.planes == 2 else []),
        ],
        ("", "separation", "clear"),
    )
    lines += [""]
    if launch.planes == 2 and (change is not None or not everything):
        lines += change_lines(launch, change)
    lines += [
        *titled("Locators, by the square", reading_lines(launch.reading, launch.reading_top, launch.axis_above_square)),
    ]
    arrow = s.energy.arrow_translation + s.energy.arrow_rotation + s.energy.arrow_bending
    lines += titled(
        "Bow",
        pairs(
            [
                ("brace height", length(launch.brace_height * MM)),
                ("upper tiller", length(launch.upper_tiller * MM)),
                ("lower tiller", length(launch.lower_tiller * MM)),
                ("string tension at brace", force(launch.string_tension)),
                ("force on the fingers", force(launch.draw_force)),
                ("aim angle, nose up +", f"{number(launch.aim_angle, 'deg', 3, True)}: aim line in the bow's axes"),
                ("stored energy", energy(launch.stored_energy)),
                ("arrow's energy at separation", energy(arrow)),
                ("efficiency", f"{100 * launch.efficiency:.1f} %"),
                (
                    "virtual mass",
                    f"{number(launch.virtual_mass, 'g', 2)}: what bow and string keep, expressed as a mass",
                ),
                *([] if np.isnan(launch.rod_swing) else [("swing of a rod's end", number(launch.rod_swing, "mm", 2))]),
                *([] if all(one.unchecked for one in launch.strain) else strain_rows(launch.strain)),
            ]
        ),
    )
    lines += passage_lines(launch) if launch.planes == 2 else titled("Rest", pairs(_rest(launch)))
    slaps = _slaps(launch)
    lines += titled("String on the limbs", pairs(slaps)) if slaps else []
    lines += titled("Energy", _energy(launch))
    if launch.events:
        lines += titled("On the way", wrapped("; ".join(launch.events)))
    return with_warnings(lines, launch.warnings, len(launch.limits_passed))


def _slaps(launch: Launch) -> list[tuple[str, str]]:
    """When the string comes down on each limb, how quickly, and how hard it then presses; none where it does not."""
    rows = []
    for limb in ("upper", "lower"):
        at, quick, hard = (getattr(launch, name.format(limb)) for name in (
            "string_on_{}_at", "slap_speed_{}", "slap_force_{}"
        ))  # fmt: skip
        if np.isfinite(at):
            words = f"{number(1e3 * at, 'ms', 2)} after the release begins, at {number(quick, 'm/s', 1)}"
            rows.append((f"on the {limb} limb", f"{words}; presses up to {number(hard, 'N', 0)}"))
    return rows


def _rest(launch: Launch) -> list[tuple[str, str]]:
    """When and where the shaft left the rest, and whether it came down on it again; a dash where it did not."""

    def when(time: float, travel: float) -> str:
        after = f"{number(1e3 * time, 'ms', 2)} after the release begins, {number(travel, 'mm', 1)} of travel"
        return after if np.isfinite(time) else "-"

    at = launch.timeline
    again = when(at.on_rest_again, launch.second_strike_travel)
    deep = f", {number(launch.second_strike_depth, 'mm', 2)} deep" if again != "-" else ""
    left = "rest left again" if at.left_again else "rest left"
    return [
        (left, when(at.rest_left, launch.rest_left_travel)),
        ("second strike", again + deep),
        ("suppressed strike, how deep", number(launch.suppressed_strike, "mm", 1)),
        ("least gap to the rest, later", number(launch.least_gap, "mm", 1, True)),
    ]


def energy_table(launch: Launch) -> str:
    """Where the stored energy is at separation and at clear.

    Parameters
    ----------
    launch : Launch
    """
    return "\n".join([f"{launch.setup.name}: energy [J]", *_energy(launch)])


def _energy(launch: Launch) -> list[str]:
    from archerysim.fields.reported import columns_of
    from archerysim.shot.energy import Energy

    both = (launch.separation.energy, launch.clear.energy)
    seldom = SIDEWAYS if launch.planes == 1 else (*SIDEWAYS, "support_end")
    stored = both[0].stored
    rows = [("stored from brace to full draw", f"{stored:.3f} J", "", f"{stored:.3f} J", "")]
    for name, _, words, _ in columns_of(Energy)[1:]:
        held = (getattr(both[0], name), getattr(both[1], name))
        if name in seldom and max(map(abs, held)) < LEAST_ENERGY:
            continue
        first, second = ((number(value, "J", 3), number(100.0 * value / stored, "%", 1)) for value in held)
        rows.append((words, *first, *second))
    return columns(rows, ("", "separation", "", "clear", ""))


def brace_table(bow: FittedBow, curve: DrawCurve | None = None) -> str:
    """The braced bow, and how well the fit met what was measured.

    Parameters
    ----------
    bow : FittedBow
    curve : DrawCurve, optional
        Of the same bow, for what is said of its draw; without it the bow at brace alone is judged.
    """
    from archerysim.equipment import filled
    from archerysim.shot import warnings

    full, braced = filled(bow.setup), bow.braced
    lines = titled(f"{bow.setup.name}: at brace", [*edit_lines(bow.edits), *braced_lines(braced)])
    lines += titled("Locators, by the square", readings_of(full, braced))
    if bow.met:
        lines += titled("The fit", fit_lines(bow))
    if curve is not None:
        return with_warnings(lines, curve.warnings, len(curve.limits_passed))
    passed = warnings.limits_at_brace(full, braced)
    lines += titled("Not drawn: draw and arrow are left out", [])
    return with_warnings(lines, warnings.all_warnings(passed, warnings.of_bow(full, braced)), len(passed))


def draw_table(curve: DrawCurve) -> str:
    """The draw-force curve in both systems of units, and how much force an inch more takes: how the bow stacks.

    Parameters
    ----------
    curve : DrawCurve
    """
    rows: list[tuple[str, ...]] = [
        (f"{x / INCH:.2f} in", f"{x / MM:.0f} mm", f"{f / POUND:.2f} lbf", f"{f:.1f} N",
         f"{k / POUND * INCH:.2f} lb/in", f"{e:.2f} J", f"{e / FOOT_POUND:.2f} ft lb")
        for x, f, k, e in zip(curve.draw_length, curve.force, curve.stiffness, curve.energy, strict=True)
    ]  # fmt: skip
    lines = [f"{curve.setup.name}: drawing the bow", *edit_lines(curve.edits), ""]
    head: tuple[str, ...] = ("draw length", "", "force", "", "rising by", "stored", "")
    if curve.kept_by_limbs:
        rows = [(*row[:4], f"{f:.1f} N", *row[4:]) for row, f in zip(rows, curve.let_down, strict=True)]
        head = (*head[:4], "let down", *head[4:])
    lines += columns(rows, head)
    full = f"{length(curve.draw_length[-1])}: {force(curve.force[-1])}, {energy(curve.energy[-1])} stored"
    lines += ["", f"At full draw {full}", *pairs([*steady_rows(curve), *strain_rows(curve.strain)]), ""]
    return with_warnings(lines, curve.warnings, len(curve.limits_passed))


def steady_rows(curve: DrawCurve) -> list[tuple[str, str]]:
    """Where the string leaves the limbs, and how far the drawn bow is from tipping over."""
    rows = [
        ("fingers pushed across the pull", f"{number(curve.stiffness_across, 'N/m', 0)} (zero: the limbs would tip)")
    ]
    if curve.kept_by_limbs:
        share = curve.kept_by_limbs / (curve.energy[-1] + 0.5 * curve.kept_by_limbs)
        told = f"{energy(curve.kept_by_limbs)}, {100 * share:.1f} % of the work"
        rows.append(("kept by the limbs, drawn and let down", told))
    if curve.lying[0].any():
        told = "; ".join("not" if np.isnan(one) else length(one) for one in curve.string_leaves_at)
        rows.insert(0, ("string off the limbs, upper; lower", told))
    return rows
