"""What can go wrong with a shot, as sentences with a remedy."""

from __future__ import annotations

from archerysim.mechanics import status

SHORT_ARROW = 101  # statuses from 101 on are found outside of the kernels
TWO_BOWS = 102

REMEDY = {
    SHORT_ARROW: (
        "the shaft does not reach the rest at full draw; never draw an arrow off its rest: lengthen the arrow or "
        "shorten the draw"
    ),
    TWO_BOWS: (
        "braced again with the string that was found, it is another bow than the one measured: there is more than one "
        "equilibrium; check tillers, brace height, pocket angle and the limbs' curvature"
    ),
    status.UNSTABLE: (
        "this bow would not stay so: its limbs would tip, one forward and one back; check natural_curvature, "
        "pocket angles and both limbs' stiffness (a recurve that is held by its string lying on the limbs cannot be "
        "computed yet)"
    ),
    status.NO_CONVERGENCE: "no equilibrium was found; check lengths, stiffness and draw length against each other",
    status.SINGULAR: "the bow has no stable shape there (a slack string or a buckled part); check its stiffness",
    status.NOT_FINITE: "the numbers ran away; check masses, lengths and stiffness for a slip of unit",
    status.SLACK_STRING: "the string is slack; shorten string.length or raise the brace height",
    status.UNSTEADY: (
        "no step of time was short enough to keep the energy; check stiffness and loss of nock, locators, rest and "
        "string for a slip of unit"
    ),
    status.TIME_CAP: "the arrow was not clear in the time allowed; check the draw force and the arrow's mass",
    status.OFF_REST: (
        "at full draw the string's bend lifts the arrow off the rest; move load from one finger to the others"
    ),
}


class ShotError(RuntimeError):
    """A shot that cannot be computed.

    Attributes
    ----------
    stage : str
        "brace", "draw", "release", ...
    status : int
        The kernel's status.
    """

    def __init__(self, stage: str, code: int, detail: str = "") -> None:
        self.stage = stage
        self.status = code
        text = REMEDY.get(code, "it failed for a reason without a name")
        super().__init__(f"{stage}: {text}" + (f" ({detail})" if detail else ""))
