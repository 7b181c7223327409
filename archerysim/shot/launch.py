"""The result of a shot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.equipment import Setup
from archerysim.equipment.filled_setup import FilledSetup
from archerysim.errors import UsageError
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, stacked, variables_of, words
from archerysim.mechanics.arrays import LOWER, UPPER
from archerysim.shot.clearance import clearance_of
from archerysim.shot.edit import Edit
from archerysim.shot.energy import Energy, account, ledger_of
from archerysim.shot.moment import Moment, aim_angle, describe
from archerysim.shot.passage import NO_PASSAGE, Passage, passage_of
from archerysim.shot.release.bending_modes import free_modes
from archerysim.shot.release.release import Loosed, begin_sideways, hand_at_rest, weight
from archerysim.shot.statics.brace import Braced
from archerysim.shot.statics.draw import Drawing
from archerysim.shot.statics.drawn import Drawn
from archerysim.shot.statics.strain import Strained
from archerysim.shot.timeline import Timeline, string_straight_at, support_ends_at, timeline_of
from archerysim.shot.trace import Trace, make_trace

if TYPE_CHECKING:
    import xarray


MOMENTS = ("separation", "clear")

# events
AGAIN = "shaft touched the rest again"
LEFT_ON = "support ended with the shaft on the rest"
SUPPRESSED = "second strike suppressed"
STRUCK = "arm struck from the side"
TAIL = "tail touches the side support"


@result(
    "setup.name", "reading", "clear.speed", "clear.pitch", "clear.pitch_rate",
    "clear.angle_of_attack", "draw_force", "efficiency", "warnings",
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
    string_stiffness : float
        Force per length with which the braced string resists being pushed along itself [N/m]; at zero the limbs tip
        opposite ways.
    lies_on_upper, lies_on_lower : float
        Over which length the braced string lies on the upper and on the lower limb [mm].
    draw_force : float
        Size of the finger force at full draw [N].
    aim_angle : float
        The arrow's line at full draw against the riser's x, positive nose up [deg].
    stored_energy : float
        From brace to full draw [J].
    efficiency : float
        The arrow's energy at separation over the stored energy.
    virtual_mass : float
        2 W/v^2 - m [g], W the stored energy, v the arrow's speed at clear, m its mass: what must be added to the arrow
        for the stored energy to be all of its own. What bow and string keep or lose, expressed as a mass; it hardly
        depends on the arrow (P. E. Klopsteg, in Hickman, Nagler, Klopsteg: Archery: the Technical Side, 1947 [memory]).
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
        Time at which the string's points at the nock pass the line between the limbs' tips, or between its own first
        points off limbs that are curved forward [s]; nan if they do not.
    string_on_upper_at, string_on_lower_at : float
        Time at which the string comes down on the belly of the upper and of the lower limb [s]; nan where it does not.
    slap_speed_upper, slap_speed_lower : float
        Speed of the string against the limb as it first comes down on it, square to the limb and relative to it, half
        way along the greatest length of it on which the string then comes to lie [m/s]; nan where it does not. The end
        of the string is tied to the tip, so that it comes down like a door: this is the rate of that angle, from just
        before to just after, times half the length.
    slap_force_upper, slap_force_lower : float
        Greatest force with which the string presses on the belly from then on until the arrow is clear [N]: of its pull
        T, turned by the angle phi along what lies there, 2 T sin(phi / 2); nan where it does not lie there.
    rod_swing : float
        The farthest that the end of any rod swings from its place at full draw, until the arrow is clear [mm]; nan
        where none bends.
    planes : int
        1: the shot in the bow's plane; 2: sideways too.
    passage : Passage
        How the shaft goes past rest and side support; unknown in one plane.
    steps : int
        Time steps.
    step : float
        Length of a time step [s].
    events : tuple of str
        What happened on the way that can put a kink into a sweep: the shaft back on the rest, and the like. Where the
        shaft comes back gently, while it quivers, the time of that (`second_strike_at`) varies unevenly and the sweep
        with it, by up to a hundredth of its range. None of these is a warning: nearly every shot has some.
    warnings : tuple of str
        In words: dangers and doubtful input; see ``archerysim.shot.warnings``.
    limits_passed : tuple of str
        Which limits the first of the warnings are about: of the file, on the arrow, on a junior's draw weight.
    strain : (Strained, Strained)
        Largest strain of the upper and the lower limb beside the file's `strain_limit`, or why it was not compared.
    trace : Trace or None
        Only where it was asked for.
    setup : Setup
        As built.
    braced, drawing, drawn : Braced, Drawing, Drawn
        The bow at brace and at full draw, with the kernels' arrays.
    edits : tuple of Edit
        What was changed on the bow, what was held and whether it was fitted anew; empty for an unchanged bow.

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> round(launch.reading, 1), round(launch.reading_top, 1)  # [mm]
    (8.0, 13.8)
    >>> round(launch.clear.speed), launch.clear.pitch_rate < 0.0  # [m/s]; the nose is going down
    (56, True)
    >>> round(launch.efficiency, 2)
    0.74
    """

    separation: Moment
    clear: Moment
    reading: Annotated[float, Reported("mm", "locator height by the underside of the nock")]
    reading_top: Annotated[float, Reported("mm", "locator height by the top of the nock")]
    axis_above_square: Annotated[float, Reported("mm", "nock axis above square")]
    brace_height: Annotated[float, Reported("mm", "pivot to string, square to the string")]
    upper_tiller: Annotated[float, Reported("mm", "upper limb's belly at its root to the string")]
    lower_tiller: Annotated[float, Reported("mm", "lower limb's belly at its root to the string")]
    string_tension: Annotated[float, Reported("N", "tension of the string at brace")]
    string_stiffness: Annotated[float, Reported(
        "N/m", "resistance of the braced string to being pushed along itself; zero: the limbs tip opposite ways",
    )]  # fmt: skip
    lies_on_upper: Annotated[float, Reported("mm", "along how much of the upper limb the braced string lies")]
    lies_on_lower: Annotated[float, Reported("mm", "along how much of the lower limb the braced string lies")]
    draw_force: Annotated[float, Reported("N", "force on the fingers at full draw")]
    aim_angle: Annotated[
        float, Reported("deg", "aim line (throat to point at full draw) against the riser's x, positive nose up")
    ]
    stored_energy: Annotated[float, Reported("J", "energy stored from brace to full draw")]
    efficiency: Annotated[float, Reported("", "arrow's energy at separation over the stored energy")]
    virtual_mass: Annotated[float, Reported("g", "the bow's own motion and losses at clear, expressed as a mass")]
    rest_left_at: Annotated[
        float, Reported("s", "when the shaft last left the rest; missing where it lay there until the support ended")
    ]
    rest_left_travel: Annotated[
        float, Reported("mm", "travel of the throat from full draw to where the rest was left; missing like its time")
    ]
    support_ends_at: Annotated[
        float, Reported("s", "when the rest stops supporting; missing where it supports until the arrow is clear")
    ]
    second_strike_at: Annotated[
        float, Reported("s", "when the shaft last came down on the supporting rest again; missing where it did not")
    ]
    second_strike_travel: Annotated[
        float, Reported("mm", "travel of the throat from full draw to the second strike; missing where there was none")
    ]
    second_strike_depth: Annotated[
        float,
        Reported("mm", "how deep the shaft pressed the rest from the second strike on; missing where there was none"),
    ]
    suppressed_strike: Annotated[float, Reported(
        "mm", "how deep the shaft would have pressed on the rest after its support ended; missing where it would not "
        "have",
    )]  # fmt: skip
    least_gap: Annotated[float, Reported(
        "mm", "least gap of shaft and tail to the rest after its support ended, negative where it would strike; "
        "missing where the support did not end",
    )]  # fmt: skip
    greatest_push_at: Annotated[
        float, Reported("s", "when the string pushes hardest on both ends of the nock's floor together")
    ]
    string_straight_at: Annotated[
        float, Reported("s", "when the string at the nock passes the line between the tips; missing where it does not")
    ]
    string_on_upper_at: Annotated[
        float, Reported("s", "when the string comes down on the upper limb's belly; missing where it does not")
    ]
    string_on_lower_at: Annotated[
        float, Reported("s", "when the string comes down on the lower limb's belly; missing where it does not")
    ]
    slap_speed_upper: Annotated[float, Reported(
        "m/s", "speed square to the upper limb with which the string comes down on it; missing where it does not",
    )]  # fmt: skip
    slap_speed_lower: Annotated[float, Reported(
        "m/s", "speed square to the lower limb with which the string comes down on it; missing where it does not",
    )]  # fmt: skip
    slap_force_upper: Annotated[
        float, Reported("N", "greatest force of the string on the upper limb after that; missing where there is none")
    ]
    slap_force_lower: Annotated[
        float, Reported("N", "greatest force of the string on the lower limb after that; missing where there is none")
    ]
    rod_swing: Annotated[
        float, Reported("mm", "largest swing of a rod's end from its place at full draw; missing where none bends")
    ]
    planes: int
    passage: Passage
    steps: int
    step: Annotated[float, Reported("s", "length of a time step")]
    events: tuple[str, ...]
    warnings: tuple[str, ...]
    limits_passed: tuple[str, ...]
    strain: tuple[Strained, Strained]
    trace: Trace | None
    setup: Setup
    braced: Braced
    drawing: Drawing
    drawn: Drawn
    edits: tuple[Edit, ...] = ()

    @cached_property  # found when it is first asked for: most shots of a sweep never are
    def timeline(self) -> Timeline:
        """When things happened.

        Examples
        --------
        >>> import archerysim
        >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
        >>> 0.0 < launch.timeline.rest_left < launch.separation.time  # [s]
        True
        """
        return timeline_of(self)

    def traced(self) -> Trace:
        """The trace.

        Raises
        ------
        UsageError
            If the shot was made without one.

        Examples
        --------
        >>> import archerysim
        >>> setup = archerysim.load("examples/club-outdoor.toml")
        >>> archerysim.shoot(setup).traced().time.size > 100
        True
        >>> archerysim.shoot(setup, trace=False).traced()
        Traceback (most recent call last):
            ...
        archerysim.errors.UsageError: launch: it has no trace; shoot with trace=True
        """
        if self.trace is None:
            raise UsageError("launch", "it has no trace", "shoot with trace=True")
        return self.trace

    def to_xarray(self) -> xarray.Dataset:
        """The launch as a table with units.

        Axis "moment": separation and clear; names from the energy account begin with ``energy_``, those from a trace
        (if there is one) with ``trace_``.

        Examples
        --------
        >>> import archerysim
        >>> table = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"), trace=False).to_xarray()
        >>> list(table["moment"].values), table["pitch"].attrs["units"]
        (['separation', 'clear'], 'degree')
        """
        both = (self.separation, self.clear)
        energies = stacked([one.energy for one in both], "moment", "energy_")
        moments = {"moment": words(MOMENTS, "moment", "last push of the string, and the arrow clear of the bow")}
        trace = {} if self.trace is None else variables_of(self.trace, "trace_")
        about = {"setup_as_built": self.setup.to_toml(), "warnings": "\n".join(self.warnings)}
        variables = {**moments, **variables_of(self), **stacked(both, "moment"), **energies, **trace}
        return dataset(variables, f"launch of {self.setup.name}", **about)


