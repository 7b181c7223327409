"""Writes every table and sentence of README.md and docs/ that holds a computed number.

``python docs/tables.py`` writes them, ``python docs/tables.py --check`` compares what stands there with what is
computed now (numbers to one in a hundred or one in the last digit) and fails where they differ.

A table called NAME stands between the lines ``<!-- table: NAME -->`` and ``<!-- end -->``.
"""

from __future__ import annotations

import dataclasses
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bench
import evenings
import evidence
import prices
import ranges
import sideways
import sizes
import stories
import symptoms
import unfletched
import your_bow
from places import PLACE, in_words, number, same, table
from prices import EXAMPLES, setup, shot

import archerysim
from archerysim.equipment.arrow import front_of_centre, grains_per_pound, total_mass
from archerysim.equipment.limbs.materials import MATERIALS
from archerysim.fields.paths import all_paths, resolve
from archerysim.fields.quantity import Note
from archerysim.fields.units import from_si
from archerysim.shot import warnings
from archerysim.shot.columns import MOMENT, SHOT
from archerysim.shot.flight.bare_shaft import bare_difference
from archerysim.shot.release import release as loose
from archerysim.shot.statics import brace, bracing, draw
from archerysim.show.answers.shot import launch_answer
from archerysim.study.tuning.zero_attack import zero_attack_reading

ROOT = Path(__file__).resolve().parents[1]
PAGES = (
    "README.md",
    *(
        f"docs/{name}.md"
        for name in (
            "first-setup",
            "bow-case",
            "glossary",
            "model",
            "both-planes",
            "sideways-tune",
            "limits",
            "setup-file",
            "evidence",
            "flight",
            "how-sure",
            "notes",
            "season",
            "journal",
            "explain",
            "symptoms",
            "bench",
        )
    ),
)
# Their boxes are compared by tests/docs/test_stories.py, which runs what stands in them.
STORIES = tuple(f"docs/story-{name}.md" for name in ("researcher", "coach", "bowmaker", "flatbow"))


def readme_first() -> str:
    """One command and its answer, without the warnings."""
    page = launch_answer(shot("club-outdoor")).partition("\nWarnings\n")[0].rstrip()
    return f"```text\n$ archerysim shoot examples/club-outdoor.toml\n{page}\n```"


def readme_sweep() -> str:
    """The README's sweep."""
    rows = []
    for reading in (4.0, 6.0, 8.0, 10.0, 12.0):
        one = shot("club-outdoor", reading)
        rows.append([
            f"{one.reading:.0f} mm", f"{one.separation.pitch:+.2f}", f"{one.clear.pitch:+.2f}",
            f"{one.clear.pitch_rate:+.1f}", f"{one.clear.vertical_velocity:+.2f}",
            f"{one.clear.angle_of_attack:+.2f}", f"{one.separation.speed:.1f}",
        ])  # fmt: skip
    return table(
        ("reading, underside", "pitch at separation [deg]", "pitch at clear [deg]", "pitch rate at clear [rad/s]",
         "vertical velocity at clear [m/s]", "angle of attack at clear [deg]", "speed [m/s]"),
        rows,
    )  # fmt: skip


def readme_best() -> str:
    """The two best readings of the README's bow, and what a millimetre does."""
    together, zero_attack = prices.best("club-outdoor")
    low, high = (bare_difference(shot("club-outdoor", together + by), "18 m").height for by in (-2.0, 2.0))
    slope = zero_attack_reading(prices.as_built("club-outdoor")).slope
    touches = (
        f" At {together:.1f} mm the model's shaft still strikes the arm of the rest: clear that first, and do not "
        "go so low on a real bow without a look at powder or paint."
        if warnings.of_contact(shot("club-outdoor", together).warnings)
        else ""
    )
    return (
        f"On this invented bow the bare shaft joins the fletched ones at 18 m with the locators near {together:.1f} mm "
        f"by the underside, and there is no angle of attack at clear near {zero_attack:.1f} mm. One millimetre up "
        f"turns the angle of attack by {slope:+.3f} degrees and puts the bare shaft some "
        f"{1e3 * abs(high - low) / 4.0:.0f} mm lower.{touches}"
    )


