"""What a row of a sweep reports of a shot, in order; name, unit and meaning stand at the fields."""

from __future__ import annotations

from archerysim.fields.reported import columns_of
from archerysim.shot.launch import Launch
from archerysim.shot.moment import Moment
from archerysim.shot.passage import Passage

# told with the shot alone
OF_THE_TIMELINE = (
    "step", "support_ends_at", "greatest_push_at", "string_straight_at", "string_on_upper_at", "string_on_lower_at",
)  # fmt: skip

# sideways, and known badly of one shot until groups have fixed the roll of the fingers: data have them as they are, all
# else tells differences
OF_ONE_SHOT = frozenset({
    "sideways_velocity", "yaw", "yaw_rate", "side_angle_of_attack", "side_bend_1", "side_bend_1_rate", "side_bend_2",
    "side_bend_2_rate", "nock_z", "centre_z",
})  # fmt: skip

MOMENT = tuple(one for one in columns_of(Moment) if one.name not in ("centre_x", "centre_y"))
PASSAGE = columns_of(Passage)
BY_PASSAGE = frozenset(one.name for one in PASSAGE)
SHOT = tuple(one for one in columns_of(Launch) if one.name not in OF_THE_TIMELINE) + PASSAGE


def of_shot(launch: Launch, name: str) -> float:
    """One of `SHOT` by its name."""
    found: float = getattr(launch.passage if name in BY_PASSAGE else launch, name)
    return found
