"""How the shaft goes past rest and side support: only the shot in both planes knows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from archerysim.equipment.filled_setup import FilledSetup
from archerysim.fields.reported import Reported
from archerysim.fields.result import result
from archerysim.mechanics.release.side_layout import SIDE_NOTES
from archerysim.shot.clearance import Clearance
from archerysim.shot.release.release import LoosedSideways

NAN = float("nan")


@result(
    "arm_left_travel", "side_left_travel", "nock_furthest", "greatest_side_force", "arm_strikes", "tail_touch_force"
)
@dataclass(frozen=True)
class Passage:
    """How the shaft goes past rest and side support.

    In the shot in one plane all of it is nan. Places sideways are told from the bow's plane, positive away from the
    window.

    Attributes
    ----------
    side_aim_angle : float
        The arrow's line at full draw against the bow's plane, positive nose away from the window [deg].
    arm_left_at, arm_left_travel : float
        When the shaft's axis first goes beyond the arm's reach [s], and how far the throat has then travelled since
        full draw [mm]; nan where it does not, and for a shelf.
    arm_strikes : float
        How often the shaft comes back lower than the arm's top and strikes it from the side, so that it folds away.
    arm_strike_at, arm_strike_place, arm_strike_depth, arm_strike_lasted : float
        When it last does [s], where on the shaft, from the throat [mm]; of all strikes together, how far under the
        arm's top it is at most [mm] and for how long [s]; nan where it does not.
    side_left_at, side_left_travel : float
        When the shaft last leaves the side support [s], and the throat's travel then [mm].
    side_touches : float
        How often it comes to touch it.
    greatest_side_force, greatest_side_force_at : float
        Of the side support [N], and when [s].
    tail_touch_at, tail_touch_place, tail_touch_force, tail_touch_lasted : float
        When the shaft's rear half first touches the side support [s], where, from the throat [mm], with which greatest
        force [N] and for how long in all [s]; nan where it does not.
    nock_furthest, nock_furthest_at : float
        Furthest place of the throat's middle sideways [mm], and when [s].
    shaft_furthest : float
        Furthest place of the shaft's axis beside the side support [mm].
    tail_past_at : float
        When the tail has passed both rest and side support [s].
    arm_gap, side_gap : float
        Least gap of the shaft's rear half to the arm, after it last lay on it, and to the side support [mm]; negative
        where they touch.
    vane_arm_gap, vane_side_gap : float
        The same of the vanes, which stand as `arrow.fletching_angle` says [mm].
    """

    side_aim_angle: Annotated[float, Reported("deg", "aim line against the bow's plane, positive nose off the window")]
    arm_left_at: Annotated[
        float, Reported("s", "when the shaft first goes beyond the arm's reach; missing where it does not")
    ]
    arm_left_travel: Annotated[float, Reported("mm", "travel of the throat by then; missing like its time")]
    arm_strikes: Annotated[float, Reported("", "how often the shaft strikes the arm from the side")]
    arm_strike_at: Annotated[float, Reported("s", "when it last does; missing where it does not")]
    arm_strike_place: Annotated[float, Reported("mm", "where on the shaft, from the throat; missing like its time")]
    arm_strike_depth: Annotated[
        float, Reported("mm", "how far under the arm's top the shaft is at most; missing like its time")
    ]
    arm_strike_lasted: Annotated[float, Reported("s", "for how long in all; missing like its time")]
    side_left_at: Annotated[
        float, Reported("s", "when the shaft last leaves the side support; missing where it does not")
    ]
    side_left_travel: Annotated[float, Reported("mm", "travel of the throat by then; missing like its time")]
    side_touches: Annotated[float, Reported("", "how often the shaft comes to touch the side support")]
    greatest_side_force: Annotated[float, Reported("N", "greatest force of the side support")]
    greatest_side_force_at: Annotated[float, Reported("s", "when the side support pushes hardest")]
    tail_touch_at: Annotated[
        float, Reported("s", "when the shaft's rear half first touches the side support; missing where it does not")
    ]
    tail_touch_place: Annotated[float, Reported("mm", "where on the shaft, from the throat; missing like its time")]
    tail_touch_force: Annotated[float, Reported("N", "with which greatest force; missing like its time")]
    tail_touch_lasted: Annotated[float, Reported("s", "for how long in all; missing like its time")]
    nock_furthest: Annotated[float, Reported("mm", "furthest place of the nock sideways, off the window")]
    nock_furthest_at: Annotated[float, Reported("s", "when the nock is furthest sideways")]
    shaft_furthest: Annotated[float, Reported("mm", "furthest place of the shaft's axis beside the side support")]
    tail_past_at: Annotated[float, Reported("s", "when the tail has passed both rest and side support")]
    arm_gap: Annotated[float, Reported("mm", "least gap of the shaft's rear half to the arm after it last lay on it")]
    side_gap: Annotated[float, Reported("mm", "least gap of the shaft's rear half to the side support")]
    vane_arm_gap: Annotated[float, Reported("mm", "least gap of the vanes to the arm, negative where they touch")]
    vane_side_gap: Annotated[
        float, Reported("mm", "least gap of the vanes to the side support, negative where they touch")
    ]


NO_PASSAGE = Passage(*[NAN] * len(Passage.__dataclass_fields__))


def passage_of(
    full: FilledSetup, sideways: LoosedSideways, clearance: Clearance, side_angle: float, rest_left: float
) -> Passage:
    """From what the release noted.

    Parameters
    ----------
    clearance : Clearance
        Of the same shot.
    side_angle : float
        Of the arrow's line at full draw [rad].
    rest_left : float
        When the shaft last lay on the rest [s]; nan where it never left it.
    """
    notes = dict(zip(SIDE_NOTES.names or (), sideways.notes.item(), strict=True))
    cell = full.arrow.length / sideways.cells
    struck, touched = notes["arm_strikes"] > 0, notes["tail_time"] >= 0.0
    rear = 0.5 * sideways.cells
    with np.errstate(invalid="ignore"):
        by_arm = (clearance.at_arm < rear) & (clearance.time > rest_left)
        by_side = clearance.at_side < rear
    past = np.isfinite(clearance.at_arm) | np.isfinite(clearance.at_side)
    return Passage(
        side_aim_angle=math.degrees(side_angle),
        arm_left_at=notes["arm_left_time"], arm_left_travel=1e3 * notes["arm_left_travel"],
        arm_strikes=float(notes["arm_strikes"]), arm_strike_at=notes["arm_strike_time"],
        arm_strike_place=1e3 * cell * notes["arm_strike_place"],
        arm_strike_depth=1e3 * notes["arm_strike_depth"] if struck else NAN,
        arm_strike_lasted=notes["arm_strike_lasted"] if struck else NAN,
        side_left_at=notes["side_left_time"], side_left_travel=1e3 * notes["side_left_travel"],
        side_touches=float(notes["touches"]), greatest_side_force=notes["greatest_support"],
        greatest_side_force_at=notes["support_time"], tail_touch_at=notes["tail_time"],
        tail_touch_place=1e3 * cell * notes["tail_place"],
        tail_touch_force=notes["tail_force"] if touched else NAN,
        tail_touch_lasted=notes["tail_lasted"] if touched else NAN,
        nock_furthest=1e3 * notes["nock_most"], nock_furthest_at=notes["nock_most_time"],
        shaft_furthest=1e3 * notes["largest_side"],
        tail_past_at=float(clearance.time[past].max()),
        arm_gap=least(clearance.arm[by_arm]), side_gap=least(clearance.side[by_side]),
        vane_arm_gap=least(clearance.vane_arm[by_arm]), vane_side_gap=least(clearance.vane_side[by_side]),
    )  # fmt: skip


def least(gap: np.ndarray) -> float:
    """Least of some gaps [m] in millimetres; nan where there is none."""
    known = gap[np.isfinite(gap)]
    return 1e3 * float(known.min()) if known.size else NAN
