"""Locator height against launch pitch: a sweep of readings, saved as CSV and as a picture.

python examples/researcher.py
"""

from pathlib import Path

import archerysim
from archerysim import show


def main() -> None:
    """Sweep, save, tell slope and zero."""
    out = Path("out")
    out.mkdir(exist_ok=True)
    setup = archerysim.load("examples/club-outdoor.toml")
    data = archerysim.sweep(setup, over={"nock.locators.reading": "4 mm:12 mm:0.5 mm"})
    archerysim.save(data, out / "researcher.csv")
    show.save_figure(show.sweep(data), out / "researcher.png")

    clear = data.sel(moment="clear")
    reading = data["nock_locators_reading"].values
    print(f"{data.attrs['title']}; held: {data.attrs['held']}")
    for name in ("pitch", "pitch_rate", "vertical_velocity", "angle_of_attack"):
        line = clear[name].polyfit("nock_locators_reading", 1).polyfit_coefficients.values
        print(f"{name} at clear: {line[0]:+.3f} {clear[name].units} a millimetre up", end="")
        zero = -line[1] / line[0]
        print(f", zero near {zero:.1f} mm" if reading[0] <= zero <= reading[-1] else ", not zero in this range")
    print("wrote out/researcher.csv and out/researcher.png")


if __name__ == "__main__":
    main()
