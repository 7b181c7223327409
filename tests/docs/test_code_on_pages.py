"""Code on pages is run, and prints what stands there."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("page", ["problem.md"])
def test_code_on_a_page_prints_what_stands_there(page: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    done = doctest.testfile(str(ROOT / "docs" / page), module_relative=False)
    assert done.attempted > 10
    assert done.failed == 0
