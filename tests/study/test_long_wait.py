"""Off a terminal a long wait is told once, as soon as there is something to go by; a short one is not."""

from __future__ import annotations

import logging

import pytest

from archerysim.cli.messages import log_shown
from archerysim.study.run import progress


def clock(monkeypatch: pytest.MonkeyPatch, each: float) -> None:
    """A clock on which every item takes so many seconds."""
    seconds = iter(each * k for k in range(1000))
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(seconds))
    monkeypatch.setattr(progress, "LONG", 8.0)


@pytest.mark.parametrize(
    ("each", "total", "words"),
    [(0.6, 64, "about half a minute"), (1.5, 64, "about 2 minutes"), (0.5, 30, "some ten seconds"), (0.1, 64, ""),
     (3.0, 3, "")],
)  # fmt: skip
def test_a_long_wait_is_told_once_in_a_line(
    each: float, total: int, words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    clock(monkeypatch, each)
    with log_shown():
        assert list(progress.watched(range(total), total, None)) == list(range(total))
    said = capsys.readouterr().err
    assert said == (f"archerysim: {total} bows or settings to be shot: {words}\n" if words else "")


def test_nothing_is_told_where_nobody_asked(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    clock(monkeypatch, 1.0)
    with caplog.at_level(logging.INFO, logger="archerysim"):
        list(progress.watched(range(64), 64, False))
        assert not caplog.records
        list(progress.watched(range(64), 64, None))
    assert [record.levelname for record in caplog.records] == ["INFO"]
