"""Draws the pictures of README.md and docs/ into docs/images/.

python docs/pictures.py
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image

import archerysim
from archerysim import show
from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
from archerysim.study.bare_shaft.flights import flights
from archerysim.study.explanation.explain import explain
from archerysim.study.groups.group import group
from archerysim.study.notes.notes_file import load_notes
from archerysim.study.notes.read_group import diagnose

ROOT = Path(__file__).resolve().parents[1]
IMAGES = ROOT / "docs" / "images"


def main() -> None:
    """Draw them all."""
    IMAGES.mkdir(exist_ok=True)
    setup = archerysim.load(ROOT / "examples" / "club-outdoor.toml")
    launch = archerysim.shoot(setup)
    data = archerysim.sweep(setup, over={"nock.locators.reading": "4 mm:12 mm:0.5 mm"}, band=True, progress=False)
    flown = flights(setup, "4 mm:10 mm:3 mm", distance="18 m")
    today = flights(setup, "8 mm", distance="50 m").rows[0]
    apart = bare_against_fletched(setup)
    gaps = archerysim.gaps(setup, progress=False)
    told = explain(setup)
    read = diagnose(setup, load_notes(ROOT / "examples" / "notes.toml"), further=False)
    two = archerysim.compare(setup, archerysim.load(ROOT / "examples" / "barebow.toml"))
    case = archerysim.case_sheet(setup, load_notes(ROOT / "examples" / "season.toml"))
    shot = group(setup, progress=False)
    bent = archerysim.strain_along(archerysim.load(ROOT / "examples" / "longbow.toml"))
    pictures = {
        "sweep": lambda: show.sweep(data),
        "square": lambda: show.square(launch),
        "bow": lambda: show.bow(launch),
        "limbs": lambda: show.limbs(setup),
        "strain": lambda: show.strain(bent),
        "throat": lambda: show.throat(launch),
        "traces": lambda: show.traces(launch),
        "views": lambda: show.views(launch),
        "sideways": lambda: show.sideways(launch),
        "clearance": lambda: show.clearance(launch),
        "strips": lambda: show.strips(flown),
        "flight": lambda: show.flight([today.fletched, today.bare]),
        "bare-against-fletched": lambda: show.bare_against_fletched(apart),
        "target-card": lambda: show.target_card(apart, "18 m", face_diameter="40 cm"),
        "gaps": lambda: show.gaps(gaps),
        "explain": lambda: show.explain(told),
        "contributions": lambda: show.contributions(told),
        "before-after": lambda: show.before_and_after(two),
        "sheet": lambda: show.sheet_page(case),
        "measures": lambda: show.measures_pages(setup)[0],
        "notes": lambda: show.diagnosis(read),
        "group": lambda: show.group(shot),
    }
    for name, draw in pictures.items():
        path = IMAGES / f"{name}.png"
        show.save_figure(draw(), path)
        with Image.open(path) as picture:  # few colours: a third of the size
            picture.convert("RGB").quantize(128, dither=Image.Dither.NONE).save(path, optimize=True)
        print(f"wrote docs/images/{name}.png")


if __name__ == "__main__":
    main()
