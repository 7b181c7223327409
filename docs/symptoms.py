"""The computed tables of docs/symptoms.md: what each cause does to what an archer sees."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import prices
import sideways
from places import table
from scipy.optimize import brentq

import archerysim
from archerysim.equipment.readings import READING
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference, fly_both
from archerysim.shot.flight.fly import fly
from archerysim.shot.flight.paper import paper_tear
from archerysim.shot.flight.ringing import bending_of

BOW = "club-outdoor"
PAPER = "2 m"
TWO_TURNS = 2.0 * math.pi
Changes = dict[str, Any]


def bow(name: str = BOW) -> FittedBow:
    """An example, fitted once."""
    return prices.fitted(name)


def now(path: str, name: str = BOW) -> Any:
    """A value of an example, given or assumed, in SI."""
    return archerysim.filled(bow(name).setup).get(path)


def shot(changes: Changes, hold: tuple[str, ...] = (), name: str = BOW) -> archerysim.Launch:
    """An example's shot with changes; those of the brace height twist the string."""
    return bow(name).launch(changes, hold)


def twisted(by: float) -> Changes:
    """The string twisted, or let out, until the brace height is so much more [mm]."""
    aim = bow().launch().braced.brace_height + 1e-3 * by

    def miss(length: float) -> float:
        return shot({"string.length": f"{1e3 * length!r} mm"}).braced.brace_height - aim

    length = now("string.length")
    found = brentq(miss, length - 0.03, length + 0.03, xtol=1e-6)
    return {"string.length": f"{1e3 * found!r} mm"}


def raised(by: float, name: str = BOW) -> Changes:
    """The locators tied higher [mm]."""
    return {READING: f"{bow(name).launch().reading + by:.6f} mm"}


def times(path: str, factor: float, unit: str, in_si: float) -> Changes:
    """A value of the outdoor bow times a factor."""
    return {path: f"{factor * now(path) / in_si!r} {unit}"}


def spine(factor: float, name: str = BOW) -> Changes:
    """Another shaft of the same mass."""
    return {"arrow.spine": f"{factor * now('arrow.spine', name) / 0.0254!r} in"}


def told(launch: archerysim.Launch) -> np.ndarray:
    """Bare shaft above and left of fletched ones at 18 m, tear up and left at the paper (4,) [mm]."""
    apart, tear = bare_difference(launch, "18 m"), paper_tear(launch, PAPER)
    return 1e3 * np.array([apart.height, apart.side, tear.up, tear.aside])


def signed(value: float) -> str:
    """A length [mm] as a cell; never a nought with a sign."""
    return f"{round(value) + 0.0:+.0f}" if round(value) else "0"


HEIGHT: tuple[tuple[str, str, Callable[[], Changes], tuple[str, ...]], ...] = (
    ("1 string and nock", "brace height 5 mm more, the string twisted", lambda: twisted(5.0), ()),
    ("", "nock grips with 20 N, not 5", lambda: {"nock.grip": "20 N"}, ()),
    ("", "play of 0.1 mm between the locators", lambda: {"nock.locators.gap": "0.1 mm"}, ()),
    ("", "play of 0.5 mm", lambda: {"nock.locators.gap": "0.5 mm"}, ()),
    ("", "floor of the nock 2 deg steeper, upper edge forward", lambda: {"nock.slope": "2 deg"}, ()),
    ("2 rest", "rest half as stiff", lambda: times("rest.stiffness", 0.5, "N/m", 1.0), ()),
    ("", "rest twice as stiff", lambda: times("rest.stiffness", 2.0, "N/m", 1.0), ()),
    ("", "rest without any damping", lambda: {"rest.damping": "0 N s/m"}, ()),
    ("3 locators", "locators 1 mm up", lambda: raised(1.0), ()),
    ("", "locators 1 mm down", lambda: raised(-1.0), ()),
    ("4 tiller", "lower bolt half a turn in, the locators left where they are tied",
     lambda: {"lower_limb.bolt_turns": "0.5 turn"}, ()),
    ("", "the same, locators and string set again to the same reading and brace height",
     lambda: {"lower_limb.bolt_turns": "0.5 turn"}, ("reading", "brace height")),
    ("5 shaft", "shaft 5 % stiffer", lambda: spine(0.95), ()),
    ("", "point 10 gr heavier", lambda: {"arrow.point_mass": "100 gr"}, ()),
    ("the archer", "fingers open in 8 ms, not in 5", lambda: {"archer.release_time": "8 ms"}, ()),
    ("", "hand pushes 5 mm higher", lambda: {"archer.pressure_point": "5 mm"}, ()),
)  # fmt: skip


