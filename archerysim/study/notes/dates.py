"""Days of notes: 2026-05-03, with or without quotation marks."""

from __future__ import annotations

import datetime
import re
from typing import Any

from archerysim.errors import SetupError

REMEDY = 'Write year, month and day: "2026-05-03"'


def check_date(path: str, date: str | None) -> None:
    """Refuse what is no day.

    Raises
    ------
    SetupError
    """
    if date is None:
        return
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", date):
            raise ValueError
        datetime.date.fromisoformat(date)
    except ValueError:
        raise SetupError(path, f'"{date}" is no day', REMEDY) from None


def plain_dates(tables: Any) -> Any:
    """Tables of a file with the days that TOML itself knows as texts; an hour beside one is left out."""
    if isinstance(tables, dict):
        return {name: plain_dates(value) for name, value in tables.items()}
    if isinstance(tables, list):
        return [plain_dates(value) for value in tables]
    if isinstance(tables, datetime.datetime):
        return tables.date().isoformat()
    return tables.isoformat() if isinstance(tables, datetime.date) else tables
