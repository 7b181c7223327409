"""Tables of the shots in both planes in docs/second-opinion.md."""

from __future__ import annotations

from collections.abc import Callable

from tests.outside.engine import compare, compare_sideways
from tests.outside.engine.compare import CELLS, STEP, Gap, Pair
from tests.outside.engine.compare_sideways import CLEAR, STRIKES, at_clear, finer, sideways, tail_touches, way_apart
from tests.outside.engine.markdown import markdown, row, text

HEAD = row(
    "shot", "sideways velocity [m/s]", "engine", "yaw [deg]", "engine", "side angle of attack [deg]", "engine", "diff.",
    "angle of attack, diff. [deg]", "speed, diff. [%]", "nock furthest sideways [mm]", "its way, diff. [mm]",
    "shaft off the arm [ms]", "engine",
)  # fmt: skip


def sideways_row(words: str) -> str:
    """One shot at clear and on its way."""
    both = sideways(words)
    ours, theirs, along, passage = both.ours.clear, both.theirs.clear, both.theirs.along, both.ours.passage
    assert along is not None
    apart = at_clear(both)
    off = [f"{1e3 * t:.2f}" if t > 0.0 else "" for t in (passage.arm_left_at, along.off_arm)]
    return row(
        words,
        text(ours.sideways_velocity, 3), text(theirs.sideways_velocity, 3), text(ours.yaw, 3), text(theirs.yaw, 3),
        text(ours.side_angle_of_attack, 3), text(theirs.side_angle_of_attack, 3),
        text(apart.side_angle_of_attack, 4), text(apart.angle_of_attack, 4), text(100 * apart.speed, 2),
        text(passage.nock_furthest, 2), text(way_apart(both), 3), *off,
    )  # fmt: skip


def sideways_table() -> str:
    """All of them."""
    return markdown(HEAD, [sideways_row(words) for words in (*CLEAR, *STRIKES)])


def largest_table() -> str:
    """The largest differences of the shots whose tail passes clear, on both meshes."""
    most_yaw, most_finer = compare_sideways.MOST_YAW, compare_sideways.MOST_YAW_FINER
    pitch, way = compare_sideways.MOST_PITCH, compare_sideways.MOST_WAY
    default, fine = [sideways(words) for words in CLEAR], [finer(words) for words in CLEAR]

    def at(of: Callable[[Gap], float]) -> Callable[[Pair], float]:
        return lambda both: of(at_clear(both))

    lines = (
        ("speed [%]", at(lambda g: 100 * g.speed), 3, 100 * compare.MOST_SPEED, 100 * compare.MOST_SPEED),
        ("vertical velocity [m/s]", at(lambda g: g.vertical_velocity), 4, None, None),
        ("pitch [deg]", at(lambda g: g.pitch), 4, pitch, pitch),
        ("angle of attack [deg]", at(lambda g: g.angle_of_attack), 4, pitch, pitch),
        ("sideways velocity [m/s]", at(lambda g: g.sideways_velocity), 4, None, None),
        ("yaw [deg]", at(lambda g: g.yaw), 4, most_yaw, most_finer),
        ("side angle of attack [deg]", at(lambda g: g.side_angle_of_attack), 4, most_yaw, most_finer),
        ("yaw rate [rad/s]", at(lambda g: g.yaw_rate), 3, None, None),
        ("nock's way sideways [mm]", way_apart, 3, way, way),
    )
    rows = []
    for words, of, digits, *tolerances in lines:
        cells = []
        for pairs, most in zip((default, fine), tolerances, strict=True):
            cells += [text(max(abs(of(both)) for both in pairs), digits), "" if most is None else f"{most:g}"]
        rows.append(row(words, *cells))
    mesh = f"{CELLS} cells, engine's step {1e6 * STEP:g} us"
    finer_mesh = f"{2 * CELLS} cells, {0.5e6 * STEP:g} us"
    return markdown(row("largest difference at clear", mesh, "tolerance", finer_mesh, "tolerance"), rows)


TABLES: dict[str, Callable[[], str]] = {"sideways": sideways_table, "sideways-largest": largest_table}


def out_of_tolerance(words: str, both: Pair, most_yaw: float) -> list[str]:
    """What a shot is too far apart in, and whether its tail does not pass clear."""
    apart = at_clear(both)
    found = {
        "speed": abs(apart.speed) < compare.MOST_SPEED,
        "pitch": abs(apart.pitch) < compare_sideways.MOST_PITCH,
        "angle of attack": abs(apart.angle_of_attack) < compare_sideways.MOST_PITCH,
        "yaw": abs(apart.yaw) < most_yaw,
        "side angle of attack": abs(apart.side_angle_of_attack) < most_yaw,
        "way of the nock": way_apart(both) < compare_sideways.MOST_WAY,
        "the tail touches": tail_touches(both) == (False, False),
    }
    return [f"{words}: {name}" for name, good in found.items() if not good]