def events_of(loosed: Loosed) -> tuple[str, ...]:
    """What happened on the way that can put a kink into a sweep."""
    events = []
    if loosed.notes.strikes > 0:
        events.append(AGAIN)
    if loosed.notes.energy_left > 0.0 and loosed.sideways is None:
        events.append(LEFT_ON)
    if loosed.notes.suppressed_strike > 0.0:
        events.append(SUPPRESSED)
    if loosed.sideways is not None:
        if loosed.sideways.notes.arm_strikes > 0:
            events.append(STRUCK)
        if loosed.sideways.notes.tail_time >= 0.0:
            events.append(TAIL)
    return tuple(events)


def slaps_of(loosed: Loosed) -> dict[str, float]:
    """When the string comes down on each limb, how quickly and how hard."""
    found = {}
    for limb, name in ((UPPER, "upper"), (LOWER, "lower")):
        seen = loosed.slaps[limb]
        down = bool(seen.time >= 0.0)
        found[f"string_on_{name}_at"] = float(seen.time)
        found[f"slap_speed_{name}"] = float(0.5 * seen.rate * seen.lying)
        found[f"slap_force_{name}"] = float(seen.press) if down else float("nan")
    return found


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
    drawing, drawn = launch.drawing, launch.drawn
    begun = begin_sideways(drawing, drawn) if launch.planes == 2 else None
    gravity = weight(drawn, drawing.setup.archer.cant if begun else 0.0)
    ledger = ledger_of(drawing, drawn, hand_at_rest(drawing, drawn, gravity), begun)
    frames = np.stack([t.frame_x, t.frame_y, t.frame_vx, t.frame_vy], axis=1)
    asides = np.stack([t.frame_z, t.frame_vz], axis=1) if begun else [None] * len(frames)
    energies = [
        account(ledger, state, moment, aside)
        for state, moment, aside in zip(frames, t.frame_moment, asides, strict=True)
    ]
    return t.frame_time, energies