def readme_claim() -> str:
    """The slope of the README's sweep, with the range of the band's draws."""
    data = archerysim.sweep(
        setup("club-outdoor"), {"nock.locators.reading": "4 mm:12 mm:2 mm"}, band=True, progress=False
    ).sel(moment="clear")
    slopes = [
        f"{words} by {float(data[f'{name}_slope']):+.3f} degrees (90 %: {float(data[f'{name}_slope_low']):+.3f} to "
        f"{float(data[f'{name}_slope_high']):+.3f})"
        for name, words in (("pitch", "pitch at clear"), ("angle_of_attack", "angle of attack"))
    ]
    return f"On this bow a millimetre up turns the {' and the '.join(slopes)}, from 4 to 12 mm by the underside."


def readme_sure() -> str:
    """How well the absolute height is known."""
    together = evidence.sure().linear[0]
    return (
        f"On this bow the absolute height is known to {together:.1f} mm (one standard deviation), by all that "
        "measuring leaves open ([evidence](docs/evidence.md)); what the model leaves out comes on top "
        "([limits](docs/limits.md))."
    )


def readme_readings() -> str:
    """One locator height told in three ways, on two shafts."""
    rows = []
    for name, words in (("club-outdoor", "slim outdoor shaft"), ("club-indoor", "fat indoor shaft")):
        one = shot(name)
        rows.append([
            words, f"{from_si(setup(name).arrow.diameter, 'mm'):.1f} mm", f"{one.reading:.1f} mm",
            f"{one.reading_top:.1f} mm", f"{one.axis_above_square:.2f} mm",
        ])  # fmt: skip
    return table(("setup", "shaft", "underside", "top", "axis above square"), rows)


def readme_examples() -> str:
    """What the example setups come to."""
    rows = []
    for name in (*EXAMPLES, "longbow", "flatbow", "training-bow"):
        one, given = shot(name), setup(name)
        mass = total_mass(given.arrow)
        rows.append([
            f"`{name}.toml`", f"{from_si(one.draw_force, 'lbf'):.1f} lb",
            f"{one.braced.string_length / 0.0254:.1f} in", f"{1e3 * mass:.1f} g",
            f"{grains_per_pound(mass, one.draw_force):.1f}", f"{front_of_centre(given.arrow):.0f} %",
            f"{one.stored_energy:.1f} J", f"{one.efficiency:.2f}",
            f"{one.separation.speed:.1f} m/s ({one.separation.speed / 0.3048:.0f} fps)",
        ])  # fmt: skip
    return table(
        ("setup", "draw weight at the archer's draw", "string", "arrow", "grains per pound", "FOC", "stored energy",
         "efficiency", "speed"),
        rows,
    )  # fmt: skip


def model_mesh() -> str:
    """Each mesh against the fine one, readings 6 and 10 mm, the larger difference of the two."""
    rows = []
    for name in EXAMPLES:
        for mesh in ("coarse", "default"):
            worst = [
                max(abs(value(shot(name, h, mesh)) - value(shot(name, h, "fine"))) for h in (6.0, 10.0))
                for value in (
                    lambda s: s.separation.pitch, lambda s: s.clear.pitch, lambda s: s.clear.angle_of_attack,
                )
            ]  # fmt: skip
            speed = max(
                abs(shot(name, h, mesh).separation.speed / shot(name, h, "fine").separation.speed - 1.0)
                for h in (6.0, 10.0)
            )
            readings = abs(prices.best(name, mesh) - prices.best(name, "fine"))
            rows.append([
                name, mesh, *(f"{d:.3f}" for d in worst), *(f"{d:.2f}" for d in readings), f"{100 * speed:.3f}",
                f"{shot(name, 6.0, mesh).steps}",
            ])  # fmt: skip
    return table(
        ("setup", "mesh", "pitch at separation [deg]", "pitch at clear [deg]", "angle of attack at clear [deg]",
         "reading, bare and fletched together at 18 m [mm]", "reading, no angle of attack [mm]", "speed [%]",
         "time steps"),
        rows,
    )  # fmt: skip


