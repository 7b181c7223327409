"""Bare against fletched over the reading, and the target card, of results made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.patches import Circle, Ellipse, Rectangle
from matplotlib.text import Text

from archerysim.equipment import Setup, SetupError
from archerysim.shot.flight.range_cautions import CAUTION, FAR_BARE, FAR_BUTT
from archerysim.show import bare_against_fletched, target_card
from archerysim.show.bare_shaft.verdict import verdict
from archerysim.show.style import WANTED
from archerysim.study.bare_shaft.result import BareAgainstFletched, Missing
from archerysim.study.tuning.first_move import FirstMove
from tests.show.test_flight_pictures import words
from tests.support.show.legible_pictures import assert_apart, assert_legible, line
from tests.support.study.made_ranges import ranges_of_lines

READINGS = np.array([4.0, 8.0, 12.0])


@pytest.fixture
def made(setup: Setup) -> Any:
    """A maker of straight results: bare as wanted at ``zero`` [mm] plus a slip by draw, falling 20 mm a mm at 18 m."""

    def make(zero: float = 6.0, slip: float = 0.5, **fields: Any) -> BareAgainstFletched:
        slips = slip * np.linspace(-1.0, 1.0, 41)
        distances, plain = np.array([18.0, 50.0]), np.array([0.003, 0.060])
        slope, readings = np.array([0.020, 0.100]), fields.get("readings", READINGS)

        def heights(shift: np.ndarray) -> np.ndarray:
            return plain + (zero + shift[:, None, None] - readings[None, :, None]) * slope

        # from 40 mm towards the window to 240 mm away from it at 18 m, whatever the reading
        aside = np.broadcast_to(
            np.linspace(-0.04, 0.24, 41)[:, None, None] * distances / 18.0, (41, len(readings), 2)
        )  # fmt: skip
        given: dict[str, Any] = {
            "setup": setup, "readings": readings, "distances": distances, "today": 8.0, "nock_height": 5.8,
            "taped": True, "inputs": (), "seed": 0, "value": heights(np.zeros(1))[0], "drag_and_mass": plain,
            "sample": heights(slips), "sample_drag_and_mass": np.tile(plain, (41, 1)), "missing": (),
            "sample_side": aside, **fields,
        }  # fmt: skip
        given["ranges"] = ranges_of_lines(readings, given["sample"], plain, distances)
        return BareAgainstFletched(**{"moves": (None, None), "butts": (None, None), **given})

    return make


def verdicts(figure: Any) -> list[list[str]]:
    """Lines under each face, from top to bottom."""
    return [[text.get_text() for text in ax.texts if text.get_gid() == "verdict"] for ax in figure.axes]


def test_lines_bands_and_what_is_wanted(made: Any) -> None:
    result = made(slip=0.6)
    figure = bare_against_fletched(result)
    for j, ax in enumerate(figure.axes):
        np.testing.assert_allclose(line(ax, "bare").get_ydata(), 1e3 * result.median[:, j])
        (band,) = [one for one in ax.collections if one.get_gid() == "band"]
        corners = band.get_paths()[0].vertices
        for x, low, middle, high in zip(
            READINGS, result.lower[:, j], result.median[:, j], result.upper[:, j], strict=True
        ):
            at = corners[np.isclose(corners[:, 0], x), 1]
            assert at.min() == pytest.approx(1e3 * low)
            assert at.max() == pytest.approx(1e3 * high)
            assert low < middle < high
        assert line(ax, "fletched").get_ydata()[0] == 0.0
        assert line(ax, "wanted").get_ydata()[0] == pytest.approx((3.0, 60.0)[j])
        assert line(ax, "together").get_xdata()[0] == pytest.approx(6.0)
        assert line(ax, "today").get_xdata()[0] == 8.0
    # 90 % of slips between -0.54 and 0.54
    assert figure.axes[0].get_title(loc="left") == "18 m: best 6.0 mm\n90 %: 5.5 to 6.5 mm"
    text = words(figure)
    assert FAR_BUTT in text  # 50 m is among the distances
    assert FAR_BARE in text
    assert "90 % of 41 bows" in text
    assert "not the size of your group" in text
    assert "height scales differ" in text
    assert "today's reading, 8.0 mm" in text
    assert WANTED in text
    assert_legible(figure)


def test_places_beyond_the_readings_are_not_told_as_numbers(made: Any) -> None:
    figure = bare_against_fletched(made(zero=3.0, slip=2.0))
    assert figure.axes[0].get_title(loc="left") == "18 m: best under 4 mm\n90 %: under 4 to 4.8 mm"
    assert not [one for one in figure.axes[0].lines if one.get_gid() == "together"]
    rising = made()
    up = made(sample=rising.sample[:, ::-1])
    assert "no reading here" in bare_against_fletched(up).axes[0].get_title(loc="left")
    assert "no advice" in " ".join(verdicts(target_card(up))[0])


def test_bows_without_a_shot_are_counted(made: Any) -> None:
    lost = Missing(3, float("nan"), float("nan"), "brace: no")
    sample = made().sample.copy()
    sample[3] = np.nan
    result = made(missing=(lost,), sample=sample)
    assert "40 bows that all fit what was measured; 1 more gave no shot" in words(bare_against_fletched(result))
    assert verdicts(target_card(result))[0][-1] == "40 of 40 bows say UP"


def test_which_way_and_how_far(made: Any) -> None:
    figure = target_card(made(slip=0.4))
    high, today, low = verdicts(figure)
    assert high == ["bare about 43 mm high", "▲ locators UP", "2.0 mm (1/16 in)", "to 6.0 mm (1/4 in)",
                    "90 %: between 1.6 mm up", "and 2.4 mm up", "41 of 41 bows say UP"]  # fmt: skip
    assert today == ["bare about 37 mm low", "▼ locators DOWN", "2.0 mm (1/16 in)", "to 6.0 mm (1/4 in)",
                     "90 %: between 2.4 mm down", "and 1.6 mm down", "41 of 41 bows say DOWN"]  # fmt: skip
    assert low[2:4] == ["3.0 mm (1/8 in)", "to 9.0 mm (3/8 in)"]  # 6 mm are wanted, 3 mm made now
    assert low[4:6] == ["90 %: between 6.4 mm down", "and 5.6 mm down"]
    told = [[text for text in ax.texts if text.get_gid() == "reading"] for ax in figure.axes]
    assert [[text.get_text() for text in one] for one in told] == [
        ["reading 4.0 mm (3/16 in)", ""], ["reading 8.0 mm (5/16 in)", "▲ TODAY"], ["reading 12.0 mm (1/2 in)", ""],
    ]  # fmt: skip
    assert [one[0].get_fontweight() for one in told] == ["normal", "bold", "normal"]
    text = words(figure)
    assert WANTED in text
    assert "not the size of your group" in text
    assert "Leave the sight alone; move both locators" in text
    assert CAUTION in text
    assert_legible(figure)
    assert_apart(figure)


def test_far_out_the_wanted_height_is_told_and_aimed_at(made: Any) -> None:
    (one,) = verdicts(target_card(made(), "50 m", readings=([6.4], "mm"), face_diameter="122 cm"))
    # 20 mm above the fletched one and still 40 mm under what drag and mass alone make: the locators go down
    assert one[:4] == [
        "bare about 20 mm high",
        "(it should be 60 mm high)",
        "NOT SURE: SHOOT MORE",
        "rather DOWN 0.4 mm (< 1/16 in)",
    ]


def test_what_is_not_sure_is_not_told_as_certain(made: Any) -> None:
    (one,) = verdicts(target_card(made(slip=3.0), readings=([7.0], "mm")))
    assert one == ["bare about 15 mm low", "NOT SURE: SHOOT MORE", "rather DOWN 1.0 mm (1/16 in)",
                   "to 6.0 mm (1/4 in)", "90 %: between 3.7 mm down", "and 1.7 mm up",
                   "27 of 41 bows say DOWN"]  # fmt: skip
    (near,) = verdicts(target_card(made(), readings=([6.08], "mm")))
    assert near[1:] == ["leave the locators", "90 %: between 0.5 mm down", "and 0.4 mm up"]
    (wide,) = verdicts(target_card(made(slip=3.0), readings=([6.1], "mm")))
    assert wide[1:3] == ["NOT SURE: SHOOT MORE", "better leave the locators"]


def test_a_reading_without_numbers_says_so(made: Any) -> None:
    lost = made().sample.copy()
    lost[:, 2] = np.nan
    figure = target_card(made(sample=lost))
    assert verdicts(figure)[2] == ["no result"]
    assert verdicts(figure)[0][1] == "▲ locators UP"
    assert not [one for one in figure.axes[2].patches if one.get_gid() == "bare"]
    assert_legible(figure)


def test_no_number_is_given_beyond_what_was_shot(made: Any) -> None:
    (one,) = verdicts(target_card(made(zero=2.0), readings=([5.0], "mm")))
    assert one[1:] == ["▼ locators DOWN", "past the readings shot", "41 of 41 bows say DOWN"]
    (wide,) = verdicts(target_card(made(zero=2.0, slip=4.0), readings=([5.0], "mm")))
    assert wide[1:4] == ["NOT SURE: SHOOT MORE", "rather DOWN", "past the readings shot"]


def test_no_move_passes_square_or_the_allowed_range(made: Any) -> None:
    low = {"readings": np.array([0.5, 1.0, 5.0])}
    square = 0.5 * (5.5 - 5.8)  # of the nock's underside, the nock's axis at the rest's height
    (one,) = verdicts(target_card(made(zero=1.0, slip=3.0, **low), readings=([2.0], "mm")))
    assert one[4:6] == [f"90 %: between {2.0 - square:.1f} mm down", "(square) and 1.7 mm up"]
    inside = verdict(made(zero=-0.1, slip=0.0, **low), 1.0, 18.0)
    assert inside.move.median == pytest.approx(-1.1)
    past = verdict(made(zero=-0.6, slip=0.0, **low), 1.0, 18.0)
    assert past.move.median == pytest.approx(square - 1.0)
    low["readings"] = np.array([-0.15, 1.0, 5.0])
    stuck = verdict(made(zero=-0.9, slip=0.0, **low), -0.15, 18.0)
    assert stuck.lines[1:3] == ("no way to go:", "they are at square already")
    high = {"readings": np.array([50.0, 55.0, 59.0])}
    far = verdict(made(zero=62.0, slip=0.0, **high, today=55.0), 58.0, 18.0)
    assert far.move.median == pytest.approx(2.0)  # the allowed range ends at 60 mm


@pytest.mark.parametrize("face", ["40 cm", "122 cm", (0.8, "m")])
def test_the_face_is_to_scale(made: Any, face: Any) -> None:
    result = made()
    figure = target_card(result, face_diameter=face)
    size = 1e3 * face[0] if isinstance(face, tuple) else 10.0 * float(face.split()[0])
    for ax, reading in zip(figure.axes, READINGS, strict=True):
        assert ax.get_aspect() == 1.0
        rings = [one for one in ax.patches if isinstance(one, Circle)]
        np.testing.assert_allclose([one.get_radius() for one in rings], 0.5 * size * np.arange(10, 0, -1) / 10.0)
        regions = {one.get_gid(): one for one in ax.patches if type(one) is Ellipse}
        there = result.height_at((reading, "mm"), "18 m")
        region = regions["bare"]
        assert region.center[1] - 0.5 * region.height == pytest.approx(1e3 * there.low)
        assert region.center[1] + 0.5 * region.height == pytest.approx(1e3 * there.high)
        assert there.low < there.median < there.high
        # as wide as nine of ten draws need on the side to which they lean, evenly about the fletched ones
        assert (region.center[0], region.width) == (0.0, pytest.approx(2.0 * (240.0 - 0.05 * 280.0)))
        assert regions["fletched"].center == (0.0, 0.0)
        assert regions["fletched"].width == regions["fletched"].height == pytest.approx(2.0 * 1.645 * 30.0)
        assert line(ax, "wanted").get_ydata()[0] == pytest.approx(3.0)
        low, high = ax.get_ylim()
        assert low < -0.5 * size
        assert low < 1e3 * there.low < high


def test_standard_colours_stand_in_order(made: Any) -> None:
    ax = target_card(made(), colours="standard").axes[0]
    shades = [one.get_facecolor()[:3] for one in ax.patches if isinstance(one, Circle)]
    assert shades[0] == (1.0, 1.0, 1.0)
    assert max(shades[2]) < 0.3  # black
    assert shades[4][2] > shades[4][0]  # blue
    assert shades[6][0] > shades[6][2]  # red
    assert min(shades[9][:2]) > 0.8 > shades[9][2]  # gold


def test_bad_requests(made: Any) -> None:
    with pytest.raises(SetupError, match="face_diameter"):
        target_card(made(), face_diameter="4 m")
    with pytest.raises(SetupError, match="colours"):
        target_card(made(), colours="gaudy")  # type: ignore[arg-type]
    with pytest.raises(SetupError, match="nothing was flown to 30 m"):
        target_card(made(), "30 m")
    with pytest.raises(SetupError, match="outside those shot"):
        target_card(made(), readings=([3.0], "mm"))


def test_the_arrow_goes_to_where_the_move_brings_the_bare_shaft(made: Any) -> None:
    """20 mm at 18 m for 1 mm of reading: 2 mm up bring 43 mm high to 3 mm; 3 mm of 6 bring 117 mm low to 57."""
    figure = target_card(made())
    found = [[text for text in ax.texts if text.get_gid() == "move"] for ax in figure.axes]
    ends = [(one.xyann[1], one.xy[1]) for (one,) in found]
    assert ends == [pytest.approx((43.0, 3.0)), pytest.approx((-37.0, 3.0)), pytest.approx((-117.0, -57.0))]
    still = target_card(made(), readings=([6.08], "mm"))
    assert not [text for text in still.axes[0].texts if text.get_gid() == "move"]


def test_neither_left_nor_right_is_advised(made: Any) -> None:
    """The draws lean away from the window; the picture must not."""
    text = words(target_card(made())).lower()
    assert "left and right: bare shafts may land anywhere" in text
    assert not [
        word for word in ("to the left", "to the right", "mm left", "mm right", "weaker", "stiffer") if word in text
    ]


def test_of_a_flat_shot_the_band_runs_across(made: Any) -> None:
    figure = target_card(made(sample_side=np.full((41, 3, 2), np.nan)))
    (band,) = [one for one in figure.axes[0].patches if one.get_gid() == "bare"]
    assert isinstance(band, Rectangle)
    assert band.get_width() == pytest.approx(-2.0 * figure.axes[0].get_xlim()[0])
    assert "Left and right are left out of this picture" in words(figure)
    assert_legible(figure)


def test_it_is_read_on_a_small_screen(made: Any) -> None:
    """390 dots wide: letters of 10 dots and more; nothing lies over anything, with a long name too."""
    result = made()
    figure = target_card(made(setup=result.setup.replace(name="a bow with a name that goes on and on " * 4)))
    for text in figure.findobj(Text):
        if text.get_visible() and text.get_text().strip():
            assert text.get_fontsize() * 390.0 / (72.0 * figure.get_figwidth()) > 10.0, text
    assert_legible(figure)
    assert_apart(figure)


@pytest.mark.parametrize(
    ("way", "to", "said"),
    [
        ("down", 5.0, ["▼ locators DOWN", "3.0 mm (1/8 in)", "to 5.0 mm (3/16 in)"]),
        ("up", 9.5, ["▲ locators UP", "1.5 mm (1/16 in)", "to 9.5 mm (3/8 in)"]),
        ("hold", 8.0, ["leave the locators", "until groups are shot"]),
    ],
)
def test_of_today_s_reading_it_is_the_move_that_tune_tells(made: Any, way: Any, to: float, said: list[str]) -> None:
    down = 41 - 7 if way != "up" else 7
    move = FirstMove(0.9, 8.5, ("", ""), 8.5, way, 8.0, to, down / 41, False, way == "down")
    figure = target_card(made(moves=(move, None)))
    low, today, _ = verdicts(figure)
    agree = f"34 of 41 bows say {'UP' if way == 'up' else 'DOWN'}"
    assert today == ["bare about 37 mm low", *said, "90 %: best reading", "from 0.9 to 8.5 mm", agree]
    assert low[1] == "▲ locators UP"  # of other readings it is what the draws say there
    ends = [(text.xyann[1], text.xy[1]) for text in figure.axes[1].texts if text.get_gid() == "move"]
    moved = [] if way == "hold" else [pytest.approx((-37.0, -37.0 - 20.0 * (to - 8.0)))]
    assert ends == moved
    assert ("Clear the contact first" in words(figure)) == (way == "down")
    assert_legible(figure)
    assert_apart(figure)
