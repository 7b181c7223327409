"""How many parameters a kernel has: grouped in records, none needs more than can be kept in mind."""

from __future__ import annotations

import ast
from pathlib import Path

import archerysim

MOST = 15
MECHANICS = Path(archerysim.__file__).parent / "mechanics"


def parameters() -> dict[str, int]:
    """Number of parameters of every function of the kernels, by file and name."""
    found = {}
    for path in sorted(MECHANICS.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                a = node.args
                found[f"{path.relative_to(MECHANICS)}: {node.name}"] = len(a.posonlyargs + a.args + a.kwonlyargs)
    return found


def test_no_kernel_has_too_many() -> None:
    found = parameters()
    assert "release/loop.py: release" in found
    assert {name: count for name, count in found.items() if count > MOST} == {}
