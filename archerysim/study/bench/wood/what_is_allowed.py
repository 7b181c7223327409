"""What must not be passed while a bow is tillered: the limits of its file; where it has none, what was measured."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from archerysim.equipment import SetupError, filled
from archerysim.equipment.filled_setup import BuiltSetup
from archerysim.fields.units import show
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.statics.strain import LIMBS, limit_of
from archerysim.study.bench.wood.judged import Judged, judged

SLACK = 1e-9  # [m] of a draw length: rounding


class Allowed(NamedTuple):
    """What must not be passed.

    Attributes
    ----------
    stand : Judged
        The bow as it stands.
    draw_length : float
        At which it is weighed: the archer's [m].
    heaviest : float
        Draw weight there [N].
    heaviest_words : str
    known_weight : bool
        Whether the file gives it.
    brace : (float, float)
        Brace heights [m]; infinite where no limit is given.
    strain : (2, k) array or None
        Largest strain at each place; None where no limit is known.
    strain_words : str
    """

    stand: Judged
    draw_length: float
    heaviest: float
    heaviest_words: str
    known_weight: bool
    brace: tuple[float, float]
    strain: np.ndarray | None
    strain_words: str


def allowed(bow: FittedBow, full: BuiltSetup, place: np.ndarray) -> Allowed:
    """The bounds of a bow as built.

    Raises
    ------
    SetupError
        Where the bow passes one as it stands, or is drawn further than it may be.
    ShotError
    """
    limits, draw = bow.setup.limits, float(full.archer.draw_length)
    furthest = _furthest(bow)
    if draw > furthest + SLACK:
        past = "limits.longest_draw" if limits.longest_draw is not None else "the draw that was measured"
        raise SetupError(
            "archer.draw_length",
            f"{show(draw, 'in')} is past {past}, {show(furthest, 'in')}",
            "Draw no further than the bow has been tillered to",
        )
    stand = judged(full, bow.mesh, draw, place, trial=False)
    _refuse_passed(bow)
    given = limits.highest_draw_weight
    weighed = stand.drawn.weight if bow.before is None else bow.before.weight
    weighed = stand.drawn.weight if math.isnan(weighed) else weighed
    heaviest = weighed if given is None else given
    words = "limits.highest_draw_weight" if given is not None else "the draw weight that was measured"
    most, named = _strain(bow, stand)
    return Allowed(
        stand, draw, heaviest, f"{words}, {show(heaviest, 'lbf', 4)}", given is not None,
        (limits.brace_height_low or -math.inf, limits.brace_height_high or math.inf), most, named,
    )  # fmt: skip


def _furthest(bow: FittedBow) -> float:
    """How far it may be drawn: by the file, or as far as the archer of the file draws it or it was weighed [m]."""
    if bow.setup.limits.longest_draw is not None:
        return bow.setup.limits.longest_draw
    given = bow.before.given if bow.before else bow.given
    return max(float(filled(given).archer.draw_length), given.bow.draw_weight_at or 0.0)


def _refuse_passed(bow: FittedBow) -> None:
    """Refuse a bow that passes a limit of its draw or of its limbs as it stands."""
    curve = bow.draw_curve(2)
    for name, words in zip(curve.limits_passed, curve.warnings, strict=False):
        if (name.startswith("limits.") and "arrow" not in name) or name.endswith("strain_limit"):
            raise SetupError(name, f"passed by the bow as it stands: {words}", "See its maker or a bowyer first")


def _strain(bow: FittedBow, stand: Judged) -> tuple[np.ndarray | None, str]:
    """The largest strain at each place of both limbs, and its name."""
    if not np.isfinite(stand.strain).all():
        return None, ""
    limits = [limit_of(getattr(bow.setup, f"{limb}_limb")) for limb in LIMBS]
    if all(most is None for most, _ in limits):
        return None, ""
    most = np.array([math.inf if one is None else one for one, _ in limits])
    usual = next((f", usual for {material}" for _, material in limits if material), "")
    shares = " and ".join(dict.fromkeys(f"{100 * one:.2f} %" for one in most if math.isfinite(one)))
    return np.broadcast_to(most[:, None], stand.strain.shape), f"the strain limit ({shares}{usual})"
