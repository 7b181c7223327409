"""Writes the tables of docs/second-opinion.md.

``python -m tests.outside.engine.table`` writes them (some ten minutes), with ``--check`` it compares what stands
there with what is computed now, numbers to one in the last digit, and fails where they differ or where a shot of
the sweep is out of tolerance.
"""

from __future__ import annotations

import dataclasses
import re
import sys
from collections.abc import Callable
from itertools import product
from pathlib import Path

import numpy as np

from archerysim.shot.flight.bare_shaft import bare_difference
from tests.outside.engine import compare, compare_sideways, table_sideways
from tests.outside.engine.compare import CELLS, STEP, Gap, Pair, as_built, gap, pair, shoot_both
from tests.outside.engine.markdown import markdown, row, text
from tests.support.shot.example_bows import measured

PAGE = Path(__file__).resolve().parents[3] / "docs" / "second-opinion.md"
PLACE = re.compile(r"(<!-- table: (\S+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)
NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?")
MOMENTS = ("separation", "clear")
BOWS = tuple(product(compare.SLOPES, compare.BOLTS))
NAMED = (8.0, 0.0, 0.0)  # the shot that finer steps and meshes are tried on


def sweep() -> list[tuple[float, float, float]]:
    """Height, slope, bolt."""
    return [(h, s, b) for (s, b), h in product(BOWS, compare.HEIGHTS)]


def sweep_row(height: float, slope: float, bolt: float) -> str:
    """One shot at clear."""
    both = pair(height, slope, bolt)
    ours, theirs = both.ours.clear, both.theirs.clear
    apart = gap(ours, theirs)
    return row(
        f"{slope:g}", f"{bolt:g}", f"{height:g}",
        text(ours.speed, 2), text(theirs.speed, 2), text(100 * apart.speed, 2),
        text(ours.vertical_velocity, 3), text(theirs.vertical_velocity, 3), text(apart.vertical_velocity, 4),
        text(ours.pitch, 3), text(theirs.pitch, 3), text(apart.pitch, 4),
        text(ours.angle_of_attack, 3), text(theirs.angle_of_attack, 3), text(apart.angle_of_attack, 4),
    )  # fmt: skip


def sweep_table() -> str:
    """All twenty shots at clear."""
    head = row(
        "slope [deg]", "bolt [turn]", "reading [mm]", "speed [m/s]", "engine", "diff. [%]",
        "vertical velocity [m/s]", "engine", "diff.", "pitch [deg]", "engine", "diff.",
        "angle of attack [deg]", "engine", "diff.",
    )  # fmt: skip
    return markdown(head, [sweep_row(*shot) for shot in sweep()])


def zero_attack(slope: float, bolt: float, moment: str, side: str) -> float:
    """The reading at which one program finds no angle of attack, on a straight line between two shots [mm]."""
    shots = [getattr(getattr(pair(h, slope, bolt), side), moment) for h in compare.HEIGHTS]
    attack = [shot.angle_of_attack for shot in shots]
    if not attack[0] > 0.0 > attack[-1]:
        raise ValueError("the sweep does not reach a zero angle of attack")
    return float(np.interp(0.0, attack[::-1], compare.HEIGHTS[::-1]))


def together(slope: float, bolt: float, side: str) -> float:
    """The reading at which bare and fletched come together at 18 m after one program's shot, flown by ours [mm]."""
    apart = []
    for height in compare.HEIGHTS:
        both = pair(height, slope, bolt)
        clear = getattr(both, side).clear
        motion = {name: getattr(clear, name) for name in ("speed", "vertical_velocity", "pitch", "pitch_rate")}
        launch = dataclasses.replace(both.ours, clear=dataclasses.replace(both.ours.clear, **motion))
        apart.append(bare_difference(launch, "18 m").swing)
    if not apart[0] > 0.0 > apart[-1]:
        raise ValueError("the sweep does not bring bare and fletched together")
    return float(np.interp(0.0, apart[::-1], compare.HEIGHTS[::-1]))


def largest() -> str:
    """The largest differences of the sweep at both moments."""
    words = (
        ("speed [%]", lambda g: 100 * g.speed, 100 * compare.MOST_SPEED, 3),
        ("vertical velocity [m/s]", lambda g: g.vertical_velocity, compare.MOST_VERTICAL, 4),
        ("pitch [deg]", lambda g: g.pitch, compare.MOST_PITCH, 4),
        ("angle of attack [deg]", lambda g: g.angle_of_attack, None, 4),
        ("pitch rate [rad/s]", lambda g: g.pitch_rate, None, 3),
        ("time [ms]", lambda g: 1e3 * g.time, None, 3),
    )
    apart = {m: [gap(getattr(pair(*s).ours, m), getattr(pair(*s).theirs, m)) for s in sweep()] for m in MOMENTS}
    rows = [
        row(
            name,
            *(text(max(abs(of(g)) for g in apart[m]), digits) for m in MOMENTS),
            "" if most is None else f"{most:g}",
        )
        for name, of, most, digits in words
    ]
    gaps = [together(s, b, "theirs") - together(s, b, "ours") for s, b in BOWS]
    rows.append(row("reading, bare and fletched together at 18 m [mm]", "", text(max(map(abs, gaps)), 3), ""))
    rows.append(
        row(
            "reading with no angle of attack [mm]",
            *(
                text(max(abs(zero_attack(s, b, m, "theirs") - zero_attack(s, b, m, "ours")) for s, b in BOWS), 3)
                for m in MOMENTS
            ),
            "",
        )
    )
    return markdown(row("largest difference", *MOMENTS, "tolerance"), rows)


def tips_apart(both: Pair) -> float:
    """How far a limb tip at full draw stands from ours [m]."""
    marks, drawn = both.ours.braced.marks, both.ours.drawn
    tips = [marks.tip_l, marks.tip_u]
    return float(np.hypot(*(both.drawn.tips - np.column_stack((drawn.x[tips], drawn.y[tips]))).T).max())


def statics() -> str:
    """What both programs say before the shot, largest difference over the sweep."""
    pairs = [pair(*shot) for shot in sweep()]

    def most(of: Callable[[Pair], float]) -> float:
        return max(abs(of(p)) for p in pairs)

    rows = [
        row("brace height [mm]", text(most(lambda p: 1e3 * p.bare.brace_height - p.ours.brace_height), 3)),
        row("place of the locators on the string [mm]", text(1e3 * most(lambda p: p.throat - p.ours.braced.throat), 3)),
        row("place of the limb tips at full draw [mm]", text(1e3 * most(tips_apart), 3)),
        row("draw weight [%]", text(100 * most(lambda p: np.hypot(*p.drawn.force) / p.ours.draw_force - 1.0), 2)),
        row("arrow's line at full draw [deg]", text(most(lambda p: np.degrees(p.drawn.line) - p.ours.aim_angle), 4)),
        row(
            "force of the rest on the shaft [N]", text(most(lambda p: p.drawn.rest_force - p.ours.drawn.rest_force), 4)
        ),
        row(
            "largest acceleration as the engine lets go [m/s2], [rad/s2]",
            text(most(lambda p: p.theirs.first_acceleration), 3),
        ),
    ]
    return markdown(row("at rest", "largest difference"), rows)


def gap_row(words: str, both: Pair) -> str:
    """Differences of one shot at clear."""
    apart: Gap = gap(both.ours.clear, both.theirs.clear)
    return row(
        words, text(100 * apart.speed, 3), text(apart.vertical_velocity, 4), text(apart.pitch, 4),
        text(apart.angle_of_attack, 4),
    )  # fmt: skip


GAPS = row("what", "speed [%]", "vertical velocity [m/s]", "pitch [deg]", "angle of attack [deg]")


def refined() -> str:
    """One shot with other steps, meshes and stiffer limbs and shaft on our side."""
    stiff = as_built("club-outdoor").replace(
        **{compare.READING: f"{NAMED[0]} mm", "limbs.axial_stiffness": "3e7 N", "arrow.axial_stiffness": "8e6 N"}
    )
    rows = [
        gap_row(f"{CELLS} cells, engine's step {1e6 * STEP:g} us", pair(*NAMED)),
        gap_row(f"the same, step {0.5e6 * STEP:g} us", pair(*NAMED, step=0.5 * STEP)),
        gap_row(f"{2 * CELLS} cells in both, step {0.5e6 * STEP:g} us", pair(*NAMED, cells=2 * CELLS, step=0.5 * STEP)),
        gap_row(f"{CELLS} cells, our limbs and shaft ten times stiffer along themselves", shoot_both(stiff)),
    ]
    return markdown(GAPS, rows)


def others() -> str:
    """The other examples, each at its own reading."""
    rows = []
    for name in ("club-indoor", "barebow", "junior"):
        reading = measured(name).number(compare.READING)
        rows.append(gap_row(name, shoot_both(as_built(name).with_si(**{compare.READING: reading}))))
    return markdown(GAPS, rows)


TABLES: dict[str, Callable[[], str]] = {
    "sweep": sweep_table,
    "largest": largest,
    "statics": statics,
    "refined": refined,
    "others": others,
    **table_sideways.TABLES,
}


def same(old: str, new: str) -> bool:
    """Whether two texts have the same words, and numbers that differ by no more than one in the last digit."""
    if NUMBER.sub("#", old).split() != NUMBER.sub("#", new).split():
        return False
    for a, b in zip(NUMBER.findall(old), NUMBER.findall(new), strict=True):
        digits = len(b.partition(".")[2])
        if abs(float(a) - float(b)) > 1.01 * 10.0**-digits:
            return False
    return True


def stands(line: str) -> bool:
    """Whether the page has this line."""
    return any(same(old, line) for old in PAGE.read_text(encoding="utf-8").splitlines())


def main(arguments: list[str]) -> int:
    """Write or compare; returns the exit status."""
    bad = 0
    page = PAGE.read_text(encoding="utf-8")

    def renew(match: re.Match[str]) -> str:
        nonlocal bad
        begin, name, old, end = match.groups()
        new = f"\n{TABLES[name]()}\n\n"
        print(new, flush=True)
        if "--check" not in arguments:
            return f"{begin}{new}{end}"
        if not same(old, new):
            bad += 1
            print(f"{PAGE.name}: table {name} no longer holds", file=sys.stderr)
        return match.group()

    fresh = PLACE.sub(renew, page)
    if fresh != page:
        PAGE.write_text(fresh, encoding="utf-8")
    for shot in sweep():
        both = pair(*shot)
        for moment in MOMENTS:
            if not compare.within(gap(getattr(both.ours, moment), getattr(both.theirs, moment))):
                bad += 1
                print(f"out of tolerance at {moment}: {shot}", file=sys.stderr)
    for words in compare_sideways.CLEAR:
        for both, most in (
            (compare_sideways.sideways(words), compare_sideways.MOST_YAW),
            (compare_sideways.finer(words), compare_sideways.MOST_YAW_FINER),
        ):
            for line in table_sideways.out_of_tolerance(words, both, most):
                bad += 1
                print(f"out of tolerance in both planes: {line}", file=sys.stderr)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
