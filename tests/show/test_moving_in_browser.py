"""Pages of moving pictures in a real browser: every picture, keyboard, a clock turned by hand, phones, paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import archerysim
from archerysim.shot.launch import Launch
from archerysim.show import animate, animate_flight
from archerysim.show.motion.texts import said
from tests.support.show.browser import (
    WIDTHS,
    fresh,
    illegible,
    little_motion,
    printed_pages,
    requested,
    text,
    unnamed,
    wide,
)
from tests.support.show.pages_read_back import numbers, points
from tests.support.show.shots_in_both_planes import sideways_shot

# a clock that is turned by hand: turn(ms) draws a picture every 10 ms until nothing waits
BY_HAND = """
let now = 0;
let waiting = [];
performance.now = () => now;
window.requestAnimationFrame = (then) => { waiting.push(then); };
window.turn = (ms) => {
  const begun = now;
  while (waiting.length > 0 && now - begun < ms) {
    now += 10;
    const then = waiting;
    waiting = [];
    then.forEach((one) => one(now));
  }
  return (now - begun) / 1000;
};
"""
DRAWN = """
const [panel, name] = arguments;
const svg = document.querySelectorAll("#pictures figure > svg")[panel];
const inside = svg.querySelector("svg");
const line = inside.querySelector("[data-name='" + name + "']").getAttribute("points") || "";
return [line.split(" ").filter(Boolean).map((one) => one.split(",").map(Number)), Number(inside.getAttribute("width")),
  Number(inside.getAttribute("height"))];
"""
AROUND = """
return [...document.querySelectorAll("#pictures figure")].map((one) =>
  [one.querySelector(".title").textContent, one.querySelector(".told").textContent]);
"""
STEPPED = f"""
const [count, which, name] = arguments;
const drawn = function () {{ {DRAWN} }};
const around = function () {{ {AROUND} }};
const out = [];
for (let k = 0; k <= count; k += 1) {{
  out.push({{ frame: Number(document.getElementById("time").value), around: around(), drawn: drawn(which, name),
    clock: document.getElementById("clock").textContent }});
  document.dispatchEvent(new KeyboardEvent("keydown", {{ key: "ArrowRight" }}));
}}
return out;
"""
SLID = """
const slider = document.getElementById("time");
slider.value = Math.round(slider.max * arguments[0]);
slider.dispatchEvent(new Event("input"));
"""
STILL = "return document.getElementById('pictures').innerHTML"


@pytest.fixture(scope="module")
def left_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return animate(sideways_shot("left-handed"), tmp_path_factory.mktemp("left") / "left.html")


@pytest.fixture(scope="module")
def three(shot: Launch, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three flights, their names as long as a user may make them."""
    flights = [archerysim.fly(shot, distance="18 m", fletched=one) for one in (True, False, True)]
    names = ["today", "a bare shaft with a name that is quite long, too long for one line on a phone", "x" * 60]
    return animate_flight(flights, tmp_path_factory.mktemp("three") / "three.html", frames=20, names=names)


@pytest.fixture(params=["release", "flight"])
def path(request: pytest.FixtureRequest, page: Path, flight_page: Path) -> Path:
    return page if request.param == "release" else flight_page


@pytest.fixture
def opened(driver: Any, path: Path) -> Any:
    return fresh(driver, path)


@pytest.fixture
def by_hand(driver: Any, path: Path) -> Iterator[Any]:
    """The page with a clock that the test turns."""
    made = driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": BY_HAND})
    yield fresh(driver, path)
    driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", made)


def press(driver: Any, key: str) -> None:
    from selenium.webdriver.common.by import By

    driver.find_element(By.TAG_NAME, "body").send_keys(key)


def frame(driver: Any) -> int:
    return int(driver.execute_script("return document.getElementById('time').value"))


def own(values: list[str], k: int) -> str:
    return values[k if len(values) > 1 else 0] if values else ""