def model_meshes() -> str:
    """The three presets."""
    rows = [
        [name, str(m.limb), str(m.string), str(m.arrow), f"{1e3 * m.near:.0f} mm"]
        for name, m in archerysim.MESHES.items()
    ]
    return table(
        (
            "preset",
            "cells a limb",
            "string cells, finger to tip",
            "cells of the shaft",
            "longest string cell at the nock",
        ),
        rows,
    )


def model_constants() -> str:
    """The method's own numbers, from the code."""
    rows = [
        ["largest residual of an equilibrium", f"{bracing.TOLERANCE:.0e} N", "`shot/statics/bracing.py` TOLERANCE"],
        ["steps of the draw's continuation", str(draw.STEPS), "`shot/statics/draw.py` STEPS"],
        ["smallest step before the draw is given up", f"{1e3 * draw.SMALLEST:g} mm", "`shot/statics/draw.py` SMALLEST"],
        ["share of the stable time step", str(loose.SAFE), "`shot/release/release.py` SAFE"],
        ["longest time step", f"{1e6 * loose.LONGEST:.0f} us", "`shot/release/release.py` LONGEST"],
        ["throat's place in front of the pivot at clear", f"{1e3 * loose.CLEAR_AT:g} mm",
         "`shot/release/release.py` CLEAR_AT"],
        ["cap on the time of a shot", f"{1e3 * loose.CAP:g} ms", "`shot/release/release.py` CAP"],
        ["string tension that raises a warning", f"{warnings.STRENGTH_SHARE:g} of its strength",
         "`shot/warnings.py` STRENGTH_SHARE"],
        ["gravity", f"{brace.GRAVITY} m/s2", "`shot/statics/brace.py` GRAVITY"],
    ]  # fmt: skip
    return table(("what", "value", "where"), rows)


def model_energy() -> str:
    """What the energy account misses, the largest over the examples and both moments."""
    worst = max(
        abs(moment.energy.residual) / shot(name).stored_energy
        for name in EXAMPLES for moment in (shot(name).separation, shot(name).clear)
    )  # fmt: skip
    return f"Over the examples the account misses at most {100 * worst:.4f} % of the stored energy."


def quantities() -> str:
    """Everything that a sweep's table holds."""
    rows = [[q.text, q.unit, f"`{q.name}`", "each moment"] for q in MOMENT]
    rows += [[q.text, q.unit or "-", f"`{q.name}`", "the shot"] for q in SHOT]
    return table(("what", "unit", "code", "of"), rows)


def fields() -> str:
    """Every field of a setup file, from the records themselves."""
    parts: dict[str, list[list[str]]] = {}
    last = ""
    for path in all_paths(archerysim.Setup):
        home, _, name = path.rpartition(".")
        if home.startswith("lower_limb"):
            continue
        home = {"upper_limb": "limbs", "riser.rods.0": "riser.rods", "string.masses.0": "string.masses",
                "upper_limb.laminations.0": "limbs.laminations"}.get(home, home)  # fmt: skip
        info, field = archerysim.field_info(path), resolve(archerysim.Setup, path)[0].field
        allowed = ""
        if isinstance(field.about, Note):
            choices = ", ".join(f'"{choice}"' for choice in field.about.choices)
            allowed = choices or ("true, false" if field.about.yes_no else "")
        if info.low is not None and info.high is not None:
            allowed = f"{number(from_si(info.low, info.unit))} to {number(from_si(info.high, info.unit))}"
        caution = f"{info.caution.partition(':')[0]}: as above" if info.caution == last else info.caution
        text = f"{info.text}. {caution}" if info.caution else info.text
        last = info.caution
        parts.setdefault(home, []).append([f"`{name}`", text, info.unit, allowed, if_not_given(path, field)])
    out = []
    for home, rows in parts.items():
        brackets = ("[[", "]]") if home in ("riser.rods", "string.masses", "limbs.laminations") else ("[", "]")
        title = f"## {brackets[0]}{home}{brackets[1]}" if home else "## At the top of the file"
        out.append(f"{title}\n\n" + table(("field", "what it is", "unit", "allowed", "if not given"), rows))
    return "\n\n".join(out)


