"""The writing of one journal: a thread, a queue in memory, whole durable lines.

A line is acknowledged when the disk has it, and not before; until then, and
after, it is in memory as well. Refuses to know what lines mean or what time is.
"""

from __future__ import annotations

import errno
import os
import threading
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.files import make_folder, private, sync_file, sync_folder
from whistlestop.store.journal.file import (
    MAX_FILE_BYTES,
    ending_for,
    parse_chunks,
    read_chunks,
)
from whistlestop.store.journal.line import encode
from whistlestop.store.places import in_text, write_new

_FIRST_WAIT_S: Final = 0.05
_LONGEST_WAIT_S: Final = 2.0
_MANY_COPIES: Final = 100
_ALL: Final = 1 << 30
LATE_S: Final = 2.0
"""A wait for the disk longer than this is shown."""


@dataclass(frozen=True, slots=True)
class Status:
    """How far the disk is behind.

    `saved` means that every input put so far is durable; derived lines can be
    made again and do not count. `oldest_pending_s` is the age of the oldest line
    of any kind that is not, in seconds: a disk that takes no derived line will take
    no input either. `error` says in words why the last try failed.
    """

    saved: bool
    oldest_pending_s: float
    error: str | None

    @property
    def is_late(self) -> bool:
        """Whether it waits for so long that the athlete should know."""
        return self.oldest_pending_s > LATE_S


@dataclass(frozen=True, slots=True)
class _WaitingLine:
    sequence: int
    raw: bytes = field(repr=False)
    is_input: bool
    queued_s: float


