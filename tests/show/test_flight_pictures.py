"""Path strips and the flight's curves."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure

from archerysim.shot.flight.fly import Flight, fly
from archerysim.shot.flight.range_cautions import CAUTION, FAR_BARE, FAR_BUTT
from archerysim.shot.flight.swing_free import quiet_path
from archerysim.shot.shoot import shoot
from archerysim.show import flight, strips
from archerysim.show.flights.plot import envelope
from archerysim.show.flights.strips import places
from archerysim.show.style import WANTED
from archerysim.study.bare_shaft.flights import Flights, flights
from tests.support.shot.example_bows import built, measured, shot
from tests.support.show.legible_pictures import assert_legible, line, lines, words_drawn

FAR = 40.0


@cache
def flown() -> Flights:
    return flights(built("club-outdoor", "coarse"), ["4 mm", "8 mm", "2 m"], distance=(FAR, "m"), mesh="coarse")


def pair(row: int = 1) -> tuple[Flight, Flight]:
    found = flown().rows[row]
    assert found.fletched is not None
    assert found.bare is not None
    return found.fletched, found.bare


def scales(ax: Any) -> float:
    """How many times up-down is enlarged against along, as drawn."""
    words_drawn(ax.figure)
    (x0, y0), (x1, y1) = ax.transData.transform([(0.0, 0.0), (1.0, 1.0)])
    return float(abs((y1 - y0) / (x1 - x0)))


def words(figure: Figure) -> str:
    """All text of a picture, line ends as spaces."""
    from matplotlib.text import Text

    return " ".join(" ".join(text.get_text() for text in figure.findobj(Text)).split())


def test_the_printed_enlargement_is_that_of_the_scales() -> None:
    for asked, printed in ((None, "up-down ×20"), (4.0, "up-down ×4")):
        figure = strips(flown(), enlarge=asked)
        plain, *panels = figure.axes
        for ax in panels[:2]:
            (corner,) = [text for text in ax.texts if text.get_gid() == "enlargement"]
            assert corner.get_text() == printed
            assert scales(ax) == pytest.approx(float(printed.rpartition("×")[2]), rel=1e-6)
            assert ax.get_xlim() == panels[0].get_xlim()
            assert ax.get_ylim() == panels[0].get_ylim()
        assert scales(plain) == pytest.approx(1.0, rel=1e-6)
        assert_legible(figure)


def test_the_shaft_stands_at_its_true_attitude() -> None:
    fletched, bare = pair()
    path = quiet_path(fletched)
    ax = strips(flown()).axes[2]
    for name, one in (("fletched", fletched), ("bare", bare)):
        drawn = lines(ax, name)
        assert len(drawn) == len(places(one))
        for shaft, x in zip(drawn, places(one), strict=True):
            (x0, x1), (y0, y1) = shaft.get_data()
            pitch = np.radians(np.interp(x, one.x, one.pitch))
            rise = y1 - y0 + path.height(x1) - path.height(x0)
            assert rise / (x1 - x0) == pytest.approx(np.tan(pitch), abs=1e-5)
            out = np.cos(np.radians(np.interp(x, one.x, one.yaw)))  # from the side it looks as much shorter
            assert np.hypot(rise, x1 - x0) == pytest.approx(out * (one.nose_ahead + one.tail_behind), rel=1e-5)
        assert drawn[-1].get_xdata()[1] == pytest.approx(FAR)
        assert drawn[-1].get_ydata()[1] == pytest.approx(one.impact_height, abs=1e-5)


def test_the_words_of_a_strip() -> None:
    high, low = (row.apart for row in flown().rows[:2])
    assert low < 0.0 < high
    figure = strips(flown())
    plain, *titles, above = [ax.get_title(loc="left") for ax in figure.axes]
    assert plain == "reading 8.0 mm (5/16 in), ▲ today as it really looks, not enlarged"
    assert above == "from above: reading 8.0 mm (5/16 in), ▲ today"
    assert titles[0] == f"reading 4.0 mm (3/16 in): bare lands {1e3 * high:.0f} mm high"
    assert titles[1] == f"reading 8.0 mm (5/16 in), ▲ today: bare lands {-1e3 * low:.0f} mm low"
    assert titles[2] == "reading 2000.0 mm (78 3/4 in): no flight"
    assert "2000 mm is outside the allowed range" in words(figure)
    assert not lines(figure.axes[3], "fletched")
    wanted = line(figure.axes[1], "wanted")
    np.testing.assert_allclose(wanted.get_ydata(), flown().rows[0].wanted)
    left, right = figure.axes[1].get_xlim()
    assert left < FAR < wanted.get_xdata()[0] < wanted.get_xdata()[1] < right  # whole, behind the target
    keys = [text.get_text() for text in figure.legends[0].get_texts()]
    assert keys == ["fletched", "bare", "point", "thin line: path of the balance point", WANTED]
    assert f"{flown().name}: 40 m. up-down ×20" in words(figure)
    assert FAR_BUTT in words(figure)  # 40 m
    assert FAR_BARE in words(figure)
    assert "drop taken out" in words(figure)
    assert "5.8 mm (1/4 in) more" in words(figure)


def test_left_handed_is_the_mirror_image() -> None:
    right, left = strips(flown()), strips(flown(), left_handed=True)
    for one, other in zip(right.axes[:-1], left.axes[:-1], strict=True):
        assert one.get_xlim() == other.get_xlim()[::-1]
        assert one.get_ylim() == other.get_ylim()
        for a, b in zip(one.lines, other.lines, strict=True):
            np.testing.assert_array_equal(a.get_ydata(), b.get_ydata())
    assert_legible(left)
    mirrored = flight(pair(), left_handed=True)
    assert mirrored.axes[0].get_xlim() == (FAR, 0.0)


def test_strips_of_any_flights() -> None:
    fletched, bare = pair()
    figure = strips([fletched, (bare, fletched)], labels=["one", "both"])
    assert [ax.get_title(loc="left") for ax in figure.axes[1:]] == [
        "one",
        "both",
        "from above: one",
        "from above: both",
    ]
    assert not lines(figure.axes[1], "bare")
    assert lines(figure.axes[2], "bare")
    assert not lines(figure.axes[2], "wanted")
    assert WANTED not in words(figure)
    plain = strips([fletched])
    assert plain.axes[1].get_title(loc="left") == "reading 8.0 mm (5/16 in)"
    assert f"{fletched.name}: 40 m." in words(plain)
    assert "readings to the underside of the nock" in words(plain)
    assert FAR_BARE not in words(strips([fletched]))
    assert FAR_BUTT in words(strips([fletched]))
    near = strips([fly(shot("club-outdoor", mesh="coarse"), distance="18 m", fletched=kind) for kind in (True, False)])
    assert CAUTION in words(near)
    assert "30 m" not in words(near)
    own = Figure().subplots(2)
    assert strips([fletched, bare], axes=own) is own[0].figure
    with pytest.raises(ValueError, match="1 given, 2 wanted"):
        strips([fletched, bare], labels=["one"])
    with pytest.raises(ValueError, match="no flight"):
        strips([])


def test_point_and_nock_above_the_path_without_swing() -> None:
    fletched, bare = pair()
    figure = flight([fletched, bare])
    path = quiet_path(fletched)
    for ax, one in zip(figure.axes, (fletched, bare), strict=False):
        nose, tail = line(ax, "point"), line(ax, "nock")
        assert nose.get_linestyle() == "-"
        assert tail.get_linestyle() != "-"
        assert nose.get_ydata()[-1] == pytest.approx(1e3 * one.impact_height, abs=0.01)
        np.testing.assert_allclose(tail.get_ydata() + 1e3 * path.height(tail.get_xdata()), 1e3 * one.tail_y, atol=1e-9)
        np.testing.assert_allclose(
            nose.get_xdata() - tail.get_xdata(),
            (one.nose_ahead + one.tail_behind) * np.cos(np.radians(one.pitch)) * np.cos(np.radians(one.yaw)),
        )
    assert figure.axes[0].get_ylim() == figure.axes[1].get_ylim()
    assert {one.get_linestyle() for one in lines(figure.axes[2], "angle of attack")} == {"-"}
    assert f"{fletched.name}: reading 8.0 mm (5/16 in) by the underside, 40 m" in words(figure)
    assert "point lands at the centre" in words(figure)
    assert f"point lands {-1e3 * bare.impact_height:.0f} mm below the centre" in words(figure)
    assert FAR_BUTT in words(figure)
    assert FAR_BARE in words(figure)
    assert FAR_BUTT in words(flight([fletched]))
    assert_legible(figure)


def test_wavelength_and_decay_are_those_of_the_swing() -> None:
    fletched, _ = pair()
    swing = fletched.swing
    assert swing.wavelength is not None
    assert swing.decay_length is not None
    figure = flight(fletched, ["arrow"])
    told = f"arrow: swings once in {swing.wavelength:.0f} m, falls to about a third in {swing.decay_length:.0f} m"
    assert told in words(figure)
    (arrow,) = [text for text in figure.axes[1].texts if text.get_gid() == "wavelength"]
    assert abs(arrow.xy[0] - arrow.xyann[0]) == pytest.approx(swing.x[2] - swing.x[0])
    color = line(figure.axes[1], "angle of attack").get_color()
    assert arrow.arrow_patch.get_edgecolor() == to_rgba(color)
    sides = lines(figure.axes[1], "decay")  # through the first turning point, and through the second
    for k, side in enumerate(sides):
        assert np.interp(swing.x[k], *side.get_data()) == pytest.approx(swing.angle_of_attack[k], abs=1e-3)
    x, first, second = sides[0].get_xdata(), sides[0].get_ydata(), sides[1].get_ydata()
    steady, size = envelope(swing)
    half = 0.5 * (first - second)
    np.testing.assert_allclose(0.5 * (first + second), steady)
    assert np.log(half[0] / half[-1]) == pytest.approx((x[-1] - x[0]) / swing.decay_length)
    assert np.interp(swing.x[0], x, half) == pytest.approx(size, rel=1e-3)
    assert_legible(figure)


def test_the_swing_that_is_marked_is_told_by_its_own_length() -> None:
    slow = measured("junior").replace(**{"bow.draw_weight": "13 lb"})  # so high a flight swings in less and less way
    one = fly(shoot(slow, "coarse", trace=False), distance="30 m")
    at = one.swing.x
    assert one.swing.wavelength is not None
    assert at[2] - at[0] > 1.05 * one.swing.wavelength
    assert f"first swing {at[2] - at[0]:.0f} m" in words(flight(one))


def test_flights_and_labels_that_do_not_fit() -> None:
    fletched, bare = pair()
    with pytest.raises(ValueError, match="no flight"):
        flight([])
    with pytest.raises(ValueError, match="1 given, 2 wanted"):
        flight([fletched, bare], ["one"])
