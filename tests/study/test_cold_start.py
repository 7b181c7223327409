"""Starting: on a machine where nothing is compiled yet, and what is imported before it is needed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.study import small_sweep

ROOT = Path(__file__).parents[2]
SHOT = f"""
import archerysim
launch = archerysim.shoot(archerysim.load({str(small_sweep.EXAMPLE)!r}), "coarse")
print(launch.clear.pitch, launch.separation.pitch_rate)
"""
CALLS = """
from collections import Counter
from archerysim.kernel_cache.kernel_files import KernelFiles
from archerysim.mechanics.compiling import CACHE
from archerysim.shot.warm_up import CALLED, is_cold, shoot_once

def say(what=""):
    print(what + ("cold" if is_cold() else "warm"))

called = Counter(f"{module}.{name}" for module, names in CALLED.items() for name in names)
loaded = Counter()
load = KernelFiles.load_overload

def counted(files, sig, target):
    found = load(files, sig, target)
    loaded[files.name, found is not None] += 1
    return found

KernelFiles.load_overload = counted
shoot_once()
same = loaded == Counter({(name, True): count for name, count in called.items()})
print("nothing else is called, and nothing of it less often" if same else (loaded, called))
say()
path = next(CACHE.glob("lumping.share_even-*"))
path.write_bytes(path.read_bytes()[:-1])
say("damaged: ")
import subprocess, sys
subprocess.run([sys.executable, "-c", "from archerysim.shot.warm_up import shoot_once; shoot_once()"], check=True)
say("compiled again: ")
path.unlink()
say("one missing: ")
"""


def start(cache: Path, *command: str) -> subprocess.Popen[str]:
    env = dict(os.environ, ARCHERYSIM_CACHE=str(cache), PYTHONPATH=str(ROOT))
    return subprocess.Popen(
        [sys.executable, *command], env=env, cwd=cache, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def told(process: subprocess.Popen[str]) -> tuple[str, str]:
    out, err = process.communicate()
    assert process.returncode == 0, err
    return out, err


def compiled(cache: Path) -> set[Path]:
    return set(cache.rglob("*.kernel"))


def test_two_processes_at_once_with_nothing_compiled(tmp_path: Path) -> None:
    """Takes as long as compiling everything twice at once."""
    warm = start(tmp_path, "-m", "archerysim", "warmup")
    shot = start(tmp_path, "-c", SHOT)
    out, _ = told(warm)
    assert out.splitlines()[0].startswith("compiling into ")
    assert "a minute" in out.splitlines()[0]
    assert out.splitlines()[-1].startswith("ready")
    first = told(shot)[0]

    before = compiled(tmp_path)
    loaded, *answers = told(start(tmp_path, "-c", CALLS))[0].splitlines()
    assert loaded == "nothing else is called, and nothing of it less often"
    assert answers == ["warm", "damaged: cold", "compiled again: warm", "one missing: cold"]
    told(start(tmp_path, "-c", SHOT))
    assert compiled(tmp_path) == before
    out, _ = told(start(tmp_path, "-m", "archerysim", "warmup"))
    assert out.startswith("ready")
    assert told(start(tmp_path, "-c", SHOT))[0] == first  # to the bit, from the kernels on disk
    for command in (("shoot",), ("draw",), ("check",), ("sweep", "--over", "nock.locators.reading=8 mm, 9 mm")):
        _, err = told(start(tmp_path, "-m", "archerysim", command[0], str(small_sweep.EXAMPLE), *command[1:]))
        assert not err
    told(start(tmp_path, "-c", SHOT + "archerysim.fly(launch, distance='70 m')"))
    assert compiled(tmp_path) == before  # warm-up has left nothing to compile


HEAVY = ("numba", "scipy", "xarray", "pint", "matplotlib", "pandas", "tqdm")


@pytest.mark.parametrize("first", ["import archerysim", "import archerysim.cli.main as c; c.parser().format_help()"])
def test_nothing_heavy_is_imported_before_it_is_needed(first: str, tmp_path: Path) -> None:
    ask = f"import sys; {first}; print(*[name for name in {HEAVY!r} if name in sys.modules])"
    out, _ = told(start(tmp_path, "-c", ask))
    assert not out.split()
