"""What a camera sees of a flying arrow: its ends and its angles where the middle of the shaft passes some places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np

from archerysim.errors import SetupError
from archerysim.fields.given import several
from archerysim.fields.quantity import Quantity
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.fields.to_xarray import dataset, variables_of
from archerysim.shot.flight.fly import Flight, check_distance, flown
from archerysim.shot.launch import Launch

if TYPE_CHECKING:
    import xarray

PLACE = Quantity(
    text="distance from the pivot at which the middle of the shaft is seen", unit="m", low="0.2 m", high="150 m"
)
STEPS = 4  # of Newton's, from a line between two instants of the flight
ALONG = ("place",)


@result("place", "time", "pitch", "pitch_to_aim", "seen_pitch", "yaw", "height", "height_over_aim", "speed")
@dataclass(frozen=True)
class SeenAt:
    """An arrow where the middle of its shaft passes some places, as a camera beside and one above see it.

    World axes: x level towards the target, y up, z away from the window, from the pivot's place at full draw. "To the
    aim" is against the line on which the arrow lay at full draw, with the sight set for the target. Everything sideways
    is nan for a shot in one plane.

    Attributes
    ----------
    place : (n,) array
        Of the shaft's middle, level from the pivot's place [m].
    time : (n,) array
        After clear [s].
    pitch, pitch_to_aim : (n,) arrays
        Of the rigid shaft to the horizontal and to the aim line, nose up positive [deg].
    seen_pitch, seen_pitch_to_aim : (n,) arrays
        Of the line from throat to point, which the ringing shaft bends: what two marks at the ends show [deg].
    pitch_rate : (n,) array
        Of the rigid shaft [rad/s].
    yaw, yaw_to_aim, seen_yaw : (n,) arrays
        Nose away from the window positive [deg].
    height, nose_height, tail_height : (n,) arrays
        Of the mass centre, the point's tip and the throat over the pivot's place [m].
    height_over_aim, nose_over_aim, tail_over_aim : (n,) arrays
        The same square to the aim line, from a line along it through the pivot's place [m].
    side, nose_side, tail_side : (n,) arrays
        Places sideways [m].
    angle_of_attack, side_angle_of_attack : (n,) arrays
        Of the rigid shaft to the way it goes [deg].
    speed : (n,) array
        [m/s]

    Examples
    --------
    >>> import archerysim
    >>> import numpy as np
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> seen = archerysim.seen_at(launch, ("1 m", "2 m", "3 m"))
    >>> seen.place.tolist(), bool((np.diff(seen.time) > 0.0).all())
    ([1.0, 2.0, 3.0], True)
    """

    place: Annotated[np.ndarray, Reported("m", "place of the shaft's middle, level from the pivot's", ALONG)]
    time: Annotated[np.ndarray, Reported("s", "time after clear", ALONG)]
    pitch: Annotated[np.ndarray, Reported("deg", "rigid shaft to the horizontal, nose up positive", ALONG)]
    pitch_to_aim: Annotated[np.ndarray, Reported("deg", "rigid shaft to the aim line, nose up positive", ALONG)]
    seen_pitch: Annotated[np.ndarray, Reported("deg", "line from throat to point to the horizontal", ALONG)]
    seen_pitch_to_aim: Annotated[np.ndarray, Reported("deg", "line from throat to point to the aim line", ALONG)]
    pitch_rate: Annotated[np.ndarray, Reported("rad/s", "rate of the rigid shaft's pitch", ALONG)]
    yaw: Annotated[np.ndarray, Reported("deg", "rigid shaft to the vertical plane towards the target", ALONG)]
    yaw_to_aim: Annotated[np.ndarray, Reported("deg", "rigid shaft to the vertical plane of the aim line", ALONG)]
    seen_yaw: Annotated[np.ndarray, Reported("deg", "line from throat to point, from above", ALONG)]
    height: Annotated[np.ndarray, Reported("m", "mass centre over the pivot's place", ALONG)]
    nose_height: Annotated[np.ndarray, Reported("m", "point's tip over the pivot's place", ALONG)]
    tail_height: Annotated[np.ndarray, Reported("m", "throat over the pivot's place", ALONG)]
    height_over_aim: Annotated[np.ndarray, Reported("m", "mass centre over the aim line, square to it", ALONG)]
    nose_over_aim: Annotated[np.ndarray, Reported("m", "point's tip over the aim line, square to it", ALONG)]
    tail_over_aim: Annotated[np.ndarray, Reported("m", "throat over the aim line, square to it", ALONG)]
    side: Annotated[np.ndarray, Reported("m", "mass centre sideways, away from the window positive", ALONG)]
    nose_side: Annotated[np.ndarray, Reported("m", "point's tip sideways", ALONG)]
    tail_side: Annotated[np.ndarray, Reported("m", "throat sideways", ALONG)]
    angle_of_attack: Annotated[np.ndarray, Reported("deg", "pitch less the direction of motion", ALONG)]
    side_angle_of_attack: Annotated[np.ndarray, Reported("deg", "yaw less the direction of motion sideways", ALONG)]
    speed: Annotated[np.ndarray, Reported("m/s", "speed of the mass centre", ALONG)]

    def to_xarray(self) -> xarray.Dataset:
        """All of it along "place".

        Examples
        --------
        >>> import archerysim
        >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
        >>> dict(archerysim.seen_at(launch, ("1 m", "2 m")).to_xarray().sizes)
        {'place': 2}
        """
        return dataset(variables_of(self), "a flying arrow where its middle passes some places")


def seen_at(
    launch: Launch, places: Sequence[Any], *, distance: Any = "18 m", fletched: bool = True, taped: bool = True
) -> SeenAt:
    """The arrow of a launch where the middle of its shaft passes some places, as cameras there see it.

    Parameters
    ----------
    launch : Launch
    places : sequence of str or other numbers with their unit
        Level distances from the pivot's place at full draw: ("0.5 m", "2 m").
    distance : str or another number with its unit
        Of the target, for which the sight is set.
    fletched, taped : bool
        As in `archerysim.fly`; a bare shaft flies with the sight of the fletched one.

    Returns
    -------
    SeenAt
        The shaft's first two bending modes ring on in it, damped as in `archerysim.fly`.

    Raises
    ------
    SetupError
        Where a place is one that the shaft has passed before it is clear, or beyond the target.

    Examples
    --------
    >>> import archerysim
    >>> launch = archerysim.shoot(archerysim.load("examples/club-outdoor.toml"))
    >>> bare = archerysim.seen_at(launch, ("5 m", "10 m"), fletched=False)
    >>> fletched = archerysim.seen_at(launch, ("5 m", "10 m"))
    >>> bool(abs(bare.pitch[1]) > abs(fletched.pitch[1]))  # feathers turn it into its way
    True
    """
    given = [] if isinstance(places, str) else several("places", places, "m")
    if not given:
        raise SetupError("places", f"{places!r} are no places", 'Give some, for example ("0.5 m", "2 m")')
    at = np.array([PLACE.single("places", one, "refused") for one in given])
    flight = flown(launch, distance=check_distance(distance), fletched=fletched, taped=taped, bending=True)
    return SeenAt(at, *_seen(flight, _instants(flight, at)))


def _middle(flight: Flight, time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Place of the shaft's middle along x, and its rate."""
    x, _, vx, _, pitch, _, _, _, yaw, _ = flight.state(time)
    ahead = 0.5 * (flight.nose_ahead - flight.tail_behind)
    return x + ahead * np.cos(pitch) * np.cos(yaw), vx


