"""The diary as a file: `diary.jsonl` in the log folder, only ever appended to.

Owns reading its lines and bringing new ones to the disk, all of a step or none.
Refuses to know what its lines mean; `review.diary` does.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.owner import OWNER
from whistlestop.errors import StoreError
from whistlestop.files import make_folder, private, sync_file, sync_folder
from whistlestop.store.journal.file import MAX_FILE_BYTES, ending_for
from whistlestop.store.journal.line import JournalLine, decode, encode
from whistlestop.store.places import in_text, read_regular

DIARY_FORMAT: Final = 1
BEFORE_ALL: Final = -1
DIARY_NAME: Final = "diary.jsonl"
DECISIONS_NAME: Final = "decisions.jsonl"


@dataclass(frozen=True, slots=True)
class DiaryLines:
    """The lines as found, in order; `torn_tail` are bytes after the last newline.

    A torn tail was never acknowledged and is no line, even where it looks whole.
    """

    lines: tuple[JournalLine, ...] = ()
    torn_tail: bytes = b""

    @property
    def next_sequence(self) -> int:
        """The number of the next line."""
        known = [line.sequence for line in self.lines if line.sequence is not None]
        return max(known, default=-1) + 1

    @property
    def problems(self) -> tuple[str, ...]:
        """What is wrong with the file itself, a line each."""
        left = self._cut_off_lines
        named = [
            f"{line.place}: {line.reason}"
            for line in self.lines
            if line.state != "ok" and line not in left
        ]
        if self.torn_tail and not self._is_tail_cut_off:
            named.append(self._tail_text)
        return tuple(named)

    @property
    def cut_off(self) -> tuple[str, ...]:
        """What a crash left of lines on their way to the disk; nothing is wrong."""
        named = [
            f"{line.place}: it was cut off, never acknowledged; it is set aside"
            for line in self._cut_off_lines
        ]
        if self._is_tail_cut_off:
            named.append(self._tail_text)
        return tuple(named)

    @property
    def _is_tail_cut_off(self) -> bool:
        """Whether the tail is part of a line: a whole one lost only its newline."""
        tail = self.torn_tail
        return bool(tail) and not (decode(tail).counts or decode(tail[:-1]).counts)

    @property
    def _cut_off_lines(self) -> list[JournalLine]:
        """Unreadable lines whose number was given again: they never counted.

        A line that is damaged later leaves a hole in the numbers.
        """
        found = []
        for at, line in enumerate(self.lines):
            if line.state != "unreadable":
                continue
            before = [x.sequence for x in self.lines[:at] if x.sequence is not None]
            after = [x.sequence for x in self.lines[at:] if x.sequence is not None]
            if after and after[0] == max(before, default=-1) + 1:
                found.append(line)
        return found

    @property
    def _tail_text(self) -> str:
        return (
            f"its last {len(self.torn_tail)} bytes were never acknowledged; "
            "they are set aside"
        )


def diary_path(log_folder: Path) -> Path:
    """Where the diary of a log folder lies."""
    return log_folder / DIARY_NAME


def read_diary(path: Path) -> DiaryLines:
    """Read the whole diary; one that is not there has no lines.

    Raises:
        StoreError: It is no ordinary file, is larger than 64 MiB or cannot be read.
    """
    if not path.exists() and not path.is_symlink():
        return DiaryLines()
    return parsed(read_regular(path, MAX_FILE_BYTES))


def append_with(
    path: Path, make: Callable[[DiaryLines], Iterable[Mapping[str, Any]]]
) -> int:
    """Append what is made of the lines found there, durably: all of it, or nothing.

    Another program that appends at the same time is waited for, so what `make` sees
    is what stands before its lines. Returns how many lines were made.

    Raises:
        StoreError: The disk does not take it; the diary is as it was.
    """
    try:
        make_folder(path.parent)
        with _locked(path) as fd:
            found = parsed(_whole(fd))
            made = [encode(fields) for fields in make(found)]
            _append(fd, ending_for(found.torn_tail) + b"".join(made))
            sync_folder(path.parent)
    except OSError as error:
        raise StoreError(
            f"the diary cannot be written to: {in_text(error)}",
            "nothing was changed",
        ) from None
    return len(made)


def append_step(
    path: Path,
    lines: Iterable[Mapping[str, Any]],
    *,
    wall: str,
    athlete: str = OWNER,
) -> tuple[int, ...]:
    """Append the lines of one step durably: all of them, or none.

    The first step writes the line that names the format before it. Another program
    that appends at the same time is waited for.

    Args:
        path: The diary; its folder is made where it is missing.
        lines: Fields without `s`, `wall` and `a`; a step of several has a `step`.
        wall: The local time with its offset, ISO 8601.
        athlete: Whose lines they are.

    Returns:
        The numbers of the lines.

    Raises:
        StoreError: The disk does not take it; the diary is as it was.
    """
    wanted = list(lines)
    first = 0

    def make(found: DiaryLines) -> list[dict[str, Any]]:
        nonlocal first
        head = [] if found.lines else [{"k": "diary", "format": DIARY_FORMAT}]
        begin = found.next_sequence
        first = begin + len(head)
        return [
            {"s": begin + n, "wall": wall, "a": athlete, **fields}
            for n, fields in enumerate([*head, *wanted])
        ]

    append_with(path, make)
    return tuple(range(first, first + len(wanted)))


def parsed(data: bytes, file: str = "") -> DiaryLines:
    """Make lines of a diary's bytes; `file` is its name where it is a copy."""
    *whole, tail = data.split(b"\n")
    lines = [
        decode(raw, number)
        for number, raw in enumerate(whole, start=1)
        if raw and not raw.isspace()
    ]
    named = [replace(line, file=file) for line in lines] if file else lines
    return DiaryLines(tuple(_placed(named)), tail)


