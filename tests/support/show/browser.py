"""A real browser without a window: the system's Chromium, driven by the system's driver."""

from __future__ import annotations

import base64
import json
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

WIDTHS = (390, 1280, 1920)  # of a phone, a laptop, a projector [px]
LEAST_LETTERS = 14.0  # [px]
INSTALL = "apt-get install -y chromium chromium-driver"
ARGUMENTS = (
    "--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars",
    "--force-device-scale-factor=1",
)  # fmt: skip

ILLEGIBLE = """
const boxes = [];
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walk.nextNode()) {
  const node = walk.currentNode;
  const parent = node.parentElement;
  const unseen = "script, style, select, .unseen, .skip" + arguments[1];
  if (!node.textContent.trim() || parent.closest(unseen)) { continue; }
  const size = parseFloat(getComputedStyle(parent).fontSize);
  const range = document.createRange();
  range.selectNodeContents(node);
  for (const box of range.getClientRects()) {
    if (box.width > 1 && box.height > 1) { boxes.push([node.textContent.trim(), box, size]); }
  }
}
const bad = [];
for (let i = 0; i < boxes.length; i += 1) {
  const [text, a, size] = boxes[i];
  if (size < arguments[0]) { bad.push("small: " + text); }
  if (a.right > innerWidth + 1 || a.left < -1) { bad.push("outside: " + text); }
  for (let j = i + 1; j < boxes.length; j += 1) {
    const [other, b] = boxes[j];
    if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
        Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 5) { bad.push(text + " | " + other); }
  }
}
if (document.documentElement.scrollWidth > innerWidth) { bad.push("wider than the screen"); }
return bad;
"""
UNNAMED = """
return [...document.querySelectorAll("button, input, select")].filter((one) => !(
  one.getAttribute("aria-label") || one.textContent.trim() || (one.labels && one.labels.length))).map((one) => one.id);
"""


@contextmanager
def browser() -> Iterator[Any]:
    """The browser, its console and its requests noted; the test is skipped, with the reason, where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not there: pip install -e '.[test]'")
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if program is None or driver is None:
        pytest.skip(f"chromium or chromedriver is not there: {INSTALL}")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for one in ARGUMENTS:
        options.add_argument(one)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    opened = webdriver.Chrome(options=options, service=webdriver.ChromeService(executable_path=driver))
    try:
        yield opened
    finally:
        opened.quit()


def wide(driver: Any, width: int, height: int = 900) -> None:
    """Make the page so wide; a phone's width is a phone's."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500},
    )


def fresh(driver: Any, page: Path, width: int = 1280) -> Any:
    """Open a page on a screen so wide, with nothing noted before and nothing asked of it."""
    wide(driver, width)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    for kind in ("browser", "performance"):
        driver.get_log(kind)
    driver.get(page.as_uri())
    return driver


def requested(driver: Any) -> list[str]:
    """What was asked for since the page was opened, the page itself among it."""
    asked = [
        json.loads(one["message"])["message"]["params"]["request"]["url"]
        for one in driver.get_log("performance")
        if '"Network.requestWillBeSent"' in one["message"]
    ]
    return [url for url in asked if not url.startswith("data:")]


def illegible(driver: Any, unseen: str = "") -> list[str]:
    """Texts that lie over others, are too small or stick out; those in ``unseen`` (CSS) are left out."""
    return list(driver.execute_script(ILLEGIBLE, LEAST_LETTERS, f", {unseen}" if unseen else ""))


def unnamed(driver: Any) -> list[str]:
    """Controls without a name for a screen reader."""
    return list(driver.execute_script(UNNAMED))


def little_motion(driver: Any) -> None:
    """Ask pages for little motion from their next opening on."""
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]}
    )


def printed_pages(driver: Any) -> int:
    """How many pages of A4 the page takes."""
    from selenium.webdriver.common.print_page_options import PrintOptions

    paper = PrintOptions()
    paper.page_width, paper.page_height = 21.0, 29.7
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(driver.print_page(paper))))


def text(driver: Any, name: str) -> str:
    """What an element holds."""
    return str(driver.execute_script("return document.getElementById(arguments[0]).textContent", name))
