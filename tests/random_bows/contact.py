"""What a shaft touches after it has first left, by which directions may turn round; the shaft that passes clear."""

from __future__ import annotations

import math

from archerysim.equipment import filled
from archerysim.errors import ArcherysimError
from archerysim.fields.paths import InSi
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.launch import Launch
from archerysim.shot.warnings import DEEP, touches_hard

INCH = 0.0254
SPINES = tuple(0.3 * 1.1**k for k in range(18))  # [in] of the shafts on offer, up to 1.5
HIGHER = (0.0, 2.0, 4.0)  # [mm] locators are tied, where no shaft passes clear at the given reading
BESIDE = (1.15, 1.0, 0.9)  # of the spine: it must pass clear with shafts stiffer and weaker too
STEP_WORTH = 0.2  # of a spine's logarithm: what 2 mm of reading count in looking for the nearest bow


def contact(launch: Launch) -> tuple[str, ...]:
    """What touches after the shaft has first left: its tail, the arm from the side by more than a graze.

    A strike on the arm alone does nothing here, since it folds away without force.
    """
    passage, full = launch.passage, filled(launch.setup)
    found = []
    if math.isfinite(passage.tail_touch_force):
        hard = touches_hard(launch.drawing.setup.arrow, passage.tail_touch_force, passage.tail_touch_lasted)
        found.append("tail on the side support" if hard else "tail grazes the side support")
    if passage.arm_strikes and passage.arm_strike_depth > 1e3 * DEEP:
        found.append("arm struck")
    if full.rest.kind != "shelf" and math.isnan(passage.arm_left_travel):
        found.append("never off the arm")
    if rests_on_its_tail(launch):
        found.append("tail on the rest")
    return tuple(found)


def back_on_the_rest(launch: Launch) -> bool:
    """Whether the shaft comes down on the rest again, wherever on it: another shot, up and down."""
    return math.isfinite(launch.second_strike_at)


def rests_on_its_tail(launch: Launch) -> bool:
    """Whether it does so with its rear half."""
    full = filled(launch.setup)
    ahead = full.archer.draw_length - 1.75 * INCH + full.rest.forward  # of the throat, at full draw
    on_shaft = ahead - 1e-3 * launch.rest_left_travel
    return math.isfinite(launch.second_strike_at) and on_shaft < 0.5 * full.arrow.length


def that_passes_clear(bow: FittedBow) -> FittedBow:
    """The bow with the shaft nearest to its own that passes clear, its locators tied higher where none does.

    An archer shoots such a shaft; most that are drawn at random strike the side support with their tail. Where none of
    those on offer passes clear the bow is left as it is.
    """
    own = filled(bow.setup).arrow.spine / INCH
    offers = [
        (abs(math.log(spine / own)) + STEP_WORTH * higher / 2.0, spine, higher)
        for spine in (own, *SPINES)
        for higher in HIGHER
    ]
    for _, spine, higher in sorted(offers):
        changes = {"nock.locators.reading": bow.reading + 1e-3 * higher}
        try:
            if all(not contact(bow.launch(InSi({"arrow.spine": spine * by * INCH, **changes}))) for by in BESIDE):
                return bow.with_changes(InSi({"arrow.spine": spine * INCH, **changes}))
        except ArcherysimError:
            continue
    return bow
