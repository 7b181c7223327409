"""Shooting random bows: how many are shot and are what they should be, and whether each refusal's reason is true."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from archerysim import status
from archerysim.equipment import Setup, SetupError, filled
from archerysim.errors import SHORT_ARROW, TWO_BOWS, ShotError
from archerysim.shot.arrays.mesh import MESHES
from archerysim.shot.shoot import shoot
from archerysim.shot.statics.fit import fit, string_beside_riser
from tests.random_bows.again import comes_back, otherwise
from tests.random_bows.sampler import BUILT, as_built, random_bow
from tests.random_bows.second_way import TwoLimbs, braced_with, stands

NEVER_BRACED = (
    status.UNSTABLE, status.NO_CONVERGENCE, status.SLACK_STRING, status.SINGULAR, status.NOT_FINITE, TWO_BOWS,
)  # fmt: skip
TRADE = 1.75 * 0.0254  # [m]


@dataclass(frozen=True)
class Outcome:
    """What became of one bow.

    Attributes
    ----------
    index : int
    setup : Setup
        As it was given to be shot.
    reason : str
        Why it was refused; empty where it was shot.
    confirmed : bool
        Whether the reason holds by a second way.
    against : str
        What a second way, or the bow measured and fitted again, says against one that was shot.
    """

    index: int
    setup: Setup
    reason: str
    confirmed: bool
    against: str = ""


def outcomes(count: int, seed: int, mesh: str) -> Iterator[Outcome]:
    """Bow after bow; some told as measured, some as built."""
    return (_outcome(index, seed, mesh, BUILT) for index in range(count))


def built_again(count: int, seed: int, mesh: str) -> Iterator[Outcome]:
    """Bow after bow told as built, until so many have been shot, each measured and fitted again."""
    shot = 0
    for index in itertools.count():
        one = _outcome(index, seed, mesh, 1.0)
        shot += not one.reason
        yield one
        if shot == count:
            return


def _outcome(index: int, seed: int, mesh: str, built: float) -> Outcome:
    """What becomes of one bow, told as built with a probability."""
    rng = np.random.default_rng([seed, index])
    setup = random_bow(rng)
    try:
        if rng.random() < built:
            setup = as_built(rng, fit(setup, mesh).setup)
        launch = shoot(setup, mesh, trace=False)
    except (SetupError, ShotError) as error:
        return Outcome(index, setup, str(error), confirmed(setup, error, mesh))
    against = otherwise(launch)
    if not against and setup.form == "built":
        against = comes_back(launch, mesh)
    return Outcome(index, setup, "", True, against)


def confirmed(setup: Setup, error: SetupError | ShotError, mesh: str) -> bool:
    """Whether a bow is refused for a reason that is true."""
    if not isinstance(error, ShotError):
        return False
    if error.status == SHORT_ARROW:
        return bool(setup.arrow.length < setup.archer.draw_length - TRADE + (setup.rest.forward or 0.0))
    if error.stage in ("brace", "fit") and error.status in NEVER_BRACED:
        return not braced_by_energy(setup)
    if error.stage == "draw":  # a rare one: it must be refused for the same reason however finely the bow is divided
        return mesh != "fine" and refused_on(setup, "fine") == error.status
    return False


def refused_on(setup: Setup, mesh: str) -> int:
    """Status with which a bow is refused on another mesh; that of no failure where it is shot."""
    assert mesh in MESHES
    try:
        shoot(setup, mesh, trace=False)
    except ShotError as error:
        return error.status
    return status.OK


def braced_by_energy(setup: Setup) -> bool:
    """Whether the bow can be braced so that it stays so, by `second_way`."""
    if setup.form == "measured" and any(limb.bolt_turns for limb in (setup.upper_limb, setup.lower_limb)):
        try:
            turned = fit(setup.replace(**{"limbs.bolt_turns": "0 turn"}), "coarse").setup
        except ShotError:  # it is refused as it was measured
            return braced_by_energy(setup.replace(**{"limbs.bolt_turns": "0 turn"}))
        leaning = {}
        for name in ("upper_limb", "lower_limb"):
            limb: Any = getattr(filled(setup), name)
            path = f"{name}.pocket_angle"
            leaning[path] = turned.number(path) + limb.bolt_turns * limb.lean_per_turn
        setup = turned.with_si(**leaning)
    full: Any = filled(setup)
    if setup.form == "built":
        limbs = full.upper_limb, full.lower_limb
        leans = tuple(limb.pocket_angle + limb.bolt_turns * limb.lean_per_turn for limb in limbs)
        return braced_with(TwoLimbs.of(full, None, 1.0, leans, weight=True), float(full.string.length)) is not None
    split, root_x = string_beside_riser(full)
    first = [limb.bending_stiffness[0] for limb in (full.upper_limb, full.lower_limb)]
    factor = 20.0 * (full.bow.draw_weight / 150.0) / float(np.sqrt(np.prod(first)))  # near enough: the string is stiff
    mean = full.bow.pocket_angle
    limbs = TwoLimbs.of(full, root_x, factor, (mean, mean), weight=True)
    by = "stiffness" if full.bow.split_from == "stiffness" else "pockets"
    return stands(limbs, full.bow.brace_height, split, by)


def table(found: list[Outcome]) -> str:
    """How many were shot, and the reasons of the others."""
    shot = sum(not one.reason for one in found)
    lines = [f"{shot} of {len(found)} bows were shot"]
    for reason, count in Counter(one.reason.split("(")[0].strip() for one in found if one.reason).most_common():
        lines.append(f"{count:4d}  {reason}")
    doubtful = [one for one in found if not one.confirmed]
    lines.append(f"{len(doubtful)} of the refusals do not hold by a second way")
    lines += [f"      bow {one.index} ({one.setup.category}, {one.setup.form}): {one.reason}" for one in doubtful]
    wrong = [one for one in found if one.against]
    lines.append(f"{len(wrong)} that were shot are not what they should be")
    lines += [f"      bow {one.index} ({one.setup.category}, {one.setup.form}): {one.against}" for one in wrong]
    return "\n".join(lines)
