"""``python -m tests.derivation`` writes docs/derivation anew."""

from __future__ import annotations

from tests.derivation.pages import FOLDER, pages

FOLDER.mkdir(exist_ok=True)
for name, text in pages().items():
    (FOLDER / name).write_text(text, encoding="utf-8")
    print(f"docs/derivation/{name}")
