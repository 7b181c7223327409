"""The result of a shot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from archerysim.equipment import Setup
from archerysim.errors import UsageError
from archerysim.fields.result import result
from archerysim.mechanics.rigid_body import rigid_motion
from archerysim.shot.energy import Energy, Ledger, account, ledger_of
from archerysim.shot.release.bending_modes import free_modes, modal_parts
from archerysim.shot.release.release import Loosed, hand_at_rest
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import Strained
from archerysim.shot.timeline import Timeline, string_straight_at, support_ends_at, timeline_of

# events
AGAIN = "shaft touched the rest again"
LEFT_ON = "support ended with the shaft on the rest"
SUPPRESSED = "second strike suppressed"


@result(
    "time [s]", "speed [m/s]", "vertical_velocity [m/s]", "pitch [deg]", "pitch_rate [rad/s]",
    "angle_of_attack [deg]", "bend_1 [mm]", "bend_2 [mm]", "riser_pitch [deg]",
)  # fmt: skip
@dataclass(frozen=True)
class Moment:
    """The arrow at one moment, in the aim frame: x along the arrow's line at full draw, y square to it, up.

    Attributes
    ----------
    time : float
        After the release begins [s].
    speed, vertical_velocity : float
        Of the mass centre, along and square to the aim line [m/s].
    pitch : float
        Of the rigid shaft with the same mass-weighted line, to the aim line, positive nose up [deg].
    pitch_to_bow : float
        The same in the bow's own axes, the riser's x at full draw: `pitch` plus the launch's ``aim_angle`` [deg].
    pitch_rate : float
        Angular momentum about the mass centre over the moment of inertia, positive nose up [rad/s].
    angle_of_attack : float
        Pitch minus the direction of the mass centre's velocity [deg].
    bend_1, bend_2 : float
        Largest deflection in the first two free bending modes, positive tail up [mm].
    bend_1_rate, bend_2_rate : float
        Their rates [m/s].
    nock_x, nock_y : float
        Place of the nock from the pivot's place at full draw [m].
    riser_pitch, riser_pitch_rate : float
        Turn of the riser since full draw, positive nose up [deg], [rad/s].
    centre_x, centre_y : float
        Place of the mass centre [m].
    energy : Energy
        Energy account [J].
    """

    time: float
    speed: float
    vertical_velocity: float
    pitch: float
    pitch_to_bow: float
    pitch_rate: float
    angle_of_attack: float
    bend_1: float
    bend_1_rate: float
    bend_2: float
    bend_2_rate: float
    nock_x: float
    nock_y: float
    riser_pitch: float
    riser_pitch_rate: float
    centre_x: float
    centre_y: float
    energy: Energy


@result("time [s]", "pitch [deg]", "pitch_rate [rad/s]", "speed [m/s]", "locator [N]", "rest [N]", "frame_time [s]")
@dataclass(frozen=True)
class Trace:
    """What happens between release and clear; every array has a row an instant.

    Attributes
    ----------
    time : (k,) array
        [s]
    edge_upper, edge_lower : (k,) arrays
        Force of the floor's edges on the shaft along the floor's normal [N].
    locator : (k,) array
        Force of the locators on the shaft along the floor, positive up [N].
    rest : (k,) array
        Force of the rest on the shaft [N].
    tension_upper, tension_lower : (k,) arrays
        Tension of the string at its ends [N].
    pitch : (k,) array
        To the aim line, positive nose up [deg].
    pitch_rate : (k,) array
        [rad/s]
    speed, vertical_velocity : (k,) arrays
        Of the arrow's mass centre in the aim frame [m/s].
    nock_x, nock_y : (k,) arrays
        In the aim frame [m].
    riser_x, riser_y : (k,) arrays
        Move of the pivot in the riser's axes at full draw [m].
    riser_pitch : (k,) array
        [deg]
    advance_upper, advance_lower : (k,) arrays
        The string's advance past the floor at its edges [m].
    locator_offset : (k,) array
        How far the string's middle stands above the throat's middle, along the floor [m].
    frame_time : (f,) array
        Instants of the pictures [s].
    frame_x, frame_y : (f, n) arrays
        Places of all nodes in the riser's axes at full draw [m].
    frame_vx, frame_vy : (f, n) arrays
        Their velocities [m/s].
    frame_moment : (f,) array
        The rest of each instant, a record each as the release kernel writes it; `energy_history` reads it.
    """

    time: np.ndarray
    edge_upper: np.ndarray
    edge_lower: np.ndarray
    locator: np.ndarray
    rest: np.ndarray
    tension_upper: np.ndarray
    tension_lower: np.ndarray
    pitch: np.ndarray
    pitch_rate: np.ndarray
    speed: np.ndarray
    vertical_velocity: np.ndarray
    nock_x: np.ndarray
    nock_y: np.ndarray
    riser_x: np.ndarray
    riser_y: np.ndarray
    riser_pitch: np.ndarray
    advance_upper: np.ndarray
    advance_lower: np.ndarray
    locator_offset: np.ndarray
    frame_time: np.ndarray
    frame_x: np.ndarray
    frame_y: np.ndarray
    frame_vx: np.ndarray
    frame_vy: np.ndarray
    frame_moment: np.recarray


@result(
    "setup.name", "reading [mm]", "clear.speed [m/s]", "clear.pitch [deg]", "clear.pitch_rate [rad/s]",
    "clear.angle_of_attack [deg]", "draw_force [N]", "efficiency", "warnings",
)  # fmt: skip
@dataclass(frozen=True)
class Launch:
    """How the arrow leaves the bow.

    Attributes
    ----------
    separation : Moment
        The last instant at which an edge of the throat's floor carries force.
    clear : Moment
        The throat 0.05 m in front of the pivot, the string out, nothing touching the arrow. Tuning goes by it.
    reading, reading_top, axis_above_square : float
        Locator height by the underside and by the top of the nock, nock axis above square [mm].
    brace_height, upper_tiller, lower_tiller : float
        [mm]
    string_tension : float
        At brace [N].
    draw_force : float
        Size of the finger force at full draw [N].
    aim_angle : float
        The arrow's line at full draw against the riser's x, positive nose up [deg].
    stored_energy : float
        From brace to full draw [J].
    efficiency : float
        The arrow's energy at separation over the stored energy.
    rest_left_at, rest_left_travel : float
        Time at which the shaft last left the rest while that supported it [s], and how far the throat had then
        travelled since full draw [mm]; nan if it did not leave, but still lay there when the support ended.
    support_ends_at : float
        Time at which the throat has travelled so far along the riser's x that the rest supports no longer [s]; nan if
        it supports until the arrow is clear.
    second_strike_at, second_strike_travel : float
        Time at which the shaft last came down on the rest again while that supported it [s], and the throat's
        travel then [mm]; nan if it did not.
    second_strike_depth : float
        How deep the shaft pressed the rest from the first such strike on, while supported [mm]; nan without one.
    suppressed_strike : float
        How deep the shaft would have pressed on the rest after its support ended [mm]; nan if it would not have
        touched it.
    least_gap : float
        Least gap of shaft and tail to the rest after its support ended [mm]; negative where it would strike, nan
        where the support did not end.
    greatest_push_at : float
        Time at which the string pushes hardest on both ends of the nock's floor together [s].
    string_straight_at : float
        Time at which the string's points at the nock pass the line between the limbs' tips [s]; nan if they do not.
    steps : int
        Time steps.
    step : float
        Length of a time step [s].
    events : tuple of str
        What happened on the way that can put a kink into a sweep: the shaft back on the rest, and the like. Nothing of
        it is a warning: nearly every shot has it.
    warnings : tuple of str
        In words: what is dangerous or bad input; see ``archerysim.shot.warnings``.
    limits_passed : tuple of str
        Which limits the first of the warnings speak of: of the file, on the arrow, on a junior's draw weight.
    strain : (Strained, Strained)
        Largest strain of the upper and the lower limb beside the file's `strain_limit`, or why it was not compared.
    trace : Trace or None
        Present when asked for.
    setup : Setup
        As built.
    braced, drawing, drawn : Braced, Drawing, Drawn
        The bow at brace and at full draw, with the kernels' arrays.
    """

    separation: Moment
    clear: Moment
    reading: float
    reading_top: float
    axis_above_square: float
    brace_height: float
    upper_tiller: float
    lower_tiller: float
    string_tension: float
    draw_force: float
    aim_angle: float
    stored_energy: float
    efficiency: float
    rest_left_at: float
    rest_left_travel: float
    support_ends_at: float
    second_strike_at: float
    second_strike_travel: float
    second_strike_depth: float
    suppressed_strike: float
    least_gap: float
    greatest_push_at: float
    string_straight_at: float
    steps: int
    step: float
    events: tuple[str, ...]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    strain: tuple[Strained, Strained]
    trace: Trace | None
    setup: Setup
    braced: Braced
    drawing: Drawing
    drawn: Drawn

    @cached_property
    def timeline(self) -> Timeline:
        """When things happened."""
        return timeline_of(self)

    def traced(self) -> Trace:
        """The trace.

        Raises
        ------
        UsageError
            If the shot was made without.
        """
        if self.trace is None:
            raise UsageError("launch", "it has no trace", "shoot with trace=True")
        return self.trace


def aim_angle(drawn: Drawn, tail: int) -> float:
    """Angle of the arrow's line at full draw (throat's middle to point) against the riser's x [rad]."""
    return float(np.arctan2(drawn.y[-1] - drawn.y[tail], drawn.x[-1] - drawn.x[tail]))


