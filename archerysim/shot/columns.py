"""What a shot reports: name, unit and meaning of each quantity, said once for tables, files and plots."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reported:
    """One reported quantity.

    Attributes
    ----------
    name, unit, text : str
        Field of `Moment` or `Launch`, its unit, its meaning.
    """

    name: str
    unit: str
    text: str


MOMENT = (
    Reported("time", "s", "time after the release begins"),
    Reported("speed", "m/s", "speed of the arrow's mass centre along the aim line"),
    Reported("vertical_velocity", "m/s", "velocity of the mass centre square to the aim line, positive up"),
    Reported("pitch", "deg", "angle of the shaft to the aim line, positive nose up"),
    Reported(
        "pitch_to_bow",
        "deg",
        "angle of the shaft to the riser's x at full draw: pitch plus aim_angle, positive nose up",
    ),
    Reported("pitch_rate", "rad/s", "rate of the pitch, positive nose up"),
    Reported("angle_of_attack", "deg", "pitch minus the direction of the mass centre's velocity"),
    Reported("bend_1", "mm", "largest deflection in the shaft's first bending mode, positive tail up"),
    Reported("bend_1_rate", "m/s", "rate of bend_1"),
    Reported("bend_2", "mm", "largest deflection in the shaft's second bending mode, positive tail up"),
    Reported("bend_2_rate", "m/s", "rate of bend_2"),
    Reported("nock_x", "m", "nock along the aim line from the pivot's place at full draw"),
    Reported("nock_y", "m", "nock square to the aim line from the pivot's place at full draw"),
    Reported("riser_pitch", "deg", "turn of the riser since full draw, positive nose up"),
    Reported("riser_pitch_rate", "rad/s", "rate of the riser's turn"),
)

SHOT = (
    Reported("reading", "mm", "locator height by the underside of the nock"),
    Reported("reading_top", "mm", "locator height by the top of the nock"),
    Reported("axis_above_square", "mm", "nock axis above square"),
    Reported("brace_height", "mm", "pivot to string, square to the string"),
    Reported("upper_tiller", "mm", "upper limb's belly at its root to the string"),
    Reported("lower_tiller", "mm", "lower limb's belly at its root to the string"),
    Reported("string_tension", "N", "tension of the string at brace"),
    Reported("draw_force", "N", "force on the fingers at full draw"),
    Reported("aim_angle", "deg", "aim line (throat to point at full draw) against the riser's x, positive nose up"),
    Reported("stored_energy", "J", "energy stored from brace to full draw"),
    Reported("efficiency", "1", "arrow's energy at separation over the stored energy"),
    Reported(
        "rest_left_at", "s", "when the shaft last left the rest; missing where it lay there until the support ended"
    ),
    Reported(
        "rest_left_travel",
        "mm",
        "travel of the throat from full draw to where the rest was left; missing like its time",
    ),
    Reported(
        "second_strike_at", "s", "when the shaft last came down on the supporting rest again; missing where it did not"
    ),
    Reported(
        "second_strike_travel",
        "mm",
        "travel of the throat from full draw to the second strike; missing where there was none",
    ),
    Reported(
        "second_strike_depth",
        "mm",
        "how deep the shaft pressed the rest from the second strike on; missing where there was none",
    ),
    Reported(
        "suppressed_strike",
        "mm",
        "how deep the shaft would have pressed on the rest after its support ended; missing where it would not have",
    ),
    Reported(
        "least_gap",
        "mm",
        "least gap of shaft and tail to the rest after its support ended, negative where it would strike; missing "
        "where the support did not end",
    ),
)