def height() -> str:
    """What moves bare shafts up and down, in the order in which to look."""
    base = told(shot({}))
    by_a_millimetre = 0.5 * (told(shot(raised(1.0))) - told(shot(raised(-1.0))))[0]
    rows = []
    for where, words, changes, hold in HEIGHT:
        by = told(shot(changes(), hold)) - base
        rows.append([where, words, signed(by[0]), signed(by[2]), f"{by[0] / by_a_millimetre + 0.0:+.1f}"])
    return table(
        ("look at", "what is changed", "bare shafts go up at 18 m [mm]", "tear goes up at 2 m [mm]",
         "as much as locators up by [mm]"),
        rows,
    )  # fmt: skip


SIDE: tuple[tuple[str, Callable[[], Changes]], ...] = (
    ("brace height 5 mm more, the string twisted", lambda: twisted(5.0)),
    ("nock grips with 20 N, not 5", lambda: {"nock.grip": "20 N"}),
    ("locators 1 mm up", lambda: raised(1.0)),
    ("side support 1 mm further out", lambda: {"side.offset": "2 mm"}),
    ("shaft 5 % stiffer", lambda: spine(0.95)),
    ("point 10 gr heavier", lambda: {"arrow.point_mass": "100 gr"}),
    ("draw 5 mm longer", lambda: {"archer.draw_length": f"{1e3 * now('archer.draw_length') + 5.0!r} mm"}),
    ("fingers roll the string off by 2 deg more", lambda: {"archer.side_roll": "10 deg"}),
    ("fingers open in 8 ms, not in 5", lambda: {"archer.release_time": "8 ms"}),
    ("bow canted by 2 deg, top limb to the window's side", lambda: {"archer.cant": "2 deg"}),
)


def side() -> str:
    """What moves bare shafts left and right, for a right-handed archer."""
    base, first = told(shot({})), shot({})
    rows = []
    for words, changes in SIDE:
        launch = shot(changes())
        by = told(launch) - base
        rows.append([words, signed(by[1]), signed(by[3]), *sideways.touched(launch)])
    assert sideways.touched(first) == ["nothing"]
    return table(("what is changed", "bare shafts go left at 18 m [mm]", "tear goes left at 2 m [mm]", "touches"), rows)


CONTACT: tuple[tuple[str, str, Callable[[], Changes]], ...] = (
    (BOW, "as it is", dict),
    (BOW, "locators 5 mm lower", lambda: raised(-5.0)),
    (BOW, "side support 2 mm further out", lambda: {"side.offset": "3 mm"}),
    (BOW, "fingers roll the string off by 3 deg, not 8", lambda: {"archer.side_roll": "3 deg"}),
    ("club-indoor", "as it is", dict),
    ("club-indoor", "fingers roll the string off by 5 deg, not 8", lambda: {"archer.side_roll": "5 deg"}),
    ("longbow", "as it is", dict),
    ("longbow", "locators 2 mm lower", lambda: raised(-2.0, "longbow")),
    ("longbow", "locators 4 mm lower", lambda: raised(-4.0, "longbow")),
)


def touched(launch: archerysim.Launch) -> list[str]:
    """What the shaft touches once it has left: rest and side support, and a rest on which its tail comes down."""
    (cell,) = sideways.touched(launch)
    travel = launch.second_strike_travel
    if math.isfinite(travel):
        cell = f"{'' if cell == 'nothing' else f'{cell}; '}back on the rest after {travel:.0f} mm"
    return [cell]


def gap(value: float) -> str:
    """A gap [mm] as a cell; a shelf has none."""
    return f"{round(value, 1) + 0.0:.1f}" if math.isfinite(value) else "-"


