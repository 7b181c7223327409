"""The examples in the docstrings: every public name has one, and each runs as a reader would run it from here."""

from __future__ import annotations

import doctest
import functools
import importlib
import inspect
import pickle
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import archerysim
from archerysim import show
from archerysim.study.run import workers
from tests.support.cli.run_commands import bows_shared

ROOT = Path(__file__).resolve().parents[2]
FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
STUDIES = (
    "after_shot", "bare_against_fletched", "bench_map", "case_sheet", "change", "compare", "compare_locators",
    "diagnose", "even_tiller", "explain", "fit_data", "gaps", "group", "group_by_reading", "honest_range", "lesson",
    "let_down", "limb_design", "measure_next", "sensitivity", "sideways_tune", "tillering", "timed_tiller", "tune",
    "tune_two", "uncertainty",
)  # fmt: skip
NOT_CALLED = {"relations"}  # the library's own check of a record
PUBLIC = {name: getattr(archerysim, name) for name in archerysim.__all__} | {
    f"show.{name}": getattr(show, name) for name in show.__all__
}
DATA = [name for name, value in PUBLIC.items() if not callable(value)]


def parts_of(name: str, value: Any) -> Iterator[tuple[str, str, bool]]:
    """A public name and what it has: name, docstring, and whether an example is wanted there (of what is called)."""
    yield name, value.__doc__ or "", True
    if inspect.isclass(value):
        for key, part in vars(value).items():
            of = getattr(part, "fget", None) or getattr(part, "func", None) or getattr(part, "__func__", part)
            if inspect.isfunction(of) and not key.startswith("_") and key not in NOT_CALLED:
                called = not isinstance(part, property | functools.cached_property)
                yield f"{name}.{key}", of.__doc__ or "", called


def runs(name: str, text: str) -> int:
    """Run the examples of a docstring; how many statements there are."""
    examples = doctest.DocTestParser().get_doctest(inspect.cleandoc(text), {}, name, None, 0)
    told: list[str] = []
    doctest.DocTestRunner(verbose=False, optionflags=FLAGS).run(examples, out=told.append)
    assert not told, "".join(told)
    return len(examples.examples)


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The examples name ``examples/``; a bow or study that several of them ask for is made once, in this process."""
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr(workers, "cores", lambda: 1)
    for study in STUDIES:
        monkeypatch.setattr(archerysim, study, kept(getattr(archerysim, study)))
    with bows_shared():
        yield


ANSWERS: dict[bytes, Any] = {}


def kept(study: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(study)
    def asked(*of: Any, **how: Any) -> Any:
        key = pickle.dumps((study.__name__, of, how))
        if key not in ANSWERS:
            ANSWERS[key] = study(*of, **how)
        return ANSWERS[key]

    return asked


@pytest.mark.parametrize("name", [name for name in PUBLIC if name not in DATA])
def test_the_examples_of_a_public_name(name: str) -> None:
    for part, text, wanted in parts_of(name, PUBLIC[name]):
        assert "+SKIP" not in text, part
        assert runs(part, text) or not wanted, f"{part} has no example"
        if ">>>" in text:
            assert "\nExamples\n--------\n" in inspect.cleandoc(text), part


@pytest.mark.parametrize("module", [archerysim, show], ids=lambda module: module.__name__)
def test_the_examples_of_a_module(module: Any) -> None:
    assert runs(module.__name__, module.__doc__) > 1


def test_the_examples_of_what_has_no_docstring(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    reference = importlib.import_module("reference")
    assert sorted(f"archerysim.{name}" for name in DATA) == sorted(reference.DATA)
    for name, text in reference.DATA.items():
        assert runs(name, text), f"{name} has no example"
