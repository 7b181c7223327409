"""What is asked of a bow at the bench: brace, draw, limbs, launch, and the reading that it then wants."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from archerysim.errors import SetupError, ShotError
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.launch import Launch
from archerysim.shot.limbs_compared import LimbsCompared, limbs_compared
from archerysim.shot.strain_along import StrainAlong, strain_along
from archerysim.study.tuning.together import together_reading

# name, unit, meaning; the places in a row of answers
ANSWERS: tuple[tuple[str, str, str], ...] = (
    ("brace_height", "mm", "brace height"),
    ("upper_tiller", "mm", "upper tiller"),
    ("lower_tiller", "mm", "lower tiller"),
    ("tiller_split", "mm", "upper tiller less lower tiller"),
    ("draw_weight", "N", "force on the fingers at the archer's draw"),
    ("stored_energy", "J", "stored energy"),
    ("upper_share", "", "the upper limb's share of the work of drawing"),
    ("upper_strain", "", "largest strain of the upper limb's surfaces at full draw or brace"),
    ("lower_strain", "", "largest strain of the lower limb's surfaces at full draw or brace"),
    ("string_stiffness", "N/m", "resistance of the braced string to being pushed along itself; zero: it tips over"),
    ("upper_home", "ms", "when the upper limb's tip is back where it stood at brace"),
    ("lower_home", "ms", "when the lower limb's tip is back where it stood at brace"),
    ("riser_impulse", "N s", "forward momentum of the riser, its rods and the limbs' butts as the arrow clears"),
    ("riser_turning", "rad/s", "how fast the riser turns as the arrow clears, nose up positive"),
    ("speed", "m/s", "speed at clear"),
    ("reading", "mm", "reading of the locators, tied where they are, by the underside"),
    ("pitch", "deg", "pitch at clear, nose up positive"),
    ("pitch_rate", "rad/s", "pitch rate at clear"),
    ("vertical_velocity", "m/s", "vertical velocity at clear"),
    ("angle_of_attack", "deg", "angle of attack at clear"),
    ("bare_above", "mm", "bare shaft above the fletched one on the target"),
    ("best_reading", "mm", "reading by the underside that brings bare and fletched together"),
)  # fmt: skip
NAMES = tuple(name for name, _, _ in ANSWERS)


class AtBench(NamedTuple):
    """One bow at the bench.

    Attributes
    ----------
    row : (a,) array
        Its answers, in the order of `ANSWERS`; nan where there is none.
    launch : Launch
        With its trace.
    strain : StrainAlong
    limbs : LimbsCompared
    reason : str
        Why there is no best reading; "" where there is.
    """

    row: np.ndarray
    launch: Launch
    strain: StrainAlong
    limbs: LimbsCompared
    reason: str


def at_bench(bow: FittedBow, distance: float) -> AtBench:
    """Ask a bow everything.

    Parameters
    ----------
    bow : FittedBow
    distance : float
        Of the target of bare and fletched shafts [m].

    Raises
    ------
    SetupError, ShotError
        Where it cannot be braced, drawn or shot.
    """
    launch = bow.launch(trace=True)
    strain, limbs = strain_along(launch), limbs_compared(launch)
    best, reason = float("nan"), ""
    try:
        best = together_reading(bow, distance=(distance, "m")).reading
    except (SetupError, ShotError) as error:
        reason = str(error)
    clear = launch.clear
    row = {
        "brace_height": launch.brace_height, "upper_tiller": launch.upper_tiller, "lower_tiller": launch.lower_tiller,
        "tiller_split": launch.upper_tiller - launch.lower_tiller, "draw_weight": launch.draw_force,
        "stored_energy": launch.stored_energy, "upper_share": limbs.upper_share,
        "upper_strain": strain.strain[0].largest, "lower_strain": strain.strain[1].largest,
        "string_stiffness": launch.string_stiffness, "upper_home": 1e3 * limbs.upper_home_at,
        "lower_home": 1e3 * limbs.lower_home_at, "riser_impulse": limbs.riser_impulse,
        "riser_turning": clear.riser_pitch_rate, "speed": clear.speed, "reading": launch.reading, "pitch": clear.pitch,
        "pitch_rate": clear.pitch_rate, "vertical_velocity": clear.vertical_velocity,
        "angle_of_attack": clear.angle_of_attack,
        "bare_above": 1e3 * bare_difference(launch, (distance, "m")).height, "best_reading": best,
    }  # fmt: skip
    return AtBench(np.array([row[name] for name in NAMES]), launch, strain, limbs, reason)
