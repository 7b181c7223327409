"""One shot explained in pictures: the square on the string, the bow, the throat, the shot over time and in
slow motion.

python examples/coach.py
"""

from pathlib import Path

import archerysim
from archerysim import show


def way(angle: float) -> str:
    """An angle in words."""
    return f"{abs(angle):.2f} degrees {'nose up (tail low)' if angle > 0.0 else 'nose down (tail high)'}"


def main() -> None:
    """Shoot once, draw it, say it in words."""
    out = Path("out")
    out.mkdir(exist_ok=True)
    launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    for picture in (show.square, show.bow, show.throat, show.traces):
        show.save_figure(picture(launch), out / f"coach-{picture.__name__}.png")
        print(f"wrote out/coach-{picture.__name__}.png")
    print(f"wrote {show.animate(launch, out / 'coach-release.html')}")  # slow motion, opens in a browser

    arrow = launch.clear
    print(f"Locators at {launch.reading:.1f} mm to the underside of the nock, {launch.reading_top:.1f} mm to its top.")
    print(f"Nock axis above square: {launch.axis_above_square:.1f} mm.")
    print(f"As it clears the bow the shaft points {way(arrow.pitch)}; the air meets it {way(arrow.angle_of_attack)}.")
    print(
        f"To fly straighter the locators would go {'up' if arrow.angle_of_attack > 0.0 else 'down'}, little by little."
    )
    print(*launch.warnings, sep="\n")


if __name__ == "__main__":
    main()
