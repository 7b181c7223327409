"""Who turned the arrow, and when, in a dozen lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.text import nose, tail, told, turning, with_warnings

if TYPE_CHECKING:
    from archerysim.study.explanation.explain import Explained
    from archerysim.study.explanation.turns import Turn

MOST = 3  # parts named
LEAST_PART = 0.005  # a part that turns the arrow by less is not named [deg]


def explain_answer(result: Explained) -> str:
    """The parts of the bow that turned the arrow most, and when it was turned.

    Parameters
    ----------
    result : Explained
    """
    from archerysim.study.explanation.turns import largest_turns

    launch = result.launch
    attack = launch.clear.angle_of_attack
    known = [one for one in result.contributions if one.known and abs(one.value[0]) >= LEAST_PART]
    parts = sorted(known, key=lambda one: -abs(one.value[0]))[:MOST]
    who = [f"{one.part.name}, {nose(float(one.value[0]))}: {one.part.here}" for one in parts]
    turns = [_turn(one) for one in largest_turns(result.instants)]
    neutral = tail(float(result.base[0]))
    lines = [f"{launch.setup.name}: why the arrow leaves as it does"]
    lines += told(
        [
            ("leaves", f"{tail(attack)} against the way it flies; with every part neutral {neutral}"),
            *_under("turned by", who or ["none of the parts"]),
            *_under("turned when", turns),
        ]
    )
    lines += ["  The shot in order of time, and every part: --all", ""]
    return with_warnings(lines, launch.warnings, len(launch.limits_passed))


def _under(name: str, texts: list[str]) -> list[tuple[str, str]]:
    """Rows of one name, which stands before the first."""
    return [("" if k else name, text) for k, text in enumerate(texts)]


def _turn(turn: Turn) -> str:
    begin, end = turn.before, turn.after
    return (
        f"{1e3 * begin.time:.1f} to {1e3 * end.time:.1f} ms, {begin.name} to {end.name}: {turning(begin.pitch_rate)}, "
        f"then {turning(end.pitch_rate).removeprefix('turning ')}"
    )
