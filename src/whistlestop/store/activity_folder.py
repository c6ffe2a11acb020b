"""Activity files in a folder: which there are, and which were looked at before.

What was looked at is remembered by name, size and time in the cache folder; without it
files are offered again, and the log knows them by their contents. Refuses to read them.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.store.places import in_text, read_regular, replace_file

MOST_FILES: Final = 5_000
REMEMBERED_NAME: Final = "activity-files.json"
_MOST_BYTES: Final = 4 * 1024 * 1024
_SUFFIXES: Final = (".fit", ".gpx", ".fit.gz", ".gpx.gz", ".zip")

Stamp = tuple[int, int]


def activity_files(folder: Path) -> list[Path]:
    """The activity files of a folder, by their names; its folders are not looked into.

    Raises:
        StoreError: It cannot be listed, or holds too many.
    """
    try:
        found = sorted(
            each
            for each in folder.iterdir()
            if each.name.casefold().endswith(_SUFFIXES)
            and not each.name.startswith(".")
            and each.is_file()
        )
    except (OSError, ValueError) as error:
        why = in_text(error) if isinstance(error, OSError) else "no name of a folder"
        raise StoreError(f"cannot list {shown(str(folder))}: {why}") from None
    if len(found) > MOST_FILES:
        raise StoreError(
            f"{shown(str(folder))} holds more than {MOST_FILES} activity files",
            "import a part of them at a time",
        )
    return found


class RememberedFiles:
    """The activity files that were looked at, of all folders."""

    def __init__(self, cache_folder: Path) -> None:
        """Prepare; nothing is read yet."""
        self._file = cache_folder / REMEMBERED_NAME

    def new_ones(self, paths: Sequence[Path]) -> list[Path]:
        """Those of some files that were not looked at as they are now."""
        known = self._read()
        return [path for path in paths if known.get(_name(path)) != _stamp(path)]

    def remember(self, paths: Iterable[Path]) -> None:
        """Remember files as they are now; where that fails they are offered again."""
        stamps = {_name(path): _stamp(path) for path in paths}
        known = {**self._read(), **{n: s for n, s in stamps.items() if s is not None}}
        newest = dict(list(known.items())[-2 * MOST_FILES :])
        with suppress(OSError):
            replace_file(self._file, json.dumps(newest).encode())

    def _read(self) -> dict[str, Stamp]:
        try:
            found = json.loads(read_regular(self._file, _MOST_BYTES))
            return {str(name): (int(s[0]), int(s[1])) for name, s in found.items()}
        except (StoreError, ValueError, TypeError, AttributeError, LookupError):
            return {}


def _name(path: Path) -> str:
    return str(path.absolute())


def _stamp(path: Path) -> Stamp | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns
