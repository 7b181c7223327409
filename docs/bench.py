"""Tables of docs/bench.md: what can be said, its cautions, a change worked through, laminations."""

from __future__ import annotations

from collections.abc import Callable

from places import table
from prices import setup
from said import shown

import archerysim
from archerysim.equipment.bench.parts import OtherLimbs, OtherRiser
from archerysim.equipment.bench.said import EXAMPLES, FromFile, step_of
from archerysim.study.bench.cautions import CAUTIONS

STEPS = ("turn lower 1 turn out", "turn upper 1/2 turn in")
SAID = " ".join(f'"{one}"' for one in STEPS)
TURNED = f"archerysim change examples/training-bow.toml {SAID} --all --plot out/bench.png"
WRAPPED = TURNED.replace(' "turn upper', ' \\\n    "turn upper').replace(" --all", " \\\n    --all")
OTHERS = {"limbs": OtherLimbs, "riser": OtherRiser}
ON = {
    "turn": "limbs in pockets", "shim": "limbs in pockets", "twist": "any bow", "swap": "limbs in pockets",
    "limbs": "limbs in pockets", "riser": "limbs in pockets", "cut": "solid wood", "heat": "solid wood",
    "scrape": "solid wood, belly or edges",
}  # fmt: skip


def label(caution: str) -> str:
    """A caution's first words."""
    return caution.partition(":")[0].lower()


def steps() -> str:
    """Every step as it is said."""
    rows = []
    for verb, said in EXAMPLES.items():
        step = step_of(said)
        kind = OTHERS[step.part] if isinstance(step, FromFile) else type(step)
        done = f"take the {step.part} of another bow" if isinstance(step, FromFile) else step.words
        rows.append([f"`{said}`", done, ON[verb], ", ".join(label(one) for one in CAUTIONS[kind])])
    return table(("said", "what is done", "on", "caution"), rows)


def told() -> str:
    """The cautions themselves, each once."""
    every = dict.fromkeys(one for several in CAUTIONS.values() for one in several)
    return "\n".join(f"> - {one}" for one in every)


def worked() -> str:
    """A change with what it prints."""
    return shown(TURNED, wrapped=WRAPPED)


def glued() -> str:
    """The training bow's laminations at the root and at the tip."""
    full = archerysim.filled(setup("training-bow"))
    rows = []
    for name, limb in (("upper", full.upper_limb), ("lower", full.lower_limb)):
        for place, k in (("root", 0), ("tip", -1)):
            strips = " + ".join(f"{1e3 * one.thickness[k]:.2f}" for one in limb.laminations)
            rows.append([
                f"{name}, {place}", f"{1e3 * limb.width[k]:.0f}", strips, f"{1e3 * limb.thickness[k]:.2f}",
                f"{limb.bending_stiffness[k]:.2f}",
            ])  # fmt: skip
    heads = ("limb", "width [mm]", "laminations, back to belly [mm]", "together [mm]", "E I [N m2]")
    return table(heads, rows)


def even() -> str:
    """A stave's lower limb scraped."""
    return shown('archerysim even-tiller examples/flatbow.toml --split "3 mm"')


def timed() -> str:
    """The splits of a club bow."""
    return shown("archerysim timed-tiller examples/club-outdoor.toml")


TABLES: dict[str, Callable[[], str]] = {
    "bench-steps": steps, "bench-cautions": told, "bench-change": worked, "bench-laminations": glued,
    "bench-even": even, "bench-timed": timed,
}  # fmt: skip
