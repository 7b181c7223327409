"""Hash of what Python sources do: without comments, docstrings and layout, so that words change nothing.

It is taken from the syntax tree, not from compiled code, and names no fields that are empty. The same code
therefore has the same hash under every version of Python that parses it to the same tree.
"""

from __future__ import annotations

import ast
import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any


def sources(*paths: Path) -> list[tuple[str, Path]]:
    """Name and path of Python files: those given, and those anywhere below a folder given; in order of name.

    A name begins with that of the folder given and has "/" between its parts on every system.
    """
    named = []
    for path in paths:
        if path.is_dir():
            named += [(f"{path.name}/{one.relative_to(path).as_posix()}", one) for one in path.rglob("*.py")]
        else:
            named.append((path.name, path))
    return sorted(named)


def code_hash(*paths: Path) -> str:
    """Hash of the code in some files and folders, those below included.

    Parameters
    ----------
    *paths : Path
        Files or folders.

    Returns
    -------
    str
        16 hexadecimal digits. A changed comment, docstring or line break leaves it as it is; another name of a
        file, another place of it below the folder, or any change of code does not.
    """
    digest = hashlib.sha256()
    for name, path in sources(*paths):
        digest.update("\n".join((name, *_tree_lines(ast.parse(path.read_bytes())), "")).encode())
    return digest.hexdigest()[:16]


def _tree_lines(node: Any) -> Iterator[str]:
    """A syntax tree as lines of text."""
    if isinstance(node, ast.AST):
        yield type(node).__name__
        for field in node._fields:
            value = getattr(node, field, None)
            if value is not None and value != [] and field not in ("kind", "type_comment"):
                yield field
                yield from _tree_lines(value)
        yield ")"
    elif isinstance(node, list):
        for statement in node:
            if not _says_only(statement):
                yield from _tree_lines(statement)
        yield "]"
    else:
        yield repr(node)


def _says_only(node: Any) -> bool:
    """Whether a statement is a text and nothing else: a docstring."""
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
