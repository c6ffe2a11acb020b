"""Reading the data files of the library.

Owns how a file beside this one becomes rows. It refuses to know what they mean.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, TypeVar

T = TypeVar("T")

_IS_ID: Final = re.compile(r"[a-z0-9-]+", re.ASCII).fullmatch
_HERE: Final = Path(__file__).parent


def rows(file: str, kind: str) -> list[dict[str, Any]]:
    """Read the tables `[[kind]]` of a data file, lists made into tuples.

    Raises:
        KeyError: The file has no such table.
    """
    return _rows(_text(file), kind)


def row_of(file: str, kind: str, key: str) -> dict[str, Any] | None:
    """Read the one table `[[kind]]` of an id; None where there is none.

    A whole file takes a tenth of a second to read, and a first picture needs one row.
    """
    if not _IS_ID(key):
        # The key may come from anybody's file, and must not reach beyond its line.
        return None
    text = _text(file)
    at = text.find(f'\nid = "{key}"\n')
    if at < 0:
        return None
    head = f"\n[[{kind}]]\n"
    # The newline before the id ends the line before it.
    begin, end = text.rindex(head, 0, at + 1), text.find(head, at)
    return _rows(text[begin : None if end < 0 else end], kind)[0]


class RowsById(Mapping[str, T]):
    """What is made of the rows of a data file, by id; each is read when asked for."""

    def __init__(
        self, file: str, kind: str, make: Callable[[dict[str, Any]], T]
    ) -> None:
        """Prepare; nothing is read yet."""
        self._file, self._kind, self._make = file, kind, make
        self._made: dict[str, T] = {}

    def __getitem__(self, key: str) -> T:
        """Give what is made of a row."""
        if key not in self._made:
            row = row_of(self._file, self._kind, key)
            if row is None:
                raise KeyError(key)
            self._made[key] = self._make(row)
        return self._made[key]

    def __iter__(self) -> Iterator[str]:
        """Give all ids, in the order of the file."""
        return (row["id"] for row in rows(self._file, self._kind))

    def __len__(self) -> int:
        """Count the rows."""
        return len(rows(self._file, self._kind))


@lru_cache(maxsize=8)
def _text(file: str) -> str:
    return (_HERE / file).read_text(encoding="utf-8")


def _rows(text: str, kind: str) -> list[dict[str, Any]]:
    # Imported here: `--help` and a run from a journal need no library.
    import tomllib

    return [
        {key: _frozen(value) for key, value in row.items()}
        for row in tomllib.loads(text)[kind]
    ]


def _frozen(value: object) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
