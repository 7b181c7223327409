"""What happens between release and clear, instant by instant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np

from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot.moment import turned
from archerysim.shot.release.release import Loosed

if TYPE_CHECKING:
    import xarray


@result("time", "pitch", "pitch_rate", "speed", "locator", "rest", "frame_time")
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
        Reported("m", "how far the string's middle stands above the throat's middle, along the floor", ("time",)),
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
    frame_moment: np.recarray

    def to_xarray(self) -> xarray.Dataset:
        """The trace as a table with units; `time` and `frame_time` are coordinates."""
        return dataset(variables_of(self), "trace of a shot")


def make_trace(loosed: Loosed, angle: float) -> Trace:
    """The release's trace in the aim frame and the edge's units."""
    rows = {name: loosed.trace[name] for name in loosed.trace.dtype.names or ()}
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
