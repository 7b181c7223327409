"""Starting: on a machine where not everything is compiled yet, and what is imported before it is needed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.cli.run_commands import compiled as all_compiled
from tests.support.study import small_sweep

ROOT = Path(__file__).parents[2]
SHOT = f"""
import archerysim
launch = archerysim.shoot(archerysim.load({str(small_sweep.EXAMPLE)!r}), "coarse")
print(launch.clear.pitch, launch.separation.pitch_rate)
"""
LOADS = """
from archerysim.kernel_cache.kernel_files import KernelFiles
from archerysim.mechanics.compiling import CACHE
from archerysim.shot.warm_up import warm_up

print(CACHE)
load = KernelFiles.load_overload

def told(files, sig, target):
    print(files._place(sig)[1].name)
    return load(files, sig, target)

KernelFiles.load_overload = told
warm_up()
"""
COMMANDS = f"""
from archerysim.cli.main import main
for command in ("shoot",), ("draw",), ("check",), ("sweep", "--over", "nock.locators.reading=8 mm, 9 mm"):
    assert main([command[0], {str(small_sweep.EXAMPLE)!r}, *command[1:]]) == 0
{SHOT}
archerysim.fly(launch, distance="70 m")
"""
MISSING = (  # small ones: what takes half a minute to compile goes the same way
    "lumping.", "rigid_body.", "statics.arc.", "statics.lay_arrow.", "statics.brace.line_", "statics.brace.place_",
    "statics.brace.string_", "forces.wrap.", "forces.riser.",
)  # fmt: skip
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


def start(cache: Path | None, *command: str) -> subprocess.Popen[str]:
    """A process whose kernels are kept in a place; None: where this one keeps its own."""
    env = dict(os.environ, PYTHONPATH=str(ROOT)) | ({} if cache is None else {"ARCHERYSIM_CACHE": str(cache)})
    return subprocess.Popen(
        [sys.executable, *command],
        env=env,
        cwd=cache or ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def told(process: subprocess.Popen[str]) -> tuple[str, str]:
    out, err = process.communicate()
    assert process.returncode == 0, err
    return out, err


def compiled(cache: Path) -> set[Path]:
    return set(cache.rglob("*.kernel"))


@pytest.fixture
def partly_compiled(tmp_path: Path) -> Path:
    """A place for kernels with those that warm-up loads, but for `MISSING`; what these call is missing too.

    Every kernel is a file for itself, so that with nothing there at all each goes the way that these go.
    """
    all_compiled()
    folder, *names = told(start(None, "-c", LOADS))[0].splitlines()
    kept = [name for name in names if not name.startswith(MISSING)]
    assert len(names) - len(kept) >= 10
    place = tmp_path / "archerysim" / Path(folder).name
    for made in (place.parent, place):
        made.mkdir(mode=0o700)
    for name in kept:
        shutil.copy2(Path(folder) / name, place / name)
    return tmp_path


def test_two_processes_at_once_with_much_not_compiled(partly_compiled: Path) -> None:
    """Takes as long as compiling this twice at once."""
    tmp_path = partly_compiled
    there = compiled(tmp_path)
    warm = start(tmp_path, "-m", "archerysim", "warmup")
    shot = start(tmp_path, "-c", SHOT)
    out, _ = told(warm)
    assert out.splitlines()[0].startswith("compiling into ")
    assert "a minute" in out.splitlines()[0]
    assert out.splitlines()[-1].startswith("ready")
    first = told(shot)[0]

    before = compiled(tmp_path)
    assert len(before) > len(there) + 15
    loaded, *answers = told(start(tmp_path, "-c", CALLS))[0].splitlines()
    assert loaded == "nothing else is called, and nothing of it less often"
    assert answers == ["warm", "damaged: cold", "compiled again: warm", "one missing: cold"]
    told(start(tmp_path, "-c", SHOT))
    assert compiled(tmp_path) == before
    out, _ = told(start(tmp_path, "-m", "archerysim", "warmup"))
    assert out.startswith("ready")
    assert told(start(tmp_path, "-c", SHOT))[0] == first  # to the bit, from the kernels on disk
    _, err = told(start(tmp_path, "-c", COMMANDS))
    assert not err
    assert compiled(tmp_path) == before  # warm-up has left nothing to compile


HEAVY = ("numba", "scipy", "xarray", "pint", "matplotlib", "pandas", "tqdm")


@pytest.mark.parametrize("first", ["import archerysim", "import archerysim.cli.main as c; c.parser().format_help()"])
def test_nothing_heavy_is_imported_before_it_is_needed(first: str, tmp_path: Path) -> None:
    ask = f"import sys; {first}; print(*[name for name in {HEAVY!r} if name in sys.modules])"
    out, _ = told(start(tmp_path, "-c", ask))
    assert not out.split()
