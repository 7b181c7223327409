"""The scripts that write the pages."""

from __future__ import annotations

import importlib
from pathlib import Path
from types import ModuleType

import pytest

DOCS = Path(__file__).resolve().parents[3] / "docs"


def scripted(monkeypatch: pytest.MonkeyPatch, name: str) -> ModuleType:
    """A script of the pages."""
    monkeypatch.syspath_prepend(str(DOCS))
    return importlib.import_module(name)
