"""Locator height against launch pitch: what a millimetre does to the arrow, how sure that is, and what may be claimed.

python examples/researcher.py
"""

from pathlib import Path

import numpy as np

import archerysim
from archerysim import show
from archerysim.study.uncertainty.inputs import draws_of, inputs_from, moved_together, quasi_normal

OUT = Path("out")
BOWS = 32  # that all fit what was measured on this one


def shoot_and_save() -> None:
    """Sweep the reading, with a band, and keep it: the table carries the bow and what was held."""
    OUT.mkdir(exist_ok=True)
    setup = archerysim.load("examples/club-outdoor.toml")
    data = archerysim.sweep(setup, over={"nock.locators.reading": "4 mm:12 mm:1 mm"}, band=BOWS)
    archerysim.save(data, OUT / "researcher.csv")


def lines_of(setup: archerysim.Setup) -> tuple[np.ndarray, np.ndarray]:
    """Of each bow that fits the same measures: slope of pitch [deg/mm], and the reading of no pitch [mm]."""
    inputs = inputs_from(setup, None, 2)  # the usual ones, by how well an archer knows them
    slope, level = [], []
    for amounts in draws_of(inputs, quasi_normal(len(inputs), BOWS, 0)):
        try:
            bow = archerysim.fit(moved_together(setup, inputs, amounts))
            low, high = (bow.at_reading(reading).clear.pitch for reading in ("4 mm", "12 mm"))
        except archerysim.ShotError:
            continue  # some of such bows cannot be shot
        slope.append((high - low) / 8.0)
        level.append(4.0 - low / slope[-1])
    return np.array(slope), np.array(level)


def main() -> None:
    """Shoot, read again, tell slope and level."""
    shoot_and_save()
    data = archerysim.read(OUT / "researcher.csv")  # from here on a file is enough
    show.save_figure(
        show.sweep(data, ["pitch", "angle_of_attack", "pitch_rate", "vertical_velocity"]), OUT / "researcher.png"
    )
    clear = data.sel(moment="clear")
    print(f"{data.attrs['title']}; held: {data.attrs['held']}")

    here = clear.sel(nock_locators_reading=8.0)
    print(
        f"pitch at 8 mm, clear: {here.pitch:+.2f} deg; nine of ten bows {here.pitch_low:+.2f} to {here.pitch_high:+.2f}"
    )
    slope = clear.pitch.polyfit("nock_locators_reading", 1).polyfit_coefficients.values[0]
    slopes, levels = lines_of(archerysim.loads(data.attrs["setup"]))
    low, high = np.percentile(slopes, [5, 95])
    print(f"one millimetre up: {slope:+.3f} deg; nine of ten bows {low:+.3f} to {high:+.3f}")
    print(f"may be claimed: up turns the nose down, known to {50 * (high - low) / abs(slope):.0f} %")
    low, high = np.percentile(levels, [5, 95])
    print(f"may not: where the shaft leaves level; with {len(levels)} bows anywhere from {low:.0f} to {high:.0f} mm")


if __name__ == "__main__":
    main()
