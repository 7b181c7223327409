"""Moving pictures in every kind of file, whole or not at all."""

from __future__ import annotations

import dataclasses
import re
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

import archerysim
from archerysim.equipment import SetupError
from archerysim.shot.flight.bare_shaft import BareDifference
from archerysim.shot.flight.fly import Flight
from archerysim.shot.launch import Launch
from archerysim.show import animate, animate_flight
from archerysim.show.motion.flight import flight_scene
from archerysim.show.motion.paint import Painter
from archerysim.show.motion.player import player
from archerysim.show.motion.release import release_scene
from archerysim.show.motion.scene import PAGE
from archerysim.show.motion.texts import ENGLISH
from tests.support.show.pages_read_back import FEW, numbers, outside

SHOW = Path(__file__).parents[2] / "archerysim" / "show"
HOMES = (SHOW / "motion", SHOW / "motion" / "page", SHOW / "page")


class Closing(HTMLParser):
    """Whether a page's elements close."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("meta", "input", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_page_needs_nothing_from_outside(page: Path, flight_page: Path) -> None:
    for one in (page, flight_page):
        text = one.read_text("utf-8")
        reader = Closing()
        reader.feed(text)
        assert reader.open == []
        assert outside(text) == []
        assert "@@" not in text
        assert "default-src 'none'" in text
        assert one.stat().st_size < 1.5e6
    assert "Bare shafts fly less steadily" in flight_page.read_text("utf-8")


def test_every_sentence_is_used() -> None:
    code = [one for home in HOMES for kind in ("*.py", "*.[chj]*") for one in home.glob(kind) if one.name != "texts.py"]
    used = "".join(one.read_text(encoding="utf-8") for one in code)
    for key in ENGLISH:
        assert re.search(rf"\b{key}\b", used) or key in ("away_left", "away_right"), key


def test_a_table_of_texts_may_be_another_language_and_has_to_fit(shot: Launch) -> None:
    scene = release_scene(shot, frames=FEW)
    assert ">Los!</button>" in player(scene, {**ENGLISH, "play": "Los!"})
    with pytest.raises(SetupError, match=r"texts\.play: this sentence is missing"):
        player(scene, {key: text for key, text in ENGLISH.items() if key != "play"})
    with pytest.raises(SetupError, match=r"Hold \{time\} \{unit\} in it"):
        player(scene, {**ENGLISH, "now": "{time}"})


def test_the_default_mesh_makes_a_page_of_bearable_size(launch: Launch, tmp_path: Path) -> None:
    assert animate(launch, tmp_path / "shot.html").stat().st_size < 1.5e6


def test_names_cannot_break_the_page(shot: Launch, tmp_path: Path) -> None:
    name = '</script><b>"&@@x'
    odd = dataclasses.replace(shot, setup=shot.setup.replace(name=name))
    path = animate(odd, tmp_path / "odd.html", frames=FEW)
    assert "</script><b>" not in path.read_text("utf-8")
    assert numbers(path)["title"] == f"{name}: the release"


def test_warnings_stand_with_the_picture(shot: Launch) -> None:
    warned = dataclasses.replace(shot, warnings=("The arrow is light.",))
    scene = release_scene(warned, frames=FEW)
    assert scene.notes[0] == "The arrow is light."
    assert release_scene(dataclasses.replace(warned, events=()), frames=FEW).notes[:1] == ("The arrow is light.",)
    figure = Painter(scene).figure
    assert "The arrow is light." in [one.get_text() for one in figure.texts]


def test_a_gif_has_its_frames_and_lasts_as_long_as_it_should(
    shot: Launch, pair: BareDifference, tmp_path: Path
) -> None:
    made = [
        animate(shot, tmp_path / "shot.gif", frames=FEW, slow=100.0),
        animate_flight(pair, tmp_path / "flight.gif", frames=FEW, slow=5.0, left_handed=True),
    ]
    scenes = (release_scene(shot, slow=100.0), flight_scene(pair, slow=5.0))
    for path, scene in zip(made, scenes, strict=True):
        with Image.open(path) as gif:
            assert gif.n_frames == FEW
            assert gif.size[0] == 960
            durations = []
            for k in range(FEW):
                gif.seek(k)
                durations.append(gif.info["duration"])
        lasts = 1e3 * scene.slow * scene.time[-1] / (FEW - 1)
        assert durations[:-1] == [pytest.approx(lasts, abs=5.1)] * (FEW - 1)
        assert durations[-1] == 2000
    assert sorted(one.name for one in tmp_path.iterdir()) == ["flight.gif", "shot.gif"]


def test_the_painter_shows_what_the_scene_says(shot: Launch) -> None:
    scene = release_scene(shot, frames=FEW)
    painter = Painter(scene)
    figure = painter.draw(3)
    (string,) = [one for one in figure.axes[0].lines if one.get_gid() == "string"]
    np.testing.assert_allclose(string.get_xydata(), scene.line("string").at(3))
    (index,) = [one for one in figure.axes[0].lines if one.get_gid() == "index"]
    assert index.get_visible() == (scene.line("index").strength(3) > 0.0)
    assert figure.get_figwidth() * 100.0 == pytest.approx(PAGE[0])
    assert min(one.get_fontsize() for ax in figure.axes for one in ax.texts) >= 12.0


def test_ffmpeg_is_given_every_picture(shot: Launch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import matplotlib

    folder = tmp_path / "film"
    folder.mkdir()
    stand_in = tmp_path / "ffmpeg"
    stand_in.write_text(
        f"#!{sys.executable}\nimport sys\nread = len(sys.stdin.buffer.read())\n"
        "open(sys.argv[-1], 'w').write(str(read) + ' ' + ' '.join(sys.argv))\n"
    )
    stand_in.chmod(0o755)
    monkeypatch.setitem(matplotlib.rcParams, "animation.ffmpeg_path", str(stand_in))
    path = animate(shot, folder / "shot.mp4", frames=2, slow=100.0)
    size, *words = path.read_text().split()
    wide, high = (int(one) for one in words[words.index("-s") + 1].split("x"))
    assert (wide, high % 2) == (1920, 0)
    assert int(size) == 4 * wide * high * 3  # two pictures; the last, 2.3 s long, once more
    assert [one.name for one in folder.iterdir()] == ["shot.mp4"]


@pytest.mark.parametrize("ends", ["sys.stdin.buffer.read(); sys.exit(3)", "sys.exit(3)"])
def test_a_film_that_ffmpeg_does_not_make(
    ends: str, shot: Launch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where the disk is full."""
    import matplotlib

    stand_in = tmp_path / "ffmpeg"
    stand_in.write_text(f"#!{sys.executable}\nimport sys\n{ends}\n")
    stand_in.chmod(0o755)
    monkeypatch.setitem(matplotlib.rcParams, "animation.ffmpeg_path", str(stand_in))
    target = tmp_path / "shot.mp4"
    target.write_text("older")
    with pytest.raises(SetupError, match=r"path: ffmpeg made no film \(.*\)\. Make room for temporary files, or use"):
        animate(shot, target, frames=2, slow=100.0)
    assert target.read_text() == "older"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["ffmpeg", "shot.mp4"]