class JournalWriter:
    """Appends to one journal from a thread of its own. All methods are thread-safe.

    A failed write is taken back and tried again, for as long as the writer is
    open, after 0.05 s at first and 2 s at most.
    """

    def __init__(
        self,
        path: Path,
        *,
        clock: Callable[[], float],
        first: Mapping[str, Any] | None = None,
        append: bool = False,
        on_saved: Callable[[int], None] | None = None,
    ) -> None:
        """Start writing; for a new journal nothing is read and nothing waits.

        Args:
            path: The file. A new journal never overwrites one.
            clock: Any steady clock, in seconds; only differences are used.
            first: The first line to put: required for a new journal, whose start
                line it is; optional with `append`.
            append: Go on with a file that is there; numbers go on as well.
            on_saved: Called from the thread of the writer with the greatest
                sequence number that is durable, each time it grows.

        Raises:
            StoreError: With `append`, the file cannot be read or is too large.
            ValueError: A new journal has no first line.
        """
        if first is None and not append:
            raise ValueError("a new journal has a first line")
        self._clock = clock
        self._on_saved = on_saved
        self._turn = threading.Condition()
        self._path = path
        self._earlier = b""
        self._entries: list[_WaitingLine] = []
        self._saved_count = 0
        self._next = 0
        self._error: str | None = None
        self._notes: list[str] = []
        self._hurry = self._stopping = False
        if append:
            self._take_up(path)
        self._acknowledged = self._next - 1
        self._disk = _Disk(path, ours=append)
        if first is not None:
            self.put(first)
        self._thread = threading.Thread(target=self._run, name="journal", daemon=True)
        self._thread.start()

    @property
    def path(self) -> Path:
        """The file being written."""
        return self._path

    @property
    def acknowledged(self) -> int:
        """The greatest sequence number that is durable; -1 before the first."""
        with self._turn:
            return self._acknowledged

    @property
    def notes(self) -> tuple[str, ...]:
        """What was put right on the way, in sentences: torn tails, lost lines."""
        with self._turn:
            return (*self._notes, *self._disk.notes)

    def put(self, fields: Mapping[str, Any], *, derived: bool = False) -> int:
        """Queue one line and return its sequence number at once.

        Args:
            fields: The line without `s` and `c`.
            derived: The line follows from others; it is written like them, but
                the mark 'kept' does not wait for it.

        Raises:
            ValueError: The fields make no line, see `journal_line.encode`.
            StoreError: The line is too long, or the writer is closed.
        """
        if "s" in fields:
            raise ValueError("the number s is not for the caller to write")
        with self._turn:
            if self._stopping:
                raise StoreError("the journal is closed")
            raw = encode({"s": self._next, **fields})
            entry = _WaitingLine(self._next, raw, not derived, self._clock())
            self._entries.append(entry)
            self._next += 1
            self._turn.notify_all()
            return entry.sequence

    def state(self) -> Status:
        """Say how far the disk is behind, without waiting for it."""
        with self._turn:
            waiting = self._entries[self._saved_count :]
            saved = not any(entry.is_input for entry in waiting)
            age_s = self._clock() - waiting[0].queued_s if waiting else 0.0
            return Status(saved, max(0.0, age_s), self._error)

    def flush(self, timeout_s: float) -> bool:
        """Wait until all that was put is durable; False when time ran out.

        A writer that waits after a failure tries again at once.
        """
        with self._turn:
            wanted = len(self._entries)
            self._hurry = True
            self._turn.notify_all()
            return self._turn.wait_for(lambda: self._saved_count >= wanted, timeout_s)

    def close(self, timeout_s: float) -> bool:
        """Flush and stop. May be called again.

        Returns:
            False when time ran out: the writer is then still open and still
            trying, and `emergency_copy` has everything.
        """
        with self._turn:
            self._hurry = True
            self._turn.notify_all()
            if not self._turn.wait_for(lambda: not self._is_behind(), timeout_s):
                return False
            self._stopping = True
            self._turn.notify_all()
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def emergency_copy(self, folder: Path) -> Path:
        """Write everything that is in memory to another folder, durably.

        Needs neither the journal nor its disk. Overwrites nothing.

        Returns:
            The copy: the journal's name, with `-copy-2` and so on where taken.

        Raises:
            StoreError: The folder does not take it either.
        """
        with self._turn:
            own = b"".join(entry.raw for entry in self._entries if entry.queued_s >= 0)
            earlier = zlib.decompress(self._earlier) if self._earlier else b""
            data = earlier + own
        for number in range(1, _MANY_COPIES):
            mark = "" if number == 1 else f"-copy-{number}"
            copy = folder / f"{self._path.stem}{mark}{self._path.suffix}"
            try:
                write_new(copy, data)
            except FileExistsError:
                continue
            except OSError as error:
                raise StoreError(
                    f"cannot write a copy to {shown(str(folder))}: {in_text(error)}"
                ) from None
            return copy
        raise StoreError(f"{shown(str(folder))} is full of copies of this session")

    def _take_up(self, path: Path) -> None:
        # Packed, since marks of earlier versions can make it large: it is only for
        # a copy, should the disk fail.
        packing = zlib.compressobj(1)
        packed: list[bytes] = []

        def passing() -> Iterator[bytes]:
            for piece in read_chunks(path):
                packed.append(packing.compress(piece))
                yield piece

        journal = parse_chunks(path, passing())
        self._notes.extend((*journal.problems, *journal.cut_off))
        packed.append(packing.compress(ending_for(journal.torn_tail or b"")))
        self._earlier = b"".join([*packed, packing.flush()])
        self._next = journal.last_sequence + 1
        # What the disk has stays in memory as well: should the file be lost or cut
        # short while the session runs, it is written again.
        self._entries = [
            _WaitingLine(line.sequence, line.raw + b"\n", is_input=False, queued_s=-1.0)
            for line in journal.lines
            if line.sequence is not None
        ]
        self._saved_count = len(self._entries)

    def _run(self) -> None:
        wait_s = _FIRST_WAIT_S
        # After a failure one line is tried, then twice as many each time, so that a
        # disk that is nearly full takes as many as fit.
        most = _ALL
        while True:
            with self._turn:
                self._turn.wait_for(lambda: self._stopping or self._is_behind())
                saved = self._saved_count
                entries = self._entries[: saved + most]
                if saved == len(entries):
                    break
                self._hurry = False
            try:
                self._disk.append(entries, saved)
            except Exception as error:  # noqa: BLE001 - no fault may end the thread
                # A first line that fits is not to wait because others do not.
                if len(entries) - saved == 1:
                    self._failed(error, wait_s)
                    wait_s = min(2 * wait_s, _LONGEST_WAIT_S)
                most = 1
            else:
                self._succeeded(entries)
                wait_s = _FIRST_WAIT_S
                most = min(2 * most, _ALL)
        self._disk.close()

    def _is_behind(self) -> bool:
        return self._saved_count < len(self._entries)

    def _failed(self, error: Exception, wait_s: float) -> None:
        if isinstance(error, OSError):
            why = in_text(error)
        else:
            why = f"an unexpected fault, {type(error).__name__}"
        with self._turn:
            self._error = f"not saved yet: {why}"
            self._turn.notify_all()
            self._turn.wait_for(lambda: self._hurry, wait_s)

    def _succeeded(self, entries: Sequence[_WaitingLine]) -> None:
        with self._turn:
            self._saved_count = len(entries)
            self._acknowledged = entries[-1].sequence
            self._error = None
            self._turn.notify_all()
        if self._on_saved is not None:
            try:
                self._on_saved(entries[-1].sequence)
            except Exception as error:  # noqa: BLE001 - not this caller's journal
                with self._turn:
                    self._notes.append(f"on_saved failed: {type(error).__name__}")


