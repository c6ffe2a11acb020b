"""Golden text files: compared as they are, written anew only when asked."""

from __future__ import annotations

import os
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "golden"
WRITE = os.environ.get("WHISTLESTOP_GOLDEN") == "write"


def same_as_golden(name: str, text: str) -> None:
    """Assert that a text is what was looked at and kept under this name.

    `WHISTLESTOP_GOLDEN=write` keeps the text instead; look at the difference
    in version control before committing it.
    """
    path = FOLDER / name
    if WRITE:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")
