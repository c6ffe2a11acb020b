"""Reading the data files of the library.

Owns how a file beside this one becomes rows. It refuses to know what they mean.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

_HERE: Final = Path(__file__).parent


def rows(file: str, kind: str) -> list[dict[str, Any]]:
    """Read the tables `[[kind]]` of a data file, lists made into tuples.

    Raises:
        KeyError: The file has no such table.
    """
    # Imported here: `--help` and a run from a journal need no library.
    import tomllib

    text = (_HERE / file).read_text(encoding="utf-8")
    return [
        {key: _frozen(value) for key, value in row.items()}
        for row in tomllib.loads(text)[kind]
    ]


def _frozen(value: object) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