def turned(angle: float, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Components along and square to a line at ``angle`` [rad]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return cosine * x + sine * y, cosine * y - sine * x


def describe(ledger: Ledger, state: np.ndarray, moment: np.record, shape: np.ndarray) -> Moment:
    """The arrow in one state of the shot; ``shape`` holds its bending modes, as `free_modes` gives them."""
    b = ledger.drawing.braced
    a = b.marks.tail
    angle = aim_angle(ledger.drawn, a)
    mass, arrow = b.chain.mass[a:], state[:, a:]
    (x, vx), (y, vy) = turned(angle, arrow[0::2], arrow[1::2])
    cx, cy, ux, uy, pitch, rate = rigid_motion(mass, x, y, vx, vy)
    along, across = turned(pitch, x - cx, y - cy)
    _, speed = turned(pitch, vx - ux, vy - uy)
    bends = modal_parts(mass, shape, across, speed - rate * along)
    return Moment(
        time=float(moment.time), speed=ux, vertical_velocity=uy, pitch=float(np.degrees(pitch)),
        pitch_to_bow=float(np.degrees(pitch + angle)), pitch_rate=rate,
        angle_of_attack=float(np.degrees(pitch - np.arctan2(uy, ux))),
        bend_1=float(1e3 * bends[0, 0]), bend_1_rate=float(bends[0, 1]),
        bend_2=float(1e3 * bends[1, 0]), bend_2_rate=float(bends[1, 1]),
        nock_x=float(x[0]), nock_y=float(y[0]),
        riser_pitch=float(np.degrees(moment.riser_turn)), riser_pitch_rate=float(moment.rate_turn),
        centre_x=cx, centre_y=cy, energy=account(ledger, state, moment),
    )  # fmt: skip


def make_trace(loosed: Loosed, angle: float) -> Trace:
    """The release's trace in the aim frame and the edge's units."""
    rows = {name: loosed.trace[name] for name in loosed.trace.dtype.names}
    speed, up = turned(angle, rows["velocity_x"], rows["velocity_y"])
    nock_x, nock_y = turned(angle, rows["tail_x"], rows["tail_y"])
    return Trace(
        **{name: rows[name].copy() for name in (
            "time", "edge_upper", "edge_lower", "locator", "rest", "tension_upper", "tension_lower",
            "pitch_rate", "riser_x", "riser_y", "advance_upper", "advance_lower",
        )},
        pitch=np.degrees(rows["pitch"] - angle), speed=speed, vertical_velocity=up, nock_x=nock_x, nock_y=nock_y,
        riser_pitch=np.degrees(rows["riser_pitch"]), locator_offset=rows["offset"].copy(),
        frame_time=loosed.frame_moments.time.copy(), frame_moment=loosed.frame_moments,
        **{f"frame_{name}": loosed.frames[:, k] for k, name in enumerate(("x", "y", "vx", "vy"))},
    )  # fmt: skip


def events_of(loosed: Loosed) -> tuple[str, ...]:
    """What happened on the way that can put a kink into a sweep."""
    events = []
    if loosed.notes.strikes > 0:
        events.append(AGAIN)
    if loosed.notes.energy_left > 0.0:
        events.append(LEFT_ON)
    if loosed.notes.suppressed_strike > 0.0:
        events.append(SUPPRESSED)
    return tuple(events)


def energy_history(launch: Launch) -> tuple[np.ndarray, list[Energy]]:
    """Energy account at every picture of a traced shot.

    Returns
    -------
    time : (f,) array
        [s]
    energies : list of Energy

    Raises
    ------
    UsageError
        If the launch has no trace.
    """
    t = launch.traced()
    ledger = ledger_of(launch.drawing, launch.drawn, hand_at_rest(launch.drawing, launch.drawn))
    energies = [
        account(ledger, np.array([x, y, vx, vy]), moment)
        for x, y, vx, vy, moment in zip(t.frame_x, t.frame_y, t.frame_vx, t.frame_vy, t.frame_moment, strict=True)
    ]
    return t.frame_time, energies


def make_launch(
    setup: Setup, full: Any, drawing: Drawing, drawn: Drawn, loosed: Loosed, warnings: tuple[str, ...],
    passed: tuple[str, ...], strain: tuple[Strained, Strained], traced: bool,
) -> Launch:  # fmt: skip
    """Put the shot's numbers into a `Launch`."""
    b = drawing.braced
    a = b.marks.tail
    ledger = ledger_of(drawing, drawn, loosed.hand)
    _, shape = free_modes(b.chain, a)
    separation, clear = (
        describe(ledger, state, moment, shape) for state, moment in zip(loosed.states, loosed.moments, strict=True)
    )
    energy = separation.energy
    arrow = energy.arrow_translation + energy.arrow_rotation + energy.arrow_bending
    axis = b.reading - 0.5 * (full.arrow.diameter - full.nock.height)
    angle = aim_angle(drawn, a)
    notes: Any = loosed.notes
    return Launch(
        separation=separation, clear=clear, reading=1e3 * b.reading, reading_top=1e3 * (b.reading + full.nock.height),
        axis_above_square=1e3 * axis, brace_height=1e3 * b.brace_height, upper_tiller=1e3 * b.upper_tiller,
        lower_tiller=1e3 * b.lower_tiller, string_tension=b.tension, draw_force=drawn.weight,
        aim_angle=float(np.degrees(angle)), stored_energy=energy.stored, efficiency=arrow / energy.stored,
        rest_left_at=float(notes.rest_left_time), rest_left_travel=float(1e3 * notes.rest_left_travel),
        support_ends_at=support_ends_at(loosed, drawing.support.travel, (drawn.x[a], drawn.y[a]), angle),
        second_strike_at=float(notes.strike_time), second_strike_travel=float(1e3 * notes.strike_travel),
        second_strike_depth=float(1e3 * notes.strike_depth),
        suppressed_strike=float(1e3 * notes.suppressed_strike) if notes.suppressed_strike > 0.0 else float("nan"),
        least_gap=float(1e3 * notes.least_gap) if np.isfinite(notes.least_gap) else float("nan"),
        greatest_push_at=float(notes.push_time), string_straight_at=string_straight_at(loosed),
        steps=int(notes.steps), step=loosed.dt, events=events_of(loosed), warnings=warnings,
        limits_passed=passed, strain=strain,
        trace=make_trace(loosed, angle) if traced else None,
        setup=setup, braced=b, drawing=drawing, drawn=drawn,
    )  # fmt: skip
