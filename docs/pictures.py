"""Draws the pictures of README.md and docs/ into docs/images/.

python docs/pictures.py
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image

import archerysim
from archerysim import show

ROOT = Path(__file__).resolve().parents[1]
IMAGES = ROOT / "docs" / "images"


def main() -> None:
    """Draw them all."""
    IMAGES.mkdir(exist_ok=True)
    setup = archerysim.load(ROOT / "examples" / "club-outdoor.toml")
    launch = archerysim.shoot(setup)
    data = archerysim.sweep(setup, over={"nock.locators.reading": "4 mm:12 mm:0.5 mm"})
    pictures = {
        "sweep": lambda: show.sweep(data),
        "square": lambda: show.square(launch),
        "bow": lambda: show.bow(launch),
        "throat": lambda: show.throat(launch),
        "traces": lambda: show.traces(launch),
    }
    for name, draw in pictures.items():
        path = IMAGES / f"{name}.png"
        show.save_figure(draw(), path)
        with Image.open(path) as picture:  # few colours: a third of the size
            picture.convert("RGB").quantize(128, dither=Image.Dither.NONE).save(path, optimize=True)
        print(f"wrote docs/images/{name}.png")


if __name__ == "__main__":
    main()
