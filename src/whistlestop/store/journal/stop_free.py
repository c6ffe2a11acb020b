"""Which journals were read and hold no stop for health, so that a start need not ask.

Disposable, and never an answer by itself: a journal that is not named here, or that
changed since it was read, has to be read. So a list that is lost, damaged or old costs
time and cannot hide a stop. Refuses to know what a stop is.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop import __version__
from whistlestop.errors import StoreError
from whistlestop.store.journal.file import list_journals, read_chunks
from whistlestop.store.places import read_regular, replace_file

FILE_NAME: Final = "stop-free"
_FORMAT: Final = 1
_MAX_BYTES: Final = 4 * 1024 * 1024


class StopFreeJournals:
    """What is known of the journals of one log."""

    def __init__(self, cache_folder: Path, log_folder: Path) -> None:
        """Prepare; nothing is read yet."""
        self._file = cache_folder / FILE_NAME
        self._log = log_folder

    def stamps(self, first: str) -> dict[Path, str]:
        """How the journals stand now, from a name on: id, size and times of each.

        The time of the last change of any kind is among them, since a program that
        puts a file back may set the other to what it was.

        Raises:
            StoreError: The log folder is there and cannot be listed.
        """
        return {path: _stamp(path) for path in list_journals(self._log, first).journals}

    def not_covered(self, stamps: Mapping[Path, str]) -> list[Path]:
        """The journals that were not read as they are now, in order."""
        known = self._read() if stamps else frozenset()
        return [path for path, stamp in stamps.items() if stamp not in known]

    def save(self, stamps: Iterable[str]) -> None:
        """Save stamps, taken before those journals were read, of those without a stop.

        A disk that refuses is no matter: they are read again.
        """
        body = "\n".join(sorted(filter(None, stamps))).encode()
        with suppress(OSError):
            replace_file(self._file, _head(body) + body)

    def _read(self) -> frozenset[str]:
        try:
            data = read_regular(self._file, _MAX_BYTES)
        except StoreError:
            return frozenset()
        head, newline, body = data.partition(b"\n")
        if head + newline != _head(body):
            return frozenset()
        return frozenset(body.decode(errors="replace").split("\n")) - {""}


def may_name(path: Path, ending: str) -> bool:
    """Whether a journal may hold a line that names an ending.

    Looks through its bytes without reading lines, so True is no more than a reason to
    read them; so are a file that cannot be read, and an escape that might spell it.
    """
    wanted = f'"{ending}"'.encode()
    before = b""
    try:
        for chunk in read_chunks(path):
            piece = before + chunk
            if wanted in piece or b"\\u" in piece:
                return True
            before = piece[-len(wanted) :]
    except StoreError:
        return True
    return False


def _stamp(path: Path) -> str:
    """The state of a file; of one that cannot be looked at, what no list holds."""
    try:
        state = path.stat()
    except OSError:
        return ""
    return f"{path.stem} {state.st_size} {state.st_mtime_ns} {state.st_ctime_ns}"


def _head(body: bytes) -> bytes:
    """The first line: of another version, or of another text, the list is none."""
    return f"{_FORMAT} {__version__} {zlib.crc32(body):08x}\n".encode()
