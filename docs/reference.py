"""The reference's pages: every public name of `archerysim` and `archerysim.show`, grouped by question.

A name's group follows from the folder that it lives in, so that a new one needs nothing here. The pages are written
whenever the site is made; what they say are the docstrings, and for records also what the code knows of each field.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from inspect import isclass
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import msgspec

import archerysim
from archerysim import show


@dataclass(frozen=True)
class Group:
    """A page of the reference.

    Attributes
    ----------
    page : str
        Name of the page's file, without its ending.
    question : str
        Its heading.
    text : str
        What stands under the heading.
    homes : tuple of str
        The modules and folders whose public names stand on it, from ``archerysim`` on.
    """

    page: str
    question: str
    text: str
    homes: tuple[str, ...]


GROUPS = (
    Group(
        "setup",
        "What bow, what arrow, what archer?",
        "Records of what was measured, read from a [setup file](../setup-file.md) or made in Python. As in a file a "
        "number carries its unit; what was computed in SI (metres, kilograms, newtons, radians) goes in through "
        "`with_si`, and records are made of it.",
        ("equipment", "fields", "show.measures"),
    ),
    Group(
        "shot",
        "How does the arrow leave the bow?",
        "The bow fitted to its measures, braced, drawn and let go. The mechanics: [the model](../model.md).",
        ("shot", "show.shots", "show.motion"),
    ),
    Group(
        "flight",
        "Where does it land?",
        "The arrow from the string to the target, bare or fletched: [the flight](../flight.md).",
        ("shot.flight", "study.bare_shaft", "show.flights", "show.bare_shaft"),
    ),
    Group(
        "sweeps",
        "What would other values do?",
        "Shots over one or several values of a setup, kept in files and stores: [many shots](../scale.md).",
        ("study.sweeps", "study.run", "show.sweeps"),
    ),
    Group(
        "tuning",
        "How high should the locators sit?",
        "The reading at which the arrow leaves well, and how far it may be off: [the flight](../flight.md).",
        ("study.tuning", "show.tuning", "study.case_sheet", "show.case_sheet"),
    ),
    Group(
        "sideways",
        "What brings bare shafts in, left and right?",
        "What side support, shaft and point do to them, as moves: [left and right](../sideways-tune.md).",
        ("study.sideways",),
    ),
    Group(
        "uncertainty",
        "How sure is that?",
        "What nobody measures, and how much it matters: [evidence](../evidence.md), [limits](../limits.md).",
        ("study.uncertainty", "show.uncertainty"),
    ),
    Group(
        "problem",
        "How do I hand a bow to a sampler or an optimiser?",
        "A vector in, named outputs, priors, residuals and a likelihood out: [a bow as a problem](../problem.md).",
        ("study.problem",),
    ),
    Group(
        "groups",
        "How wide is my group?",
        "Hands that are not always the same: [shot to shot](../group.md).",
        ("study.groups", "show.groups"),
    ),
    Group(
        "explanation",
        "Why did the arrow leave like that?",
        "Who pushed, when, and what it did: [why the arrow left as it did](../explain.md).",
        ("study.explanation", "show.explanation"),
    ),
    Group(
        "notes",
        "My bare shafts landed so: what now?",
        "Groups shot with bare and fletched shafts, and the move they ask for: [reading groups](../notes.md), "
        "[the journal](../journal.md).",
        ("study.notes", "show.notes", "study.journal", "show.journal"),
    ),
    Group(
        "lesson",
        "How do I show that to a class?",
        "A page in one file, with sliders over checked shots: [a page for a class](../lesson.md).",
        ("study.lesson", "show.lesson"),
    ),
    Group(
        "measured",
        "Does it fit what I measured?",
        "Draw forces, speeds and tracks of a bow beside the model's: [data of your own](../own-data.md).",
        ("study.measured", "show.measured"),
    ),
    Group(
        "compare",
        "What lies between two setups?",
        "Each difference by itself, one after another, first and last: [the bow case](../bow-case.md).",
        ("study.two_setups", "show.two_setups"),
    ),
    Group(
        "bench",
        "What does a step at the bench do?",
        "Bolts, shims, string, other limbs, scraping and heat, before and after: [the bow-maker's bench](../bench.md).",
        ("study.bench", "show.bench"),
    ),
    Group(
        "general",
        "What goes for all of it?",
        "What is raised, how a picture is saved, which version this is.",
        ("errors", "version", "show.style"),
    ),
)

DATA = {  # what is neither a function nor a class has no docstring
    "archerysim.MESHES": "The meshes by name. See `archerysim.Mesh`.\n\n"
    ">>> import archerysim\n>>> list(archerysim.MESHES)\n['coarse', 'default', 'fine']",
    "archerysim.__version__": "The version of this library.\n\n"
    ">>> import archerysim\n>>> len(archerysim.__version__.split('.'))\n3",
}


def names() -> Iterator[tuple[str, object, str]]:
    """Every public name, from ``archerysim`` on, what it stands for, and the module that it lives in."""
    for name in archerysim.__all__:
        yield name, getattr(archerysim, name), archerysim._HOME.get(name, "archerysim.version")
    for name in show.__all__:
        picture = getattr(show, name)
        yield f"show.{name}", picture, picture.__module__


def group_of(name: str, home: str) -> Group:
    """The group of a name by the module that it lives in; the longest of the groups' homes that fits decides."""
    fitting = [(len(of), group) for group in GROUPS for of in group.homes if f"{home}.".startswith(f"archerysim.{of}.")]
    if not fitting:
        raise LookupError(f"{name} lives in {home}, which no group of docs/reference.py names: add it to one")
    return max(fitting, key=lambda pair: pair[0])[1]


