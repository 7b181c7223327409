"""Draws the pictures of README.md and docs/ into docs/images/: all of them, or those named.

python docs/pictures.py [NAME ...]

Those of pages that move are taken by ``python docs/stills.py`` out of a browser; docs/gallery.md shows them all.
"""

from __future__ import annotations

import io
import sys
from functools import cache
from pathlib import Path
from typing import Any

import bench
import stories
from PIL import Image

import archerysim
from archerysim import show
from archerysim.study.bare_shaft.bare_shaft import bare_against_fletched
from archerysim.study.bare_shaft.flights import flights
from archerysim.study.explanation.explain import explain
from archerysim.study.groups.compare import compare_locators, group_by_reading
from archerysim.study.groups.group import group
from archerysim.study.measured.data import DrawForce, OwnData, Speeds
from archerysim.study.measured.fit_data import compare_data
from archerysim.study.notes.notes_file import load_notes
from archerysim.study.notes.read_group import diagnose
from archerysim.study.tuning.tune import today as stands_at

ROOT = Path(__file__).resolve().parents[1]
IMAGES = ROOT / "docs" / "images"
MEASURED = OwnData(  # invented: what a scale and a chronograph may have said of the club bow
    draw_force=DrawForce(([14, 18, 22, 26, 28], "in"), ([11.4, 17.9, 24.2, 30.6, 34.3], "lbf")),
    speeds=Speeds(([290, 330, 380], "gr"), ([183, 172, 163], "fps")),
)


def main(named: list[str]) -> None:
    """Draw them."""
    IMAGES.mkdir(exist_ok=True)
    setup = archerysim.load(ROOT / "examples" / "club-outdoor.toml")
    stave, longbow = (archerysim.load(ROOT / "examples" / f"{name}.toml") for name in ("flatbow", "longbow"))
    launch = cache(lambda: archerysim.shoot(setup))
    data = cache(
        lambda: archerysim.sweep(setup, over={"nock.locators.reading": "4 mm:12 mm:0.5 mm"}, band=True, progress=False)
    )
    flown = cache(lambda: flights(setup, "4 mm:10 mm:3 mm", distance="18 m"))
    today = cache(lambda: flights(setup, "8 mm", distance="50 m").rows[0])
    apart = cache(lambda: bare_against_fletched(setup))
    gaps = cache(lambda: archerysim.gaps(setup, progress=False))
    told = cache(lambda: explain(setup))
    read = cache(lambda: diagnose(setup, load_notes(ROOT / "examples" / "notes.toml"), further=False))
    two = cache(lambda: archerysim.compare(setup, archerysim.load(ROOT / "examples" / "barebow.toml")))
    case = cache(lambda: archerysim.case_sheet(setup, load_notes(ROOT / "examples" / "season.toml")))
    shot = cache(lambda: group(setup, progress=False))
    bent = cache(lambda: archerysim.strain_along(longbow))
    at_bench = cache(lambda: archerysim.change(archerysim.load(ROOT / "examples" / "training-bow.toml"), bench.STEPS))
    pictures = {
        "sweep": lambda: show.sweep(data()),
        "square": lambda: show.square(launch()),
        "bow": lambda: show.bow(launch()),
        "limbs": lambda: show.limbs(setup),
        "strain": lambda: show.strain(bent()),
        "bench": lambda: show.bench_change(at_bench()),
        "even-tiller": lambda: show.even_tiller(archerysim.even_tiller(stave, split="3 mm")),
        "tillering-tree": lambda: show.tillering_tree(archerysim.tillering(stave, draw_weight="32 lb")),
        "limb-design": lambda: show.limb_design(archerysim.limb_design(longbow, draw_weight="40 lb", material="ash")),
        "bench-map": lambda: show.bench_map(archerysim.bench_map(setup, planes=1)),
        "timed-tiller": lambda: show.timed_tiller(archerysim.timed_tiller(setup)),
        "let-down": lambda: show.let_down(archerysim.let_down(longbow)),
        "after-shot": lambda: show.after_shot(archerysim.after_shot(setup)),
        "throat": lambda: show.throat(launch()),
        "traces": lambda: show.traces(launch()),
        "views": lambda: show.views(launch()),
        "sideways": lambda: show.sideways(launch()),
        "clearance": lambda: show.clearance(launch()),
        "strips": lambda: show.strips(flown()),
        "flight": lambda: show.flight([today().fletched, today().bare]),
        "bare-against-fletched": lambda: show.bare_against_fletched(apart()),
        "target-card": lambda: show.target_card(apart(), "18 m", face_diameter="40 cm"),
        "gaps": lambda: show.gaps(gaps()),
        "explain": lambda: show.explain(told()),
        "contributions": lambda: show.contributions(told()),
        "before-after": lambda: show.before_and_after(two()),
        "sheet": lambda: show.sheet_page(case()),
        "measures": lambda: show.measures_pages(setup)[0],
        "notes": lambda: show.diagnosis(read()),
        "group": lambda: show.group(shot()),
        "group-by-reading": lambda: show.group_by_reading(group_by_reading(setup, progress=False)),
        "locators-compared": lambda: show.locators_compared(compare_locators(setup, progress=False)),
        "draw-curve": lambda: show.curve(archerysim.draw(setup)),
        "energy": lambda: show.energy(launch()),
        "tuned": lambda: show.tuned(archerysim.tune(setup), stands_at(archerysim.fit(setup), "nock.locators.reading")),
        "slips": lambda: show.tornado(archerysim.sensitivity(setup, progress=False)),
        "own-data": lambda: show.own_data(compare_data(setup, MEASURED)),
    }
    for name, draw in pictures.items():
        if not named or name in named:
            save(name, draw())
    if not named or any(name.startswith("story-") for name in named):
        for name, left in stories.pictures().items():
            write(name, left)


def save(name: str, drawn: Any) -> None:
    """Keep what was drawn."""
    path = IMAGES / f"{name}.png"
    show.save_figure(drawn, path)
    write(name, path.read_bytes())


def write(name: str, png: bytes) -> None:
    """Keep a picture with few colours: a third of the size."""
    with Image.open(io.BytesIO(png)) as picture:
        few = picture.convert("RGB").quantize(128, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.save(IMAGES / f"{name}.png", optimize=True)
    print(f"wrote docs/images/{name}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
