"""What a problem tells of each shot: quantities of the launch by name, bare beside fletched, and one's own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from archerysim.equipment import SetupError
from archerysim.shot.columns import MOMENT, SHOT, of_shot
from archerysim.shot.flight.bare_shaft import Leaving, gap_at
from archerysim.shot.flight.fly import flown
from archerysim.shot.flight.sight import Aim
from archerysim.shot.launch import Launch

Of = Literal["clear", "separation", "shot", "bare", "launch", "flight"]
WHERE: tuple[Of, ...] = ("clear", "separation", "shot", "bare", "launch", "flight")
BARE = {  # beside the fletched shaft, on the target, with the sight set for the bow as it is
    "bare_above": "bare shaft above the fletched one on the target",
    "bare_aside": "bare shaft beside the fletched one on the target, positive away from the window",
}


@dataclass(frozen=True)
class Observable:
    """One number that is told of each shot.

    Attributes
    ----------
    name : str
        By which it is called: "pitch" and every other quantity of a sweep, at clear; with "separation." before it, at
        separation; "bare_above" and "bare_aside"; or any name of one's own.
    unit, text : str
    of : {"clear", "separation", "shot", "bare", "launch", "flight"}
        Where it comes from; "launch" and "flight" are what ``own`` is called with.
    own : callable or None
        From a `Launch`, or from the `Flight` of the fletched arrow to the problem's distance, to a number. Flights have
        the sight that the bow as it is has for that distance.

    Examples
    --------
    >>> from archerysim import Observable
    >>> def in_feet(launch):
    ...     return launch.clear.speed / 0.3048
    >>> Observable("speed_in_feet", "fps", "speed at clear", "launch", in_feet).unit
    'fps'
    """

    name: str
    unit: str = ""
    text: str = ""
    of: Of = "launch"
    own: Callable[[Any], float] | None = None

    def __post_init__(self) -> None:
        if self.of not in WHERE:
            raise SetupError("outputs", f"{self.name}: of={self.of!r} is not known", 'Give of="launch" or of="flight"')
        if (self.own is not None) != (self.of in ("launch", "flight")):
            problem = "has no function" if self.own is None else f"has a function, and of={self.of!r}"
            raise SetupError("outputs", f"{self.name}: {problem}", 'Give own=, and of="launch" or of="flight"')
        if self.own is not None and not callable(self.own):
            raise SetupError("outputs", f"{self.own!r} cannot be called", "Give a function of a Launch or a Flight")


NAMED: dict[str, Observable] = {
    **{one.name: Observable(one.name, one.unit, one.text, "shot") for one in SHOT},
    **{f"separation.{one.name}": Observable(f"separation.{one.name}", one.unit, one.text, "separation")
       for one in MOMENT},
    **{one.name: Observable(one.name, one.unit, one.text, "clear") for one in MOMENT},
    **{name: Observable(name, "mm", text, "bare") for name, text in BARE.items()},
}  # fmt: skip


def observables(outputs: Any) -> tuple[Observable, ...]:
    """What is to be told, from names, observables, or a mapping of own names to functions of a `Launch`.

    Raises
    ------
    SetupError
    """
    if isinstance(outputs, (str, Observable)):
        outputs = (outputs,)
    if isinstance(outputs, Mapping):
        outputs = [Observable(name, own=own) for name, own in outputs.items()]
    if not isinstance(outputs, Iterable):
        raise SetupError("outputs", f"{outputs!r} names no output", 'Give names, for example ("pitch", "speed")')
    found = []
    for one in outputs:
        if not isinstance(one, (str, Observable)):
            raise SetupError("outputs", f"{one!r} is no output", "Use a name, or an Observable")
        if isinstance(one, Observable) and one.own is None and NAMED.get(one.name) != one:
            raise SetupError("outputs", f"{one.name}: of={one.of!r} is not what that name is", "Use the name alone")
        if isinstance(one, str) and one not in NAMED:
            near = ", ".join(sorted(name for name in NAMED if one.lower()[:4] in name)[:4] or ["pitch", "speed"])
            raise SetupError("outputs", f"{one!r} is not told of a shot", f"Use for example {near}, or an Observable")
        found.append(NAMED[one] if isinstance(one, str) else one)
    names = [one.name for one in found]
    if not names or len(set(names)) < len(names):
        raise SetupError("outputs", "are none, or one is named twice", "Name each output once")
    return tuple(found)


@dataclass(frozen=True)
class Sight:
    """With what arrows fly: the sight that the bow as it is has for a target, and no other.

    Attributes
    ----------
    distance : float
        Of the target [m].
    aim : Aim
        Of the aim line, for flights.
    leaving : Leaving
        Direction at clear with which bare and fletched shafts are compared, the same for all shots.
    """

    distance: float
    aim: Aim
    leaving: Leaving


def told(launch: Launch, wanted: tuple[Observable, ...], sight: Sight | None) -> list[float]:
    """The observables of a shot, each in its unit.

    Raises
    ------
    SetupError
        Where a flight does not reach the target, or a function of one's own gives no number.
    """
    gap = flight = None
    out = []
    for one in wanted:
        if one.of in ("clear", "separation"):
            value = getattr(getattr(launch, one.of), one.name.removeprefix("separation."))
        elif one.of == "shot":
            value = of_shot(launch, one.name)
        elif one.of == "bare":
            assert sight is not None
            gap = gap or gap_at(launch, sight.distance, sight.leaving)
            if one.name == "bare_above":  # less what drag alone makes of it
                value = 1e3 * (gap.height - gap_at(launch, sight.distance, sight.leaving, lift=False).height)
            else:
                value = 1e3 * gap.side
        else:
            if one.of == "flight" and flight is None:
                assert sight is not None
                flight = flown(
                    launch, distance=sight.distance, elevation=sight.aim.elevation, windage=sight.aim.windage
                )
            value = _own(one, launch if one.of == "launch" else flight)
        out.append(float(value))
    return out


def _own(one: Observable, found: Any) -> float:
    assert one.own is not None
    try:
        return float(one.own(found))
    except Exception as error:
        raise SetupError(
            "outputs", f"{one.name}: its function failed ({type(error).__name__}: {error})",
            f"It is called with a {one.of.capitalize()} and must return one number",
        ) from error  # fmt: skip
