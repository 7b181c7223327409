"""Two thousand bad files: each is read or refused with one sentence; nothing else ever comes out."""

from __future__ import annotations

import numpy as np
import pytest

from archerysim.equipment import Setup, SetupError, filled, loads
from tests.support.shot.example_bows import FOLDER

EXAMPLES = sorted(path for path in FOLDER.glob("*.toml") if path.stem != "notes")
BATCHES, CASES = 2, 1000
ODD = (
    "0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "-inf",
    '"nan mm"',
    '"1e400 mm"',
    '""',
    '" "',
    '"8"',
    '"8 apples"',
    '"8 mm mm"',
    '"-8 mm"',
    '"8 kg"',
    '"1/0 in"',
    '"8 3/4"',
    '"٣ mm"',
    '"８ mm"',
    '"8\u00a0mm"',
    '"\U0001f3f9"',
    "true",
    "[]",
    "[[]]",
    "{}",
    "{ a = 1 }",
    "1979-05-27",
    '"' + "9" * 400 + ' mm"',
    '"' + "x" * 5000 + '"',
    "[1, 2, 3]",
    '["8 mm"]',
    "0x10",
    "1_000",
    '"1e-400 mm"',
    '"8 mm\\u0000"',
    '"1 lightyear"',
    '"8**9 mm"',
    '"__import__"',
    '"mm"',
    '"+"',
    "12345678901234567890123",
)


def spoil(text: str, rng: np.random.Generator) -> str:
    """A setup file with something wrong with it (often)."""
    lines = text.splitlines()
    for _ in range(int(rng.integers(1, 4))):
        k = int(rng.integers(len(lines)))
        how = int(rng.integers(11))
        key, equals, _ = lines[k].partition("=")
        if how == 0 and equals:
            lines[k] = f"{key}= {ODD[int(rng.integers(len(ODD)))]}"
        elif how == 1:
            del lines[k]
        elif how == 2:
            lines.insert(k, lines[int(rng.integers(len(lines)))])
        elif how == 3 and equals:
            lines[k] = f"{key.strip()[:-1]}x {equals}{lines[k].partition('=')[2]}"
        elif how == 4:
            lines[k] = lines[k][: int(rng.integers(len(lines[k]) + 1))]
        elif how == 5:
            lines.insert(k, "[" * int(rng.integers(1, 300)))
        elif how == 6:
            lines.insert(k, "a = " + "[" * 200 + "]" * 200)
        elif how == 7:
            lines.insert(k, "".join(chr(int(c)) for c in rng.integers(1, 0xD7FF, 12)))
        elif how == 8 and equals:
            lines[k] = f"{key}= {10.0 ** rng.uniform(-300, 300)!r}"
        elif how == 9 and equals:
            number, unit = 10.0 ** rng.uniform(-9, 9), ("mm", "in", "g", "kg", "lb", "N", "deg", "ms", "%")
            lines[k] = f'{key}= "{number:.6g} {unit[int(rng.integers(len(unit)))]}"'
        elif how == 10:
            lines.insert(k, f"[{'.'.join('ab' for _ in range(int(rng.integers(1, 60))))}]")
        if not lines:
            break
    out = "\n".join(lines)
    return out[: int(rng.integers(len(out) + 1))] if rng.random() < 0.1 else out


@pytest.mark.parametrize("batch", range(BATCHES))
def test_spoiled_files(batch: int) -> None:
    rng = np.random.default_rng(batch)
    texts = [path.read_text(encoding="utf-8") for path in EXAMPLES]
    refused = 0
    for _ in range(CASES):
        text = spoil(texts[int(rng.integers(len(texts)))], rng)
        try:
            setup = loads(text)
            assert isinstance(setup, Setup)
            filled(setup)
            assert loads(setup.to_toml()) == setup
        except SetupError as error:
            refused += 1
            message = str(error)
            assert message.strip()
            assert "Traceback" not in message
            assert len(message) < 2000
    assert refused > CASES // 3  # the files are really spoiled


@pytest.mark.parametrize(
    "text",
    [
        "", "\x00", "[" * 100_000, "a = " + "[" * 5000, "x = 1\n" * 100_000, "\ufeff", "é" * 10_000,
        "name = '''" + "a" * 3_000_000 + "'''",
    ],
    ids=["empty", "nul", "brackets", "nested", "long", "mark", "unicode", "huge"],
)  # fmt: skip
def test_wild_texts(text: str) -> None:
    with pytest.raises(SetupError):
        loads(text)
