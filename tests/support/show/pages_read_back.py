"""What a page of a moving picture holds, read back."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np

FEW = 6  # pictures, where more would tell no more


def numbers(page: Path) -> Any:
    found = re.search(r'<script id="numbers" type="application/json">(.*?)</script>', page.read_text("utf-8"), re.S)
    assert found
    return json.loads(found[1])


def outside(page: str) -> list[str]:
    """What a page would load, or names, from outside; the name of SVG is none."""
    named = [one for one in re.findall(r"https?://[^\"' <)]+", page) if one != "http://www.w3.org/2000/svg"]
    return named + re.findall(r"<link[^>]+href=\"(?!data:)|\bsrc=|@import|url\(|\bfetch\(|XMLHttp", page)


def points(told_scene: Any, name: str, panel: int = 0) -> np.ndarray:
    (line,) = [one for one in told_scene["panels"][panel]["l"] if one["n"] == name]
    rows = np.array(line["p"]) * line["s"]
    return rows.reshape(rows.shape[0], -1, 2)
