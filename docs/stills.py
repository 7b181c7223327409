"""Draws the pictures of the pages that move: the lesson and the players, as a browser shows them, into docs/images/.

python docs/stills.py

It needs Chromium with its driver and selenium, which ``.[test]`` brings.
"""

from __future__ import annotations

import base64
import shutil
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import archerysim
from archerysim import show

ROOT = Path(__file__).resolve().parents[1]
IMAGES = ROOT / "docs" / "images"
WIDTH = 736  # [px] of a picture in the site: letters keep their size
SHARPER = 1.5  # dots for each of those
AT = 0.7  # of the time that a picture shows
# name, first and last element of the still
STILLS = {
    "lesson": (".player", "#lanes"),
    "moving-shot": ("body", "body"),
    "moving-flight": ("body", "body"),
}
BOX = """
const time = document.querySelector("#time, input[type=range]:not([id^=slider])");
time.value = Number(time.min || 0) + arguments[2] * (Number(time.max) - Number(time.min || 0));
time.dispatchEvent(new Event("input"));
for (const one of document.querySelectorAll(".headline, #held")) { one.style.position = "static"; }
const boxes = [arguments[0], arguments[1]].map((one) => document.querySelector(one).getBoundingClientRect());
return [boxes[0].top + scrollY, boxes[1].bottom + scrollY];
"""


def main() -> None:
    """Make the pages, open each and take its picture."""
    from selenium import webdriver

    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if program is None or driver is None:
        sys.exit("chromium or chromedriver is not there: apt-get install -y chromium chromium-driver")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for one in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars"):
        options.add_argument(one)
    with TemporaryDirectory() as folder:
        pages = _pages(Path(folder))
        opened = webdriver.Chrome(options=options, service=webdriver.ChromeService(executable_path=driver))
        try:
            for name, (first, last) in STILLS.items():
                (IMAGES / f"{name}.png").write_bytes(_still(opened, pages / f"{name}.html", first, last))
                print(f"wrote docs/images/{name}.png")
        finally:
            opened.quit()


def _pages(folder: Path) -> Path:
    """The pages of which stills are taken."""
    setup = archerysim.load(ROOT / "examples" / "club-outdoor.toml")
    launch = archerysim.shoot(setup)
    (folder / "lesson.html").write_text(show.lesson_page(archerysim.lesson(setup)), encoding="utf-8")
    show.animate(launch, folder / "moving-shot.html")
    show.animate_flight(archerysim.bare_difference(launch, "18 m"), folder / "moving-flight.html")
    return folder


def _still(opened: Any, page: Path, first: str, last: str) -> bytes:
    """The page from one element to another, at a later time, without what stands still at its top."""
    size = {"width": WIDTH, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    opened.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    opened.get(page.as_uri())
    opened.implicitly_wait(1)
    top, bottom = opened.execute_script(BOX, first, last, AT)
    clip = {"x": 0, "y": max(top - 8, 0), "width": WIDTH, "height": bottom - top + 16, "scale": SHARPER}
    taken = opened.execute_cdp_cmd("Page.captureScreenshot", {"clip": clip, "captureBeyondViewport": True})
    return base64.b64decode(taken["data"])


if __name__ == "__main__":
    main()
