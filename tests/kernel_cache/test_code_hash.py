"""A hash of code: words change nothing, code anywhere below a folder does."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from archerysim.kernel_cache.code_hash import code_hash, sources

CODE = '''"""What it is."""

LIMIT = 2.5  # [m]


class One:
    """A class."""

    size: float = 1.0


def double(x, /, *, by=2):
    """Twice."""
    if x > LIMIT:  # far
        raise ValueError(f"{x:.2f} is too far")
    return by * x
'''
SAME = {
    "a comment": ("# far", "# nearer than that"),
    "no comment": ("  # [m]", ""),
    "a docstring": ('"""Twice."""', '"""Two times, or as often as it is said."""'),
    "no docstring": ('    """A class."""\n\n', ""),
    "the module's docstring": ('"""What it is."""\n', ""),
    "layout": ("return by * x", "return (\n        by\n        * x\n    )"),
    "line ends": ("\n", "\r\n"),
    "quotes": ('f"{x:.2f} is too far"', "f'{x:.2f} is too far'"),
}
OTHER = {
    "a number": ("2.5", "2.5000001"),
    "a default": ("by=2", "by=3"),
    "a kind of number": ("by=2", "by=2.0"),
    "an operator": ("by * x", "by + x"),
    "a name": ("double", "twice"),
    "an order": ("by * x", "x * by"),
    "a text that is used": ("too far", "too long"),
    "an annotation": ("size: float", "size: int"),
    "a marker in the call": ("/, *, by", "*, by"),
}


def hash_of(folder: Path, text: str) -> str:
    folder.mkdir(exist_ok=True)
    (folder / "one.py").write_bytes(text.encode())
    return code_hash(folder)


@pytest.mark.parametrize("change", SAME)
def test_words_and_layout_change_nothing(change: str, tmp_path: Path) -> None:
    before, after = SAME[change]
    assert before in CODE
    assert hash_of(tmp_path / "x", CODE) == hash_of(tmp_path / "x", CODE.replace(before, after))


@pytest.mark.parametrize("change", OTHER)
def test_code_changes_it(change: str, tmp_path: Path) -> None:
    before, after = OTHER[change]
    assert before in CODE
    assert hash_of(tmp_path / "x", CODE) != hash_of(tmp_path / "x", CODE.replace(before, after))


def test_sub_folders_and_names_count(tmp_path: Path) -> None:
    folder = tmp_path / "x"
    seen = [hash_of(folder, CODE)]
    (folder / "below" / "deeper").mkdir(parents=True)
    (folder / "below" / "deeper" / "two.py").write_text("a = 1\n")
    seen.append(code_hash(folder))
    (folder / "below" / "deeper" / "two.py").write_text("a = 2\n")
    seen.append(code_hash(folder))
    (folder / "below" / "deeper" / "two.py").rename(folder / "below" / "two.py")
    seen.append(code_hash(folder))
    (folder / "below" / "two.py").rename(folder / "below" / "three.py")
    seen.append(code_hash(folder))
    assert len(set(seen)) == len(seen)
    assert [name for name, _ in sources(folder)] == ["x/below/three.py", "x/one.py"]
    (folder / "below" / "notes.txt").write_text("no code")
    assert code_hash(folder) == seen[-1]


def test_the_place_of_the_folder_does_not_count(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    assert hash_of(tmp_path / "x", CODE) == hash_of(tmp_path / "elsewhere" / "x", CODE)


EDIT = """
import sys
from pathlib import Path
import archerysim
from archerysim.shot.physics_hash import physics_version
assert "numba" not in sys.modules  # no kernel is loaded for it
from archerysim.study.run.store import version
package = Path(archerysim.__file__).parent
assert package.is_relative_to(Path.cwd())
print(physics_version(), version())
for line in sys.stdin:
    for edit in line.rstrip("\\n").split("; "):
        name, text = edit.split(": ")
        (package / name).parent.mkdir(exist_ok=True)
        with (package / name).open("a") as file:
            file.write(f"\\n{text}\\n")
    physics_version.cache_clear()
    version.cache_clear()
    print(physics_version(), version())
"""
WITHOUT_EFFECT = (
    "mechanics/statics/arc.py: # a comment", "shot/shoot.py: # a comment", "equipment/nock.py: # a comment",
    "shot/hold.py: # a comment", "study/run/row.py: # a comment", "show/sweeps/plot.py: A_NEW_NAME = 1",
    "kernel_cache/compile_messages.py: A_NEW_NAME = 1",
)  # fmt: skip
EDITS = {  # whether the version of the physics changes, and that of a store's rows
    "; ".join(WITHOUT_EFFECT): (False, False),
    "mechanics/statics/arc.py: A = 1": (True, True),
    "mechanics/below/new.py: A = 1": (True, True),
    "shot/below/new.py: A = 1": (True, True),
    "equipment/below/new.py: A = 1": (True, True),
    "shot/hold.py: A_NEW_NAME = 1": (True, True),
    "study/run/row.py: A_NEW_NAME = 1": (False, True),
}


def test_versions_of_physics_and_store_are_of_code_alone(clone: Path) -> None:
    """In a copy of the library that is edited."""
    done = subprocess.run(
        [sys.executable, "-c", EDIT], cwd=clone, env=dict(os.environ, PYTHONPATH=str(clone)), input="\n".join(EDITS),
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    seen = [line.split() for line in done.stdout.splitlines()]
    for edit, before, after in zip(EDITS, seen, seen[1:], strict=False):
        assert (before[0] != after[0], before[1] != after[1]) == EDITS[edit], edit
    assert len(seen) == len(EDITS) + 1
