"""The page for a class in a real browser: sliders, fresh shots, keyboard, narrow screens, print."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from archerysim.equipment import with_si
from archerysim.equipment.readings import by_underside
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.show.lesson.page import lesson_page
from archerysim.show.lesson.texts import ENGLISH
from archerysim.study.lesson.lesson import Lesson
from tests.support.shot.example_bows import measured
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
from tests.support.show.made_lessons import club_lesson, rough_lesson

UNSEEN = ".headline, #handout"  # stays while the page scrolls; for paper
WITHIN = 0.02  # of the range
SEEN = """
const seen = [document.title];
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walk.nextNode()) {
  if (!walk.currentNode.parentElement.closest("script, style")) { seen.push(walk.currentNode.textContent); }
}
for (const one of document.querySelectorAll("*")) {
  for (const name of ["aria-label", "aria-valuetext", "title", "alt", "placeholder"]) {
    if (one.hasAttribute(name)) { seen.push(one.getAttribute(name)); }
  }
}
return seen;
"""
OTHER_LETTERS = str.maketrans("aeiouAEIOU", "àéîøüÀÉÎØÜ")
UNITS = {"mm", "cm", "in", "yd", "lb"}  # of two letters or more; they stay
TIME = """
const slider = document.getElementById("time");
slider.value = arguments[0];
slider.dispatchEvent(new Event("input"));
"""
SLIDE = """
const slider = document.getElementById("slider-" + arguments[0]);
slider.value = arguments[1];
slider.dispatchEvent(new Event("input"));
return Number(document.querySelector("output[for=slider-" + arguments[0] + "]").dataset.value);
"""


@pytest.fixture(scope="session")
def made() -> Lesson:
    return club_lesson()


@pytest.fixture(scope="session")
def page(made: Lesson, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("lesson") / "lesson.html"
    path.write_text(lesson_page(made), encoding="utf-8")
    return path


@pytest.fixture
def opened(driver: Any, page: Path) -> Any:
    return fresh(driver, page)


def end_of(driver: Any, slider: str, end: str) -> str:
    """The "min" or "max" of a slider."""
    return str(driver.execute_script(f"return document.getElementById('slider-{slider}').{end}"))


def number(driver: Any, name: str) -> float:
    return float(driver.execute_script("return document.getElementById(arguments[0]).dataset.value", name))


def picture(driver: Any) -> str:
    """What the three arrows' strips hold."""
    return str(driver.execute_script("return document.getElementById('lanes').innerHTML"))


def test_opens_without_network_and_without_errors(opened: Any, page: Path) -> None:
    opened.execute_script("document.getElementById('lesson-side').click()")
    opened.execute_script("document.getElementById('left-handed').click()")
    assert opened.get_log("browser") == []
    assert requested(opened) == [page.as_uri()]
    assert page.stat().st_size < 3e6


@pytest.mark.parametrize("side", [False, True])
def test_numbers_agree_with_fresh_shots(opened: Any, made: Lesson, side: bool) -> None:
    bow = FittedBow.of(measured("club-outdoor"), "coarse")
    if side:
        opened.execute_script("document.getElementById('lesson-side').click()")
    ranges = {one.name: one.range for one in made.missed}
    draws = np.random.default_rng(7)
    for _ in range(4):
        values = {}
        for one in made.sliders:
            low, high = (int(end_of(opened, one.name, end)) for end in ("min", "max"))
            values[one.name] = opened.execute_script(SLIDE, one.name, str(draws.integers(low, high + 1)))
        by = 0.5 * (values["split"] - 5e-3)
        moved = bow.with_changes(with_si({"bow.upper_tiller": 0.195 + by, "bow.lower_tiller": 0.190 - by}))
        launch = moved.launch(
            by_underside(moved.setup, values["reading"])
            | with_si(
                {"nock.slope": values["slope"], "arrow.spine": values["spine"], "rest.stiffness": values["rest"],
                 "side.preload": values["preload"]}
            )
        )  # fmt: skip
        apart = bare_difference(launch, "18 m")
        if side:
            assert abs(1e-3 * number(opened, "fact-side") - apart.side) < WITHIN * ranges["side"]
        else:
            assert abs(1e-3 * number(opened, "fact-height") - apart.height) < WITHIN * ranges["height"]
            miss = number(opened, "fact-attack") - launch.clear.angle_of_attack
            assert abs(miss) < WITHIN * ranges["attack"]


