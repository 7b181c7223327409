"""The tear in a sheet of paper: where point and tail pass it, and which way it goes, against the trade."""

from __future__ import annotations

import math
import re
from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq

from archerysim.equipment import SetupError, filled
from archerysim.fields.paths import InSi
from archerysim.shot.flight.fly import fly
from archerysim.shot.flight.paper import PaperTear, paper_tear
from archerysim.shot.launch import Launch
from archerysim.show.flights.paper import tear_aside, tear_up
from archerysim.study.tuning.together import together_reading
from tests.support.cli.run_commands import here
from tests.support.shot.example_bows import NAMES, fitted, flat, path_of

Capture = pytest.CaptureFixture[str]
PAPERS = ("1.5 m", "2 m", "3 m")


@cache
def at_reading(name: str, off: float) -> Launch:
    """With the locators so far [mm] above the reading that brings bare and fletched together."""
    return fitted(name).at_reading((together_reading(fitted(name)).reading + off, "mm"))


@cache
def other_shaft(name: str, factor: float) -> Launch:
    return fitted(name).launch(InSi({"arrow.spine": factor * filled(fitted(name).setup).number("arrow.spine")}))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", NAMES)
def test_a_nock_too_high_tears_tail_high_and_one_too_low_tail_low(name: str, paper: str) -> None:
    """Common practice: the vanes' tear above the point's hole, locators too high; below, too low; bare or fletched."""
    for fletched in (True, False):
        high, low = (paper_tear(at_reading(name, off), paper, fletched=fletched) for off in (5.0, -5.0))
        assert high.up > 5e-3
        assert low.up < -5e-3
        assert "tail high" in tear_up(high)
        assert "tail low" in tear_up(low)


@pytest.mark.parametrize("name", NAMES)
def test_a_stiffer_shaft_tears_further_right_of_a_right_handed_archer(name: str) -> None:
    """Common practice for fingers: tail right, the shaft is too stiff; tail left, too weak. Left is positive."""
    for paper in PAPERS:
        stiff, usual, weak = (paper_tear(other_shaft(name, by), paper).aside for by in (0.9, 1.0, 1.1))
        assert stiff < usual < weak


def test_left_and_right_are_changed_over_for_a_left_handed_archer() -> None:
    tear = PaperTear(2.0, 0.0, -0.012, 0.0, -0.010)
    setup = fitted("club-outdoor").setup
    assert tear_aside(tear, setup).startswith("the tail tears 12 mm (0.5 in) right")
    assert tear_aside(tear, setup.replace({"archer.handed": "left"})).startswith("the tail tears 12 mm (0.5 in) left")


@pytest.mark.parametrize("fletched", [True, False])
@pytest.mark.parametrize("paper", [1.5, 3.0])
def test_point_and_tail_pass_the_sheet_where_the_flight_says(paper: float, fletched: bool) -> None:
    """Computed: the two instants by SciPy, from the flight's states."""
    launch = fitted("club-outdoor").launch()
    flight = fly(launch, distance=(paper + 2.0, "m"), fletched=fletched, bending=True)
    assert flight.bending is not None
    assert flight.bending.sideways is not None

    def tip(time: float, ahead: float) -> np.ndarray:
        x, y, _, _, pitch, _, z, _, yaw, _ = flight.state(time)
        along = np.array([math.cos(yaw) * math.cos(pitch), math.cos(yaw) * math.sin(pitch), math.sin(yaw)])
        return np.array([x, y, z]) + ahead * along

    found, rung = [], []
    for which, ahead in enumerate((-flight.tail_behind, flight.nose_ahead)):
        time = brentq(lambda t, a=ahead: tip(t, a)[0] - paper, 0.0, flight.time_of_flight)
        found.append(tip(time, ahead)[1:])
        rung.append([
            mode.deflection(np.array([time]))[which][0] for mode in (flight.bending, flight.bending.sideways)
        ])  # fmt: skip
    straight, ringing = found[0] - found[1], np.array(rung[0]) - np.array(rung[1])
    tear = paper_tear(launch, (paper, "m"), fletched=fletched)
    assert (tear.up, tear.aside) == pytest.approx(tuple(straight), abs=2e-5)
    told = (tear.ringing_up - tear.up, tear.ringing_aside - tear.aside)
    assert told == pytest.approx(tuple(ringing), abs=1e-4)
    assert np.abs(ringing).max() > 1e-4


def test_in_one_plane_there_is_no_left_and_right() -> None:
    tear = paper_tear(flat("club-outdoor"))
    assert math.isfinite(tear.up)
    assert math.isnan(tear.aside)


def test_it_is_told_at_the_prompt(capsys: Capture) -> None:
    file = path_of("club-outdoor")
    tear = paper_tear(fitted("club-outdoor", "coarse").launch(), "2 yd")
    for more in ((), ("--all",)):
        done = here(capsys, "fly", file, "--distance", "18 m", "--paper", "2 yd", "--mesh", "coarse", *more)
        assert (done.status, done.err) == (0, "")
        text = " ".join(done.out.split())
        assert f"at 2 yd the tail tears {1e3 * tear.up:.0f} mm" in text or more
        assert re.search(rf"the tail tears {1e3 * tear.up:.0f} mm \([\d.]+ in\) up, tail high", text)
        assert (f"the tail tears {-1e3 * tear.aside:.0f} mm" in text) is bool(more)
    done = here(capsys, "fly", file, "--distance", "18 m", "--mesh", "coarse")
    assert "paper" not in done.out


@pytest.mark.parametrize(("given", "said"), [("2", "no unit"), ("50 cm", "allowed range 1.2 m to 10 m")])
def test_a_wrong_distance_ends_in_one_sentence(given: str, said: str, capsys: Capture) -> None:
    done = here(capsys, "fly", path_of("club-outdoor"), "--distance", "18 m", "--paper", given)
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith("archerysim: paper: ")
    assert said in done.err
    with pytest.raises(SetupError, match="paper"):
        paper_tear(fitted("club-outdoor", "coarse").launch(), given)