def types() -> dict[str, str]:
    """Where the types that docstrings name have their entries."""
    return {name: f"archerysim.{name}" for name, value, _ in names() if isclass(value)}


def write(folder: Path) -> None:
    """Write the pages into a folder.

    Raises
    ------
    LookupError
        Where a name belongs to no group.
    """
    entries: dict[Group, list[tuple[int, str, str]]] = {group: [] for group in GROUPS}
    for name, value, home in names():
        rank, kind = (1, "class") if isclass(value) else (0, "function") if callable(value) else (2, "data")
        entries[group_of(name, home)].append((2 * name.startswith("show.") + rank, name, kind))
    folder.mkdir(exist_ok=True)
    pages = {"index": _index()} | {group.page: _page(group, sorted(found)) for group, found in entries.items()}
    for old in folder.glob("*.md"):
        if old.stem not in pages:
            old.unlink()
    for page, text in pages.items():
        path = folder / f"{page}.md"
        if not path.exists() or path.read_text(encoding="utf-8") != text:  # else Sphinx would read it anew
            path.write_text(text, encoding="utf-8")


def _index() -> str:
    pages = "\n".join(group.page for group in GROUPS)
    return (
        "# Reference\n\n"
        "Every public name of `archerysim` and of `archerysim.show`, which draws what the others return, by the "
        "question that it answers.\n\n"
        f"```{{toctree}}\n:maxdepth: 2\n\n{pages}\n```\n"
    )


def _page(group: Group, entries: list[tuple[int, str, str]]) -> str:
    blocks = [f"# {group.question}", group.text]
    for _, name, kind in entries:
        options = {"class": "\n   :members:", "function": "", "data": "\n   :no-value:"}[kind]
        blocks.append(f"```{{eval-rst}}\n.. auto{kind}:: archerysim.{name}{options}\n```")
    return "\n\n".join(blocks) + "\n"


def connect(app: Any) -> None:
    """Have Sphinx ask here for docstrings, before numpydoc reads them, and for signatures."""
    app.connect("autodoc-process-docstring", _with_data, priority=400)
    app.connect("autodoc-process-docstring", _with_fields, priority=400)
    app.connect("autodoc-process-signature", _without_results)


def _with_data(app: Any, what: str, name: str, value: object, options: Any, lines: list[str]) -> None:
    """In place of the docstring of the type of a value, what the value is, with an example."""
    if what == "data":
        lines[:] = DATA[name].splitlines()


def _with_fields(app: Any, what: str, name: str, value: object, options: Any, lines: list[str]) -> None:
    """Add to a record's docstring what the code knows of its fields."""
    if not (isclass(value) and issubclass(value, msgspec.Struct)):
        return
    hints = get_type_hints(value, include_extras=True)
    described = {key: get_args(hints[key]) for key in value.__struct_fields__ if get_origin(hints[key]) is Annotated}
    lines += ["", "Attributes", "----------"]
    for key in value.__struct_fields__:
        if key in described:
            about = described[key][1]
            unit = f" : [{about.unit}]" if getattr(about, "unit", "") else ""
            lines += [f"{key}{unit}", f"    {_meaning(about)}"]
        else:
            lines.append(key)
    lines.append("")


def _meaning(about: Any) -> str:
    """What a field is: meaning, allowed range, default."""
    parts = [about.text]
    if hasattr(about, "low"):
        parts.append(f"from {about.low} to {about.high}")
    if about.default is not None:
        default = about.default if isinstance(about.default, (str, bool)) else ", ".join(about.default)
        parts.append(f"{default} if not given")
    return "; ".join(parts).replace("*", r"\*").replace("_", r"\_") + "."


def _without_results(
    app: Any, what: str, name: str, value: object, options: Any, signature: str | None, returned: str | None
) -> tuple[str, None] | None:
    """Leave out how a result is made: it is returned, and its attributes are listed."""
    if isclass(value) and signature and signature.count(",") > 5 and not issubclass(value, msgspec.Struct):
        return "", None
    return None
