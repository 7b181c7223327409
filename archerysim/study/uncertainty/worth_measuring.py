"""What a file leaves to be assumed and would be worth measuring next."""

from __future__ import annotations

from typing import NamedTuple

from archerysim.equipment import Setup, sources
from archerysim.study.uncertainty.inputs import usual_inputs

# Inputs by how far they move the reading that brings bare and fletched shafts together, each by what an archer can know
# of it, those that move it most first: the table of docs/evidence.md, of the outdoor club bow; for other bows about the
# same [judgement]. Beside each where a file tells it, and what it is in the archer's words.
BY_WORTH = (
    ("archer.release_time", "archer.release_time", "how fast the fingers open"),
    ("bow.stiffness_ratio", "bow.stiffness_ratio", "which limb is stiffer"),
    ("nock.slope", "nock.slope", "slope of the nock's floor"),
    ("nock.locators.gap", "nock.locators.gap", "play between the locators"),
    ("archer.finger_shares.0", "archer.finger_shares", "load on each finger"),
    ("lower_limb.mass", "limbs.mass", "mass of each limb"),
    ("bow.pocket_angle", "bow.pocket_angle", "lean of the unstrung limbs"),
    ("archer.cant", "archer.cant", "cant of the bow"),
    ("string.construction_factor", "string.construction_factor", "stiffness of the string"),
)
JUDGED = " [judgement]"
NOT_MEASURED = "not measured"


class Worth(NamedTuple):
    """An input that is assumed.

    Attributes
    ----------
    path : str
        Where the file would tell it.
    words : str
        What it is.
    how : str
        How it is measured; "" for what no archer measures.
    """

    path: str
    words: str
    how: str


def worth_measuring(setup: Setup) -> tuple[Worth, ...]:
    """Inputs that a setup leaves to be assumed and that move the tune most, the most first."""
    known = sources(setup)
    usual = {one.path: one for one in usual_inputs(setup, planes=2)}
    found = []
    for path, told_at, words in BY_WORTH:
        source = known.get(path) or known.get(path.rpartition(".")[0])
        if path in usual and source is not None and source.kind == "assumed":
            how = usual[path].how.removesuffix(JUDGED)
            found.append(Worth(told_at, words, "" if how == NOT_MEASURED else how))
    return tuple(found)
