"""Records of the archer and of the limits that the makers give."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from archerysim.errors import SetupError
from archerysim.fields.quantity import Note, Quantity
from archerysim.fields.record import Record, Rivals
from archerysim.fields.units import show

Hold = Literal["split", "three under"]
Handed = Literal["right", "left"]
Three = tuple[float, float, float]

# Index, middle, ring: places from the throat's middle along the string, positive = up [m]; shares of load.
FINGER_PLACES: dict[str, Three] = {"split": (0.014, -0.014, -0.032), "three under": (-0.014, -0.032, -0.050)}
FINGER_SHARES: dict[str, Three] = {"split": (0.30, 0.50, 0.20), "three under": (0.40, 0.40, 0.20)}


class Archer(Record, frozen=True, kw_only=True):
    """The archer: fingers on the string, draw length, bow hand.

    Examples
    --------
    >>> import archerysim
    >>> archer = archerysim.Archer(hold="three under", draw_length="28 in", crawl="10 mm")
    >>> archer.hold, archer.crawl  # [m]
    ('three under', 0.01)
    """

    label: ClassVar[str] = "archer"
    rivals: ClassVar[tuple[Rivals, ...]] = (Rivals((("grip_torque",), ("pressure_point",))),)

    hold: Annotated[
        Hold | None, Note(text="one finger above the nock and two below, or three below", default="split")
    ] = None
    draw_length: Annotated[
        float,
        Quantity(
            text="draw length by the trade: throat to the vertical through the pivot at full draw, + 1.75 in",
            unit="in",
            low="15 in",
            high="36 in",
            example="28 in",
        ),
    ]
    crawl: Annotated[
        float | None,
        Quantity(
            text="how far down the string all fingers are set",
            unit="mm",
            low="0 mm",
            high="150 mm",
            default="0 mm",
        ),
    ] = None
    finger_places: Annotated[
        Three | None,
        Quantity(
            text="index, middle, ring: place from the throat's middle along the string, positive = up, "
            "before the crawl",
            unit="mm",
            low="-150 mm",
            high="60 mm",
            count=3,
        ),
    ] = None
    finger_shares: Annotated[
        Three | None,
        Quantity(text="index, middle, ring: share of the load, adding up to 1", low="0", high="1", count=3),
    ] = None
    pad_width: Annotated[
        float | None,
        Quantity(
            text="width over which each finger presses; 0 = a point",
            unit="mm",
            low="0 mm",
            high="30 mm",
            default="0 mm",
        ),
    ] = None
    release_time: Annotated[
        Three | None,
        Quantity(
            text="index, middle, ring: time in which the finger lets go",
            unit="ms",
            low="0.1 ms",
            high="50 ms",
            count=3,
            spread=True,
            default=("5 ms", "5 ms", "5 ms"),
        ),
    ] = None
    release_delays: Annotated[
        Three | None,
        Quantity(
            text="index, middle, ring: delay before the finger lets go",
            unit="ms",
            low="0 ms",
            high="50 ms",
            count=3,
            spread=True,
            default=("0 ms", "0 ms", "0 ms"),
        ),
    ] = None
    pinch: Annotated[
        float | None,
        Quantity(
            text="force of the fingers on the nock along the string, positive = up; it lets go with the fingers",
            unit="N",
            low="-20 N",
            high="20 N",
            default="0 N",
            example="2 N",
        ),
    ] = None
    side_roll: Annotated[
        float | None,
        Quantity(
            text="angle by which a finger's force turns away from the riser's window as the finger lets go",
            unit="deg",
            low="0 deg",
            high="30 deg",
            default="8 deg",
            basis="judgement, poorly known",
        ),
    ] = None
    side_hold: Annotated[
        float | None,
        Quantity(
            text="how far fingers or face hold the nock out of the bow's plane at full draw, "
            "positive = away from the riser's window",
            unit="mm",
            low="-20 mm",
            high="20 mm",
            default="0 mm",
            basis="judgement, poorly known",
        ),
    ] = None
    handed: Annotated[Handed | None, Note(text="which hand draws the string", default="right")] = None
    grip_torque: Annotated[
        float | None,
        Quantity(
            text="torque of the bow hand at full draw beyond the weight of bow and arrow, "
            "positive = turns the bow's top back towards the archer",
            unit="N m",
            low="-20 N m",
            high="20 N m",
            default="0 N m",
        ),
    ] = None
    pressure_point: Annotated[
        float | None,
        Quantity(
            text="height of the hand's push above the pivot",
            unit="mm",
            low="-60 mm",
            high="60 mm",
            example="5 mm",
        ),
    ] = None
    hand_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of the bow hand, forward and up",
            unit="N/m",
            low="0 N/m",
            high="1e6 N/m",
            default="8000 N/m",
            basis="judgement",
        ),
    ] = None
    hand_damping: Annotated[
        float | None,
        Quantity(
            text="damping of the bow hand, forward and up",
            unit="N s/m",
            low="0 N s/m",
            high="1e4 N s/m",
            default="60 N s/m",
            basis="judgement",
        ),
    ] = None
    hand_rotational_stiffness: Annotated[
        float | None,
        Quantity(
            text="stiffness of the bow hand against turning",
            unit="N m/rad",
            low="0 N m/rad",
            high="1000 N m/rad",
            default="5 N m/rad",
            basis="judgement",
        ),
    ] = None
    hand_rotational_damping: Annotated[
        float | None,
        Quantity(
            text="damping of the bow hand against turning",
            unit="N m s/rad",
            low="0 N m s/rad",
            high="100 N m s/rad",
            default="0.3 N m s/rad",
            basis="judgement",
        ),
    ] = None
    elevation: Annotated[
        float | None,
        Quantity(
            text="angle of the arrow's line at full draw above the horizontal",
            unit="deg",
            low="-60 deg",
            high="60 deg",
            default="0 deg",
        ),
    ] = None
    cant: Annotated[
        float | None,
        Quantity(
            text="tilt of the bow, positive = top limb towards the riser's window",
            unit="deg",
            low="-45 deg",
            high="45 deg",
            default="0 deg",
        ),
    ] = None

    def relations(self, path: str) -> None:
        """Check the fingers.

        Raises
        ------
        SetupError
            If the shares do not add up to 1, or the places do not go down from index to ring finger.
        """
        if self.finger_shares is not None and abs(sum(self.finger_shares) - 1.0) > 1e-6:
            raise SetupError(
                f"{path}.finger_shares",
                f"{list(self.finger_shares)} add up to {sum(self.finger_shares):g}, not 1",
                "Divide the whole load: the three values must add up to 1",
            )
        places = self.finger_places
        if places is not None and not places[0] > places[1] > places[2]:
            raise SetupError(
                f"{path}.finger_places",
                f"{', '.join(show(place, 'mm') for place in places)} do not go down the string",
                "Give index, middle and ring finger in this order, each lower than the last",
            )


class Limits(Record, frozen=True, kw_only=True):
    """What the makers of bow and arrow allow; nothing here is assumed.

    Examples
    --------
    >>> import archerysim
    >>> limits = archerysim.Limits(longest_draw="30 in", lightest_arrow="17 g")
    >>> round(limits.longest_draw, 3), limits.lightest_arrow  # [m], [kg]
    (0.762, 0.017)
    """

    label: ClassVar[str] = "limits"

    brace_height_low: Annotated[
        float | None, Quantity(text="least brace height allowed by the maker", unit="mm", low="100 mm", high="400 mm")
    ] = None
    brace_height_high: Annotated[
        float | None,
        Quantity(text="greatest brace height allowed by the maker", unit="mm", low="100 mm", high="400 mm"),
    ] = None
    lightest_arrow: Annotated[
        float | None, Quantity(text="least arrow mass allowed by the maker", unit="g", low="1 g", high="100 g")
    ] = None
    lightest_arrow_per_weight: Annotated[
        float | None,
        Quantity(
            text="least arrow mass for each pound of draw weight allowed by the maker",
            unit="gr/lbf",
            low="1 gr/lbf",
            high="30 gr/lbf",
        ),
    ] = None
    longest_draw: Annotated[
        float | None,
        Quantity(text="longest draw length allowed by the maker, by the trade", unit="in", low="10 in", high="40 in"),
    ] = None
    highest_draw_weight: Annotated[
        float | None,
        Quantity(text="highest draw weight allowed by the maker", unit="lbf", low="2 lbf", high="200 lbf"),
    ] = None
    most_bolt_turns: Annotated[
        float | None,
        Quantity(
            text="most turns of a limb bolt from its place as delivered, allowed by the maker",
            unit="turn",
            low="0 turn",
            high="20 turn",
        ),
    ] = None

    def relations(self, path: str) -> None:
        """Check the order of the brace heights.

        Raises
        ------
        SetupError
            If the lowest brace height is above the highest.
        """
        low, high = self.brace_height_low, self.brace_height_high
        if low is not None and high is not None and low > high:
            raise SetupError(
                f"{path}.brace_height_low",
                f"{show(low, 'mm')} is above {path}.brace_height_high, {show(high, 'mm')}",
                "Check both against the maker's leaflet",
            )
