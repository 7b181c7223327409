"""A real browser without a window: the system's Chromium, driven by the system's driver."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

INSTALL = "apt-get install -y chromium chromium-driver"
ARGUMENTS = (
    "--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars",
    "--force-device-scale-factor=1",
)  # fmt: skip


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
