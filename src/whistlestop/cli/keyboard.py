"""Standard input as a keyboard: one line, one key. Its end takes the keyboard away."""

from __future__ import annotations

import os
import select
import sys
from collections import deque

_MOST_BYTES = 65_536


class LineKeyboard:
    """Reads whole lines without blocking the clock."""

    def __init__(self, fd: int | None = None) -> None:
        """Listen on a file descriptor, standard input by default."""
        self._buffer = b""
        self._lines: deque[str] = deque()
        self._at_end = False
        try:
            self._fd = sys.stdin.fileno() if fd is None else fd
        except (AttributeError, ValueError, OSError):
            self._at_end = True
            self._fd = -1

    @property
    def is_open(self) -> bool:
        """Whether a line may still come."""
        return bool(self._lines) or not self._at_end

    def close(self) -> None:
        """Listen no more."""
        self._lines.clear()
        self._at_end = True

    def wait(self, seconds: float) -> list[str]:
        """Wait for a line, at most so long; return it, or nothing.

        One at a time: what was typed ahead stays for the next question.
        """
        if not self._lines and not self._at_end:
            self._look(seconds)
        return [self._lines.popleft()] if self._lines else []

    def _look(self, seconds: float) -> None:
        try:
            ready, _, _ = select.select([self._fd], [], [], max(0.0, seconds))
            chunk = os.read(self._fd, 4096) if ready else None
        except (OSError, ValueError):
            chunk = b""
        if chunk is None:
            return
        if not chunk:
            self._at_end = True
            # The last line counts, even where its end was left out.
            chunk = b"\n" if self._buffer else b""
        self._buffer = (self._buffer + chunk)[-_MOST_BYTES:]
        *whole, self._buffer = self._buffer.split(b"\n")
        self._lines.extend(
            line.decode("utf-8", "replace").strip("\r") for line in whole
        )