def test_a_flight_on_the_page_is_that_of_the_library(opened: Any, made: Lesson) -> None:
    today = {one.name: one.today for one in made.sliders}
    assert number(opened, "fact-height") == pytest.approx(1e3 * made.gap(today).height, abs=0.02)
    opened.execute_script("document.getElementById('lesson-side').click()")
    assert number(opened, "fact-side") == pytest.approx(1e3 * made.gap(today).side, abs=0.02)


def test_captions_say_when(opened: Any) -> None:
    """What stands under a path is of one instant: the arrow that climbs as it leaves may land low."""

    def told() -> list[str]:
        return [one.text for one in opened.find_elements("css selector", ".lane .caption")]

    assert all(one.startswith("As it leaves: ") for one in told())
    opened.execute_script(TIME, 30)
    assert all(one.startswith("On its way: ") for one in told())
    opened.execute_script(TIME, 100)
    assert all(one.startswith("As it lands: ") for one in told())
    assert not any("No swing" in one for one in opened.find_element("tag name", "body").text.splitlines())


def test_triangles_stand_by_the_convention_of_the_file(opened: Any, page: Path, tmp_path: Path) -> None:
    """By the top the whole nock is under them: as far above the drawn nock's lower face as it is high."""
    places = """
      const square = document.getElementById("square");
      const label = (text) => Number([...square.querySelectorAll("text")]
        .find((one) => one.textContent === text).getAttribute("y"));
      const [nil, twenty] = [label("0"), label("20 mm")];
      return [...square.querySelectorAll("polygon")].slice(-3).map((one) => {
        const y = Number(one.getAttribute("points").split(" ")[1].split(",")[1]);
        return 20 * (nil - 5 - y) / (nil - twenty);
      });"""
    under, key = opened.execute_script(places), text(opened, "square-key")
    other = tmp_path / "top.html"
    told = page.read_text(encoding="utf-8")
    assert told.count('"convention":"underside"') == 1
    other.write_text(told.replace('"convention":"underside"', '"convention":"top"'), encoding="utf-8")
    opened.get(other.as_uri())
    assert opened.execute_script(places) == pytest.approx([one + 5.8 for one in under], abs=0.05)
    assert ("to the underside of the nock" in key, "to the top of the nock" in text(opened, "square-key")) == (
        True,
        True,
    )
    opened.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert illegible(opened, UNSEEN) == []


def test_together_is_found_anew_and_the_picture_moves(opened: Any, made: Lesson) -> None:
    assert number(opened, "still") == pytest.approx(made.still, abs=0.2)
    before, still = picture(opened), number(opened, "still")
    target = opened.execute_script("return document.getElementById('target').innerHTML")
    square = opened.execute_script("return document.getElementById('square').innerHTML")
    opened.execute_script(SLIDE, "split", "6")
    assert picture(opened) != before
    assert number(opened, "still") < still - 0.3  # a greater split: lower locators
    opened.execute_script(SLIDE, "reading", "-30")
    assert opened.execute_script("return document.getElementById('target').innerHTML") != target
    assert opened.execute_script("return document.getElementById('square').innerHTML") != square
    opened.execute_script("document.getElementById('reset').click()")
    assert number(opened, "still") == pytest.approx(still)


