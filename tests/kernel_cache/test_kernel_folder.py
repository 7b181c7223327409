"""Which folder holds the kernels: whose it is, and what makes it another one. Seen from processes of their own."""

from __future__ import annotations

import hashlib
import os
import pickle
import shutil
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import llvmlite
import numba
import numpy as np
import pytest
from numba.core.registry import cpu_target

from archerysim.kernel_cache import kernel_folder
from tests.kernel_cache.test_kernel_files import Bomb

ROOT = Path(__file__).parents[2]
as_root = pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="gives a folder away as root")
SHARE = """
import numpy as np
from archerysim.mechanics.compiling import CACHE
from archerysim.mechanics.lumping import share_even
nodes, out = np.array([0.0, 1.0]), np.zeros(2)
share_even(nodes, np.array([[0.0, 1.0, 2.0]]), out)
print(CACHE)
print(*out)
"""
WHERE = "from archerysim.mechanics.compiling import CACHE\nprint(CACHE)\nprint('nothing')"  # compiles no kernel


@dataclass(frozen=True)
class Ran:
    """What a process has used and said."""

    folder: Path
    numbers: str
    said: list[str]

    @property
    def compiled(self) -> bool:
        return any(line.startswith("archerysim: compiling ") for line in self.said)


def ran(cache: Path | str, root: Path = ROOT, code: str = SHARE, **env: str) -> Ran:
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False,
        env={**os.environ, "ARCHERYSIM_CACHE": str(cache), "PYTHONPATH": str(root), **env},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    folder, numbers = done.stdout.splitlines()
    return Ran(Path(folder), numbers, done.stderr.splitlines())


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A place for kernels that nobody has used yet."""
    return tmp_path_factory.mktemp("once") / "cache"


@pytest.fixture(scope="module")
def compiled_once(once: Path) -> Ran:
    """A process with a place of its own for kernels, which it has filled."""
    return ran(once)


def test_python_is_told_once_that_it_compiles(once: Path, compiled_once: Ran) -> None:
    assert compiled_once.compiled
    assert len(compiled_once.said) == 1
    assert compiled_once.folder.is_relative_to(once)
    places = (compiled_once.folder, *compiled_once.folder.parents[:2])
    assert all(path.stat().st_mode & 0o777 == 0o700 for path in places)
    again = ran(once)
    assert not again.said
    assert again.numbers == compiled_once.numbers


def copied(first: Ran, cache: Path) -> Ran:
    """The same with its kernels in another place, as if they had been compiled there."""
    shutil.copytree(first.folder.parents[1], cache)  # and their modes
    return replace(first, folder=cache / first.folder.relative_to(first.folder.parents[1]))


def plant(folder: Path, marker: Path) -> int:
    """Replace every file in a folder by a program that leaves a mark when it is read."""
    bomb = pickle.dumps(Bomb(marker))
    files = [path for path in folder.rglob("*") if path.is_file()]
    for path in files:
        path.write_bytes(hashlib.sha256(bomb).digest() + bomb if path.suffix == ".kernel" else bomb)
    return len(files)


def test_the_planted_program_would_run_in_a_folder_of_one_s_own(tmp_path: Path, compiled_once: Ran) -> None:
    """So that the next test means something."""
    first = copied(compiled_once, tmp_path / "cache")
    assert plant(first.folder, tmp_path / "it has run")
    ran(tmp_path / "cache")
    assert (tmp_path / "it has run").exists()


@pytest.mark.parametrize("how", ["another's", "open to the group"])
def test_a_planted_folder_is_not_used(how: str, tmp_path: Path, compiled_once: Ran) -> None:
    """Other ways in which a folder can be open to others: tests/kernel_cache/test_private.py."""
    if how == "another's" and os.geteuid() != 0:
        pytest.skip("gives a folder away as root")
    cache, marker = tmp_path / "cache", tmp_path / "it has run"
    first = copied(compiled_once, cache)
    assert plant(first.folder, marker)
    for path in (first.folder, *first.folder.rglob("*")):
        if how == "another's":
            os.chown(path, 12345, 12345)
    first.folder.chmod(0o770 if how == "open to the group" else 0o755)
    again = ran(cache)
    assert again.numbers == first.numbers
    assert not marker.exists()
    assert again.compiled
    assert len(again.said) == 2
    assert again.said[0].startswith("archerysim: compiled kernels are not kept: ")
    assert str(cache) in again.said[0]
    assert "ARCHERYSIM_CACHE" in again.said[0]


@as_root
def test_a_folder_of_another_user_in_a_place_for_all(tmp_path: Path) -> None:
    """Each user has a folder of his own there; one that another has put in its place is not used."""
    cache = tmp_path / "cache"
    cache.mkdir()
    cache.chmod(0o1777)
    first = ran(cache)
    assert first.folder.parent == cache / "archerysim-0"
    assert not ran(cache).said
    os.chown(first.folder.parent, 12345, 12345)
    assert not ran(cache, code=WHERE).folder.is_relative_to(cache)


def test_a_place_where_no_folder_can_be_made(tmp_path: Path) -> None:
    """A fresh one for this run, shared with the processes it starts, and removed as it ends."""
    (tmp_path / "cache").write_text("a file")
    (tmp_path / "temporary").mkdir()
    code = SHARE + f"import subprocess, sys\nsubprocess.run([sys.executable, '-c', {SHARE!r}], check=True, stdout=2)\n"
    found = ran(tmp_path / "cache" / "below", code=code, TMPDIR=str(tmp_path / "temporary"))
    assert found.folder.is_relative_to(tmp_path / "temporary")
    assert not list((tmp_path / "temporary").iterdir())
    unkept, compiling, folder, numbers = found.said
    assert unkept.startswith("archerysim: compiled kernels are not kept")
    assert compiling.startswith("archerysim: compiling ")
    assert "every run" in compiling
    assert (folder, numbers) == (str(found.folder), found.numbers)  # the child's; it had nothing to say


def test_no_home_folder_and_nowhere_to_keep_anything(tmp_path: Path) -> None:
    (tmp_path / "temporary").mkdir()
    (tmp_path / "temporary").chmod(0o777)
    found = ran("", HOME="/proc/1/none", XDG_CACHE_HOME="", TMPDIR=str(tmp_path / "temporary"))
    assert found.numbers
    assert found.compiled
    assert len(found.said) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
def test_a_full_disk(tmp_path: Path) -> None:
    """No file can grow beyond a few bytes: it compiles, says so, and leaves no halves behind."""
    limit = (
        "import resource, signal\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (8, resource.RLIM_INFINITY))\n"
    )
    found = ran(tmp_path / "cache", code=limit + SHARE.replace("print(CACHE)", "print(CACHE, flush=True)"))
    assert [line.partition(" (")[0] for line in found.said] == [
        "archerysim: compiling 5 kernels for this machine",
        "archerysim: compiled kernels cannot be kept and are used for this run only",
    ]
    assert not [path for path in (tmp_path / "cache").rglob("*") if path.is_file()]
    assert ran(tmp_path / "cache").compiled


def test_another_clone_shares_the_folder_while_its_kernels_are_the_same(
    clone: Path, tmp_path: Path, compiled_once: Ran
) -> None:
    """What is compiled depends on code, not on where it lies; where it says nothing, it has nothing to compile."""
    cache = tmp_path / "cache"
    first = copied(compiled_once, cache)
    with (clone / "archerysim/mechanics/forces/contact.py").open("a") as file:
        file.write("\n# a comment\n")
    same = ran(cache, clone)
    assert not same.said
    assert (same.folder, same.numbers) == (first.folder, first.numbers)
    with (clone / "archerysim/mechanics/forces/contact.py").open("a") as file:
        file.write("\nA_NEW_NAME = 1\n")
    other = ran(cache, clone)
    assert other.compiled
    assert other.folder != first.folder
    (clone / "archerysim/mechanics/below").mkdir()
    (clone / "archerysim/mechanics/below/new.py").write_text("A_NEW_NAME = 1\n")
    assert ran(cache, clone, WHERE).folder not in (first.folder, other.folder)


def test_what_makes_it_another_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    first = kernel_folder._key()
    seen = [first]
    for owner, name, value in (
        (numba, "__version__", "of tomorrow"),
        (llvmlite, "__version__", "of tomorrow"),
        (np, "__version__", "of tomorrow"),
        (numba.config, "CPU_NAME", "generic"),
        (numba.config, "OPT", 1),
        (numba.config, "BOUNDSCHECK", 1),
        (sys.implementation, "cache_tag", "cpython-999"),
        (kernel_folder, "FORMAT", -1),
        (kernel_folder, "kept_hash", lambda *paths: "of other code"),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(owner, name, value)
            seen.append(kernel_folder._key())
    codegen = cpu_target.target_context.codegen()
    with monkeypatch.context() as patched:
        patched.setattr(codegen, "_tm_features", "-avx2")
        seen.append(kernel_folder._key())
    assert len(set(seen)) == len(seen)
    assert kernel_folder._key() == first


def test_where_numba_leaves_functions_as_they_are(tmp_path: Path) -> None:
    assert not ran(tmp_path, NUMBA_DISABLE_JIT="1").said
