"""The same setup shot by the library and by the engine."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache

import numpy as np

import archerysim
from archerysim import Launch, Moment, Setup
from archerysim.shot.arrays.mesh import Mesh
from archerysim.shot.shoot import shoot
from tests.outside.engine.release import Flight, Shot, release
from tests.outside.engine.statics import BareBow, FullDraw, Places, brace, full_draw, throat_of
from tests.support.shot.example_bows import measured

READING, SLOPE, BOLT = "nock.locators.reading", "nock.slope", "lower_limb.bolt_turns"
HEIGHTS = (4.0, 6.0, 8.0, 10.0, 12.0)  # readings by the underside [mm]
SLOPES = (0.0, 5.0)  # [deg]
BOLTS = (0.0, 0.5)  # turns of the lower bolt
CELLS = 24  # of each limb, the shaft and either side of the string, in both programs
STEP = 1.5e-6  # of the engine [s]
# speed [share], vertical velocity [m/s], pitch [deg]
MOST_SPEED, MOST_VERTICAL, MOST_PITCH = 0.005, 0.02, 0.03


@dataclass(frozen=True)
class Pair:
    """One shot in both.

    Attributes
    ----------
    ours : Launch
    theirs : Shot
    bare, drawn : BareBow, FullDraw
        The engine's statics.
    throat : float
        Place of the throat's middle on the string by the engine's brace [m].
    """

    ours: Launch
    theirs: Shot
    bare: BareBow
    drawn: FullDraw
    throat: float


@dataclass(frozen=True)
class Gap:
    """The engine's number less ours: speed as a share, velocities [m/s], pitch, yaw and both angles of attack [deg],
    their rates [rad/s], time [s]. Nothing is told sideways of a shot in one plane."""

    speed: float
    vertical_velocity: float
    pitch: float
    angle_of_attack: float
    pitch_rate: float
    time: float
    sideways_velocity: float
    yaw: float
    yaw_rate: float
    side_angle_of_attack: float


def gap(ours: Moment, theirs: Flight) -> Gap:
    """How far the two are apart."""
    return Gap(
        theirs.speed / ours.speed - 1.0,
        *(getattr(theirs, name) - getattr(ours, name) for name in [f.name for f in fields(Gap)][1:]),
    )


def within(one: Gap) -> bool:
    """Whether a gap is inside all three tolerances."""
    return abs(one.speed) < MOST_SPEED and abs(one.vertical_velocity) < MOST_VERTICAL and abs(one.pitch) < MOST_PITCH


@cache
def as_built(name: str) -> Setup:
    """An example as built, with straight limbs: the engine knows no string that lies on a limb.

    The fit is the library's, since both are to shoot the same bow.
    """
    straight = measured(name).replace(**{"limbs.shape": "straight"})
    return without_what_the_engine_lacks(archerysim.fit(straight).setup)


def without_what_the_engine_lacks(setup: Setup) -> Setup:
    """Rods rigid, limbs without hysteresis."""
    rods = {f"riser.rods.{k}.rigid": True for k in range(len(setup.riser.rods))}
    return setup.replace({**rods, "limbs.hysteresis": 0.0})


def places(launch: Launch, x: np.ndarray, y: np.ndarray, force: np.ndarray) -> Places:
    """The library's equilibrium as a first guess."""
    m = launch.braced.marks
    p = np.column_stack((x, y))
    return Places(
        p[m.root_u : m.tip_u + 1],
        p[m.tip_l : m.root_l + 1][::-1],
        p[m.tip_u : m.tip_l + 1][::-1],
        launch.braced.string_place[::-1],
        p[m.tail :],
        force,
    )


def shoot_both(setup: Setup, cells: int = CELLS, step: float = STEP, planes: int = 1) -> Pair:
    """Shoot a setup of form "built" whose locators are given by their reading by the underside."""
    return engine_too(shoot(setup, Mesh.of(cells), trace=planes == 2, planes=planes), setup, cells, step, planes)


def engine_too(ours: Launch, setup: Setup, cells: int = CELLS, step: float = STEP, planes: int = 1) -> Pair:
    """Shoot the setup in the engine, its equilibria begun from the library's."""
    full = archerysim.filled(setup)
    bare = brace(full, cells, places(ours, ours.braced.x, ours.braced.y, np.zeros(2)))
    throat = throat_of(full, bare, full.number(READING))
    drawn = full_draw(full, throat, cells, step, places(ours, ours.drawn.x, ours.drawn.y, ours.drawn.force), planes)
    return Pair(ours, release(drawn), bare, drawn, throat)


@cache
def pair(height: float, slope: float, bolt: float, cells: int = CELLS, step: float = STEP) -> Pair:
    """A shot of the club bow: reading [mm], slope of the floor [deg], turns of the lower bolt."""
    changes = {READING: f"{height} mm", SLOPE: f"{slope} deg", BOLT: bolt}
    return shoot_both(as_built("club-outdoor").with_si(**changes), cells, step)