def contact() -> str:
    """How shaft and vanes pass, and what is struck."""
    rows = []
    for name, words, changes in CONTACT:
        launch = shot(changes(), name=name)
        way, apart = launch.passage, bare_difference(launch, "18 m")
        rows.append([
            f"{name}: {words}", *touched(launch), *(gap(one) for one in (way.arm_gap, way.side_gap, way.vane_arm_gap)),
            signed(1e3 * apart.height), signed(1e3 * paper_tear(launch, PAPER).up),
        ])  # fmt: skip
    return table(
        ("bow, what is changed", "touches", "shaft passes the arm by [mm]", "the side support by [mm]",
         "vanes pass the arm by [mm]", "bare shafts above fletched at 18 m [mm]", "tear up at 2 m [mm]"),
        rows,
    )  # fmt: skip


def paper() -> str:
    """Where the tear is level, and what moves it."""
    rows = []
    for name in prices.EXAMPLES:
        best = prices.best(name)[0]
        here = bow(name).launch().reading

        def tear(reading: float, name: str = name, here: float = here) -> float:
            return 1e3 * paper_tear(shot(raised(reading - here, name), name=name), PAPER).up

        level = brentq(tear, best - 4.0, best + 4.0, xtol=1e-3)
        usual, stiff = (
            paper_tear(shot(changes, name=name), PAPER) for changes in ({}, spine(0.95, name))
        )  # fmt: skip
        rows.append([
            name, f"{best:.1f}", f"{level:.1f}", f"{tear(level + 1.0) - tear(level):+.1f}",
            f"{1e3 * (usual.aside - stiff.aside):+.1f}", f"{ringing(name, 0):.1f}", f"{ringing(name, 1):.1f}",
        ])  # fmt: skip
    return table(
        ("bow", "bare and fletched together at a reading of [mm]", "level tear at [mm]",
         "1 mm of locators up tears further up [mm]", "shaft 5 % stiffer tears further right [mm]",
         "ringing lengthens or shortens it, up and down, by up to [mm]", "left and right [mm]"),
        rows,
    )  # fmt: skip


@cache
def ringing(name: str, way: int) -> float:
    """The most that the shaft's ringing does to a tear at 1.5 to 3 m, up and down (0) or left and right (1) [mm]."""
    tears = [paper_tear(shot({}, name=name), f"{at} m") for at in np.arange(1.5, 3.01, 0.1)]
    return 1e3 * max(abs((one.ringing_up - one.up, one.ringing_aside - one.aside)[way]) for one in tears)


def nock() -> str:
    """A nock that grips less or more, and one with play."""
    base = told(shot({}))
    changes = [("", {"nock.grip": f"{grip} N"}, f"{grip} N", "0") for grip in (0, 2, 5, 10, 20, 50)]
    changes += [("", {"nock.locators.gap": f"{gap} mm"}, "5 N", f"{gap}") for gap in (0.1, 0.3, 0.5, 1.0)]
    rows = []
    for _, change, grip, gap in changes:
        launch = shot(change)
        by = told(launch) - base
        rows.append([grip, gap, f"{launch.clear.speed:.2f}", signed(by[0]), signed(by[2]), left_behind(launch)])
    return table(
        ("grip", "play between the locators [mm]", "speed [m/s]", "bare shafts go up at 18 m [mm]",
         "tear goes up at 2 m [mm]", "energy left in bow and string [J]"),
        rows,
    )  # fmt: skip


def left_behind(launch: archerysim.Launch) -> str:
    """What the arrow does not take along [J]."""
    return f"{(1.0 - launch.efficiency) * launch.stored_energy:.2f}"


def brace() -> str:
    """Another brace height by twists of the string, locators tied."""
    base = told(shot({}))
    rows = []
    for by in (-10.0, -5.0, 0.0, 5.0, 10.0):
        changes = twisted(by) if by else {}
        launch = shot(changes)
        moved = told(launch) - base
        rows.append([
            f"{by:+.0f}" if by else "0", f"{launch.reading:.1f}", f"{launch.clear.speed:.1f}", signed(moved[0]),
            signed(moved[1]), f"{launch.passage.vane_side_gap:.1f}", left_behind(launch),
        ])  # fmt: skip
    return table(
        ("brace height [mm]", "the same locators read [mm]", "speed [m/s]", "bare shafts go up at 18 m [mm]",
         "left [mm]", "vanes pass the side support by [mm]", "energy left in bow and string [J]"),
        rows,
    )  # fmt: skip


