"""Tables of what the answers depend on and of where bare shafts land: the answer first, gaps told, cautions last."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pytest

from archerysim.equipment.readings import both_units
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.range_cautions import JUNIORS
from archerysim.show.bare_shaft.table import bare_shaft_table, flights_table
from archerysim.show.uncertainty.table import sensitivity_table, uncertainty_table
from archerysim.study.bare_shaft.flights import flights
from archerysim.study.bare_shaft.result import BareAgainstFletched, Missing
from archerysim.study.uncertainty.sensitivity import sensitivity
from archerysim.study.uncertainty.uncertainty import Uncertainty, uncertainty
from tests.study.test_conventions import apart
from tests.support.shot.example_bows import built, measured
from tests.support.study.made_ranges import made_range

MESH = "coarse"
UNSURE = {"nock.slope": "1 deg", "arrow.length": "3 in"}


@cache
def slips() -> Any:
    return sensitivity(measured("club-outdoor"), UNSURE, mesh=MESH, workers=1, progress=False)


@cache
def sure() -> Uncertainty:
    return uncertainty(measured("club-outdoor"), UNSURE, draws=4, indices=True, mesh=MESH, workers=1, progress=False)


def one_line(text: str) -> str:
    return " ".join(text.split())


def row(text: str, name: str) -> list[str]:
    """The cells of the only line that begins with a name."""
    (found,) = [line for line in text.splitlines() if line.strip().startswith(f"{name} ")]
    return found.strip().removeprefix(name).split()


def test_sensitivity_tells_answers_changes_and_what_has_none() -> None:
    text = sensitivity_table(slips())
    today = text.split("Change when")[0]
    assert both_units(1e-3 * float(slips()["together_reading"])) in one_line(today)
    assert f"{float(slips()['speed']):.2f} m/s (" in today
    (k,) = np.flatnonzero(slips()["input"].values == "nock.slope")
    cells = row(text.split("Change when")[1], "nock.slope")
    assert cells[:2] == ["1", "deg"]
    assert cells[2] == f"{float(slips()['together_reading_per_spread'].values[k]):+.2f}"
    assert row(text.split("Change when")[1].split("Without")[0], "arrow.length")[2:] == ["-"] * 8
    assert "arrow.length: draw: the shaft does not reach the rest" in one_line(text.split("Without a number")[1])
    assert text.splitlines()[-1].startswith("  ! No limit known here was passed")


def test_of_what_is_sideways_only_changes_are_told() -> None:
    text, name = sensitivity_table(slips()), "side angle of attack at clear"
    assert name not in text.split("Change when")[0]
    assert "side attack" in text.split("Change when")[1].splitlines()[1]
    assert "Only its changes are given" in one_line(text)
    (line,) = [one for one in uncertainty_table(sure()).splitlines() if name in one and "[deg]" in one]
    assert line.split("[deg]")[1].split() == [f"{sure().spread[-1]:.3f}", "-"]  # no value, no mean, no ends
    flat = sensitivity(measured("club-outdoor"), {"nock.slope": "1 deg"}, mesh=MESH, planes=1, progress=False)
    assert "side" not in sensitivity_table(flat).replace("underside", "")


def test_sensitivity_leaves_out_what_does_less() -> None:
    text = sensitivity_table(slips(), most=1)
    assert "1 inputs with less effect are left out" in text
    assert "arrow.length  " not in text.split("Without")[0]


def test_uncertainty_tells_answers_and_shares() -> None:
    found, text = sure(), uncertainty_table(sure())
    (line,) = [one for one in text.splitlines() if "brings bare and fletched together at 18 m [mm]" in one]
    cells = line.split("[mm]")[1].split()
    assert cells[:3] == [f"{one[0]:.2f}" for one in (found.value, found.mean, found.spread)]
    assert cells[-1] == "-"  # without a slope of every input there is no sum of them
    assert f"{found.failed} of them lack an answer" in one_line(text)
    assert "by Sobol's total indices" in text
    assert "not what the model itself leaves out" in one_line(text)
    assert "arrow.length: draw: the shaft does not reach" in one_line(text.split("Without a number")[1])


def test_slopes_beside_a_contact_are_told_to_be_so_and_readings_say_their_convention() -> None:
    """The club bow at 8 mm touches nothing; with the locators at 4 mm its shaft comes back onto the arm."""
    for text in (sensitivity_table(slips()), uncertainty_table(sure())):
        assert "THE SHAFT TOUCHES" not in text
        assert "Slopes are those about this bow" in one_line(text)
        assert "by the underside, whatever the file's convention" in one_line(text)
    (line,) = [one for one in sensitivity_table(slips()).splitlines() if "brings bare and fletched together" in one][:1]
    assert line.endswith(") underside")
    low = measured("club-outdoor").replace({"nock.locators.reading": "4 mm"})
    known = {"nock.slope": "1 deg"}
    found = sensitivity(low, known, mesh=MESH, workers=1, progress=False)
    assert (found.attrs["touches"], slips().attrs["touches"]) == ("yes", "no")
    assert "THE SHAFT TOUCHES on its way out" in sensitivity_table(found)
    assert "THE SHAFT TOUCHES" in uncertainty_table(dataclasses.replace(sure(), touches=True))


def test_shares_by_the_slopes_make_one() -> None:
    found = dataclasses.replace(
        sure(), total=None, slopes=np.array([[3.0] * 8, [4.0] * 8]), linear=np.full(8, 5.0)
    )  # fmt: skip
    np.testing.assert_allclose(found.shares.sum(axis=0), 1.0)
    text = uncertainty_table(found).split("by the slopes\n")[1]
    first, second = (one.path for one in found.inputs)
    assert row(text, second)[:2] == ["64", "%"]
    assert row(text, first)[:2] == ["36", "%"]
    assert text.index(f"  {second} ") < text.index(f"  {first} ")


def test_bare_shaft_says_first_which_way() -> None:
    text = bare_shaft_table(apart("underside"))
    assert text.splitlines()[2].startswith(
        "  now          locators DOWN 3.0 mm (1/8 in): from 8.0 mm (5/16 in) to 5.0 mm"
    )
    told = one_line(text.split("With today's")[1])
    assert told.startswith("reading 8.0 mm (5/16 in) by the underside 18 m: bare about ")
    assert "locators DOWN" in told
    assert "of bows" in text
    assert "do not shoot bare shafts" in one_line(text)


def test_bare_shaft_by_the_top() -> None:
    under, top = (bare_shaft_table(apart(by)) for by in ("underside", "top"))
    assert "reading 13.8 mm (9/16 in) by the top" in top
    assert [line.split()[1:] for line in under.splitlines() if line.startswith("  4.0 ")] == [
        line.split()[1:] for line in top.splitlines() if line.startswith("  9.8 ")
    ]


def test_bare_shaft_tells_each_gap_once_and_limits_first() -> None:
    short = tuple(Missing(k, 4.0, 18.0, "the arrow fell short") for k in range(3))
    gaps = (*short, Missing(0, 6.0, 18.0, "off the rest"))
    loud = ("Draw length 30.00 in is over the maker's 28.00 in.", "Beware.")
    found: BareAgainstFletched = dataclasses.replace(
        apart("underside"), missing=gaps, warnings=loud, limits_passed=("limits.longest_draw",)
    )
    text = bare_shaft_table(found)
    assert text.splitlines()[:2] == ["Warnings", f"  ! {loud[0]}"]
    assert text.splitlines()[-1] == "  ! Beware."
    assert "the arrow fell short (3 times)" in text
    assert "  off the rest\n" in text


def test_bare_shaft_where_nothing_brings_them_together() -> None:
    rising = apart("underside")
    found = dataclasses.replace(
        rising, value=-rising.value, sample=-rising.sample, ranges=(made_range(np.full(4, np.nan)),), moves=(None,)
    )
    text = bare_shaft_table(found)
    assert text.splitlines()[2].startswith("  NO ANSWER at 18 m: 4 of 4 bows that fit this file have none")
    assert "no advice" in text
    (line,) = [one for one in text.split("Reading that brings")[1].splitlines() if one.startswith("  18 m")]
    assert line.split()[2:4] == ["-", "-"]
    assert "now  " not in text


@pytest.mark.parametrize(("distance", "told"), [("18 m", False), ("20 m", True)])
def test_flights_of_a_junior(distance: str, told: bool) -> None:
    flown = flights(built("junior", MESH), ["6 mm", "2 m"], distance=distance, mesh=MESH)
    text = flights_table(flown)
    assert (JUNIORS in one_line(text)) == told
    assert row(text, "6.0")[0] == f"{1e3 * flown.rows[0].apart:+.1f}"
    assert row(text.split("Without")[0], "2000.0")[:5] == ["-"] * 5


def test_an_input_moves_with_the_bow_that_was_fitted() -> None:
    """Warnings are the bow's as given, whatever the draws are."""
    bow = FittedBow.of(measured("club-outdoor").replace(**{"limits.longest_draw": "20 in"}), MESH)
    found = sensitivity(bow, {"nock.slope": "1 deg"}, workers=1, progress=False)
    assert found.attrs["limits_passed"] == "limits.longest_draw"
    assert sensitivity_table(found).splitlines()[0] == "Warnings"