def test_bare_high_sends_the_locators_up(opened: Any) -> None:
    lowest = end_of(opened, "reading", "min")
    opened.execute_script(SLIDE, "reading", lowest)
    assert number(opened, "fact-height") > 0.0
    assert "locators UP" in text(opened, "facts")
    highest = end_of(opened, "reading", "max")
    opened.execute_script(SLIDE, "reading", highest)
    assert number(opened, "fact-height") < 0.0
    assert "locators DOWN" in text(opened, "facts")


def test_a_bare_shaft_whose_tail_strikes_is_not_believed(opened: Any, tmp_path: Path) -> None:
    """A longbow's over its shelf: far too low the tail kicks up, and the bare shaft is low (common practice)."""
    page = tmp_path / "longbow.html"
    page.write_text(lesson_page(rough_lesson(measured("longbow"))), encoding="utf-8")
    opened.get(page.as_uri())
    still = number(opened, "still")
    for step in range(int(end_of(opened, "reading", "min")), 0, 5):
        reading = 1e3 * opened.execute_script(SLIDE, "reading", str(step))
        misleads = reading < still and number(opened, "fact-height") < 0.0
        assert misleads == ("misleads" in text(opened, "fact-move"))
    opened.execute_script(SLIDE, "reading", end_of(opened, "reading", "min"))
    assert "Begin with the locators high" in text(opened, "fact-move")
    opened.execute_script(SLIDE, "reading", end_of(opened, "reading", "max"))
    assert "locators DOWN" in text(opened, "fact-move")


def test_left_handed_changes_left_and_right_alone(opened: Any) -> None:
    facts = text(opened, "facts")
    opened.execute_script("document.getElementById('left-handed').click()")
    assert text(opened, "facts") == facts
    assert opened.execute_script("return document.getElementById('only-sides').checkVisibility()")
    opened.execute_script("document.getElementById('lesson-side').click()")
    opened.execute_script(SLIDE, "spine", end_of(opened, "spine", "min"))
    side = number(opened, "fact-side")
    assert "further right" in text(opened, "fact-side")  # a stiffer shaft, in the left hand
    opened.execute_script("document.getElementById('left-handed').click()")
    assert "further left" in text(opened, "fact-side")
    assert number(opened, "fact-side") == side


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("lesson_of", ["lesson-up", "lesson-side"])
def test_text_fits_and_never_collides(opened: Any, width: int, lesson_of: str) -> None:
    wide(opened, width)
    opened.refresh()
    opened.execute_script("document.getElementById(arguments[0]).click()", lesson_of)
    opened.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    for slid in ("", "min", "max"):
        for name in ("reading", "split", "slope", "spine", "rest", "preload") if slid else ():
            opened.execute_script(
                SLIDE, name, opened.execute_script(f"return document.getElementById('slider-{name}').{slid}")
            )
        assert illegible(opened, UNSEEN) == []


def lengthened(text: str) -> str:
    """A sentence of no language, a third longer; what is filled in stays."""

    def one(part: str) -> str:
        other = "".join(
            bit if bit.startswith("{") else bit.translate(OTHER_LETTERS) for bit in re.split(r"(\{\w+\})", part)
        )
        more = max(1, round(0.3 * len(re.sub(r"\{\w+\}", "", part))))
        return other + "".join(" " if k % 7 == 0 and more > 3 else "ø" for k in range(more))

    return "|".join(map(one, text.split("|")))


@pytest.fixture(scope="session")
def foreign(made: Lesson, tmp_path_factory: pytest.TempPathFactory) -> Path:
    texts = {key: text if key == "language" else lengthened(text) for key, text in ENGLISH.items()}
    path = tmp_path_factory.mktemp("foreign") / "lesson.html"
    path.write_text(lesson_page(made, texts), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [390, 1280])
