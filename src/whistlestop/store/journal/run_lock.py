"""One session at a time in one home: a lock that ends with the process that has it.

The lock is the system's; what stands in the file is only for people. Readers never
take it. Refuses to know what a session is.
"""

from __future__ import annotations

import errno
import os
import sys
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.errors import LockTakenError
from whistlestop.files import make_folder, private
from whistlestop.store.places import in_text

_MOST_BYTES: Final = 200
# Windows locks ranges and hides them from readers: one byte far behind the text.
_LOCKED_BYTE: Final = 1_000_000
_TAKEN: Final = frozenset({errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES})


@dataclass(frozen=True, slots=True)
class Holder:
    """Who wrote their name into the lock file: process id, and since when."""

    pid: int
    started: str

    def __str__(self) -> str:
        since = f", since {self.started}" if self.started else ""
        return f"process {self.pid}{since}"


class RunLock:
    """Context manager round a session.

    A disk that cannot lock or be written to does not stop a session: `warning`
    then says so in words, and the session goes on without a lock.
    """

    def __init__(self, path: Path, *, started: str = "") -> None:
        """Prepare; nothing is touched yet.

        Args:
            path: The lock file; its folder is made when the lock is taken.
            started: The time to write for people, such as ISO 8601.
        """
        self._path = path
        self._started = started
        self._fd: int | None = None
        self.warning: str | None = None

    @property
    def is_held(self) -> bool:
        """Whether this object has the lock now."""
        return self._fd is not None

    def __enter__(self) -> Self:
        """Take the lock without waiting.

        Raises:
            LockTakenError: Another process has it; the message says who.
        """
        self.warning = None
        try:
            make_folder(self._path.parent)
            fd = private(self._path, os.O_RDWR)
        except OSError as error:
            self._go_without(error)
            return self
        try:
            _lock(fd)
        except OSError as error:
            os.close(fd)
            if error.errno in _TAKEN:
                raise LockTakenError(
                    taken_by(self._path), "end it there, or use another --home"
                ) from None
            self._go_without(error)
            return self
        self._fd = fd
        text = f"{os.getpid()} {self._started}\n".encode()[:_MOST_BYTES]
        # The lock holds without the text: a full disk must not end a session.
        with suppress(OSError):
            os.ftruncate(fd, 0)
            os.write(fd, text)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Let go. The file stays: removing it would let two take 'the' lock."""
        if self._fd is None:
            return
        with suppress(OSError):
            os.ftruncate(self._fd, 0)
        with suppress(OSError):
            os.close(self._fd)
        self._fd = None

    def _go_without(self, error: OSError) -> None:
        self.warning = (
            f"a second session cannot be noticed, {shown(str(self._path))} "
            f"cannot be locked: {in_text(error)}"
        )


def taken_by(path: Path) -> str:
    """Say in words who has the lock, from the text in its file alone."""
    who = _read(path)
    by = f" ({who})" if who else ""
    return f"another session is running{by}"


def holder(path: Path) -> Holder | None:
    """Read who runs a session, without locking; None if nobody seems to.

    A name left behind by a process that is gone counts as nobody.
    """
    found = _read(path)
    return found if found is not None and _is_alive(found.pid) else None


def _read(path: Path) -> Holder | None:
    try:
        with path.open("rb") as file:
            text = file.read(_MOST_BYTES).decode("utf-8", "replace")
    except OSError:
        return None
    pid, _, started = text.strip().partition(" ")
    if not (pid.isascii() and pid.isdigit() and len(pid) <= 10 and int(pid) > 0):
        return None
    return Holder(int(pid), shown(started, 60))


def _is_alive(pid: int) -> bool:
    if sys.platform == "win32":
        # From memory: signal 0 is no question there, it interrupts.
        return True
    try:
        os.kill(pid, 0)
    except PermissionError:
        return True
    except (ProcessLookupError, OverflowError):
        return False
    return True


def _lock(fd: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        os.lseek(fd, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        os.lseek(fd, 0, os.SEEK_SET)
    else:
        import fcntl

        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
