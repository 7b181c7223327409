"""Running the command line: in this process, or as a user does."""

from __future__ import annotations

import math
import pickle
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from archerysim.cli.main import main
from archerysim.shot.fitted_bow import FittedBow
from archerysim.shot.warm_up import warm_up
from archerysim.study.run import progress
from tests.support.shot.example_bows import FOLDER

ROOT = FOLDER.parent
FITTED: dict[bytes, FittedBow] = {}  # by setup, mesh and planes
FIT = FittedBow._fitted
PRINTED: dict[tuple[str, ...], Ran] = {}


@dataclass(frozen=True)
class Ran:
    """What a command left: exit status and both streams."""

    status: int
    out: str
    err: str


def fitted_once(*given: Any) -> FittedBow:
    """The bow of a setup, mesh and planes, with the shots that it keeps."""
    key = pickle.dumps(given)
    if key not in FITTED:
        FITTED[key] = FIT(*given)
    return FITTED[key]


@contextmanager
def bows_shared() -> Iterator[None]:
    """Within it no bow is fitted that was fitted within it before."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(FittedBow, "_fitted", fitted_once)
        yield


def here(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Ran:
    """In this process, a bow that an earlier command has fitted not fitted again."""
    compiled()
    capsys.readouterr()
    with bows_shared():
        status = main([str(argument) for argument in arguments])
    said = capsys.readouterr()
    return Ran(status, said.out, said.err)


def once(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Ran:
    """As `here`, a command that writes no file: what it printed is kept for the tests that ask for it again."""
    words = tuple(map(str, arguments))
    if words not in PRINTED:
        PRINTED[words] = here(capsys, *words)
    return PRINTED[words]


def unsaid(text: str) -> str:
    """A table without the lines that say what was changed on the bow, and what of left and right is told."""
    text = re.sub(r"  (changed|held): [^\n]*\n(    [^\n]*\n)*", "", text)
    text = re.sub(r"  sideways  [^\n]*\n(   [^\n]*\n)*", "", text)
    return re.sub(r"(Sideways at clear, against|  Left and right are given)[^\n]*\n(  [^\n]*\n)*\n", "", text)


@cache
def compiled() -> None:
    """Once, so that no command has to tell that it compiles, nor, on a busy machine, how long it will take."""
    warm_up()
    progress.LONG = math.inf


def outside(*arguments: str | Path) -> Ran:
    """In a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "archerysim", *map(str, arguments)], cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=300,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout, done.stderr)
