"""Every call into the library, and what of its answers is recorded: the one file to edit when names change.

Recorded are fields of results under their own names, in plain words. Where a field of the library gets another name,
a line in `RENAMED` keeps the word under which it was recorded; nothing else in this folder knows the library.
"""

from __future__ import annotations

import contextlib
import csv
import dataclasses
import io
import tempfile
import warnings
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

import archerysim

ROOT = Path(__file__).resolve().parents[2]
FLAT, BOTH = 1, 2  # planes in which is shot
REFUSED = (archerysim.SetupError, archerysim.ShotError)
AIMS = ("bare and fletched together", "bare slightly low", "no angle of attack", "no pitch rate", "least swing")
# a field's name in the library now: the word under which it was recorded
RENAMED: dict[str, str] = {
    "remarks": "said",
    "determined": "told",
    "zero_attack_reading": "nil_reading",
    "zero_attack_reading_per_spread": "nil_reading_per_spread",
    "zero_attack_reading_per_unit": "nil_reading_per_unit",
}

Words = dict[str, Any]


def answered(make: Callable[[], Any]) -> Any:
    """What a call answers; where it refuses, its reason."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return make()
        except REFUSED as error:
            return {"refused": str(error)}


def word(name: str) -> str:
    """The word under which a field or a column is recorded."""
    return RENAMED.get(name, name).replace("_", " ").replace(".", " ")


def plain(result: Any) -> Words:
    """The fields of a result that are numbers, texts, arrays, or rows of these; other records are left out.

    So are the kernels' own records (named tuples): how they are laid out is nobody's result.
    """
    found = {word(one.name): _unnamed(getattr(result, one.name)) for one in dataclasses.fields(result)}
    found = {name: dict(value) if isinstance(value, Mapping) else value for name, value in found.items()}
    return {name: value for name, value in found.items() if _is_plain(value)}


def without_edits(result: Any) -> Words:
    """The same, but for what was changed on the bow: nothing is, here."""
    return {name: value for name, value in plain(result).items() if name != "edits"}


def _unnamed(value: Any) -> Any:
    """Numbers of an array of records in rows, without the fields' names."""
    named = isinstance(value, np.ndarray) and value.dtype.names is not None
    return np.array(value.tolist()) if named else value


def _is_plain(value: Any) -> bool:
    if hasattr(value, "_fields"):
        return False
    if isinstance(value, (tuple, list)):
        return all(map(_is_plain, value))
    if isinstance(value, dict):
        return all(map(_is_plain, value.values()))
    return value is None or isinstance(value, (bool, int, float, str, np.ndarray, np.generic))


def columns(data: Any) -> Words:
    """Every column of a dataset, its coordinates too; a text that stands in every row is said once."""
    return {word(name): _said_once(data[name].values) for name in sorted(map(str, data.variables))}


def _said_once(values: np.ndarray) -> Any:
    texts = set(values.flat) if values.dtype.kind in "OU" else set()
    return texts.pop() if len(texts) == 1 else values


# setups


def bow(path: Path) -> Any:
    return archerysim.load(path)


def value(setup: Any, path: str) -> Any:
    """A value of a setup, given or assumed, in SI."""
    return archerysim.filled(setup).get(path)


def as_built(setup: Any, mesh: str) -> Any:
    return archerysim.fit(setup, mesh).setup


# one shot

BUILT = (
    "string.length", "riser.upper_root_x", "riser.lower_root_x", "nock.locators.place", "upper_limb.pocket_angle",
    "lower_limb.pocket_angle", "upper_limb.bending_stiffness", "lower_limb.bending_stiffness",
    "upper_limb.mass_per_length", "lower_limb.mass_per_length",
)  # fmt: skip


def fit(setup: Any, mesh: str) -> Words:
    found = archerysim.fit(setup, mesh)
    return {
        "draws": found.draws,
        "stiffness factor": found.stiffness_factor,
        "measured": {word(one.path): one.found for one in found.met},
        "built": {word(path): value(found.setup, path) for path in BUILT},
    }


def brace(setup: Any, mesh: str) -> Words:
    found = plain(archerysim.brace(setup, mesh))
    del found["residual"]  # what a converged solution leaves: rounding
    return found


def draw_curve(setup: Any, mesh: str, points: int) -> Words:
    return without_edits(archerysim.draw(setup, points, mesh))


def shoot(setup: Any, mesh: str, trace: bool = False, planes: int = FLAT) -> Any:
    return archerysim.shoot(setup, mesh, trace=trace, planes=planes)


