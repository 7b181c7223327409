"""What command lines print when a reader types them, and the files that they leave."""

from __future__ import annotations

import io
import os
import runpy
import shlex
from contextlib import chdir, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from archerysim.cli.main import main

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


@dataclass(frozen=True)
class Said:
    """What was printed by each line, and the files left, by their paths."""

    printed: dict[str, str]
    files: dict[str, bytes]


@cache
def said(*lines: str) -> Said:
    """Run ``archerysim ...`` and ``python examples/...``, one after another, beside the examples and ``out/``."""
    printed = {}
    with TemporaryDirectory() as folder:
        os.symlink(EXAMPLES, Path(folder) / "examples")
        (Path(folder) / "out").mkdir()
        with chdir(folder):
            for line in lines:
                heard = io.StringIO()
                with redirect_stdout(heard):
                    _run(*shlex.split(line))
                printed[line] = heard.getvalue().rstrip()
            found = [path for path in (*Path().glob("*"), *Path("out").rglob("*")) if path.is_file()]
            return Said(printed, {path.as_posix(): path.read_bytes() for path in found})


def _run(program: str, *arguments: str) -> None:
    if program == "python":
        runpy.run_path(*arguments, run_name="__main__")
        return
    assert program == "archerysim", program
    assert main(list(arguments)) == 0, arguments


def shown(*lines: str, wrapped: str = "") -> str:
    """The last line with what it prints, as on a terminal, the others run before it; typed as ``wrapped`` if given."""
    return f"```text\n$ {wrapped or lines[-1]}\n{said(*lines).printed[lines[-1]]}\n```"
