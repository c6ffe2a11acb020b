"""A copy of what a room holds, where the user's own file is left alone.

Owns the refusals; refuses to write over anything.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from whistlestop.errors import StoreError


def copy_refused(typed: str, write: Callable[[Path], object]) -> str:
    """Write a copy to the path typed; why not, or nothing where it is written."""
    try:
        path = Path(typed.strip()).expanduser()
        if path.suffix != ".toml":
            return "The file name must end in .toml."
        if path.exists():
            return "That file exists; choose another name."
        write(path)
    except (StoreError, OSError, RuntimeError, ValueError) as error:
        return f"Not saved: {error}."
    return ""
