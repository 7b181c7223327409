"""Records of the riser and its stabilisers."""

from __future__ import annotations

from typing import Annotated, ClassVar

from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record


class Rod(Record, frozen=True, kw_only=True):
    """A stabiliser or weight: a rod from a point of the riser, with a mass at its end.

    A rod bends, unless it is marked as rigid, has no length, carries nothing, or is so short that, with no frequency
    given, it would swing faster than 1000 Hz. It is described as it stands at full draw.

    Examples
    --------
    >>> import archerysim
    >>> rod = archerysim.Rod(length="28 in", end_mass="120 g")
    >>> round(rod.length, 3), rod.end_mass  # [m], [kg]
    (0.711, 0.12)
    """

    label: ClassVar[str] = "riser.rods"

    start_x: Annotated[
        float | None,
        Quantity(
            text="where the rod starts, forward of the pivot",
            unit="mm",
            low="-1000 mm",
            high="1000 mm",
            default="30 mm",
        ),
    ] = None
    start_y: Annotated[
        float | None,
        Quantity(
            text="where the rod starts, above the pivot",
            unit="mm",
            low="-1000 mm",
            high="1000 mm",
            default="0 mm",
        ),
    ] = None
    length: Annotated[
        float,
        Quantity(
            text="start to the middle of the end mass; 0 for a weight screwed to the riser",
            unit="mm",
            low="0 mm",
            high="1200 mm",
            example="700 mm",
        ),
    ]
    direction: Annotated[
        float | None,
        Quantity(
            text="where the rod points: 0 = forward, 90 = up, 180 = back",
            unit="deg",
            low="-360 deg",
            high="360 deg",
            default="0 deg",
        ),
    ] = None
    rod_mass: Annotated[
        float | None,
        Quantity(
            text="mass of the rod, spread evenly along its length", unit="g", low="0 g", high="1000 g", default="0 g"
        ),
    ] = None
    end_mass: Annotated[float, Quantity(text="mass at the end", unit="g", low="0 g", high="3000 g", example="100 g")]
    frequency: Annotated[
        float | None,
        Quantity(
            text="frequency at which the rod swings with its end mass, held at its start (filmed, or heard as it is "
            "plucked)",
            unit="Hz",
            low="1 Hz",
            high="1000 Hz",
            example="20 Hz",
        ),
    ] = None
    damping: Annotated[
        float | None,
        Quantity(
            text="damping of that swing, as a share of the least at which it would not swing at all",
            low="0",
            high="0.5",
            default="0.02",
            basis="judgement",
        ),
    ] = None
    rigid: Annotated[
        bool | None,
        Note(text="whether the rod is taken as rigid, whatever its frequency", default=False, basis="judgement"),
    ] = None


class Riser(Record, frozen=True, kw_only=True):
    """The riser: a rigid body in the riser frame (origin at the pivot, x forward, y up).

    Examples
    --------
    >>> import archerysim
    >>> long_rod = archerysim.Rod(start_x="30 mm", length="28 in", end_mass="120 g")
    >>> riser = archerysim.Riser(mass="1.15 kg", rods=[long_rod])
    >>> riser.mass, len(riser.rods)  # [kg]
    (1.15, 1)
    """

    label: ClassVar[str] = "riser"

    length: Annotated[float | None, Quantity(text="nominal length", unit="in", low="6 in", high="36 in")] = None
    mass: Annotated[
        float | None,
        Quantity(text="mass with sight and grip, without stabilisers", unit="kg", low="0.05 kg", high="5 kg"),
    ] = None
    mass_centre_x: Annotated[
        float | None,
        Quantity(
            text="mass centre forward of the pivot",
            unit="mm",
            low="-300 mm",
            high="300 mm",
            default="0 mm",
            basis="judgement",
        ),
    ] = None
    mass_centre_y: Annotated[
        float | None,
        Quantity(
            text="mass centre above the pivot",
            unit="mm",
            low="-300 mm",
            high="300 mm",
            default="20 mm",
            basis="judgement",
        ),
    ] = None
    inertia: Annotated[
        float | None,
        Quantity(
            text="moment of inertia about the mass centre, in the plane of the shot",
            unit="kg m^2",
            low="1e-4 kg m^2",
            high="2 kg m^2",
        ),
    ] = None
    upper_root_x: Annotated[
        float | None,
        Quantity(
            text="root of the upper limb's axis, forward of the pivot (measured: from the tillers)",
            unit="mm",
            low="-250 mm",
            high="250 mm",
        ),
    ] = None
    upper_root_y: Annotated[
        float | None,
        Quantity(text="root of the upper limb's axis, above the pivot", unit="mm", low="20 mm", high="600 mm"),
    ] = None
    lower_root_x: Annotated[
        float | None,
        Quantity(
            text="root of the lower limb's axis, forward of the pivot (measured: from the tillers)",
            unit="mm",
            low="-250 mm",
            high="250 mm",
        ),
    ] = None
    lower_root_y: Annotated[
        float | None,
        Quantity(
            text="root of the lower limb's axis, above the pivot (so negative)",
            unit="mm",
            low="-600 mm",
            high="-20 mm",
        ),
    ] = None
    rods: tuple[Rod, ...] = ()