class _Disk:
    """The open file. Any error closes it, and the next try looks afresh."""

    def __init__(self, path: Path, *, ours: bool) -> None:
        self.notes: list[str] = []
        self._path = path
        self._ours = ours
        self._fd: int | None = None
        # The process that began this journal may not have come to it.
        self._folder_is_synced = False
        self._durable = 0
        self._end = 0

    def append(self, entries: Sequence[_WaitingLine], saved: int) -> None:
        """Make all entries durable, of which the first `saved` count as such.

        Raises:
            OSError: They are not; what was begun is taken back where possible.
        """
        due = entries[saved:]
        try:
            if self._fd is not None and self._was_altered(self._fd):
                self._note("another program changed the journal meanwhile")
                self.close()
            if self._fd is None:
                there = self._open()
                lost = [e for e in entries[:saved] if e.sequence not in there]
                if lost:
                    self._note("lines that were lost from it were written again")
                due = [*lost, *due]
            for entry in due:
                self._write(entry.raw)
            self._sync()
        except BaseException:
            self._take_back()
            raise
        self._durable = self._end

    def close(self) -> None:
        """Close the file, if it is open."""
        if self._fd is not None:
            with suppress(OSError):
                os.close(self._fd)
        self._fd = None

    def _note(self, what: str) -> None:
        # Each is reported once, however many tries it takes.
        if what not in self.notes:
            self.notes.append(what)

    def _was_altered(self, fd: int) -> bool:
        status = os.fstat(fd)
        if status.st_size != self._end:
            return True
        try:
            named = self._path.stat()
        except FileNotFoundError:
            return True
        return not os.path.samestat(status, named)

    def _open(self) -> set[int]:
        """Open or create the file; return the numbers of the lines it has."""
        make_folder(self._path.parent)
        flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0)
        try:
            # The first try must make the file: a session never takes another's.
            self._fd = private(self._path, flags | os.O_EXCL)
            self._folder_is_synced = False
        except FileExistsError:
            if not self._ours:
                raise
            self._fd = os.open(self._path, flags)
        self._ours = True
        self._durable = self._end = 0
        return self._look(self._fd)

    def _look(self, fd: int) -> set[int]:
        size = os.fstat(fd).st_size
        if size > MAX_FILE_BYTES:
            raise OSError(errno.EFBIG, "the journal is larger than 64 MiB")
        self._durable = self._end = size
        journal = parse_chunks(self._path, _pieces(fd, size))
        if journal.torn_tail:
            self._note("a line that was cut off in it is set aside")
            self._write(ending_for(journal.torn_tail))
        return {x.sequence for x in journal.lines if x.sequence is not None}

    def _write(self, raw: bytes) -> None:
        assert self._fd is not None
        count = os.write(self._fd, raw)
        self._end += count
        if count != len(raw):
            raise OSError(errno.ENOSPC, "the disk took a part of a line only")

    def _sync(self) -> None:
        assert self._fd is not None
        sync_file(self._fd)
        if not self._folder_is_synced:
            # The year's folder, the log and what holds it: their maker may
            # have died before their names were on the medium.
            for folder in self._path.parents[:3]:
                sync_folder(folder)
            self._folder_is_synced = True

    def _take_back(self) -> None:
        # After a failed flush the system may hold pages for clean that never
        # reached the disk; so lines not yet durable go, and are written again.
        if self._fd is not None:
            with suppress(OSError):
                if os.fstat(self._fd).st_size == self._end:
                    os.ftruncate(self._fd, self._durable)
        self.close()


def _pieces(fd: int, size: int) -> Iterator[bytes]:
    """The first bytes of an open file; the descriptor is left behind them."""
    os.lseek(fd, 0, os.SEEK_SET)
    left = size
    while left and (piece := os.read(fd, min(left, 1024 * 1024))):
        left -= len(piece)
        yield piece
