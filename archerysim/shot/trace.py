"""What happens between release and clear, instant by instant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.equipment.filled_setup import FilledSetup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot.clearance import Clearance
from archerysim.shot.moment import turned
from archerysim.shot.release.release import Loosed

if TYPE_CHECKING:
    import xarray


SIDEWAYS = (
    "side_support", "groove", "yaw", "yaw_rate", "sideways_velocity", "nock_z", "tip_upper_z", "tip_lower_z",
    "shaft_by_side_z", "shaft_over_rest_z", "shaft_over_rest_y", "arm_gap", "side_gap", "vane_arm_gap", "vane_side_gap",
)  # fmt: skip


@result("time", "pitch", "pitch_rate", "speed", "locator", "rest", "frame_time")
@dataclass(frozen=True)
class Trace:
    """What happens between release and clear; every array has one row per instant.

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
        In the aim frame of the bow's plane [m].
    riser_x, riser_y : (k,) arrays
        Move of the pivot in the riser's axes at full draw [m].
    riser_pitch : (k,) array
        [deg]
    advance_upper, advance_lower : (k,) arrays
        The string's advance past the floor at its edges [m].
    locator_offset : (k,) array
        How far the string's middle stands above the throat's middle, along the floor [m].
    side_support : (k,) array
        Force of the side support on the shaft [N]. This and what follows sideways is nan in the shot in one plane.
    groove : (k,) array
        Force of the string on the nock sideways, positive away from the window [N].
    yaw, yaw_rate, sideways_velocity : (k,) arrays
        To the aim line, positive nose and motion away from the window [deg], [rad/s], [m/s].
    nock_z, tip_upper_z, tip_lower_z : (k,) arrays
        Throat's middle and limb tips sideways from the bow's plane [m].
    shaft_by_side_z, shaft_over_rest_z : (k,) arrays
        The shaft's axis beside the side support and over the rest, sideways from the bow's plane [m]; this and what
        follows is nan where the shaft, or its vanes, are not there.
    shaft_over_rest_y : (k,) array
        Its axis over the rest's top [m].
    arm_gap, side_gap : (k,) arrays
        Gap of the shaft to the rest and to the side support, negative where it presses them [m].
    vane_arm_gap, vane_side_gap : (k,) arrays
        The same of the nearest vane, which stands as ``arrow.fletching_angle`` says; negative where it touches [m].
    frame_time : (f,) array
        Instants of the pictures [s].
    frame_x, frame_y : (f, n) arrays
        Places of all nodes in the riser's axes at full draw [m].
    frame_vx, frame_vy : (f, n) arrays
        Their velocities [m/s].
    frame_z, frame_vz : (f, n) arrays
        Places and velocities sideways of all nodes from the bow's plane; zero for what does not move sideways [m],
        [m/s].
    frame_moment : (f,) array
        What else is known of each instant, one record each, as the release kernel writes it; `energy_history` reads it.

    Examples
    --------
    >>> import archerysim
    >>> trace = archerysim.shoot(archerysim.load("examples/club-outdoor.toml")).traced()
    >>> trace.speed.shape == trace.time.shape
    True
    >>> round(float(trace.speed[-1]))  # [m/s], at clear
    56
    """

    time: Annotated[np.ndarray, Reported("s", "time after the release begins", ("time",))]
    edge_upper: Annotated[
        np.ndarray, Reported("N", "force of the floor's upper edge on the shaft along the floor's normal", ("time",))
    ]
    edge_lower: Annotated[
        np.ndarray, Reported("N", "force of the floor's lower edge on the shaft along the floor's normal", ("time",))
    ]
    locator: Annotated[
        np.ndarray, Reported("N", "force of the locators on the shaft along the floor, positive up", ("time",))
    ]
    rest: Annotated[np.ndarray, Reported("N", "force of the rest on the shaft", ("time",))]
    tension_upper: Annotated[np.ndarray, Reported("N", "tension of the string at its upper end", ("time",))]
    tension_lower: Annotated[np.ndarray, Reported("N", "tension of the string at its lower end", ("time",))]
    pitch: Annotated[np.ndarray, Reported("deg", "angle of the shaft to the aim line, positive nose up", ("time",))]
    pitch_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the pitch, positive nose up", ("time",))]
    speed: Annotated[np.ndarray, Reported("m/s", "speed of the arrow's mass centre along the aim line", ("time",))]
    vertical_velocity: Annotated[
        np.ndarray, Reported("m/s", "velocity of the mass centre square to the aim line, positive up", ("time",))
    ]
    nock_x: Annotated[
        np.ndarray, Reported("m", "nock along the aim line from the pivot's place at full draw", ("time",))
    ]
    nock_y: Annotated[
        np.ndarray, Reported("m", "nock square to the aim line from the pivot's place at full draw", ("time",))
    ]
    riser_x: Annotated[np.ndarray, Reported("m", "move of the pivot along the riser's x at full draw", ("time",))]
    riser_y: Annotated[np.ndarray, Reported("m", "move of the pivot along the riser's y at full draw", ("time",))]
    riser_pitch: Annotated[
        np.ndarray, Reported("deg", "turn of the riser since full draw, positive nose up", ("time",))
    ]
    advance_upper: Annotated[
        np.ndarray, Reported("m", "the string's advance past the floor at its upper edge", ("time",))
    ]
    advance_lower: Annotated[
        np.ndarray, Reported("m", "the string's advance past the floor at its lower edge", ("time",))
    ]
    locator_offset: Annotated[
        np.ndarray,
        Reported("m", "how far the string's middle is above the throat's middle, along the floor", ("time",)),
    ]
    side_support: Annotated[np.ndarray, Reported("N", "force of the side support on the shaft", ("time",))]
    groove: Annotated[
        np.ndarray, Reported("N", "force of the string on the nock sideways, positive away from the window", ("time",))
    ]
    yaw: Annotated[
        np.ndarray,
        Reported("deg", "angle sideways of the shaft to the aim line, positive nose away from the window", ("time",)),
    ]
    yaw_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the yaw, positive nose away from the window", ("time",))]
    sideways_velocity: Annotated[
        np.ndarray,
        Reported("m/s", "velocity of the mass centre sideways, positive away from the window", ("time",)),
    ]
    nock_z: Annotated[np.ndarray, Reported("m", "nock sideways from the bow's plane", ("time",))]
    tip_upper_z: Annotated[np.ndarray, Reported("m", "upper limb's tip sideways from the bow's plane", ("time",))]
    tip_lower_z: Annotated[np.ndarray, Reported("m", "lower limb's tip sideways from the bow's plane", ("time",))]
    shaft_by_side_z: Annotated[
        np.ndarray, Reported("m", "the shaft's axis beside the side support, from the bow's plane", ("time",))
    ]
    shaft_over_rest_z: Annotated[
        np.ndarray, Reported("m", "the shaft's axis over the rest, sideways from the bow's plane", ("time",))
    ]
    shaft_over_rest_y: Annotated[np.ndarray, Reported("m", "the shaft's axis over the rest's top", ("time",))]
    arm_gap: Annotated[np.ndarray, Reported("m", "gap of the shaft to the rest, negative where it presses", ("time",))]
    side_gap: Annotated[
        np.ndarray, Reported("m", "gap of the shaft to the side support, negative where it presses", ("time",))
    ]
    vane_arm_gap: Annotated[
        np.ndarray, Reported("m", "gap of the nearest vane to the rest, negative where it touches", ("time",))
    ]
    vane_side_gap: Annotated[
        np.ndarray, Reported("m", "gap of the nearest vane to the side support, negative where it touches", ("time",))
    ]
    frame_time: Annotated[np.ndarray, Reported("s", "instants of the pictures", ("frame_time",))]
    frame_x: Annotated[
        np.ndarray, Reported("m", "places of the nodes along the riser's x at full draw", ("frame_time", "node"))
    ]
    frame_y: Annotated[
        np.ndarray, Reported("m", "places of the nodes along the riser's y at full draw", ("frame_time", "node"))
    ]
    frame_vx: Annotated[
        np.ndarray, Reported("m/s", "velocities of the nodes along the riser's x at full draw", ("frame_time", "node"))
    ]
    frame_vy: Annotated[
        np.ndarray, Reported("m/s", "velocities of the nodes along the riser's y at full draw", ("frame_time", "node"))
    ]
    frame_z: Annotated[
        np.ndarray, Reported("m", "places of the nodes sideways from the bow's plane", ("frame_time", "node"))
    ]
    frame_vz: Annotated[np.ndarray, Reported("m/s", "velocities of the nodes sideways", ("frame_time", "node"))]
    frame_moment: np.recarray

    def to_xarray(self) -> xarray.Dataset:
        """The trace as a table with units; `time` and `frame_time` are coordinates.

        Examples
        --------
        >>> import archerysim
        >>> table = archerysim.shoot(archerysim.load("examples/club-outdoor.toml")).traced().to_xarray()
        >>> "time" in table.sizes, table["rest"].attrs["units"]
        (True, 'N')
        """
        return dataset(variables_of(self), "trace of a shot")


def make_trace(full: FilledSetup, loosed: Loosed, gaps: Clearance | None, angle: float, side_angle: float) -> Trace:
    """The release's trace in the aim frame and the edge's units.

    With a canted bow, in both planes, angles and velocities are turned to the world's up.

    Parameters
    ----------
    gaps : Clearance or None
        At the looks of the trace; None in one plane.
    angle, side_angle : float
        Of the aim line in the bow's plane and out of it [rad].
    """
    rows = {name: loosed.trace[name] for name in loosed.trace.dtype.names or ()}
    speed, up = turned(angle, rows["velocity_x"], rows["velocity_y"])
    nock_x, nock_y = turned(angle, rows["tail_x"], rows["tail_y"])
    pitch, pitch_rate = rows["pitch"] - angle, rows["pitch_rate"].copy()
    sideways = loosed.sideways
    nothing = np.full(rows["time"].size, np.nan)
    if sideways is None or gaps is None:
        aside = dict.fromkeys(SIDEWAYS, nothing)
        frames = np.full((2, *loosed.frames[:, 0].shape), np.nan)
    else:
        side, cant = sideways.trace, full.archer.cant
        speed, out = turned(side_angle, speed, side.velocity_z)
        up, out = turned(cant, up, out)
        pitch, yaw = turned(cant, pitch, side.yaw - side_angle)
        pitch_rate, yaw_rate = turned(cant, pitch_rate, side.yaw_rate)
        told = (
            side.support, side.groove, np.degrees(yaw), yaw_rate, out, side.tail_z, side.tip_u_z, side.tip_l_z,
            gaps.by_side_z, gaps.over_rest_z, gaps.over_rest_y, gaps.arm, gaps.side, gaps.vane_arm, gaps.vane_side,
        )  # fmt: skip
        aside = {name: np.array(part) for name, part in zip(SIDEWAYS, told, strict=True)}
        frames = np.moveaxis(sideways.frames, 1, 0)
    return Trace(
        **{name: rows[name].copy() for name in (
            "time", "edge_upper", "edge_lower", "locator", "rest", "tension_upper", "tension_lower",
            "riser_x", "riser_y", "advance_upper", "advance_lower",
        )},
        pitch=np.degrees(pitch), pitch_rate=pitch_rate, speed=speed, vertical_velocity=up, nock_x=nock_x, nock_y=nock_y,
        riser_pitch=np.degrees(rows["riser_pitch"]), locator_offset=rows["offset"].copy(), **aside,
        frame_time=loosed.frame_moments.time.copy(), frame_moment=loosed.frame_moments,
        **{f"frame_{name}": loosed.frames[:, k] for k, name in enumerate(("x", "y", "vx", "vy"))},
        frame_z=frames[0], frame_vz=frames[1],
    )  # fmt: skip