def _placed(lines: list[JournalLine]) -> list[JournalLine]:
    """Lines that came from a copy behind those they followed there."""
    if not any("after" in line.fields for line in lines):
        return lines
    placed: list[JournalLine] = []
    for line in lines:
        after = line.fields.get("after") if line.counts else None
        numbers = [x.sequence for x in placed] if after is not None else []
        at = numbers.index(after) + 1 if after in numbers else len(placed)
        placed.insert(0 if after == BEFORE_ALL else at, line)
    return placed


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    """The diary opened for reading and appending, by nobody else meanwhile."""
    flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0)
    fd = private(path, flags | getattr(os, "O_NOFOLLOW", 0))
    try:
        if sys.platform != "win32":
            import fcntl

            # Where a disk cannot lock, two programs at one moment are unlikely.
            with suppress(OSError):
                fcntl.flock(fd, fcntl.LOCK_EX)
        yield fd
    finally:
        os.close(fd)


def _whole(fd: int) -> bytes:
    size = os.fstat(fd).st_size
    if size > MAX_FILE_BYTES:
        raise StoreError("the diary is larger than 64 MiB")
    os.lseek(fd, 0, os.SEEK_SET)
    pieces: list[bytes] = []
    while piece := os.read(fd, 1 << 20):
        pieces.append(piece)
    return b"".join(pieces)


def _append(fd: int, raw: bytes) -> None:
    """Write to the end; what the disk took of a step that failed is taken back."""
    before = os.fstat(fd).st_size
    try:
        written = 0
        while written < len(raw):
            written += os.write(fd, raw[written:])
        sync_file(fd)
    except OSError:
        with suppress(OSError):
            os.ftruncate(fd, before)
        raise


def steps(lines: Sequence[JournalLine]) -> list[tuple[JournalLine, ...]]:
    """The lines that count, step by step; a line without a `step` is one alone."""
    found: dict[object, list[JournalLine]] = {}
    for line in lines:
        if line.counts and line.kind != "diary" and line.sequence is not None:
            step = line.fields.get("step")
            key = ("", line.number) if not isinstance(step, str) else (step, 0)
            found.setdefault(key, []).append(line)
    return [tuple(step) for step in found.values()]
