"""Bare shafts land high: today's shot and the shot after the move, side by side, in pictures and in slow motion.

python examples/coach.py
"""

from pathlib import Path

import archerysim
from archerysim import show

OUT = Path("out")
TODAY, MOVED = "6 mm", "8.5 mm"  # by the underside: as found, and where the groups sent the locators
DISTANCE = "18 m"


def way(angle: float) -> str:
    """An angle in words."""
    return f"{abs(angle):.2f} degrees {'nose up (tail low)' if angle > 0.0 else 'nose down (tail high)'}"


def main() -> None:
    """Shoot both, say it in words, draw it."""
    OUT.mkdir(exist_ok=True)
    bow = archerysim.fit(archerysim.load("examples/barebow.toml"))
    for name, reading in (("today", TODAY), ("moved", MOVED)):
        launch = bow.at_reading(reading)
        apart = archerysim.bare_difference(launch, DISTANCE)
        print(f"{name}: {launch.reading:.1f} mm by the underside, {launch.reading_top:.1f} mm by the top")
        print(f"  the air meets the shaft {way(launch.clear.angle_of_attack)} as it clears the bow")
        gap, drag = 100.0 * apart.height, 100.0 * apart.drag_and_mass
        lands = f"{abs(gap):.1f} cm {'high' if gap > 0.0 else 'low'}"
        print(f"  at {DISTANCE} a bare shaft lands {lands} of the fletched ones")
        print(f"  (wanted: {drag:+.1f} cm, what less drag alone does)")
        show.save_figure(show.square(launch), OUT / f"coach-{name}-square.png")
        show.animate_flight(apart, OUT / f"coach-{name}.html")  # slow motion, opens in a browser
    both = archerysim.flights(bow, [TODAY, MOVED], distance=DISTANCE)
    show.save_figure(show.strips(both), OUT / "coach-strips.png")
    print(*launch.warnings, sep="\n")


if __name__ == "__main__":
    main()
