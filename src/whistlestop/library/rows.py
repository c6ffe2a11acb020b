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
    return _rows((_HERE / file).read_text(encoding="utf-8"), kind)


def row_of(file: str, kind: str, key: str) -> dict[str, Any] | None:
    """Read the one table `[[kind]]` of an id; None where there is none.

    A whole file takes a tenth of a second to read, and a first picture needs one row.
    """
    text = (_HERE / file).read_text(encoding="utf-8")
    at = text.find(f'\nid = "{key}"\n')
    if at < 0:
        return None
    head = f"\n[[{kind}]]\n"
    # The newline before the id ends the line before it.
    begin, end = text.rindex(head, 0, at + 1), text.find(head, at)
    return _rows(text[begin : None if end < 0 else end], kind)[0]


def _rows(text: str, kind: str) -> list[dict[str, Any]]:
    # Imported here: `--help` and a run from a journal need no library.
    import tomllib

    return [
        {key: _frozen(value) for key, value in row.items()}
        for row in tomllib.loads(text)[kind]
    ]


def _frozen(value: object) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