def shot(launch: Any) -> Words:
    moments = {"separation": launch.separation, "clear": launch.clear}
    return {
        **without_edits(launch),
        **{name: plain(moment) | {"energy": plain(moment.energy)} for name, moment in moments.items()},
        "passage": plain(launch.passage),
    }


def trace(launch: Any) -> Words:
    """Traces over time, without the pictures of all nodes."""
    return {name: values for name, values in plain(launch.trace).items() if "frame" not in name}


def pictures(launch: Any) -> Words:
    """All nodes over time, and the energy account."""
    from archerysim.shot.launch import energy_history

    _, energies = energy_history(launch)
    accounts = [plain(one) for one in energies]
    frames = {name: values for name, values in plain(launch.trace).items() if "frame" in name}
    return {**frames, "energy": {name: np.array([one[name] for one in accounts]) for name in accounts[0]}}


def flight(launch: Any, distance: str, **how: Any) -> Words:
    found = archerysim.fly(launch, distance=distance, **how)
    return {**plain(found), "swing on the way": plain(found.swing)}


def bare_beside_fletched(launch: Any, distance: str, **how: Any) -> Words:
    return plain(archerysim.bare_difference(launch, distance, **how))


# many shots


def sweep(setup: Any, mesh: str, hold: Any = None, planes: int = FLAT, **points: Any) -> Words:
    points = {name: archerysim.with_si(values) for name, values in points.items()}
    return columns(archerysim.sweep(setup, hold=hold, mesh=mesh, planes=planes, workers=1, progress=False, **points))


def zero_attack_reading(setup: Any, mesh: str) -> Words:
    found = archerysim.zero_attack_reading(as_built(setup, mesh), mesh, planes=FLAT)
    return {**plain(found), "clear": plain(found.launch.clear)}


def tune(setup: Any, mesh: str, aim: str, **how: Any) -> Words:
    found = archerysim.tune(setup, aim, mesh=mesh, planes=FLAT, **how)
    return {**plain(found), "clear": plain(found.launch.clear)}


def tune_two(setup: Any, mesh: str, paths: tuple[str, str]) -> Words:
    values, launch = archerysim.tune_two(setup, paths, mesh=mesh, planes=FLAT)
    return {"values": values, "clear": plain(launch.clear)}


def sensitivity(setup: Any, mesh: str, inputs: dict[str, Any]) -> Words:
    return columns(archerysim.sensitivity(setup, inputs, mesh=mesh, planes=FLAT, progress=False))


def uncertainty(setup: Any, mesh: str, inputs: dict[str, Any], draws: int, indices: bool) -> Words:
    found = archerysim.uncertainty(
        setup, inputs, draws=draws, indices=indices, seed=3, mesh=mesh, planes=FLAT, progress=False
    )
    return {**plain(found), "names": tuple(RENAMED.get(name, name) for name in found.names)}


def flights(setup: Any, mesh: str, readings: Any, distance: str) -> Words:
    found = archerysim.flights(setup, readings, distance=distance, mesh=mesh, planes=FLAT)
    rows = [
        {
            **plain(row),
            "apart": row.apart,
            **{
                name: plain(one) if one is not None else None
                for name, one in (("fletched", row.fletched), ("bare", row.bare))
            },
        }
        for row in found.rows
    ]
    return {**plain(found), "rows": rows}


def bare_against_fletched(setup: Any, mesh: str, inputs: dict[str, Any], draws: int) -> Words:
    found = archerysim.bare_against_fletched(
        setup, distances=("18 m", "30 m"), draws=draws, uncertainty=inputs, seed=3, mesh=mesh, workers=1, planes=FLAT,
        progress=False,
    )  # fmt: skip
    return {
        **plain(found),
        "bands": {
            f"{far:g} m": {
                "wanted": found.wanted((far, "m")),
                "together": plain(found.together((far, "m"))),
                "move": plain(found.move((found.today, "mm"), (far, "m"))),
                "height today": plain(found.height_at((found.today, "mm"), (far, "m"))),
            }
            for far in found.distances
        },
    }


def _group(found: Any) -> Words | None:
    names = ("fletched", "bare", "pitch", "angle_of_attack", "pitch_rate", "speed")
    return found and {**plain(found), "spread": {word(name): plain(found.spread(name)) for name in names}}


def group(setup: Any, mesh: str, n: int, **scatter: Any) -> Words | None:
    sizes = archerysim.Scatter(**scatter)
    return _group(archerysim.group(setup, n, scatter=sizes, seed=3, workers=1, mesh=mesh, planes=FLAT, progress=False))


def group_by_reading(setup: Any, mesh: str, n: int, offsets: tuple[str, ...]) -> Words:
    found = archerysim.group_by_reading(setup, n, offsets, seed=3, workers=1, mesh=mesh, planes=FLAT, progress=False)
    return {**plain(found), "groups": [_group(one) for one in found.groups]}