def if_not_given(path: str, field: Any) -> str:
    """What happens where a field is left out: asked for, assumed, derived, or not known."""
    about = field.about
    if field.needed:
        return "must be given"
    if getattr(about, "required", None):
        return f'must be given in form "{about.required}"'
    value = archerysim.field_info(path).default
    if value is not None:
        words = in_words(value, archerysim.field_info(path).unit)
        return words if about.basis == "common practice" else f"{words} [{about.basis}]"
    source = archerysim.sources(setup("club-outdoor")).get(path)
    return source.how if source is not None and source.kind != "given" else ""


def materials() -> str:
    """Usual values of what limbs are made of, with how far single pieces lie from them."""
    rows = []
    for name, (modulus, density, strain, basis) in MATERIALS.items():
        rows.append([
            f"`{name}`", f"{modulus.value / 1e9:.1f}", f"{100 * modulus.spread:.0f} %", f"{density.value:.0f}",
            f"{100 * density.spread:.0f} %", f"{100 * strain.value:.2f} %", f"{100 * strain.spread:.0f} %", basis,
        ])  # fmt: skip
    heads = (
        "material",
        "bending modulus [GPa]",
        "within",
        "density [kg/m^3]",
        "within",
        "strain limit",
        "within",
        "from",
    )
    return table(heads, rows)


TABLES: dict[str, Callable[[], str]] = {
    "first": readme_first,
    "sweep": readme_sweep,
    "best": readme_best,
    "claim": readme_claim,
    "sure": readme_sure,
    "readings": readme_readings,
    "examples": readme_examples,
    "mesh": model_mesh,
    "meshes": model_meshes,
    "constants": model_constants,
    "energy": model_energy,
    "quantities": quantities,
    "fields": fields,
    "materials": materials,
    **sizes.TABLES,
    **prices.TABLES,
    **ranges.TABLES,
    **sideways.TABLES,
    **evidence.TABLES,
    **unfletched.TABLES,
    **symptoms.TABLES,
    **your_bow.TABLES,
    **evenings.TABLES,
    **stories.TABLES,
    **bench.TABLES,
}


def unknown_names() -> list[str]:
    """Names in code letters of the glossary's last columns that the code does not have."""
    known = set(all_paths(archerysim.Setup)) | {"riser.rods", *archerysim.__all__}
    known |= {path.replace("upper_limb.", "limbs.") for path in known if path.startswith("upper_limb.")}
    for record in (archerysim.Launch, archerysim.Moment, archerysim.Energy, archerysim.Trace, archerysim.Edit):
        known |= {field.name for field in dataclasses.fields(record)}
    for told in (
        archerysim.Braced,
        archerysim.DrawCurve,
        archerysim.EvenTiller,
        archerysim.FittedBow,
        archerysim.Launch,
        archerysim.LimbDesign,
        archerysim.Trace,
    ):  # properties too, by the record's name
        known |= {f"{told.__name__}.{name}" for name in (*dir(told), *(one.name for one in dataclasses.fields(told)))}
    lines = (ROOT / "docs/glossary.md").read_text(encoding="utf-8").splitlines()
    cells = [line.rsplit("|", 2)[1] for line in lines if line.startswith("|")]
    return sorted({name for cell in cells for name in re.findall(r"`([^`]+)`", cell)} - known)


def main(arguments: list[str]) -> int:
    """Write or compare; returns the exit status."""
    check = "--check" in arguments
    bad = 0
    for name in unknown_names():
        bad += 1
        print(f"docs/glossary.md: {name} is not a name in the code", file=sys.stderr)
    for page in PAGES if check else PAGES + STORIES:
        path = ROOT / page
        text = path.read_text(encoding="utf-8")

        def renew(match: re.Match[str], page: str = page) -> str:
            nonlocal bad
            begin, name, old, end = match.groups()
            new = f"\n{TABLES[name]()}\n\n"
            if check and not same(old, new):
                bad += 1
                print(f"{page}: table {name} no longer holds:\n{new}", file=sys.stderr)
            return match.group() if check else f"{begin}{new}{end}"

        fresh = PLACE.sub(renew, text)
        if not check and fresh != text:
            path.write_text(fresh, encoding="utf-8")
            print(f"wrote {page}")
    if bad:
        print(f"{bad} tables or names differ; run python docs/tables.py and read what changed", file=sys.stderr)
    return 1 if bad else 0


if __name__ == "__main__":
    with ranges.draws_shared():
        sys.exit(main(sys.argv[1:]))