def _instants(flight: Flight, at: np.ndarray) -> np.ndarray:
    """When the shaft's middle passes some places.

    Raises
    ------
    SetupError
    """
    ends = _middle(flight, np.array([0.0, flight.time[-1]]))[0]
    for one in at:
        if not ends[0] <= one <= ends[1]:
            raise SetupError(
                "places", f"{one:g} m is not on the way of the shaft's middle, {ends[0]:.3g} to {ends[1]:.4g} m",
                "Give places between, or a farther target",
            )  # fmt: skip
    along = _middle(flight, flight.time)[0]
    time = np.interp(at, along, flight.time)
    for _ in range(STEPS):
        place, rate = _middle(flight, time)
        time = np.clip(time - (place - at) / rate, 0.0, flight.time[-1])
    return np.asarray(time)


def _seen(flight: Flight, time: np.ndarray) -> list[np.ndarray]:
    """The other columns of `SeenAt`, in their order."""
    x, y, vx, vy, pitch, rate, z, vz, yaw, _ = flight.state(time)
    known = 1.0 if math.isfinite(flight.windage) else math.nan  # sideways
    ahead, up, aside = np.cos(yaw) * np.cos(pitch), np.sin(pitch), np.sin(yaw)
    bend = flight.bending
    assert bend is not None
    tail_bend, nose_bend = bend.deflection(time)
    tail_out, nose_out = bend.sideways.deflection(time) if bend.sideways is not None else (0.0 * time, 0.0 * time)
    level = np.cos(yaw)
    ends = []
    for off, bent, out in ((flight.nose_ahead, nose_bend, nose_out), (-flight.tail_behind, tail_bend, tail_out)):
        ends.append(np.array([
            x + off * ahead, y + off * level * up + bent * np.cos(pitch), z + off * aside + out * level,
        ]))  # fmt: skip
    nose, tail = ends
    line = nose - tail
    tilt, windage = math.radians(flight.elevation), flight.windage
    over = [place[1] * math.cos(tilt) - place[0] * math.sin(tilt) for place in (np.array([x, y]), nose, tail)]
    seen = np.degrees(np.arctan2(line[1], line[0]))
    return [
        time, np.degrees(pitch), np.degrees(pitch) - flight.elevation, seen, seen - flight.elevation, rate,
        known * np.degrees(yaw), np.degrees(yaw) - windage, known * np.degrees(np.arctan2(line[2], line[0])),
        y, nose[1], tail[1], *over, known * z, known * nose[2], known * tail[2],
        np.degrees(pitch - np.arctan2(vy, vx)), known * np.degrees(yaw - np.arctan2(vz, np.hypot(vx, vy))),
        np.sqrt(vx * vx + vy * vy + vz * vz),
    ]  # fmt: skip
