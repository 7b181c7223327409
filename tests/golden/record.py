"""How answers are written: numbers as `float.hex`, long arrays as a hash and samples, texts as they are."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import numpy as np

LONG = 48  # numbers; an array with more is written as a hash and samples
SAMPLES = 5
HASH = "sha256"
_HEX = re.compile(r"-?0x[01]\.[0-9a-f]+p[+-]\d+|nan|-?inf")


def encoded(answer: Any) -> Any:
    """An answer as JSON can hold it. Zero has no sign, and every "not a number" is the same one."""
    if isinstance(answer, dict):
        return {str(name): encoded(value) for name, value in answer.items()}
    if isinstance(answer, np.ndarray) and answer.dtype.kind == "f" and answer.size > LONG:
        return _long(answer)
    if isinstance(answer, np.ndarray):
        return encoded(answer.tolist())
    if isinstance(answer, (list, tuple)):
        return [encoded(value) for value in answer]
    if isinstance(answer, np.generic):
        return encoded(answer.item())
    if isinstance(answer, float):
        return (answer + 0.0).hex()
    if answer is None or isinstance(answer, (bool, int, str)):
        return answer
    raise TypeError(f"cannot be recorded: {answer!r}")


def _long(values: np.ndarray) -> dict[str, Any]:
    numbers = np.ascontiguousarray(values, dtype="<f8") + 0.0
    numbers[np.isnan(numbers)] = np.nan
    flat = numbers.ravel()
    places = np.linspace(0, flat.size - 1, SAMPLES).astype(int)
    return {
        HASH: hashlib.sha256(numbers.tobytes()).hexdigest(), "shape": list(values.shape),
        "samples": encoded(flat[places]),
    }  # fmt: skip


def is_long(value: Any) -> bool:
    """Whether it is the record of a long array."""
    return isinstance(value, dict) and HASH in value


def number(value: Any) -> float | None:
    """The number that is written there; None where there is none."""
    if isinstance(value, str):
        return float.fromhex(value) if _HEX.fullmatch(value) else None
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def shown(value: Any) -> str:
    """A written value for people: a number in decimals, a text cut short."""
    found = number(value)
    if found is not None:
        return repr(found)
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 120 else f"{text[:117]}..."


def dumps(data: Any, indent: str = "") -> str:
    """JSON with a line for each name, for each list of numbers and for each line of text."""
    more = indent + " "
    if isinstance(data, dict) and data:
        rows = (f"{more}{json.dumps(name, ensure_ascii=False)}: {dumps(value, more)}" for name, value in data.items())
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if isinstance(data, list) and any(isinstance(one, (dict, list)) or _is_text(one) for one in data):
        return "[\n" + ",\n".join(more + dumps(one, more) for one in data) + f"\n{indent}]"
    return json.dumps(data, ensure_ascii=False)


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and number(value) is None


def write(folder: Path, name: str, data: Any) -> Path:
    """Write one file of the record."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.json"
    path.write_text(dumps(data) + "\n", encoding="utf-8")
    return path


def read(folder: Path, name: str) -> Any:
    """Read one file of the record."""
    return json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