def test_without_ffmpeg_an_mp4_is_refused(
    shot: Launch, pair: BareDifference, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from matplotlib.animation import FFMpegWriter

    monkeypatch.setattr(FFMpegWriter, "isAvailable", classmethod(lambda _: False))
    with pytest.raises(SetupError, match=r"ffmpeg, which is missing here\. Use \.html or \.gif"):
        animate(shot, tmp_path / "shot.mp4")
    with pytest.raises(SetupError, match="ffmpeg"):
        animate_flight(pair, tmp_path / "flight.mp4")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "how", "words"),
    [
        ("x.webm", {}, "unknown ending"),
        ("no/such/x.gif", {}, "cannot be written"),
        ("x.html", {"frames": 1}, "frames: 1 is not a number of pictures. Give a whole number from 2 to 1000"),
        ("x.html", {"frames": 2.5}, r"frames: 2\.5 is not a number of pictures"),
        ("x.html", {"frames": 2.0}, r"frames: 2\.0 is not a number of pictures"),
        ("x.html", {"frames": "10"}, "frames: '10' is not a number of pictures"),
        ("x.html", {"slow": 0.5}, r"slow: 0\.5 is outside the allowed range 1 to 100000"),
        ("x.html", {"slow": float("nan")}, "slow: nan is not a usable number"),
        ("x.html", {"slow": "x"}, "slow: "),
        ("x.gif", {"slow": 10.0}, "a .gif shows at most 50 a second"),
    ],
)
def test_bad_requests(shot: Launch, tmp_path: Path, name: str, how: dict[str, Any], words: str) -> None:
    with pytest.raises(SetupError, match=words):
        animate(shot, tmp_path / name, **how)
    assert list(tmp_path.iterdir()) == []


def test_nothing_half_written_is_left(shot: Launch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "shot.gif"
    target.write_text("older")
    draw = Painter.draw

    def fails_later(self: Painter, frame: int) -> Any:
        if frame == 2:
            raise RuntimeError("stopped")
        return draw(self, frame)

    monkeypatch.setattr(Painter, "draw", fails_later)
    with pytest.raises(RuntimeError, match="stopped"):
        animate(shot, target, frames=4)
    assert [one.name for one in tmp_path.iterdir()] == ["shot.gif"]
    assert target.read_text() == "older"


def test_what_does_not_belong_together(shot: Launch, pair: BareDifference, tmp_path: Path) -> None:
    other: Flight = archerysim.fly(shot, distance="20 m")
    for flights, words in (([], "0 given"), ([other] * 4, "4 given"), ([pair.bare, other], "one distance")):
        with pytest.raises(ValueError, match=words):
            animate_flight(flights, tmp_path / "x.html")
    with pytest.raises(ValueError, match="names: 1 given for 2"):
        animate_flight(pair, tmp_path / "x.html", names=["one"])
    with pytest.raises(ValueError, match="no trace"):
        animate(dataclasses.replace(shot, trace=None), tmp_path / "x.html")
    assert list(tmp_path.iterdir()) == []
