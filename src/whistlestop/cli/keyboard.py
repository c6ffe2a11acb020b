"""Standard input as a keyboard: one line, one key. Its end takes the keyboard away."""

from __future__ import annotations

import os
import select
import sys
from collections.abc import Iterator


class LineKeyboard:
    """Reads whole lines without blocking the clock."""

    def __init__(self, fd: int | None = None) -> None:
        """Listen on a file descriptor, standard input by default."""
        self._buffer = b""
        self.is_open = True
        try:
            self._fd = sys.stdin.fileno() if fd is None else fd
        except (AttributeError, ValueError, OSError):
            self.is_open = False
            self._fd = -1

    def wait(self, seconds: float) -> list[str]:
        """Wait for lines, at most so long; return those that came, stripped."""
        if not self.is_open:
            return []
        try:
            ready, _, _ = select.select([self._fd], [], [], max(0.0, seconds))
        except (OSError, ValueError):
            self.is_open = False
            return []
        if not ready:
            return []
        return list(self._read())

    def _read(self) -> Iterator[str]:
        try:
            chunk = os.read(self._fd, 4096)
        except OSError:
            chunk = b""
        if not chunk:
            self.is_open = False
            return
        self._buffer = (self._buffer + chunk)[-65536:]
        *whole, self._buffer = self._buffer.split(b"\n")
        for line in whole:
            yield line.decode("utf-8", "replace").strip("\r")