def make_launch(
    setup: Setup, full: FilledSetup, drawing: Drawing, drawn: Drawn, loosed: Loosed, warnings: tuple[str, ...],
    passed: tuple[str, ...], strain: tuple[Strained, Strained], traced: bool, edits: tuple[Edit, ...],
) -> Launch:  # fmt: skip
    """Put the shot's numbers into a `Launch`."""
    b = drawing.braced
    a = b.marks.tail
    sideways = loosed.sideways
    ledger = ledger_of(drawing, drawn, loosed.hand, sideways.begin if sideways else None)
    _, shape = free_modes(b.chain, a)
    separation, clear = (
        describe(ledger, state, moment, shape, aside)
        for state, moment, aside in zip(
            loosed.states, loosed.moments, sideways.states if sideways else (None, None), strict=True
        )
    )
    passage, gaps = NO_PASSAGE, None
    if sideways:
        gaps = clearance_of(full, sideways)
        passage = passage_of(full, sideways, gaps, ledger.side_angle, float(loosed.notes.rest_left_time))
    energy = separation.energy
    arrow = energy.arrow_translation + energy.arrow_rotation + energy.arrow_bending
    axis = b.reading - 0.5 * (full.arrow.diameter - full.nock.height)
    angle = aim_angle(drawn, a)
    notes: Any = loosed.notes
    upper, lower = b.lying
    return Launch(
        separation=separation, clear=clear, reading=1e3 * b.reading, reading_top=1e3 * (b.reading + full.nock.height),
        axis_above_square=1e3 * axis, brace_height=1e3 * b.brace_height, upper_tiller=1e3 * b.upper_tiller,
        lower_tiller=1e3 * b.lower_tiller, string_tension=b.tension, string_stiffness=b.string_stiffness,
        lies_on_upper=1e3 * upper, lies_on_lower=1e3 * lower, draw_force=drawn.weight,
        aim_angle=float(np.degrees(angle)), stored_energy=energy.stored, efficiency=arrow / energy.stored,
        virtual_mass=1e3 * (2.0 * energy.stored / clear.speed**2 - ledger.arrow_mass),
        rest_left_at=float(notes.rest_left_time), rest_left_travel=float(1e3 * notes.rest_left_travel),
        support_ends_at=support_ends_at(loosed, drawing.support.travel, (drawn.x[a], drawn.y[a]), angle),
        second_strike_at=float(notes.strike_time), second_strike_travel=float(1e3 * notes.strike_travel),
        second_strike_depth=float(1e3 * notes.strike_depth),
        suppressed_strike=float(1e3 * notes.suppressed_strike) if notes.suppressed_strike > 0.0 else float("nan"),
        least_gap=float(1e3 * notes.least_gap) if np.isfinite(notes.least_gap) else float("nan"),
        greatest_push_at=float(notes.push_time), string_straight_at=string_straight_at(loosed),
        **slaps_of(loosed),
        rod_swing=float(1e3 * notes.largest_swing) if b.frame.rods.mass.size else float("nan"),
        planes=2 if sideways else 1, passage=passage,
        steps=int(notes.steps), step=loosed.dt, events=events_of(loosed), warnings=warnings,
        limits_passed=passed, strain=strain,
        trace=make_trace(full, loosed, gaps, angle, ledger.side_angle) if traced else None,
        setup=setup, braced=b, drawing=drawing, drawn=drawn, edits=edits,
    )  # fmt: skip