def test_opens_without_network_and_without_errors(opened: Any, path: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    press(opened, Keys.ARROW_RIGHT)
    press(opened, Keys.END)
    assert opened.get_log("browser") == []
    assert requested(opened) == [path.as_uri()]


def test_every_picture_is_what_the_page_holds(opened: Any, path: Path) -> None:
    scene = numbers(path)
    last = len(scene["time"]) - 1
    name = "string" if "release" in scene["title"] else "shaft, bare"
    left, right, low, high = scene["panels"][0]["w"]
    held = points(scene, name)
    pictures = opened.execute_script(STEPPED, last + 1, 0, name)
    assert [one["frame"] for one in pictures] == [*range(last + 1), last]  # no further than the last
    for k, one in enumerate(pictures[:-1]):
        for (title, told), panel in zip(one["around"], scene["panels"], strict=True):
            assert title.startswith(own(panel["title"], k).split("{")[0])
            assert told == own(panel["told"], k)
        assert one["clock"].startswith(f"{scene['told'][k]} {scene['unit']}")
        assert scene["phases"][k] in one["clock"]
        seen, width, height = one["drawn"]
        place = np.array(seen) / [width, -height] * [right - left, high - low] + [left, high]
        unit = [(right - left) / width, (high - low) / height]
        assert (np.abs(place - held[k]) < 0.06 * np.abs(unit)).all()


def test_enlargements_are_told_as_drawn(driver: Any, path: Path) -> None:
    scene = numbers(path)
    for width in WIDTHS:
        fresh(driver, path, width)
        for which, panel in enumerate(scene["panels"]):
            if not panel["times"]:
                continue
            _, wide_, high_ = driver.execute_script(DRAWN, which, panel["l"][-1]["n"])
            left, right, low, high = panel["w"]
            title = driver.execute_script(AROUND)[which][0]
            drawn = (high_ / abs(high - low)) / (wide_ / abs(right - left))
            assert drawn == pytest.approx(float(title.rsplit("x", 1)[1]), rel=0.02)


def test_plays_as_long_as_it_says_and_obeys_its_keys(by_hand: Any, path: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    scene = numbers(path)
    last = len(scene["time"]) - 1
    lasts = scene["time"][-1] / scene["second"] * scene["slow"]
    press(by_hand, Keys.SPACE)
    assert text(by_hand, "play") == "Pause"
    assert by_hand.execute_script("return turn(1e6)") == pytest.approx(lasts, abs=0.03)
    assert (frame(by_hand), text(by_hand, "play")) == (last, "Play again")
    press(by_hand, "+")
    press(by_hand, Keys.SPACE)
    assert by_hand.execute_script("return turn(1e6)") == pytest.approx(0.5 * lasts, abs=0.03)
    press(by_hand, "-")
    press(by_hand, Keys.SPACE)
    by_hand.execute_script("turn(arguments[0])", 400 * lasts)
    press(by_hand, Keys.SPACE)
    halted = frame(by_hand)
    assert 0 < halted < last
    assert text(by_hand, "play") == "Play"
    by_hand.execute_script("turn(1e6)")
    assert frame(by_hand) == halted
    press(by_hand, Keys.ARROW_LEFT)
    assert frame(by_hand) == halted - 1
    press(by_hand, Keys.HOME)
    assert frame(by_hand) == 0
    press(by_hand, Keys.END)
    assert frame(by_hand) == last
    speeds = by_hand.execute_script("return document.getElementById('speed').textContent")
    assert f"{scene['slow']:g} times slower than real" in speeds


def test_a_screen_reader_hears_where_it_stopped_and_not_every_picture(by_hand: Any, path: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    scene = numbers(path)
    assert unnamed(by_hand) == []
    press(by_hand, Keys.ARROW_RIGHT)
    first = text(by_hand, "live")
    assert first == text(by_hand, "clock")
    press(by_hand, Keys.SPACE)
    by_hand.execute_script("turn(500)")
    assert text(by_hand, "live") == first
    assert text(by_hand, "clock") != first
    press(by_hand, Keys.SPACE)
    assert text(by_hand, "live") == text(by_hand, "clock")
    told = by_hand.execute_script("return document.getElementById('time').getAttribute('aria-valuetext')")
    assert told.startswith(text(by_hand, "clock"))
    assert f"of {len(scene['time'])}" in told
    labels = by_hand.execute_script(
        "return [...document.querySelectorAll('#pictures figure > svg')].map((one) => one.getAttribute('aria-label'))"
    )
    assert all(labels)
    assert by_hand.execute_script("return document.querySelector('[aria-live=polite]').id") == "live"


def test_the_keyboard_alone_reaches_everything(opened: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    seen = []
    while "speed" not in seen:
        opened.switch_to.active_element.send_keys(Keys.TAB)
        seen.append(opened.execute_script("return document.activeElement.id || document.activeElement.className"))
        if seen[-1] == "on":
            before = frame(opened)
            opened.switch_to.active_element.send_keys(Keys.ENTER)
            assert frame(opened) == before + 1
        if seen[-1] == "play":  # a button of its own: space does it once, not twice
            opened.switch_to.active_element.send_keys(Keys.SPACE)
            assert text(opened, "play") == "Pause"
            opened.switch_to.active_element.send_keys(Keys.SPACE)
            assert text(opened, "play") == "Play"
            opened.execute_script("document.getElementById('play').focus()")
    assert seen == ["skip", "play", "back", "on", "time", "speed"]


@pytest.mark.parametrize(
    ("which", "width"),
    [
        *(("page", one) for one in WIDTHS),
        *(("three", one) for one in WIDTHS),
        ("flight_page", 390),
        ("flight_page", WIDTHS[-1]),
        ("left_page", 390),
    ],
)
def test_text_fits_and_never_collides(driver: Any, which: str, width: int, request: pytest.FixtureRequest) -> None:
    path = request.getfixturevalue(which)
    fresh(driver, path, width)
    wide(driver, width, driver.execute_script("return document.documentElement.scrollHeight") + 200)
    driver.refresh()
    for share in (0.0, 0.2, 0.5, 0.7, 1.0):
        driver.execute_script(SLID, share)
        assert illegible(driver) == [], share


def test_courses_of_forces_are_drawn_alike(driver: Any, page: Path) -> None:
    fresh(driver, page)
    rows = [k for k, one in enumerate(numbers(page)["panels"]) if one["course"]]
    assert len(rows) == 4
    drawn = [driver.execute_script(DRAWN, k, "now") for k in rows]
    assert len({(width, height) for _, width, height in drawn}) == 1


def test_controls_stay_on_the_screen_of_a_phone(driver: Any, page: Path) -> None:
    fresh(driver, page, 390)
    held = (
        "const box = document.getElementById('held').getBoundingClientRect(); return [box.top, box.bottom, innerHeight]"
    )
    for down in (0, 600):
        driver.execute_script("window.scrollTo(0, arguments[0])", down)
        top, bottom, high = driver.execute_script(held)
        assert 0.0 < top < bottom <= high + 1.0
        assert bottom - top < 0.25 * high


def test_little_motion_shows_the_end_at_once_and_says_so(opened: Any, path: Path) -> None:
    seen = "return document.getElementById('little-motion').checkVisibility()"
    assert not opened.execute_script(seen)
    little_motion(opened)
    opened.refresh()
    assert opened.execute_script(seen)
    opened.execute_script("document.getElementById('play').click()")
    assert frame(opened) == len(numbers(path)["time"]) - 1
    assert text(opened, "play") == "Play again"
    assert text(opened, "live") == text(opened, "clock")
    still = opened.execute_script(STILL)
    opened.execute_async_script("setTimeout(arguments[0], 200)")
    assert opened.execute_script(STILL) == still


def test_prints_one_page_with_its_pictures_and_cautions(opened: Any) -> None:
    assert printed_pages(opened) == 1
    opened.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    for there in ("#pictures svg", "#clock", ".notes", "h1"):
        assert opened.execute_script("return document.querySelector(arguments[0]).checkVisibility()", there), there
    for gone in (".player", "#keys"):
        assert not opened.execute_script("return document.querySelector(arguments[0]).checkVisibility()", gone), gone


def test_a_left_handed_archer_s_page_says_what_is_mirrored(driver: Any, left_page: Path) -> None:
    fresh(driver, left_page)
    words = driver.execute_script("return document.body.innerText")
    assert said("mirrored") in words
    assert "from above (right is up)" in words
    assert "right → (away from the window)" in words