def test_another_language_fits_and_leaves_no_english(opened: Any, foreign: Path, made: Lesson, width: int) -> None:
    wide(opened, width)
    opened.get(foreign.as_uri())
    opened.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    for lesson_of in ("lesson-up", "lesson-side"):
        opened.execute_script("document.getElementById(arguments[0]).click()", lesson_of)
        for end in ("min", "max"):
            for one in made.sliders:
                opened.execute_script(SLIDE, one.name, end_of(opened, one.name, end))
            opened.execute_script("document.getElementById('on').click()")
            seen = "\n".join(opened.execute_script(SEEN)).replace(made.name, "")
            english = {word for word in re.findall(r"[^\W\d_]{2,}", seen) if re.fullmatch(r"[a-zA-Z]+", word)}
            assert {word for word in english if re.search("[aeiouAEIOU]", word)} - UNITS == set()
            assert illegible(opened, UNSEEN) == []
    facts = text(opened, "facts")
    assert re.search(r"\d\.\d mm \((\d+ )?\d+/\d+ in\)", facts)
    opened.execute_script("document.getElementById('reset').click()")
    assert number(opened, "still") == pytest.approx(made.still, abs=0.2)


def test_the_keyboard_alone_does(opened: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    def on() -> str:
        return str(opened.execute_script("return document.activeElement.id || document.activeElement.tagName"))

    def press(key: str) -> None:
        opened.switch_to.active_element.send_keys(key)

    seen = []
    opened.execute_script("document.body.focus()")
    for _ in range(60):
        press(Keys.TAB)
        seen.append(on())
        if seen[-1] == "slider-reading":
            before = number(opened, "fact-height")
            press(Keys.ARROW_LEFT)
            assert number(opened, "fact-height") != before
        if seen[-1] == "back":
            press(Keys.TAB)
            seen.append(on())
            clock = text(opened, "clock")
            press(Keys.ENTER)
            assert text(opened, "clock") != clock
        if seen[-1] == "SUMMARY":
            press(Keys.ENTER)
            assert opened.execute_script("return document.activeElement.parentElement.open")
        if seen[-1] == "print":
            break
    for name in (
        "lesson-up",
        "lesson-side",
        "slider-preload",
        "reset",
        "left-handed",
        "play",
        "time",
        "speed",
        "print",
    ):
        assert name in seen
    assert seen.count("SUMMARY") >= 3


def test_every_control_has_a_name_and_changes_are_announced(opened: Any) -> None:
    assert unnamed(opened) == []
    live = opened.execute_script("return document.querySelector('[aria-live=polite]').textContent")
    opened.execute_script(SLIDE, "reading", "-20")
    assert opened.execute_script("return document.querySelector('[aria-live=polite]').textContent") != live
    told = "return document.getElementById('slider-reading').getAttribute('aria-valuetext')"
    assert "mm" in opened.execute_script(told)


def test_three_arrows_fly_and_stop_at_the_target(opened: Any) -> None:
    before = picture(opened)
    opened.execute_script("document.getElementById('speed').selectedIndex = 4; document.getElementById('play').click()")
    opened.execute_async_script(
        "const done = arguments[0]; const look = () => document.getElementById('play').textContent === 'Fly again'"
        " ? done() : setTimeout(look, 50); look();"
    )
    assert picture(opened) != before
    assert opened.execute_script("return document.getElementById('time').value") == "100"
    assert "landed" in text(opened, "live")


def test_reduced_motion_shows_the_end_at_once(opened: Any) -> None:
    little_motion(opened)
    opened.refresh()
    opened.execute_script("document.getElementById('play').click()")
    assert opened.execute_script("return document.getElementById('time').value") == "100"


def test_prints_one_page(opened: Any) -> None:
    assert printed_pages(opened) == 1
    opened.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    assert opened.execute_script("return document.getElementById('handout').checkVisibility()")
    assert not opened.execute_script("return document.querySelector('main').checkVisibility()")
    strips = opened.execute_script("return document.querySelectorAll('#handout-strips svg').length")
    assert strips == 6  # each enlarged, and in true size below it
    words = text(opened, "handout")
    assert "true size (x1)" in words
    assert "invented bow" in words
    assert "Never loose" in words