def compare_locators(setup: Any, mesh: str, n: int) -> Words:
    found = archerysim.compare_locators(setup, n, seed=3, workers=1, mesh=mesh, planes=FLAT, progress=False)

    def ratio(name: str) -> Any:
        return answered(lambda: plain(found.ratio(name)))

    ratios = {name: ratio(name) for name in found.names}
    return {**plain(found), "groups": [_group(one) for one in found.groups], "ratios": ratios}


def explain(setup: Any, mesh: str) -> Words:
    found = archerysim.explain(setup, mesh=mesh, planes=FLAT)
    return {
        **plain(found),
        "told": [plain(one) for one in found.instants],
        "neutral bow": {"clear": plain(found.neutral.clear)},
        "contributions": {one.part.name: {**plain(one.part), **plain(one)} for one in found.contributions},
    }


def diagnose(setup: Any, mesh: str, notes: Path) -> Words:
    found = archerysim.diagnose(setup, archerysim.load_notes(notes), mesh=mesh, planes=FLAT, progress=False)
    expected, answer = found.expected, found.answer
    return {
        **plain(found),
        "groups": [plain(one) for one in found.groups],
        "move": found.move and plain(found.move),
        "next end": found.next_end and plain(found.next_end),
        "causes": [{**plain(one.cause), **plain(one), "profile": _places_once(one.profile)} for one in found.causes],
        "pairs": [plain(one) for one in found.pairs],
        "further": [plain(one) for one in found.further],
        "answer": answer and {**plain(answer), "profiles": [_places_once(one) for one in answer.profiles]},
        "expected": expected
        and {
            **plain(expected),
            **{name: plain(getattr(expected, name)) for name in ("heights", "speed", "weight")},
            **{name: list(getattr(expected, name).values()) for name in ("strikes", "contact")},
            "places": [tuple(one[:2]) for one in expected.places],
        },
    }


def _places_once(profile: np.ndarray) -> np.ndarray:
    """A profile without the rows whose place is that of the row before but for rounding."""
    return profile[np.abs(np.diff(profile[:, 0], prepend=-np.inf)) > 1e-9]


def _compared(found: Any) -> Words:
    return {
        **plain(found),
        "alignment": plain(found.alignment),
        "tables": {one.name: {**plain(one), "rms": one.rms} for one in found.tables},
    }


def compare_data(setup: Any, mesh: str, files: dict[str, Path]) -> Words:
    return _compared(archerysim.compare_data(setup, archerysim.OwnData.read(**files), mesh=mesh, planes=FLAT))


def fit_data(setup: Any, mesh: str, files: dict[str, Path], free: tuple[str, ...]) -> Words:
    found = archerysim.fit_data(setup, archerysim.OwnData.read(**files), free, mesh=mesh, planes=FLAT)
    estimates = {word(one.path): plain(one) for one in found.estimates}
    return {
        **plain(found), "estimates": estimates, "before": _compared(found.before), "after": _compared(found.after),
    }  # fmt: skip


# the command line


def command(*arguments: str) -> Words:
    """What a command prints and writes; the file that it writes is called OUT and an ending among its arguments."""
    from archerysim.cli.main import main

    screen, errors = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    with (
        tempfile.TemporaryDirectory() as folder,
        contextlib.chdir(ROOT),
        contextlib.redirect_stdout(screen),
        contextlib.redirect_stderr(errors),
    ):
        status = main([one.replace("OUT", f"{folder}/OUT") for one in arguments])
        files = {path.name: _file(path) for path in sorted(Path(folder).iterdir())}
        texts = [_text(stream).replace(folder, "") for stream in (screen, errors)]
    found: Words = {"status": status, "text": texts[0].splitlines(), **files}
    return found if status == 0 else {**found, "errors": texts[1].splitlines()}


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    stream.seek(0)
    return stream.read()


def _file(path: Path) -> Any:
    """A table by its columns, without the lines that say where it came from; another file by its lines, no picture."""
    if path.suffix == ".png":
        return "a picture"
    lines = path.read_text(encoding="utf-8").splitlines()
    if path.suffix != ".csv":
        return lines
    head, *rows = csv.reader(line for line in lines if not line.startswith("#"))
    return {name: _column(cells) for name, cells in zip(head, zip(*rows, strict=True), strict=True)}


def _column(cells: tuple[str, ...]) -> Any:
    try:
        return np.array([float(cell) if cell else np.nan for cell in cells])
    except ValueError:
        return list(cells)
