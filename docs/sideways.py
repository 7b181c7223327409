"""Tables of the shot in both planes: what sideways inputs do, how the shaft passes the rest, what one plane misses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import prices
from places import table, usual

import archerysim
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.show.left_right.words import back, way_and_range

ROLLS = (5, 8, 12)  # [deg]

# what if, field, here
CHANGES: tuple[tuple[str, str, str], ...] = (
    ("stiffer shaft", "arrow.spine", "0.6"),
    ("weaker shaft", "arrow.spine", "0.8"),
    ("heavier point", "arrow.point_mass", "110 gr"),
    ("fingers roll off less", "archer.side_roll", "5 deg"),
    ("fingers roll off more", "archer.side_roll", "12 deg"),
    ("fingers hold the nock out", "archer.side_hold", "3 mm"),
    ("fingers hold the nock in", "archer.side_hold", "-3 mm"),
    ("shorter arm", "rest.reach", "3.75 mm"),
    ("longer arm", "rest.reach", "5.75 mm"),
    ("a struck arm resists", "rest.fold_force", "0.3 N"),
    ("side support further in", "side.offset", "0 mm"),
    ("side support further out", "side.offset", "2 mm"),
    ("side support without preload", "side.preload", "0 N"),
    ("side support with twice the preload", "side.preload", "4 N"),
    ("stiffer spring in the side support", "side.stiffness", "6000 N/m"),
    ("a plain plate", "side.kind", "plate"),
    ("side support without damping", "side.damping", "0 N s/m"),
    ("limb tips half as stiff sideways", "limbs.side_stiffness", "500 N/m"),
    ("limb tips twice as stiff sideways", "limbs.side_stiffness", "2000 N/m"),
    ("less mass of the tips moves sideways", "limbs.side_mass", "15 g"),
    ("tips that damp more sideways", "limbs.side_damping", "2 N s/m"),
    ("looser groove", "nock.groove_stiffness", "10000 N/m"),
    ("bow canted, top limb to the window's side", "archer.cant", "10 deg"),
    ("fingers push the nock up", "archer.pinch", "2 N"),
)


def shot(name: str, planes: int = 2) -> archerysim.Launch:
    """An example's shot."""
    return prices.fitted(name, planes).launch()


def sides() -> str:
    """What sideways inputs do to both answers on one example."""
    base, beside = shot("club-outdoor").clear, aside(shot("club-outdoor"))
    full = archerysim.filled(prices.built("club-outdoor"))
    rows = []
    for words, path, value in CHANGES:
        given: Any = float(value) if path == "arrow.spine" else value
        launch = prices.fitted("club-outdoor").launch({path: given})
        clear = launch.clear
        rows.append([
            words, f"`{path}`", usual(full, path), f"{value} in" if path == "arrow.spine" else value,
            f"{clear.side_angle_of_attack - base.side_angle_of_attack:+.2f}",
            f"{aside(launch) - beside:+.1f}", f"{clear.pitch - base.pitch:+.3f}",
            f"{clear.angle_of_attack - base.angle_of_attack:+.3f}",
            *prices.in_words(prices.moves("club-outdoor", {path: given})), *touched(launch),
        ])  # fmt: skip
    return table(
        ("what if", "field", "usual", "here", "side angle of attack at clear [deg]",
         "bare shaft beside fletched at 18 m [cm]", "pitch at clear [deg]", "angle of attack at clear [deg]",
         prices.TOGETHER, prices.ZERO_ATTACK, "touches"),
        rows,
    )  # fmt: skip


def aside(launch: archerysim.Launch) -> float:
    """How far a bare shaft lands from a fletched one at 18 m, positive away from the window [cm]."""
    return 1e2 * bare_difference(launch, "18 m").side


def folding() -> str:
    """What a struck arm does that resists, on the example whose shaft strikes it."""
    bow, roll = prices.fitted("club-indoor"), {"archer.side_roll": "5 deg"}
    free, held = (bow.launch({**roll, "rest.fold_force": force}) for force in ("0 N", "0.3 N"))
    side, up = (
        getattr(held.clear, name) - getattr(free.clear, name) for name in ("side_angle_of_attack", "angle_of_attack")
    )
    return (
        f"Nothing is struck there. With a roll of 5 deg the shaft of examples/club-indoor.toml strikes its arm, up to "
        f"{free.passage.arm_strike_depth:.1f} mm deep: an arm that folds away with 0.3 N turns it by {side:+.3f} deg "
        f"sideways and {up:+.4f} deg up and down."
    )


def touched(launch: archerysim.Launch) -> list[str]:
    """What the shaft touches once it has left, as a cell."""
    way = launch.passage
    parts = []
    if way.arm_strikes:
        parts.append(f"arm, {way.arm_strike_depth:.1f} mm deep")
    if np.isfinite(way.tail_touch_at):
        parts.append(f"side support, tail, {way.tail_touch_force:.0f} N")
    return [", ".join(parts) or "nothing"]


def passing() -> str:
    """How the shafts of the examples go past rest and side support, for three rolls of the fingers."""
    rows = []
    for name in (*prices.EXAMPLES, "longbow"):
        for roll in ROLLS:
            launch = prices.fitted(name).launch({"archer.side_roll": f"{roll} deg"})
            way = launch.passage
            rows.append([
                f"`{name}.toml`", str(roll), f"{way.nock_furthest:.1f}", f"{way.side_left_travel:.0f}",
                f"{way.arm_left_travel:.0f}" if np.isfinite(way.arm_left_travel) else "a shelf", *touched(launch),
                f"{way.side_gap:.1f}",
            ])  # fmt: skip
    return table(
        ("bow", "roll [deg]", "nock furthest out [mm]", "off the side support after travel [mm]",
         "beyond the arm after travel [mm]", "touches then", "least gap of the tail to the side support [mm]"),
        rows,
    )  # fmt: skip


def flat() -> str:
    """What the shot in one plane gives differently."""
    rows = []
    for name in prices.EXAMPLES:
        both, one = (shot(name, planes).clear for planes in (2, 1))
        best = [prices.best_of(prices.fitted(name, planes)) for planes in (2, 1)]
        rows.append([
            f"`{name}.toml`", f"{one.speed - both.speed:+.3f}", f"{one.pitch - both.pitch:+.3f}",
            f"{one.pitch_rate - both.pitch_rate:+.2f}", f"{one.angle_of_attack - both.angle_of_attack:+.3f}",
            *prices.in_words(best[1] - best[0], 2),
        ])  # fmt: skip
    return table(
        ("bow", "speed at clear [m/s]", "pitch at clear [deg]", "pitch rate at clear [rad/s]",
         "angle of attack at clear [deg]", "reading, bare and fletched together at 18 m [mm]",
         "reading, no angle of attack at clear [mm]"),
        rows,
    )  # fmt: skip


def moves() -> str:
    """What moves bare shafts sideways on one example."""
    found = archerysim.sideways_tune(prices.fitted("club-outdoor"), "18 m", progress=False)
    rows = []
    for one in found.moves:
        way, range_ = way_and_range(found, one)
        height, group = f"{100.0 * one.height:+.1f}", f"{100.0 * one.group:+.1f}"
        rows.append([one.name, way, range_, group, height, back(one)])
    return table(
        ("change", "bare shafts go", "90 % range", "group goes left by [cm]", "bare shafts rise by [cm]",
         "locators after it"),
        rows,
    )  # fmt: skip


TABLES: dict[str, Callable[[], str]] = {
    "sides": sides,
    "passing": passing,
    "flat": flat,
    "folding": folding,
    "moves": moves,
}