def noise() -> str:
    """What stays in bow and string with lighter and heavier arrows."""
    rows = []
    for words, changes in (
        ("as it is", {}),
        ("point 30 gr lighter", {"arrow.point_mass": "60 gr"}),
        ("point 30 gr heavier", {"arrow.point_mass": "120 gr"}),
        ("brace height 5 mm less", twisted(-5.0)),
        ("brace height 5 mm more", twisted(5.0)),
        ("nock grips with 20 N, not 5", {"nock.grip": "20 N"}),
    ):
        launch = shot(changes)
        rows.append([words, left_behind(launch), f"{100.0 * (1.0 - launch.efficiency):.1f}"])
    return table(("what is changed", "energy left in bow and string [J]", "of the stored energy [%]"), rows)


def swings() -> str:
    """How long one swing is, up and down and left and right, beside the ringing of the shaft."""
    rows = []
    for name in prices.EXAMPLES:
        launch = shot({}, name=name)
        flight = fly(launch, distance="18 m")
        first = float(np.min(bending_of(launch).frequency)) / TWO_TURNS
        ways = [
            f"{swing.wavelength:.0f}" if swing.wavelength else "none" for swing in (flight.swing, flight.side_swing)
        ]
        largest = [float(np.abs(one).max()) for one in (flight.angle_of_attack, flight.side_angle_of_attack)]
        rows.append([
            name, *ways, f"{flight.swing.decay_length:.0f}" if flight.swing.decay_length else "-",
            f"{largest[0]:.1f}", f"{first:.0f}", f"{launch.clear.speed / first:.2f}",
        ])  # fmt: skip
    return table(
        ("bow", "one swing up and down in [m]", "left and right in [m]", "up and down it falls to 1/e in [m]",
         "angle of attack on the way to 18 m, at most [deg]", "the shaft rings at [Hz]", "one ring in [m]"),
        rows,
    )  # fmt: skip


def group() -> str:
    """What one standard deviation of each hand does to heights at 18 m, the sight as it is."""
    base = fly_both(shot({}), distance=18.0)
    shares = now("archer.finger_shares")
    draw = 1e3 * now("archer.draw_length")
    rows = []
    for words, more, less in (
        ("draw length 3 mm", {"archer.draw_length": f"{draw + 3.0!r} mm"},
         {"archer.draw_length": f"{draw - 3.0!r} mm"}),
        ("release time 1 ms", {"archer.release_time": "6 ms"}, {"archer.release_time": "4 ms"}),
        ("0.03 of the load from the middle to the index finger",
         {"archer.finger_shares": (shares[0] + 0.03, shares[1] - 0.03, shares[2])},
         {"archer.finger_shares": (shares[0] - 0.03, shares[1] + 0.03, shares[2])}),
        ("torque of the bow hand 0.3 N m", {"archer.grip_torque": "0.3 N m"}, {"archer.grip_torque": "-0.3 N m"}),
        ("grip of the nock 1 N", {"nock.grip": "6 N"}, {"nock.grip": "4 N"}),
        ("nock 0.5 mm higher on the string", raised(0.5), raised(-0.5)),
    ):  # fmt: skip
        pairs = [fly_both(shot(changes), elevation=base.fletched.elevation, distance=18.0) for changes in (more, less)]
        rows.append([
            words,
            *(f"{500.0 * abs(getattr(pairs[0], arrow).impact_height - getattr(pairs[1], arrow).impact_height):.0f}"
              for arrow in ("fletched", "bare")),
        ])  # fmt: skip
    return table(("what differs from shot to shot, by", "fletched arrows at 18 m [mm]", "bare shafts [mm]"), rows)


TABLES: dict[str, Callable[[], str]] = {
    "symptom-height": height,
    "symptom-side": side,
    "symptom-contact": contact,
    "symptom-paper": paper,
    "symptom-nock": nock,
    "symptom-brace": brace,
    "symptom-noise": noise,
    "symptom-swings": swings,
    "symptom-group": group,
}
