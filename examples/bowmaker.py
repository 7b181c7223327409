"""The lower bolt was turned in by a quarter turn: what moved, does it show at the butt, and two ways back.

python examples/bowmaker.py
"""

from pathlib import Path

import archerysim
from archerysim import show
from archerysim.study.notes.group_means import SCATTER, told_by_two_ends

OUT = Path("out")
IN = "0.25 turn"


def high(launch: archerysim.Launch) -> float:
    """How far a bare shaft lands above the fletched ones at 18 m [cm]."""
    return 100.0 * archerysim.bare_difference(launch, "18 m").height


def row(name: str, launch: archerysim.Launch) -> str:
    """One bow in numbers."""
    at = launch.braced
    lengths = [1e3 * one for one in (at.upper_tiller, at.lower_tiller, at.brace_height)]
    told = "".join(f"{one:8.1f}" for one in (*lengths, launch.reading))
    return f"{name:30}{told}{launch.draw_force / 4.448:7.2f}{high(launch):+10.1f}"


def main() -> None:
    """Turn it, compare, go back in two ways; then the same over a whole turn, drawn."""
    setup = archerysim.load("examples/club-outdoor.toml")
    bow = archerysim.fit(setup)
    before, turned = bow.launch(), bow.with_changes({"lower_limb.bolt_turns": IN})
    after, up = turned.launch(), turned.at_reading((turned.launch().reading + 1.0, "mm"))
    needed = (high(before) - high(after)) / (high(up) - high(after))  # [mm] of reading, on a straight line

    print(f"{'':33}upper   lower   brace reading   draw bare high")
    print(f"{'':34}[mm]    [mm]    [mm]    [mm]   [lb]      [cm]")
    print(row("as measured", before))
    print(row("lower bolt in, nothing else", after))
    print(row("way back: the locators", turned.at_reading((after.reading + needed, "mm"))))
    print(row("way back: upper bolt in too", turned.launch({"upper_limb.bolt_turns": IN})))
    print(row("no way back: the old reading", turned.at_reading((before.reading, "mm"))))

    told = 100.0 * told_by_two_ends(18.0, SCATTER)
    moved = abs(high(after) - high(before))
    print(f"at 18 m it moves a bare shaft {moved:.1f} cm; two ends of a club archer's tell {told:.1f} cm:", end=" ")
    print("it shows" if moved > told else "it does not show")
    half = 0.5 * abs(high(up) - high(after))
    print(f"half a millimetre of reading, what a square tells, would move it {half:.1f} cm: ", end="")
    print("it shows" if half > told else "nor does that")
    print(f"the locators would go {abs(needed):.1f} mm {'up' if needed > 0.0 else 'down'}")
    print(*after.warnings, sep="\n")

    OUT.mkdir(exist_ok=True)
    data = archerysim.sweep(setup, over={"lower_limb.bolt_turns": "-0.5 turn:0.5 turn:0.25 turn"})
    drawn = ["angle_of_attack", "reading", "upper_tiller", "lower_tiller"]
    show.save_figure(show.sweep(data, drawn), OUT / "bowmaker.png")


if __name__ == "__main__":
    main()
