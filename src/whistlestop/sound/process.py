"""One life of a helper process: its pipes, its two threads, its end.

Owns starting, feeding and ending one process. Knows lines, not what they mean,
and restarts nothing; that is the port's business.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from whistlestop.files import make_folder, private

LONGEST_LINE = 8192
LARGEST_LOG = 256 * 1024
QUIT_S, TERMINATE_S, KILL_S = 1.0, 0.5, 0.3
"""Time given to each way of ending; together less than two seconds."""


def _open_log(path: Path | None) -> int:
    """Open a descriptor for what the helper and its C libraries print."""
    if path is not None:
        with suppress(OSError):
            make_folder(path.parent)
            fresh = path.exists() and path.stat().st_size > LARGEST_LOG
            mode = os.O_TRUNC if fresh else os.O_APPEND
            return private(path, os.O_WRONLY | mode)
    return os.open(os.devnull, os.O_WRONLY)


class HelperLife:
    """A running helper. `heard` is called on a thread of this object."""

    def __init__(
        self,
        command: Sequence[str],
        environment: Mapping[str, str],
        log_path: Path | None,
        heard: Callable[[str], None],
    ) -> None:
        """Start the process. OSError if that fails."""
        log = _open_log(log_path)
        try:
            self._process = _start(command, environment, log)
        finally:
            os.close(log)
        self._heard = heard
        self._signs = threading.Event()
        self._ended = False
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._threads = [
            threading.Thread(target=self._read, name="sound-read", daemon=True),
            threading.Thread(target=self._write, name="sound-write", daemon=True),
        ]
        for thread in self._threads:
            thread.start()

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    def send(self, line: str) -> None:
        """Queue a line for the helper; never waits, never raises."""
        self._lines.put(line)

    def _read(self) -> None:
        pipe = self._process.stdout
        assert pipe is not None
        with (
            suppress(OSError, ValueError),
            open(
                pipe.fileno(), encoding="utf-8", errors="replace", closefd=False
            ) as text,
        ):
            while line := text.readline(LONGEST_LINE):
                self._heard(line)
                self._signs.set()
        pipe.close()
        self._ended = True
        self._signs.set()

    def _write(self) -> None:
        pipe = self._process.stdin
        assert pipe is not None
        with suppress(OSError):
            while (line := self._lines.get()) is not None:
                pipe.write(line.encode("utf-8", errors="replace"))
        with suppress(OSError):
            pipe.close()

    def wait_for_end(self, silence_s: float) -> int:
        """Wait until the helper ends; one silent for `silence_s` is ended.

        Returns its exit code.
        """
        while self._signs.wait(silence_s) and not self._ended:
            self._signs.clear()
        if not self._ended:
            self._process.kill()
        return self.close()

    def close(self) -> int:
        """End the helper, the gentle way first. At most 1.8 s; safe to repeat."""
        self.send("quit\n")
        self._lines.put(None)
        process = self._process
        for insist, limit_s in (
            (process.terminate, QUIT_S),
            (process.kill, TERMINATE_S),
            (process.kill, KILL_S),
        ):
            try:
                return process.wait(limit_s)
            except subprocess.TimeoutExpired:
                insist()
        return -1


def _start(
    command: Sequence[str], environment: Mapping[str, str], log: int
) -> subprocess.Popen[bytes]:
    flags = 0
    if sys.platform == "win32":
        flags = subprocess.CREATE_NEW_PROCESS_GROUP | subprocess.CREATE_NO_WINDOW
    # A session of its own: ctrl+C in the terminal must not reach it.
    return subprocess.Popen(
        list(command),
        bufsize=0,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=log,
        env=dict(environment),
        close_fds=True,
        start_new_session=True,
        creationflags=flags,
    )
